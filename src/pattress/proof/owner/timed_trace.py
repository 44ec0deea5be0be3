"""A timed trace: events with true durations, what is done, when, and what the relays do. It makes stories that are exact."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from pattress.controller.core import TIME

from ..story import Step, relays_moved

if TYPE_CHECKING:
    from pattress.proof.subject import Subject

SAVED_OFF = 1           # last level in a snapshot of a channel that was off


class TimedTrace:
    """Runs the core from power-up. `steps` is the story so far; `now` the time since power-up [ms]."""

    def __init__(self, subject: Subject) -> None:
        self.subject, core = subject, subject.core
        self.state = core.new_state(subject.plan)
        self.steps: list[Step] = []
        self.now, self.relays = 0, 0
        snapshot = bytes(byte for _ in subject.channels for byte in (0, SAVED_OFF))
        switches = bytes(len(subject.switches) + len(subject.inputs))
        contacts = bytes(_resting(row) for row in subject.table["regulators"])
        core.begin(subject.plan, self.state, bytearray(snapshot), list(switches), list(contacts))
        self.tell("the power comes on, everything was off", (0, 0, 0, 0, 0), begin=(snapshot, switches, contacts))

    def copy(self) -> TimedTrace:
        """Return another trace that starts where this one stands."""
        other = object.__new__(TimedTrace)
        other.subject, other.state, other.steps = self.subject, self.state[:], list(self.steps)
        other.now, other.relays = self.now, self.relays
        return other

    def tell(self, words: str, row: tuple[int, ...], begin: tuple[bytes | None, bytes, bytes] | None = None) -> None:
        """Give the core one event."""
        self.subject.core.step(self.subject.plan, self.state, row)
        relays = self.subject.core.relays(self.subject.plan, self.state)
        self.steps.append(Step(words, relays_moved(self.subject, self.relays, relays), row, (), begin, False, relays))
        self.relays = relays

    def follow(self, told: Iterable[tuple[str, tuple[int, ...]]]) -> None:
        """Give the core one event after the other; time passes as `wait` lets it."""
        for words, row in told:
            if row[0] == TIME:
                self.wait(row[1])
            else:
                self.tell(words, row)

    def wait(self, milliseconds: int) -> None:
        """Let time pass, waking whenever a wait of the program runs out, as the loop does."""
        until = self.now + milliseconds
        while self.now < until:
            due = self.subject.core.due_in(self.subject.plan, self.state)
            passed = min(until - self.now, due) if due > 0 else until - self.now
            self.now += passed
            self.tell(f"{passed} ms pass", (0, passed, 0, 0, 0))


def _resting(row: Mapping[str, Any]) -> int:
    """Return the contacts of a regulator in its first position."""
    return 0 if row["off_is_open"] else 1
