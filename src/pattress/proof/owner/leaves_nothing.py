"""Off everything leaves nothing on: explored channel by channel, with everything that does it beside everything else that may ask.

What it leaves on is told by name. It may be left on by somebody else who asks for it in the very same step, and by nothing else. A mode
has no relay, and is let be.
"""

from __future__ import annotations

from array import array
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pattress.controller.core.cells import OFF

from ..moves import Move, changing, passing, presses_on, switch_settlings
from ..parts.channel import ChannelPart
from ..properties import Failure

if TYPE_CHECKING:
    from pattress.proof.moves import Act
    from pattress.proof.subject import Subject


@dataclass(frozen=True, slots=True)
class Clearing:
    """A "switch", "button" or "condition" that does "off everything", by its number, and what it asks for."""

    kind: str
    number: int
    acts: tuple[Act, ...]

    def name_in(self, subject: Subject) -> str:
        """Return what a person calls it."""
        if self.kind == "condition":
            return subject.condition_name(self.number)
        return str(subject.table["switches" if self.kind == "switch" else "buttons"][self.number]["name"])

    def moves_in(self, subject: Subject) -> list[Move]:
        """Return the moves in which it alone acts."""
        if self.kind == "button":
            return [move for move in presses_on(subject, frozenset(subject.channels)) if move.mover == self.name_in(subject)]
        acting = switch_settlings(subject, self.number) if self.kind == "switch" else [changing(subject, self.number)]
        return [passing((one,)) for one in acting if one.ask and one.ask[0] == self.acts]


class LeavesNothingPart(ChannelPart):
    """Explores one channel."""

    tracks_quiet = False

    def __init__(self, subject: Subject, channel: int, claim: str) -> None:
        super().__init__(subject, channel, f"wish about {subject.channel_name(channel)}")
        self.claim, self.clearings = claim, frozenset(one.acts for one in clearing(subject))
        for one in clearing(subject):
            if channel not in subject.trigger_channels(one.kind, one.number):      # it should, and does not
                own = self.events if one.kind == "button" else self.times
                own[:0] = self.beside(one.moves_in(subject))

    def judge_begin(self, raw: array[int], snapshot: bytearray | None, ghost: bytes) -> None:
        return None

    def judge(self, old: array[int], raw: array[int], move: Move, elapsed: int,
              todo: int | list[int], before: int, after: int, ghost: bytes) -> tuple[Failure | None, bytes]:
        if not after or not any(acts in self.clearings for acts, _ in move.asks):
            return None, ghost
        others = (act for acts, _ in move.asks if acts not in self.clearings for act in acts)
        if any(channel == self.channel and verb != OFF for channel, verb, _ in others):
            return None, ghost
        return Failure(self.claim, f"off everything leaves {self.row['name']} on"), ghost


def clearing(subject: Subject) -> list[Clearing]:
    """Return each switch, button and condition that does "off everything"."""
    rows = {"switch": subject.table["switches"], "button": subject.table["buttons"], "condition": subject.conditions}
    found = [(kind, number, row["acts"]) for kind, of_kind in rows.items() for number, row in enumerate(of_kind) if row.get("everything")]
    found += [("switch", row["switch"], row[how]) for row in subject.presses.values() for how in ("held", "twice") if row.get(f"{how}_everything")]
    return [Clearing(kind, number, tuple((channel, verb, level) for channel, verb, level in acts)) for kind, number, acts in found]
