"""One reading of a sensor: known until it is stale, past its begin until it is past its end."""

from __future__ import annotations

from array import array
from collections.abc import Sequence
from random import Random
from typing import TYPE_CHECKING

from pattress.controller.core.cells import BEYOND, FRESH, READ, READING
from pattress.controller.core.conditions import BETWEEN, PAST, UNKNOWN

from ..exploration import Part
from ..moves import CUT, PASS, Move, foreign_moves, passing, with_waits
from ..properties import Failure

if TYPE_CHECKING:
    from pattress.proof.subject import Subject

PLACES = ("is not known", "is past its end", "is between", "is past its begin")


class ReadingPart(Part):
    """Explores one reading."""

    claims = ("no-error", "read-fresh", "starts-open", "learnt", "undisturbed")
    samples = 8

    def __init__(self, subject: Subject, reading: int) -> None:
        self.at, self.stale_ms, self.reading = subject.reading_at[reading], subject.readings[reading]["stale_ms"], reading
        self.words = subject.reading_name(reading)
        super().__init__(subject, f"reading {self.words}", [(self.at, self.at + READING)], (), {("reading", reading)})
        foreign = foreign_moves(subject, frozenset(), {("reading", reading)})
        self.events = [
            *(Move(f"{self.words} {words}", row=(READ, reading, place, 0, 0)) for place, words in enumerate(PLACES, UNKNOWN)),
            *(move for move in foreign if move.kind != PASS),
        ]
        self.times = [passing(), *(move for move in foreign if move.kind == PASS)]
        self.expected = {"stale": ("can-be-stale", self.words)}

    def starts(self) -> list[Move]:
        return [Move("power comes on", CUT)]

    def moves(self, running: Sequence[int]) -> list[Move]:
        return with_waits(self.times, running) + self.events + self.starts()

    def snapshot(self, move: Move, old: array[int], ghost: bytes, random: Random) -> None:
        return None

    def judge_begin(self, raw: array[int], snapshot: bytearray | None, ghost: bytes) -> Failure | None:
        if any(raw[self.at:self.at + READING]):
            return Failure("read-fresh", f"{self.words}: something is known of it before it was read")
        return None

    def judge(self, old: array[int], raw: array[int], move: Move, elapsed: int,
              todo: int | list[int], before: int, after: int, ghost: bytes) -> tuple[Failure | None, bytes]:
        fresh, beyond = raw[self.at + FRESH], raw[self.at + BEYOND]         # a condition takes it as 0 or 1, and nothing else
        left, was = (0, False) if move.kind == CUT else (max(0, old[self.at + FRESH] - elapsed), bool(old[self.at + BEYOND]))
        if move.row[0] == READ and move.row[1] == self.reading:
            place = move.row[2]
            left = 0 if place == UNKNOWN else self.stale_ms
            was = place == PAST if place != BETWEEN else was
        should = was and left > 0
        if fresh != left or beyond != should:
            return Failure("read-fresh", f"{self.words}: {fresh} ms until it is stale, past its begin: {beyond}; {left} ms and {should} would be right"), ghost
        if 0 < old[self.at + FRESH] <= elapsed:
            self.seen.add("stale")
        return None, ghost
