"""Two channels that must never be on together: explored as one, with everything that may ask either."""

from __future__ import annotations

from array import array
from collections.abc import Mapping, Sequence
from random import Random
from typing import TYPE_CHECKING

from pattress.controller.core.cells import BY_REGULATOR, BY_SWITCH, CAUSE, CHANNEL, CONDITION, FEEDBACK, RULE, SHOWN

from ..exploration import Part
from ..moves import BACKWARDS, CUT, PASS, Move, commands_on, foreign_moves, passing, presses_on, sensed_on, settlings_on, with_neighbours, with_waits
from ..parts.apart import beside, times_apart
from ..parts.asking import asked_channels, still_around, wishes_in
from ..parts.holding import live_of, met_at_power_up
from ..properties import Failure

if TYPE_CHECKING:
    from pattress.proof.subject import Subject

AS_SAVED_NOW = "as saved now"
CAUSES = {"switch": BY_SWITCH, "regulator": BY_REGULATOR}


class TogetherPart(Part):
    """Explores the product of two channels.

    `claim` is the id of the wish; `followers` maps the id of a pair of wishes to the (channel,
    control) that the other wish of it wants followed. `coupled` holds conditions that look at one of
    the two and act on one: they begin and end as what they look at does; every other one at any moment.
    """

    def __init__(self, subject: Subject, thing: int, other: int, claim: str, followers: Mapping[str, tuple[int, str]], has_network: bool,
                 coupled: Sequence[int] = ()) -> None:
        self.pair = (thing, other)
        both = frozenset(self.pair)
        places = [subject.channel_at[channel] for channel in sorted(both)]
        super().__init__(subject, f"wish about {' and '.join(map(subject.channel_name, self.pair))}",
                         [(at, at + CHANNEL) for at in places]
                         + [(at, at + FEEDBACK) for channel, at in subject.feedback_at.items() if channel in both]
                         + [(at, at + RULE) for channel, at in subject.rule_at.items() if channel in both]
                         + [one for channel in sorted(both) for one in live_of(subject, channel) if one[0] not in _cells_of(subject, coupled)]
                         + [(at, at + CONDITION) for at in (subject.condition_at[one] for one in coupled)]
                         + times_apart(subject, sorted(both)), both, still_around(subject, both),
                         [at + place for at in places for place in (SHOWN, CAUSE)])
        known = _cells_of(subject, coupled)         # what the core itself makes of them is no move of the world
        self.claim, self.followers = claim, followers
        self.at_power_up = list(dict.fromkeys(tuple(one for one in met if one[0] not in known) for met in met_at_power_up(subject, sorted(both))))
        self.names = [subject.channel_name(channel) for channel in self.pair]
        commands = [move for channel in self.pair for move in commands_on(subject, channel) if move.known]
        self.events = beside(subject, both, [
            *(commands if has_network else ()),
            *(move for channel in self.pair for move in sensed_on(subject, channel)),
            *(move for press in presses_on(subject, both) for move in with_neighbours(subject, both, press)),
        ])
        self.times = beside(subject, both, [
            *(move for settled in settlings_on(subject, both) if not any(one.cell in known for one in settled) for move in with_neighbours(subject, both, passing(settled))),
            *(move for move in foreign_moves(subject, both) if move.kind == PASS),
        ])
        self.backwards = beside(subject, both, BACKWARDS)

    def starts(self) -> list[Move]:
        tops = [self.subject.tops[channel] for channel in self.pair]
        saved = [[(wanted, last) for wanted in range(top + 1) for last in range(1, top + 1)] for top in tops]
        return [Move("power comes on, snapshot lost or none", CUT, poke=met) for met in self.at_power_up] + [
            Move(f"power comes on, snapshot says {self.names[0]} at {one[0]} and {self.names[1]} at {two[0]}", CUT,
                 snapshot=(one, two), poke=met)
            for one in saved[0] for two in saved[1] for met in self.at_power_up
        ]

    def moves(self, running: Sequence[int]) -> list[Move]:
        cuts = [Move("power is cut right after a snapshot, and comes back", CUT, snapshot=AS_SAVED_NOW, poke=met) for met in self.at_power_up]
        return with_waits(self.times, running, self.backwards) + self.events + cuts

    def snapshot(self, move: Move, old: array[int], ghost: bytes, random: Random) -> bytearray | None:
        if move.snapshot is None:
            return None
        snapshot = bytearray(random.randrange(256) for _ in range(self.subject.snapshot_size))
        if move.snapshot == AS_SAVED_NOW:
            self.subject.core.write(self.subject.plan, old, snapshot)
        else:
            for channel, saved in zip(self.pair, move.snapshot, strict=True):
                snapshot[2 * channel:2 * channel + 2] = bytes(saved)
        return snapshot

    def judge(self, old: array[int], raw: array[int], move: Move, elapsed: int,
              todo: int | list[int], before: int, after: int, ghost: bytes) -> tuple[Failure | None, bytes]:
        own = [self.subject.own_relays[channel] for channel in self.pair]
        if move.kind != CUT and self.followers:
            expected = wishes_in(self.subject, self.channels, old, raw, move.asks, elapsed)
            failure = self.torn(before, expected, own, move)
            if failure is not None:
                return failure, ghost
        if after & own[0] and after & own[1]:
            return Failure(self.claim, f"{self.names[0]} and {self.names[1]} are both on"), ghost
        return None, ghost

    def torn(self, before: int, expected: Mapping[int, tuple[int, ...]], own: Sequence[int], move: Move) -> Failure | None:
        """Return the Failure of two wishes that ask opposite things of one channel now, or None."""
        for pair, (channel, control) in self.followers.items():
            place = self.pair.index(channel)
            is_asked_on = channel in expected and expected[channel][0] and expected[channel][2] == CAUSES[control]
            beside = self.pair[1 - place]
            if (is_asked_on and before & own[1 - place] and not before & own[place]
                    and beside not in asked_channels(move.asks)):
                return Failure(pair, f"{self.names[1 - place]} is on and stays wanted, the {control} asks for {self.names[place]}: "
                                     "one wish wants it on, the other off")
        return None


def _cells_of(subject: Subject, conditions: Sequence[int]) -> frozenset[int]:
    """Return the cells of conditions."""
    return frozenset(subject.condition_at[one] + place for one in conditions for place in range(CONDITION))
