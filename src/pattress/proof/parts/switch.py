"""One wall switch, or one input: its contact may open, close and bounce at any moment, whatever else goes on.

The ghost is the level that was last told, so that a contact is believed exactly when it has
kept still for the settling time. What a switch then does is judged with its channels in
random states; that it acts in every state a channel can reach is explored with the channel. An input asks
nobody: what a rule makes of it is explored with the rule's condition.
"""

from __future__ import annotations

from array import array
from collections.abc import Sequence
from random import Random
from typing import TYPE_CHECKING

from pattress.controller.core import CONTACT
from pattress.controller.core.cells import BY_SWITCH, INPUT, INPUT_MOVED, LEVEL, SETTLE, SWITCH

from ..exploration import Part
from ..moves import CUT, PASS, Ask, Move, foreign_moves, passing, with_waits
from ..properties import Failure
from .apart import all_asked
from .asking import judge_wishes, still_around

if TYPE_CHECKING:
    from pattress.proof.subject import Subject


class SwitchPart(Part):
    """Explores one wall switch."""

    claims: tuple[str, ...] = ("no-error", "switch-acts", "switch-settles", "wish-kept", "cause", "learnt", "starts-open", "undisturbed")
    samples = 8
    settles = "switch-settles"

    def __init__(self, subject: Subject, switch: int) -> None:
        row = subject.table["switches"][switch]
        self.at, self.place, self.event, self.number = subject.switch_at[switch], switch, CONTACT, switch
        self.words, self.settle_ms, self.acts_on_opening = row["name"], row["settle_ms"], bool(row["latching"])
        self.asks: tuple[Ask, ...] = ((subject.switch_acts[switch], BY_SWITCH),)
        self.take(subject, "switch", SWITCH, subject.trigger_channels("switch", switch))
        self.expected["acts"] = ("can-operate", f"{self.words} acts")

    def take(self, subject: Subject, kind: str, cells: int, channels: set[int]) -> None:
        """Take the contact whose cells begin at `at`."""
        me = (kind, self.number)
        super().__init__(subject, f"{kind} {self.words}", [(self.at, self.at + cells)], channels, still_around(subject, channels) - {me})
        self.own_relays = 0
        foreign = foreign_moves(subject, all_asked(subject, channels), {me})
        self.events = [
            *(Move(f"contact of {self.words} is {words}", row=(self.event, self.number, level, 0, 0))
              for level, words in ((0, "open"), (1, "closed"))),
            *(move for move in foreign if move.kind != PASS and not self.asks_mine(move)),
        ]
        self.times = [passing(), *(move for move in foreign if move.kind == PASS)]

    def asks_mine(self, move: Move) -> bool:
        return any(channel in self.channels for acts, _ in move.asks for channel, _, _ in acts)

    def starts(self) -> list[Move]:
        return [Move(f"power comes on, {self.words} {words}", CUT, snapshot=level)
                for level, words in ((0, "open"), (1, "closed"))]

    def moves(self, running: Sequence[int]) -> list[Move]:
        return with_waits(self.times, running) + self.events + self.starts()

    def snapshot(self, move: Move, old: array[int], ghost: bytes, random: Random) -> None:
        self.found = move.snapshot
        return None

    def closed(self, random: Random, ghost: bytes) -> tuple[list[int], list[int]]:
        closed, contacts = super().closed(random, ghost)
        closed[self.place] = self.found
        return closed, contacts

    def judge(self, old: array[int], raw: array[int], move: Move, elapsed: int,
              todo: int | list[int], before: int, after: int, ghost: bytes) -> tuple[Failure | None, bytes]:
        at, name = self.at, self.words
        level, settle, old_level, old_settle = raw[at + LEVEL], raw[at + SETTLE], old[at + LEVEL], old[at + SETTLE]
        if move.kind == CUT:
            return None, bytes((self.found,))
        real, asks = ghost[0], move.asks
        believed = move.kind == PASS and 0 < old_settle <= elapsed
        if move.row[0] == self.event and move.row[1] == self.number:
            told = move.row[2]
            should = 0 if told == old_level else old_settle if told == real else self.settle_ms
            real = told
        else:
            should = max(0, old_settle - elapsed)
        if settle != should:
            return Failure(self.settles, f"{name}: {settle} ms until its contact is believed, {should} ms would be right"), ghost
        if level != (real if believed else old_level) or (not settle and level != real):
            return Failure(self.settles, f"{name}: it stands {'closed' if real else 'open'} and is taken as "
                                         f"{'closed' if level else 'open'}"), ghost
        if believed and (level or self.acts_on_opening):
            asks = asks + self.asks
            self.seen.add("acts")
        return judge_wishes(self.subject, self.channels, old, raw, asks, elapsed), bytes((real,))


class InputPart(SwitchPart):
    """Explores one input."""

    claims = ("no-error", "input-settles", "learnt", "starts-open", "undisturbed")
    settles = "input-settles"

    def __init__(self, subject: Subject, number: int) -> None:
        self.at, self.place, self.event, self.number = subject.input_at[number], len(subject.switches) + number, INPUT_MOVED, number
        self.words, self.settle_ms, self.acts_on_opening, self.asks = subject.input_name(number), subject.inputs[number]["settle_ms"], True, ()
        self.take(subject, "input", INPUT, set())
        self.expected["acts"] = ("can-settle", self.words)
