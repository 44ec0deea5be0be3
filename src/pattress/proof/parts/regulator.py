"""One wall regulator: its contacts may close in any combination, for any time.

The ghost is two bytes: the contacts as last told, and 1 + the position last obeyed (0 = none).
"""

from __future__ import annotations

from array import array
from collections.abc import Sequence
from random import Random
from typing import TYPE_CHECKING

from pattress.controller.core import ROTOR
from pattress.controller.core.cells import BY_REGULATOR, REGULATOR, SET, SETTLE

from ..exploration import Part
from ..moves import CUT, PASS, Move, foreign_moves, passing, with_waits
from ..properties import Failure
from .apart import all_asked
from .asking import judge_wishes, still_around

if TYPE_CHECKING:
    from pattress.proof.subject import Subject


def stands_at(contacts: int, off_is_open: int) -> int:
    """Return the position that exactly these contacts mean, -1 if none."""
    closed = [place for place in range(contacts.bit_length()) if contacts >> place & 1]
    if len(closed) == 1:
        return closed[0] + (1 if off_is_open else 0)
    return 0 if not closed and off_is_open else -1


class RegulatorPart(Part):
    """Explores one wall regulator."""

    claims = ("no-error", "regulator-obeyed", "regulator-settles", "wish-kept", "cause", "learnt", "starts-open", "undisturbed")

    def __init__(self, subject: Subject, regulator: int) -> None:
        self.at, self.row, self.regulator = subject.regulator_at[regulator], subject.table["regulators"][regulator], regulator
        self.channel = self.row["channel"]
        super().__init__(subject, f"regulator {self.row['name']}", [(self.at, self.at + REGULATOR)], {self.channel},
                         still_around(subject, {self.channel}) - {("regulator", regulator)})
        self.own_relays = 0
        foreign = foreign_moves(subject, all_asked(subject, self.channels), {("regulator", regulator)})
        self.events = [
            *(Move(f"contact {number + 1} of {self.row['name']} {words}", row=(ROTOR, regulator, number, level, 0))
              for number in range(self.row["contacts"]) for level, words in ((0, "opens"), (1, "closes"))),
            *(move for move in foreign if move.kind != PASS),
        ]
        self.times = [passing(), *(move for move in foreign if move.kind == PASS)]
        for position in range(len(self.row["levels"])):
            self.expected[position] = ("can-operate", f"{self.row['name']}, position {position}")

    def starts(self) -> list[Move]:
        return [Move(f"power comes on, contacts {contacts:b} (binary) of {self.row['name']} closed", CUT, snapshot=contacts)
                for contacts in range(1 << self.row["contacts"])]

    def moves(self, running: Sequence[int]) -> list[Move]:
        return with_waits(self.times, running) + self.events

    def snapshot(self, move: Move, old: array[int], ghost: bytes, random: Random) -> None:
        self.found = move.snapshot
        return None

    def closed(self, random: Random, ghost: bytes) -> tuple[list[int], list[int]]:
        closed, contacts = super().closed(random, ghost)
        contacts[self.regulator] = self.found
        return closed, contacts

    def judge(self, old: array[int], raw: array[int], move: Move, elapsed: int,
              todo: int | list[int], before: int, after: int, ghost: bytes) -> tuple[Failure | None, bytes]:
        at, row, name = self.at, self.row, self.row["name"]
        if move.kind == CUT:
            return None, bytes((self.found, 1 + stands_at(self.found, row["off_is_open"])))
        real, obeyed = ghost[0], ghost[1] - 1
        settle, old_settle, asks = raw[at + SETTLE], old[at + SETTLE], move.asks
        should = max(0, old_settle - elapsed)
        if move.row[0] == ROTOR and move.row[1] == self.regulator:
            bit = 1 << move.row[2]
            told = real | bit if move.row[3] else real & ~bit
            should = old_settle if told == real else row["settle_ms"]
            real = told
        if settle != should:
            return Failure("regulator-settles", f"{name}: {settle} ms until it is believed, {should} ms would be right"), ghost
        if move.kind == PASS and 0 < old_settle <= elapsed:
            position = stands_at(real, row["off_is_open"])
            if position >= 0 and position != obeyed:
                asks = asks + ((((self.channel, SET, row["levels"][position]),), BY_REGULATOR),)
                obeyed = position
                self.seen.add(position)
        failure = judge_wishes(self.subject, self.channels, old, raw, asks, elapsed)
        stands = stands_at(real, row["off_is_open"])
        if failure is None and not settle and stands >= 0 and stands != obeyed:
            failure = Failure("regulator-obeyed", f"{name}: it stands in position {stands}, nothing settles, and that was never obeyed")
        return failure, bytes((real, 1 + obeyed))
