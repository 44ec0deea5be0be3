"""Events that no plan has a meaning for, in random states, and what is told of the next wake-up.

Nothing is live here: the states are samples, not all states. They need not be all: a refused
event must leave every byte as it was, whatever the bytes are.
"""

from __future__ import annotations

from array import array
from collections.abc import Sequence
from random import Random
from typing import TYPE_CHECKING

from pattress.controller.core import CODE, COMMAND, CONTACT, ROTOR
from pattress.controller.core.cells import INPUT_MOVED, ON, READ, SENSED
from pattress.controller.core.conditions import PAST, UNKNOWN

from ..exploration import Part
from ..moves import CUT, PASS, Move
from ..properties import Failure

if TYPE_CHECKING:
    from pattress.proof.subject import Subject

ROUNDS = 6


class UnknownInputsPart(Part):
    """Throws unknown events at random states."""

    claims = ("no-error", "unknown-refused", "wakes", "starts-open", "learnt")
    samples = 24

    def __init__(self, subject: Subject) -> None:
        super().__init__(subject, "unknown events", [], (), ())
        table, random = subject.table, Random("unknown events")
        rows = [(kind, 0, 0, 0, 0) for kind in (-1, READ + 1)]
        rows += [(INPUT_MOVED, number, 1, 0, 0) for number in (-1, len(subject.inputs))]
        rows += [(READ, number, 0, 0, 0) for number in (-1, len(subject.readings))]
        rows += [(READ, number, place, 0, 0) for number in range(len(subject.readings)) for place in (UNKNOWN - 1, PAST + 1)]
        without = [channel for channel in subject.channels if channel not in subject.feedback_at]
        rows += [(SENSED, channel, 1, 0, 0) for channel in (-1, *without[:1], len(subject.channels))]
        rows += [(CONTACT, switch, 1, 0, 0) for switch in (-1, len(subject.switches))]
        rows += [(ROTOR, regulator, 0, 1, 0) for regulator in (-1, len(subject.regulators))]
        rows += [(ROTOR, regulator, contact, 1, 0) for regulator in subject.regulators
                 for contact in (-1, table["regulators"][regulator]["contacts"])]
        rows += [(COMMAND, channel, ON, 0, 0) for channel in (-1, len(subject.channels))]
        known = {(button["protocol"], button["address"], button["command"]) for button in table["buttons"]}
        near = [tuple(number + (place == changed) for place, number in enumerate(code)) for code in known for changed in range(3)]
        near += [(random.randrange(8), random.randrange(1 << 16), random.randrange(1 << 16)) for _ in range(ROUNDS)]
        rows += [(CODE, *code, freshness) for code in near if code not in known for freshness in range(3)]
        self.events = [Move(f"unknown event {row}", row=row, known=False) for row in rows]

    def starts(self) -> list[Move]:
        return [Move("power comes on", CUT)]

    def moves(self, running: Sequence[int]) -> list[Move]:
        return self.events + [Move("time passes", PASS)]

    def snapshot(self, move: Move, old: array[int], ghost: bytes, random: Random) -> None:
        return None

    def judge(self, old: array[int], raw: array[int], move: Move, elapsed: int,
              todo: int | list[int], before: int, after: int, ghost: bytes) -> tuple[Failure | None, bytes]:
        core, plan = self.subject.core, self.subject.plan
        waits = [raw[cell] for cell in self.subject.waits if raw[cell]]
        told = core.due_in(plan, raw)
        if told != min(waits, default=-1):
            return Failure("wakes", f"the next wait runs out in {min(waits, default=-1)} ms, {told} ms are told"), ghost
        if move.known and bool(todo & core.NEWS) != (core.next_news(plan, raw) >= 0):
            return Failure("wakes", f"news is {'' if todo & core.NEWS else 'not '}said to wait, and there is {'none' if todo & core.NEWS else 'some'}"), ghost
        return None, ghost
