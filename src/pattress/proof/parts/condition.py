"""One condition of the rules: met once what it looks at has been so for long enough, and no longer once it has been otherwise.

What it looks at is set before every move, so that it may change at any moment and back. What a condition then
does is explored with its channels.
"""

from __future__ import annotations

from array import array
from collections.abc import Sequence
from dataclasses import replace
from random import Random
from typing import TYPE_CHECKING

from pattress.controller.core.cells import (
    BEYOND,
    FRESH,
    HOLD,
    LEVEL,
    MET,
    RUN,
    TAKEN,
    TURN,
    WANTED,
)
from pattress.controller.core.conditions import HOLDS, LOCKS, OF_CHANNEL, OF_INPUT, RELEASE, WHEN

from ..exploration import Part
from ..moves import BACKWARDS, CUT, PASS, Move, Poke, foreign_moves, passing, running_out
from ..properties import Failure
from .asking import still_around

if TYPE_CHECKING:
    from pattress.proof.subject import Subject

LONG = (1 << 30) - 1        # longer than any time that passes in a move [ms]
OPEN, CLOSED, LOST = "open", "closed", "lost"
KEPT = (LOST, 0, 1, 255)    # what a snapshot may say of a latched one; a foreign one says anything


class ConditionPart(Part):
    """Explores one condition."""

    claims = ("no-error", "met-in-time", "rule-acts", "starts-open", "learnt", "undisturbed")
    samples = 8

    def __init__(self, subject: Subject, condition: int) -> None:
        self.subject, self.at, self.row, self.condition = subject, subject.condition_at[condition], subject.conditions[condition], condition
        self.words = subject.condition_name(condition)
        source = {self.row["number"]} if self.row["source"] == OF_CHANNEL else set()
        acted = {channel for channel, _, _ in subject.condition_acts(condition)}
        near = source | acted
        still = still_around(subject, near) | {("condition", condition), ("input", self.row["number"]), ("reading", self.row["number"])}
        still |= {("rule", channel) for channel in near} | {("condition", self.row.get("released_by", -1))}
        self.free: Poke = ()        # no other rule switches what it looks at meanwhile
        if self.row["source"] == OF_CHANNEL:
            others = [one for one in subject.conditions_on(self.row["number"]) if one != condition]
            self.free = tuple((subject.condition_at[one] + place, 0) for one in others for place in (MET, TAKEN))
        self.strikes = self.row["kind"] == WHEN
        super().__init__(subject, f"condition {self.words}{self._which()}", [(self.at + MET, self.at + (TAKEN if self.strikes else RUN) + 1)], (), still)
        foreign = foreign_moves(subject, near, still)
        self.events = [replace(move, words=f"{words}; {move.words}", poke=move.poke + poke)
                       for words, poke in self._looks() for move in (*foreign, *BACKWARDS) if move.kind != PASS]
        self.times = [passing(poke=poke, words=(words,)) for words, poke in self._looks()]
        self.expected = {"met": ("can-be-met", self.words), "over": ("can-be-met", f"{self.words}, over again")}
        if self.row["kind"] == RELEASE or "released_by" in self.row:
            self.expected["over"] = ("can-be-met", f"{self.words}, released")

    def _which(self) -> str:
        """Return which of several conditions of the same name it is, nothing where there is one."""
        same = [number for number in range(len(self.subject.conditions)) if self.subject.condition_name(number) == self.words]
        return f", {same.index(self.condition) + 1} of {len(same)}" if len(same) > 1 else ""

    def _looks(self) -> list[tuple[str, Poke]]:
        """Return how what it looks at may stand, in words and as cells."""
        subject, row, number = self.subject, self.row, self.row["number"]
        looks: list[tuple[str, Poke]]
        if row["source"] == OF_CHANNEL:
            at, name = subject.channel_at[number], subject.channel_name(number)
            looks = [(f"{name} is {'on' if on else 'off'}", ((at + WANTED, on), (at + TURN, 0), (at + HOLD, 0))) for on in (0, 1)]
            looks += [(f"{name} is wanted and waits for {words}", ((at + WANTED, 1), (at + TURN, turn), (at + HOLD, hold)))
                      for words, turn, hold in (("its turn", LONG, 0), ("its minimum off time", 0, LONG))]
            looks = [(words, poke + self.free) for words, poke in looks]
        elif row["source"] == OF_INPUT:
            at = subject.input_at[number]
            looks = [(f"{subject.input_name(number)} is {'closed' if level else 'open'}", ((at + LEVEL, level),)) for level in (0, 1)]
        else:
            at = subject.reading_at[number]
            looks = [(f"{subject.reading_name(number)} is {'past its begin' if beyond else 'past its end'}", ((at + FRESH, LONG), (at + BEYOND, beyond)))
                     for beyond in (0, 1)]
            looks.append((f"{subject.reading_name(number)} is not known", ((at + FRESH, 0), (at + BEYOND, 0))))
        if "released_by" in row:
            at = subject.condition_at[row["released_by"]]
            looks = [(f"{words}{', being released' if met else ''}", (*poke, (at + MET, met), (at + RUN, 0))) for words, poke in looks for met in (0, 1)]
        return looks

    def is_so(self, raw: array[int]) -> bool:
        """Return whether what it looks at is so now, with a latch that nothing released."""
        subject, row = self.subject, self.row
        if "released_by" in row and raw[self.at + MET] and not raw[subject.condition_at[row["released_by"]] + MET]:
            return True
        return self.looks_so(raw)

    def looks_so(self, raw: array[int]) -> bool:
        """Return whether what it looks at is so now, whatever is latched."""
        subject, row, number = self.subject, self.row, self.row["number"]
        if row["source"] == OF_CHANNEL:
            at = subject.channel_at[number]
            if row["sense"]:
                return bool(raw[at + WANTED])
            return not (raw[at + WANTED] and not raw[at + TURN] and not raw[at + HOLD])
        if row["source"] == OF_INPUT:
            return bool(raw[subject.input_at[number] + LEVEL]) == bool(row["sense"])
        at = subject.reading_at[number]
        return bool(raw[at + BEYOND]) if raw[at + FRESH] else bool(row["kind"] == LOCKS)

    def starts(self) -> list[Move]:
        moves = [Move(f"power comes on, what it looks at {words}, kept was {kept}", CUT, snapshot=(words, kept), poke=self.free)
                 for words in (OPEN, CLOSED) for kept in KEPT]
        return moves if "released_by" in self.row else moves[1::len(KEPT)]

    def moves(self, running: Sequence[int]) -> list[Move]:
        return [one for move in self.times for one in running_out(move, running)] + self.events + self.starts()

    def snapshot(self, move: Move, old: array[int], ghost: bytes, random: Random) -> bytearray | None:
        self.found, self.kept = move.snapshot
        if self.kept == LOST:
            return None
        subject = self.subject
        snapshot = bytearray(random.randrange(256) for _ in range(subject.snapshot_size))
        if self.row["source"] == OF_CHANNEL:
            number = self.row["number"]
            snapshot[2 * number:2 * number + 2] = bytes((int(self.found == CLOSED), 1))
        if "released_by" in self.row:
            snapshot[2 * len(subject.channels) + subject.kept.index(self.condition)] = self.kept
        return snapshot

    def closed(self, random: Random, ghost: bytes) -> tuple[list[int], list[int]]:
        closed, contacts = super().closed(random, ghost)
        if self.row["source"] == OF_INPUT:
            closed[len(self.subject.switches) + self.row["number"]] = int(self.found == CLOSED)
        return closed, contacts

    def judge_begin(self, raw: array[int], snapshot: bytearray | None, ghost: bytes) -> Failure | None:
        row = self.row
        should = row["kind"] not in (HOLDS, RELEASE) and (self.looks_so(raw) or (row["kind"] == LOCKS and row["after_ms"] > 1))
        if "released_by" in row and self.kept != 0:
            should = True
        if bool(raw[self.at + MET]) != should or raw[self.at + RUN]:
            return Failure("met-in-time", f"{self.words}: at power-up it counts as {'' if raw[self.at + MET] else 'not '}met")
        return self._judge_taken(raw)

    def _judge_taken(self, raw: array[int]) -> Failure | None:
        """Return the Failure of a WHEN that would act at another moment than when it begins, or None."""
        if self.strikes and raw[self.at + TAKEN] != raw[self.at + MET]:
            return Failure("rule-acts", f"{self.words}: it is {'' if raw[self.at + MET] else 'not '}met and counts as "
                                        f"{'' if raw[self.at + TAKEN] else 'not '}carried out")
        return None

    def judge(self, old: array[int], raw: array[int], move: Move, elapsed: int,
              todo: int | list[int], before: int, after: int, ghost: bytes) -> tuple[Failure | None, bytes]:
        met, run, was, left = raw[self.at + MET], raw[self.at + RUN], old[self.at + MET], old[self.at + RUN]
        is_over = 0 < left <= elapsed
        should = 1 - was if is_over else was
        if met != should:
            return Failure("met-in-time", f"{self.words}: it counts as {'' if met else 'not '}met, {left} ms before that was believed and {elapsed} ms passed"), ghost
        is_so = self.is_so(raw)
        should = 0 if is_so == bool(met) else max(0, left - elapsed) or self.row["from_ms" if is_so else "after_ms"]
        if run != should:
            return Failure("met-in-time", f"{self.words}: {run} ms until it is believed, {should} ms would be right"), ghost
        if is_over:
            self.seen.add("met" if met else "over")
        return self._judge_taken(raw), ghost
