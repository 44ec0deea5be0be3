"""Several channels explored as one, each judged as it is judged alone. Its states are combinations of theirs.

For channels that influence each other, or to check by another way what was argued from the
parts. Snapshots that a power-up finds are the legal ones; what a foreign one does to a channel
is explored with the channel alone.
"""

from __future__ import annotations

from array import array
from collections.abc import Iterator, Sequence
from itertools import product
from random import Random
from typing import TYPE_CHECKING

from pattress.controller.core.cells import LAST, WANTED
from pattress.proof.properties import Failure

from ..exploration import Part
from ..moves import (
    BACKWARDS,
    CUT,
    PASS,
    Move,
    commands_on,
    foreign_moves,
    passing,
    presses_on,
    running_out,
    sensed_on,
    settlings_on,
    with_neighbours,
)
from .apart import beside, times_apart
from .asking import still_around
from .channel import AS_SAVED_NOW, ChannelPart
from .holding import met_at_power_up

if TYPE_CHECKING:
    from pattress.proof.properties import Failure
    from pattress.proof.subject import Subject

PREFIX, JOINER = "together: ", " + "


class GroupPart(Part):
    """Explores the product of some channels."""

    claims = tuple(claim for claim in ChannelPart.claims if claim != "becomes-quiet")

    def __init__(self, subject: Subject, channels: Sequence[int]) -> None:
        self.members = [ChannelPart(subject, channel) for channel in sorted(channels)]
        group = frozenset(channels)
        self.at_power_up = met_at_power_up(subject, sorted(group))
        super().__init__(subject, PREFIX + JOINER.join(map(subject.channel_name, sorted(group))),
                         [one for member in self.members for one in member.live] + times_apart(subject, sorted(group)), group, still_around(subject, group),
                         [cell for member in self.members for cell in member.blank])
        foreign = foreign_moves(subject, group)
        self.events = beside(subject, group, [
            *(move for member in self.members for move in commands_on(subject, member.channel) + sensed_on(subject, member.channel)),
            *(move for press in presses_on(subject, group) for move in with_neighbours(subject, group, press)),
            *(move for move in foreign if move.kind != PASS),
            *(Move("power is cut right after a snapshot, and comes back", CUT, snapshot=AS_SAVED_NOW, poke=met) for met in self.at_power_up), *BACKWARDS,
        ])
        self.times = beside(subject, group, [
            *(move for settled in settlings_on(subject, group) for move in with_neighbours(subject, group, passing(settled))),
            *(move for move in foreign if move.kind == PASS),
        ])
        self.expected = {(member.channel, witness): claim for member in self.members for witness, claim in member.expected.items()}

    @property
    def seen(self) -> set[object]:
        """Return what the members saw happen."""
        return {(member.channel, witness) for member in self.members for witness in member.seen}

    @seen.setter
    def seen(self, nothing: set[object]) -> None:
        """Part sets it; the members have their own."""

    def starts(self) -> Iterator[Move]:
        legal = [[(wanted, last) for wanted in range(member.top + 1) for last in range(1, member.top + 1)] for member in self.members]
        for met in self.at_power_up:
            yield Move("power comes on, snapshot lost or none", CUT, poke=met)
        for saved, met in product(product(*legal), self.at_power_up):
            words = ", ".join(f"{member.row['name']} at {wanted}, last {last}"
                              for member, (wanted, last) in zip(self.members, saved, strict=True))
            yield Move(f"power comes on, snapshot says {words}", CUT, snapshot=saved, poke=met)

    def moves(self, running: Sequence[int]) -> Iterator[Move]:
        """Yield every move; there may be too many to keep."""
        yield from self.events
        for move in self.times:
            yield from running_out(move, running)

    def snapshot(self, move: Move, old: array[int], ghost: bytes, random: Random) -> bytearray | None:
        length = self.subject.snapshot_size
        if move.snapshot is None:
            return random.choice((None, bytearray(1), bytearray(length + 1)))
        snapshot = bytearray(random.randrange(256) for _ in range(length))
        if move.snapshot == AS_SAVED_NOW:
            self.subject.core.write(self.subject.plan, old, snapshot)
        for place, member in enumerate(self.members):
            if move.snapshot == AS_SAVED_NOW:
                member.saved = old[member.at + WANTED], old[member.at + LAST]
            else:
                member.saved = move.snapshot[place]
                snapshot[2 * member.channel:2 * member.channel + 2] = bytes(member.saved)
        return snapshot

    def judge_begin(self, raw: array[int], snapshot: bytearray | None, ghost: bytes) -> Failure | None:
        for member in self.members:
            failure = member.judge_begin(raw, snapshot, ghost)
            if failure is not None:
                return failure
        return None

    def judge(self, old: array[int], raw: array[int], move: Move, elapsed: int,
              todo: int | list[int], before: int, after: int, ghost: bytes) -> tuple[Failure | None, bytes]:
        ghosts = []
        for place, member in enumerate(self.members):
            failure, one = member.judge(old, raw, move, elapsed, todo, before & member.own_relays, after & member.own_relays,
                                        ghost[place:place + 1])
            if failure is not None:
                return failure, ghost
            ghosts.append(one)
        return None, b"".join(ghosts)
