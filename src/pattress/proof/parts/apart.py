"""What is never on together: told a second time, from the relays of both and the time since the others opened.

What another channel of a set does is set before every move: it is off, on, or has just gone off, whatever this one
does. So two are never on together where each closes only while the relays of the other are open, which is judged
with each; and relays follow one channel after the other, so two never close in one step.
"""

from __future__ import annotations

from array import array
from collections.abc import Iterable, Iterator
from collections.abc import Set as AbstractSet
from dataclasses import replace
from typing import TYPE_CHECKING

from pattress.controller.core.cells import APART, APPLIED, CONDITION, GONE, TURN, WANTED

from ..moves import CUT, Move, Poke, Settling, settlings_on
from ..properties import Failure

if TYPE_CHECKING:
    from pattress.proof.subject import Subject

LONG = (1 << 30) - 1        # longer than any time that passes in a move [ms]


def apart_from(subject: Subject, channels: AbstractSet[int]) -> tuple[int, ...]:
    """Return the channels that are kept apart from one of these, or from one that is, and are none of them."""
    found, todo = set(channels), list(channels)
    while todo:
        more = {other for other, _ in subject.apart.get(todo.pop(), ())} - found
        found |= more
        todo += more
    return tuple(sorted(found - channels))


def all_asked(subject: Subject, channels: AbstractSet[int]) -> frozenset[int]:
    """Return these channels and what is kept apart from them: in one step it matters who asks for which first."""
    return frozenset({*channels, *apart_from(subject, channels)})


def settlings_beside(subject: Subject, channels: frozenset[int]) -> list[tuple[Settling, ...]]:
    """Return the sets of what asks these channels that may settle in one step, and pairs with what asks one that is kept apart from them."""
    own, near = settlings_on(subject, channels), all_asked(subject, channels)
    return own if near == channels else own + [pair for pair in settlings_on(subject, near) if len(pair) <= 2 and pair not in own]


def times_apart(subject: Subject, channels: Iterable[int]) -> list[tuple[int, int]]:
    """Return the slices of the state that say how long ago these channels opened."""
    return [(subject.apart_at[channel], subject.apart_at[channel] + APART) for channel in channels if channel in subject.apart_at]


def beside(subject: Subject, channels: AbstractSet[int], moves: Iterable[Move]) -> list[Move]:
    """Return moves with what else is on meanwhile, of what is kept apart from these channels: nothing, one of them, or one that has just gone off."""
    others = apart_from(subject, channels)
    return [changed for move in moves for changed in _beside(subject, others, move)] if others else list(moves)


def _beside(subject: Subject, others: tuple[int, ...], move: Move) -> Iterator[Move]:
    """Yield a move with each way in which others may stand; what the move says of them itself comes after."""
    if move.kind == CUT:
        yield move
        return
    if not move.known:          # no relay follows what is refused, so nothing may have come to its end meanwhile
        yield replace(move, poke=tuple(cell for other in others for cell in _stands(subject, other, 0, LONG)) + move.poke)
        return
    off: Poke = tuple(cell for other in others for cell in _stands(subject, other, 0, 0))
    yield replace(move, poke=off + move.poke)
    for other in others:
        name = subject.channel_name(other)
        for words, wanted, gone in ((f"{name} is on", 1, 0), (f"{name} has just gone off", 0, LONG)):
            yield replace(move, words=f"{move.words}{'; ' if move.words else ''}{words}", poke=off + _stands(subject, other, wanted, gone) + move.poke)


def _stands(subject: Subject, channel: int, level: int, gone: int) -> Poke:
    """Return the cells of a channel that stands at a level, of which no rule asks anything meanwhile."""
    at = subject.channel_at[channel]
    ruled = tuple((subject.condition_at[one] + place, 0) for one in subject.conditions_on(channel) for place in range(CONDITION))
    return ((at + WANTED, level), (at + APPLIED, level), (at + TURN, 0), (subject.apart_at[channel] + GONE, gone), *ruled)


class ApartMonitor:
    """What one channel is kept apart from, judged in every transition of the channel."""

    def __init__(self, subject: Subject, channel: int) -> None:
        self.subject, self.channel, self.name = subject, channel, subject.channel_name(channel)
        self.at, self.others = subject.apart_at[channel], subject.apart[channel]
        self.seen: set[object] = set()
        self.expected: dict[object, tuple[str, str]] = {}
        for other, _ in self.others:
            name = subject.channel_name(other)
            self.expected |= {("refused", other): ("can-keep-apart", f"{self.name}, refused while {name} is on"),
                              ("waits", other): ("can-keep-apart", f"{self.name}, waiting after {name}")}

    def judge_begin(self, raw: array[int]) -> Failure | None:
        """Return the Failure of a moment of power-up, or None: each counts as just gone off."""
        left, should = raw[self.at + GONE], self.subject.between_ms[self.channel]
        return None if left == should else Failure("never-together", f"{self.name}: at power-up {left} ms until another may come on, {should} ms would be right")

    def is_barred(self, raw: array[int]) -> bool:
        """Return whether another one is on, or has just gone off."""
        return any(raw[self.subject.channel_at[other] + APPLIED] or raw[self.subject.apart_at[other] + GONE] for other, _ in self.others)

    def judge(self, old: array[int], raw: array[int], cause: int | None, elapsed: int, before: int, after: int) -> Failure | None:
        """Return the Failure of a transition, or None. `cause` is who asked last in it."""
        subject = self.subject
        left, should = raw[self.at + GONE], max(0, old[self.at + GONE] - elapsed)
        if before and not after:
            should = subject.between_ms[self.channel]
        if left != should:
            return Failure("never-together", f"{self.name}: {left} ms until another may come on, {should} ms would be right")
        if after and not before and self.is_barred(raw):
            return Failure("never-together", f"{self.name} comes on, and what it is kept apart from is on or has only just gone off")
        wanted = raw[subject.channel_at[self.channel] + WANTED]
        for other, rule in self.others:
            if cause == rule and not wanted and old[subject.channel_at[other] + WANTED]:
                self.seen.add(("refused", other))
            if wanted and not after and raw[subject.apart_at[other] + GONE]:
                self.seen.add(("waits", other))
        return None
