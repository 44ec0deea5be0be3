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
from pattress.controller.core.cells import (
    BY_SWITCH,
    INPUT,
    INPUT_MOVED,
    LEVEL,
    PRESS,
    SETTLE,
    SWITCH,
    UNDECIDED,
    UNTIL,
)

from ..exploration import Part
from ..moves import CUT, PASS, Ask, Move, foreign_moves, passing, with_waits
from ..properties import Failure
from .apart import all_asked
from .asking import judge_wishes, still_around

if TYPE_CHECKING:
    from pattress.proof.subject import Subject


SHORT, HELD, TWICE = "short", "held", "twice"
HOW = {SHORT: "when it is pressed shortly", HELD: "when it is held", TWICE: "when it is pressed twice"}
NOBODY, DOWN, LET_GO = range(3)         # how far a press has come that has not acted: there is none, it is closed, it was let go


class SwitchPart(Part):
    """Explores one wall switch."""

    claims: tuple[str, ...] = ("no-error", "switch-acts", "switch-settles", "wish-kept", "cause", "learnt", "starts-open", "undisturbed")
    samples = 8
    settles = "switch-settles"
    beside: tuple[tuple[int, int], ...] = ()        # cells of it elsewhere

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
        super().__init__(subject, f"{kind} {self.words}", [(self.at, self.at + cells), *self.beside], channels, still_around(subject, channels) - {me})
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
        failure, contact, believed = self.judge_contact(old, raw, move, elapsed, ghost)
        if failure is not None or move.kind == CUT:
            return failure, contact
        asks = move.asks
        if believed and (raw[self.at + LEVEL] or self.acts_on_opening):
            asks = asks + self.asks
            self.seen.add("acts")
        return judge_wishes(self.subject, self.channels, old, raw, asks, elapsed), contact

    def judge_contact(self, old: array[int], raw: array[int], move: Move, elapsed: int, ghost: bytes) -> tuple[Failure | None, bytes, bool]:
        """Return (Failure or None, the level that was last told, whether the contact came to be believed)."""
        at, name = self.at, self.words
        level, settle, old_level, old_settle = raw[at + LEVEL], raw[at + SETTLE], old[at + LEVEL], old[at + SETTLE]
        if move.kind == CUT:
            return None, bytes((self.found,)), False
        real = ghost[0]
        believed = move.kind == PASS and 0 < old_settle <= elapsed
        if move.row[0] == self.event and move.row[1] == self.number:
            told = move.row[2]
            should = 0 if told == old_level else old_settle if told == real else self.settle_ms
            real = told
        else:
            should = max(0, old_settle - elapsed)
        if settle != should:
            return Failure(self.settles, f"{name}: {settle} ms until its contact is believed, {should} ms would be right"), ghost, believed
        if level != (real if believed else old_level) or (not settle and level != real):
            return Failure(self.settles, f"{name}: it stands {'closed' if real else 'open'} and is taken as "
                                         f"{'closed' if level else 'open'}"), ghost, believed
        return None, bytes((real,)), believed


class PressPart(SwitchPart):
    """Explores one wall switch that tells presses apart.

    The ghost has one more byte: how far a press has come. What it then counts as is told here from the edges that
    are believed and the times that pass, not from the cells.
    """

    claims = (*SwitchPart.claims, "presses-told-apart")

    def __init__(self, subject: Subject, switch: int) -> None:
        self.press_at, self.row, self.acts = subject.press_at[switch], subject.presses[switch], subject.press_acts(switch)
        self.beside = ((self.press_at, self.press_at + PRESS),)
        super().__init__(subject, switch)
        self.acts[SHORT] = subject.switch_acts[switch]
        del self.expected["acts"]
        self.expected |= {how: ("can-operate", f"{self.words} acts {words}") for how, words in HOW.items() if how in self.acts}

    def judge(self, old: array[int], raw: array[int], move: Move, elapsed: int,
              todo: int | list[int], before: int, after: int, ghost: bytes) -> tuple[Failure | None, bytes]:
        failure, contact, believed = self.judge_contact(old, raw, move, elapsed, ghost)
        if failure is not None or move.kind == CUT:
            return failure, contact + bytes((NOBODY,))
        was = old[self.press_at + UNTIL]
        is_over = move.kind == PASS and 0 < was <= elapsed
        stage, acted, begun = self.counted(ghost[1], believed, raw[self.at + LEVEL], is_over)
        left, should = raw[self.press_at + UNTIL], max(0, was - elapsed) if begun is None else begun
        if left != should or raw[self.press_at + UNDECIDED] != (stage != NOBODY):
            return Failure("presses-told-apart", f"{self.words}: {left} ms until its press is decided, {should} ms would be right; it is "
                           f"{'' if raw[self.press_at + UNDECIDED] else 'not '}waiting to act"), ghost
        asks = move.asks
        if acted:
            asks = asks + ((self.acts[acted], BY_SWITCH),)
            self.seen.add(acted)
        return judge_wishes(self.subject, self.channels, old, raw, asks, elapsed), contact + bytes((stage,))

    def counted(self, stage: int, believed: bool, level: int, is_over: bool) -> tuple[int, str, int | None]:
        """Return how far the press has come then, as what it acts ("" where it does not) and the wait begun [ms], None where none is.

        `believed` says that the contact has come to `level`, `is_over` that the wait of the press has.
        """
        if stage == DOWN and is_over:               # held, even where it is let go in the same moment
            return NOBODY, HELD, 0
        if stage == DOWN and believed:
            return (LET_GO, "", self.row["again_ms"]) if TWICE in self.acts else (NOBODY, SHORT, 0)
        if stage == LET_GO and believed:            # in time, even in the last moment
            return NOBODY, TWICE, 0
        if stage == LET_GO and is_over:
            return NOBODY, SHORT, 0
        if stage == NOBODY and believed and level:
            return DOWN, "", self.row["held_ms"]
        return stage, "", None


class InputPart(SwitchPart):
    """Explores one input."""

    claims = ("no-error", "input-settles", "learnt", "starts-open", "undisturbed")
    settles = "input-settles"

    def __init__(self, subject: Subject, number: int) -> None:
        self.at, self.place, self.event, self.number = subject.input_at[number], len(subject.switches) + number, INPUT_MOVED, number
        self.words, self.settle_ms, self.acts_on_opening, self.asks = subject.input_name(number), subject.inputs[number]["settle_ms"], True, ()
        self.take(subject, "input", INPUT, set())
        self.expected["acts"] = ("can-settle", self.words)
