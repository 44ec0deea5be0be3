"""One channel is on only while another is: explored as one, with the rules that look at the one and act on the other.

A rule acts a millisecond after what it looks at at the earliest, so what it ends outlasts that by the rule's own
wait. That much is allowed, and told; without such a rule nothing is. A fan counts as on in the dead time before
a set of it closes, as it does for the rule, and while nothing but a live line keeps that set from closing.
"""

from __future__ import annotations

from array import array
from typing import TYPE_CHECKING

from pattress.controller.core.cells import HOLD, LIVE, OFF, RUN, TURN, WAIT, WANTED
from pattress.controller.core.conditions import HOLDS, LOCKS, OF_CHANNEL, WHEN

from ..properties import Failure
from .together import TogetherPart

if TYPE_CHECKING:
    from pattress.proof.moves import Move
    from pattress.proof.subject import Subject


class OnlyWhilePart(TogetherPart):
    """Explores the product of two channels. `enders` are the conditions that end the one when the other is off."""

    def __init__(self, subject: Subject, thing: int, other: int, claim: str, has_network: bool) -> None:
        self.coupled = _coupled(subject, thing, other)
        self.enders = tuple(one for one in self.coupled if _ends(subject, one, thing, other))
        super().__init__(subject, thing, other, claim, {}, has_network, self.coupled)

    @property
    def allowed_ms(self) -> int:
        """Return for how long the one may outlast the other [ms]."""
        rows = [self.subject.conditions[one] for one in self.enders]
        return max((int(row["after_ms" if row["kind"] == HOLDS else "from_ms"]) for row in rows), default=0)

    @property
    def allowed_words(self) -> str:
        """Return what outlasts the other for how long, and what counts as on, for the result."""
        other = self.pair[1]
        dead, names = self.subject.table["channels"][other]["dead_ms"], " and ".join(map(self.subject.condition_name, self.enders))
        words = f"at most {self.allowed_ms} ms longer, by {names}" if names else "not a moment longer: both move in one step"
        return words + (f"; the dead time of {self.names[1]} before a step closes, {dead} ms, counts as on" if dead else "")

    def judge(self, old: array[int], raw: array[int], move: Move, elapsed: int,
              todo: int | list[int], before: int, after: int, ghost: bytes) -> tuple[Failure | None, bytes]:
        thing, other = self.pair
        if after & self.subject.own_relays[thing] and not self._is_on(raw, other, after) and not any(
                raw[self.subject.condition_at[one] + RUN] for one in self.enders):
            name = self.subject.condition_name(self.enders[0]) if self.enders else ""
            return Failure(self.claim, f"{self.names[0]} is on and {self.names[1]} is off"
                                       + (f", and {name} does not end it within {self.allowed_ms} ms" if name else "")), ghost
        return None, ghost

    def _is_on(self, raw: array[int], channel: int, relays: int) -> bool:
        """Return whether a channel counts as on: closed, or about to close once its dead time is over and its line is dead."""
        subject, at = self.subject, self.subject.channel_at[channel]
        is_barred = subject.tops[channel] > 1 and channel in subject.feedback_at and raw[subject.feedback_at[channel] + LIVE]
        is_closing = raw[at + WANTED] and (raw[at + WAIT] or is_barred) and not (raw[at + TURN] or raw[at + HOLD])
        return bool(relays & subject.own_relays[channel] or is_closing)


def _coupled(subject: Subject, thing: int, other: int) -> tuple[int, ...]:
    """Return the conditions that look at one of two channels and act on one of them. A latched one looks elsewhere, too, and is left as free as the rest."""
    return tuple(number for number, row in enumerate(subject.conditions)
                 if row["source"] == OF_CHANNEL and row["number"] in (thing, other) and "released_by" not in row
                 and subject.trigger_channels("condition", number) & {thing, other})


def _ends(subject: Subject, condition: int, thing: int, other: int) -> bool:
    """Return whether a condition switches the one off when the other is."""
    row = subject.conditions[condition]
    if row["kind"] == HOLDS:
        return bool(row["number"] == other and row["sense"] and row["acts"][0][0] == thing)
    return (row["kind"] in (LOCKS, WHEN) and row["number"] == other and not row["sense"]
            and any((channel, verb) == (thing, OFF) for channel, verb, _ in subject.condition_acts(condition)))
