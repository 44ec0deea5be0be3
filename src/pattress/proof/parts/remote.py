"""All remote buttons together: presses, repeats, lost repeats, other buttons in between.

The ghost is the button that counts as held, 0 for none, kept here from the codes and the time.
"""

from __future__ import annotations

from array import array
from collections.abc import Sequence
from random import Random
from typing import TYPE_CHECKING

from pattress.controller.core import CANNOT_TELL, CODE, NEW_PRESS, REPEAT
from pattress.controller.core.cells import BY_REMOTE, HELD, KEY

from ..exploration import Part
from ..moves import CUT, PASS, Move, code_row, foreign_moves, passing, with_waits
from ..properties import Failure
from .asking import judge_wishes, still_around

if TYPE_CHECKING:
    from pattress.proof.subject import Subject

FRESHNESS = {CANNOT_TELL: "a frame", REPEAT: "a repeat mark", NEW_PRESS: "a new press"}


class RemotePart(Part):
    """Explores the remote buttons of a job."""

    claims = ("no-error", "button-acts", "wish-kept", "cause", "learnt", "starts-open", "undisturbed")
    samples = 3

    def __init__(self, subject: Subject) -> None:
        channels = set().union(*(subject.trigger_channels("button", button) for button in subject.buttons))
        super().__init__(subject, "remote buttons", [(KEY, HELD + 1)], channels, still_around(subject, channels))
        self.own_relays = 0
        self.codes: dict[tuple[int, ...], int] = {}
        for button in subject.buttons:
            self.codes.setdefault(code_row(subject, button, 0), button)
            self.expected[button] = ("can-operate", f"{subject.table['buttons'][button]['name']} acts")
        self.expected["held"] = ("can-hold", "no button ever counts as held")
        self.events = [
            Move(f"remote: {words} of {subject.table['buttons'][button]['name']}", row=code_row(subject, button, freshness))
            for button in subject.buttons for freshness, words in FRESHNESS.items()
        ] + [move for move in foreign_moves(subject, channels) if move.kind != PASS and not move.asks]
        self.times = [passing(), *(move for move in foreign_moves(subject, channels) if move.kind == PASS)]

    def starts(self) -> list[Move]:
        return [Move("power comes on", CUT)]

    def moves(self, running: Sequence[int]) -> list[Move]:
        return with_waits(self.times, running) + self.events + self.starts()

    def snapshot(self, move: Move, old: array[int], ghost: bytes, random: Random) -> None:
        return None

    def judge(self, old: array[int], raw: array[int], move: Move, elapsed: int,
              todo: int | list[int], before: int, after: int, ghost: bytes) -> tuple[Failure | None, bytes]:
        if move.kind == CUT:
            return None, b"\0"
        held, asks = ghost[0], move.asks
        left = max(0, old[HELD] - elapsed) if held else 0
        if move.row[0] == CODE:
            button, freshness = self.codes[move.row[:4] + (0,)], move.row[4]
            again = held == 1 + button
            if again:
                self.seen.add("held")
            if freshness != REPEAT or again:
                held, left = 1 + button, self.subject.table["held_ms"]
            if freshness == NEW_PRESS or (freshness == CANNOT_TELL and not again):
                asks = asks + ((self.subject.button_acts[button], BY_REMOTE),)
                self.seen.add(button)
        failure = judge_wishes(self.subject, self.channels, old, raw, asks, elapsed)
        if failure is not None and failure.id == "wish-kept":
            failure = Failure("button-acts", f"a button that is held, or a stray repeat mark, acts. {failure.detail}")
        if failure is None and held and raw[HELD] != left:
            failure = Failure("button-acts", f"{raw[HELD]} ms until the button counts as let go, {left} ms would be right")
        return failure, bytes((held if left else 0,))
