"""What the conditions of one channel's rules ask of it: told a second time, from what counts as met before and after.

A condition may begin or end at any moment here, whatever it looks at; that it counts as met exactly when it
should is explored with the condition.
"""

from __future__ import annotations

from array import array
from collections.abc import Iterable, Iterator
from itertools import combinations
from typing import TYPE_CHECKING

from pattress.controller.core.cells import MET, OFF, RULED, TAKEN, WANTED
from pattress.controller.core.conditions import HOLDS, LOCKS, RESTS

from ..moves import Ask, Poke
from ..properties import Failure

if TYPE_CHECKING:
    from pattress.proof.subject import Subject

FEW = 3         # locks and rests of which every set may be met at power-up; of more only none, each, and all


def live_of(subject: Subject, channel: int) -> list[tuple[int, int]]:
    """Return the slices of the state that say what a channel's conditions come to."""
    slices = []
    for condition in subject.conditions_on(channel):
        at = subject.condition_at[condition]
        slices.append((at + MET, at + MET + 1))
        if subject.conditions[condition]["kind"] == HOLDS:
            slices.append((at + TAKEN, at + TAKEN + 1))
    return slices


def met_at_power_up(subject: Subject, channels: Iterable[int]) -> list[Poke]:
    """Return which locks and rests of these channels may be met as the power comes on."""
    places = [subject.condition_at[condition] + MET for channel in channels for condition in subject.conditions_on(channel)
              if subject.conditions[condition]["kind"] in (LOCKS, RESTS)]
    sizes = range(len(places) + 1) if len(places) <= FEW else (0, 1, len(places))
    return [tuple((place, int(place in met)) for place in places) for size in sizes for met in combinations(places, size)]


def rule_asks(subject: Subject, channels: Iterable[int], old: array[int], raw: array[int]) -> tuple[Ask, ...]:
    """Return what conditions ask of these channels in a transition, before any hand."""
    return tuple(ask for channel in channels for ask in _asks_of(subject, channel, old, raw)) if subject.conditions else ()


def _asks_of(subject: Subject, channel: int, old: array[int], raw: array[int]) -> Iterator[Ask]:
    for condition, begins in _who_ask(subject, channel, old, raw):
        yield subject.condition_acts(condition) if begins else ((channel, OFF, 0),), subject.cause_of(condition)


def _who_ask(subject: Subject, channel: int, old: array[int], raw: array[int]) -> Iterator[tuple[int, bool]]:
    """Yield (condition, whether it is a hold that begins) of each that asks something of a channel in a transition."""
    lock = subject.lock_in(raw, channel)
    if lock is not None and old[subject.channel_at[channel] + WANTED]:
        yield lock, False
    begun, ended, is_held = None, None, False
    for condition in subject.holds[channel]:
        was, now = _taken(subject, channel, condition, old, raw)
        if now and not was:
            begun = condition
        if was and not raw[subject.condition_at[condition] + MET]:
            ended = condition
        is_held = is_held or now
    if begun is not None:
        yield begun, True
    elif ended is not None and not is_held:
        yield ended, False


def _taken(subject: Subject, channel: int, condition: int, old: array[int], raw: array[int]) -> tuple[bool, bool]:
    """Return whether what a hold asks for counts as asked for, before and after a transition. What a lock shut begins again."""
    at = subject.condition_at[condition]
    lock = subject.lock_in(raw, channel)
    is_free = lock is None and not any(raw[subject.condition_at[one] + MET] for one in subject.rests[channel])
    was = bool(old[at + TAKEN]) and not (lock is not None and old[subject.channel_at[channel] + WANTED])
    return was, bool(raw[at + MET]) and (was or is_free)


class ConditionMonitor:
    """The conditions of one channel, judged in every transition of the channel."""

    def __init__(self, subject: Subject, channel: int) -> None:
        self.subject, self.channel, self.name = subject, channel, subject.channel_name(channel)
        self.seen: set[object] = set()
        self.expected: dict[object, tuple[str, str]] = {}
        for condition in subject.conditions_on(channel):
            kind, name = subject.conditions[condition]["kind"], subject.condition_name(condition)
            if kind == HOLDS:
                self.expected |= {("begins", condition): ("can-begin", f"{name}, putting {self.name} on"),
                                  ("ends", condition): ("can-end", f"{name}, putting {self.name} off")}
            elif kind == LOCKS:
                self.expected[("shuts", condition)] = ("can-shut", f"{name}, switching {self.name} off")
                self.expected[("refuses", condition)] = ("can-shut", f"{name}, keeping {self.name} off")

    def judge(self, old: array[int], raw: array[int], cause: int | None, before: int, after: int) -> Failure | None:
        """Return the Failure of the conditions of a transition, or None. `cause` is who asked last in it."""
        subject, lock = self.subject, self.subject.lock_in(raw, self.channel)
        wanted, was_wanted = raw[subject.channel_at[self.channel] + WANTED], old[subject.channel_at[self.channel] + WANTED]
        if lock is not None and (wanted or after):
            return Failure("kept-off", f"{self.name}: {subject.condition_name(lock)} is met, and it is not off")
        for condition in subject.holds[self.channel]:
            _, now = _taken(subject, self.channel, condition, old, raw)
            if bool(raw[subject.condition_at[condition] + TAKEN]) != now:
                return Failure("held", f"{self.name}: {subject.condition_name(condition)} counts as {'not ' if now else ''}carried out")
        if cause is not None and cause >= RULED:
            for one, begins in _who_ask(subject, self.channel, old, raw):
                if subject.cause_of(one) == cause and bool(after) != bool(before) and bool(wanted) == begins:
                    self.seen.add(("begins" if begins else "shuts" if one == lock else "ends", one))
            if lock is not None and subject.cause_of(lock) == cause and not was_wanted:
                self.seen.add(("refuses", lock))
        return None
