"""One wall switch: its contact may open, close and bounce at any moment, whatever else goes on.

The ghost is the level that was last told, so that a contact is believed exactly when it has
kept still for the settling time. What the switch then does is judged with its channels in
random states; that it acts in every state a channel can reach is explored with the channel.
"""

from __future__ import annotations

from array import array
from collections.abc import Sequence
from random import Random
from typing import TYPE_CHECKING

from pattress.controller.core import CONTACT
from pattress.controller.core.cells import BY_SWITCH, LEVEL, SETTLE, SWITCH

from ..exploration import Part
from ..moves import CUT, PASS, Move, foreign_moves, passing, with_waits
from ..properties import Failure
from .asking import judge_wishes, still_around

if TYPE_CHECKING:
    from pattress.proof.subject import Subject


class SwitchPart(Part):
    """Explores one wall switch."""

    claims = ("no-error", "switch-acts", "switch-settles", "wish-kept", "cause", "learnt", "starts-open", "undisturbed")
    samples = 8

    def __init__(self, subject: Subject, switch: int) -> None:
        self.at, self.row, self.switch = subject.switch_at[switch], subject.table["switches"][switch], switch
        channels = subject.trigger_channels("switch", switch)
        super().__init__(subject, f"switch {self.row['name']}", [(self.at, self.at + SWITCH)], channels,
                         still_around(subject, channels) - {("switch", switch)})
        self.own_relays = 0
        self.asks = ((subject.switch_acts[switch], BY_SWITCH),)
        foreign = foreign_moves(subject, channels, {("switch", switch)})
        self.events = [
            *(Move(f"contact of {self.row['name']} is {words}", row=(CONTACT, switch, level, 0, 0))
              for level, words in ((0, "open"), (1, "closed"))),
            *(move for move in foreign if move.kind != PASS and not self.asks_mine(move)),
        ]
        self.times = [passing(), *(move for move in foreign if move.kind == PASS)]
        self.expected["acts"] = ("can-operate", f"{self.row['name']} acts")

    def asks_mine(self, move: Move) -> bool:
        return any(channel in self.channels for acts, _ in move.asks for channel, _, _ in acts)

    def starts(self) -> list[Move]:
        return [Move(f"power comes on, {self.row['name']} {words}", CUT, snapshot=level)
                for level, words in ((0, "open"), (1, "closed"))]

    def moves(self, running: Sequence[int]) -> list[Move]:
        return with_waits(self.times, running) + self.events + self.starts()

    def snapshot(self, move: Move, old: array[int], ghost: bytes, random: Random) -> None:
        self.found = move.snapshot
        return None

    def closed(self, random: Random, ghost: bytes) -> tuple[list[int], list[int]]:
        closed, contacts = super().closed(random, ghost)
        closed[self.switch] = self.found
        return closed, contacts

    def judge(self, old: array[int], raw: array[int], move: Move, elapsed: int,
              todo: int | list[int], before: int, after: int, ghost: bytes) -> tuple[Failure | None, bytes]:
        at, name = self.at, self.row["name"]
        level, settle, old_level, old_settle = raw[at + LEVEL], raw[at + SETTLE], old[at + LEVEL], old[at + SETTLE]
        if move.kind == CUT:
            return None, bytes((self.found,))
        real, asks = ghost[0], move.asks
        believed = move.kind == PASS and 0 < old_settle <= elapsed
        if move.row[0] == CONTACT and move.row[1] == self.switch:
            told = move.row[2]
            should = 0 if told == old_level else old_settle if told == real else self.row["settle_ms"]
            real = told
        else:
            should = max(0, old_settle - elapsed)
        if settle != should:
            return Failure("switch-settles", f"{name}: {settle} ms until its contact is believed, {should} ms would be right"), ghost
        if level != (real if believed else old_level) or (not settle and level != real):
            return Failure("switch-settles", f"{name}: it stands {'closed' if real else 'open'} and is taken as "
                                             f"{'closed' if level else 'open'}"), ghost
        if believed and (level or self.row["latching"]):
            asks = asks + self.asks
            self.seen.add("acts")
        return judge_wishes(self.subject, self.channels, old, raw, asks, elapsed), bytes((real,))
