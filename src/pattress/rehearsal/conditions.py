"""Whether conditions are kept in a rehearsed day: a second telling of `controller.core.conditions`, in moments of the day.

What inputs and readings were told to be, what channels are asked to be, and the rows of the plan's table: from these it
finds when each condition begins and is over, and says what a rule must have done, has done without a reason, or did too
late. It reads none of the cells in which the program counts and none of the plan's columns made from those rows.

A hand that acts in the same step as a rule comes after it, so of its channel only a lock is judged then.
"""

from __future__ import annotations

from array import array
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pattress.controller import core
from pattress.controller.core.cells import APPLIED, CAUSE, CHANNEL, HOLD, INPUT_MOVED, READ, RULED, SHARED, TURN, WANTED
from pattress.controller.core.conditions import BETWEEN, HOLDS, LOCKS, OF_CHANNEL, OF_INPUT, PAST, RESTS, UNKNOWN, WHEN
from pattress.rehearsal.board import FLASH_MS
from pattress.rehearsal.day import Names
from pattress.rehearsal.postconditions import asks_for_on, is_kept
from pattress.rehearsal.rules import times_of
from pattress.rehearsal.stimuli import LATE_MS

Wish = tuple[int, int, int]         # cause, verb, level
NEVER = 1 << 62


@dataclass(slots=True, eq=False)
class Condition:
    """A row of the plan's table, and how it stands: `is_met`, `doubted` since when it has been otherwise, `is_taken` as a hold or moment that has acted."""

    kind: int
    source: int
    number: int
    sense: int
    from_ms: int
    after_ms: int
    cause: int
    acts: tuple[tuple[int, int, int], ...]
    released_by: int
    is_met: bool = False
    is_taken: bool = False
    doubted: int | None = None

    @property
    def due(self) -> int:
        """Return when what is otherwise is to be believed."""
        return NEVER if self.doubted is None else self.doubted + (self.after_ms if self.is_met else self.from_ms)


@dataclass(slots=True)
class Contact:
    """An input as it counts, and since when its contact has been otherwise."""

    settle_ms: int
    level: int = 0
    moved: int | None = None

    @property
    def due(self) -> int:
        """Return when it is to be believed otherwise."""
        return NEVER if self.moved is None else self.moved + self.settle_ms


@dataclass(slots=True)
class Reading:
    """A reading: whether it is past its begin since it was past its end, and until when what was told of it counts; NEVER while it is not known."""

    stale_ms: int
    is_past: bool = False
    due: int = NEVER


class ConditionOracle:
    """Sees every step after the channels' waits; `acted` are the channels on which rules acted in the last one."""

    def __init__(self, plan: core.Plan, table: Mapping[str, Any], names: Names) -> None:
        self.plan, self.names = plan, names
        self.acted: Mapping[int, list[Wish]] = {}
        self._conditions = [_condition(row) for row in table["conditions"]]
        self._inputs = [Contact(row["settle_ms"]) for row in table.get("inputs", ())]
        self._readings = [Reading(row["stale_ms"]) for row in table.get("readings", ())]
        self._of = {kind: [[one for one in self._conditions if one.kind == kind and one.acts[0][0] == channel] for channel in range(plan.channels)]
                    for kind in (HOLDS, LOCKS, RESTS)}
        self._latches = [one for one in self._conditions if one.released_by >= 0]
        self._times = [times_of(plan, channel) for channel in range(plan.channels)]
        self._block = slice(SHARED, plan.channel_at[-1] + CHANNEL)
        self._next = 0                                          # nothing comes about by itself before this moment
        self._unsaved: int | None = None                        # since when a latch is not as it was last put into a snapshot
        self._saves: list[tuple[int, tuple[bool, ...]]] = []    # when what was latched was handed to the flash
        self._said: set[int] = set()                            # channels that are on though they must not be, said once

    def locks(self, channel: int) -> list[int]:
        """Return the causes of all that keeps a channel off now."""
        return [one.cause for one in self._of[LOCKS][channel] if one.is_met]

    def locked(self, acts: array[int]) -> Collection[int]:
        """Return the channels of these acts that are kept off now."""
        return {channel for channel in acts[0::3] if self.locks(channel)}

    # The power.

    def begin(self, at: int, snapshot: bytes | None, closed: Sequence[int], wanted: Sequence[int], state: array[int]) -> Iterator[tuple[int | None, str]]:
        """The program has started: `wanted` is what each channel comes to by its policy, `state` that after the first step."""
        plan = self.plan
        for number, contact in enumerate(self._inputs):
            contact.level, contact.moved = closed[plan.switches + number], None
        for reading in self._readings:
            reading.is_past, reading.due = False, NEVER
        for one in self._conditions:
            one.is_met = one.is_taken = False
            one.doubted = None
        for one in self._conditions:
            if one.kind in (LOCKS, RESTS, WHEN):
                is_on = one.source == OF_CHANNEL and bool(wanted[one.number]) and not (
                    one.sense == 0 and (plan.restore_delay_ms[one.number] or plan.minimum_off_ms[one.number]))
                one.is_met = self._is_so(one, is_on) or one.kind == LOCKS and one.after_ms > 1
                one.is_taken = one.kind == WHEN and one.is_met
        kept = None if snapshot is None else snapshot[2 * plan.channels:]
        expected = self._saves[-1][1] if self._saves else None
        if kept is not None and expected is not None and tuple(map(bool, kept)) != expected:
            yield None, f"what was latched comes back as {list(kept)}, it was {list(map(int, expected))}"
        for place, one in enumerate(self._latches):
            one.is_met |= expected is None or expected[place]
        self._unsaved, self._said, self.acted = None, set(), {}
        yield from self._kept_off(state)
        self._look(at, state, state)

    def cut(self, at: int) -> None:
        """The power goes: what had not reached the flash by now never will."""
        self._saves = [one for one in self._saves if one[0] + FLASH_MS <= at][-1:]

    # Each step.

    def see(self, at: int, event: tuple[int, ...], bits: int, before: array[int], after: array[int], hands: Collection[int]) -> Iterator[tuple[int | None, str]]:
        """Look at a step in which hands acted on these channels; yield (channel or None, words) for what is wrong."""
        kind, self.acted = event[0], {}
        is_news = kind == INPUT_MOVED
        if kind == INPUT_MOVED:
            self._moved(at, self._inputs[event[1]], event[2])
        elif kind == READ:
            is_news = self._read(at, self._readings[event[1]], event[2])
        is_time = kind == core.TIME and event[1] > 0
        if at >= self._next or is_news or before[self._block] != after[self._block]:
            if is_time:
                yield from self._pass_time(at)
                self.acted = self._act(before)
            yield from self._judge(before, after, hands)
            yield from self._kept_off(after)
            self._look(at, before, after)
        if bits & core.SAVE_NOW:
            self._saves.append((at, tuple(one.is_met for one in self._latches)))
            self._unsaved = None
        elif self._unsaved is not None and at > self._unsaved + self.plan.save_ms + 2 * LATE_MS:
            yield None, f"what is latched was not saved for {at - self._unsaved} ms"
            self._unsaved = NEVER

    @staticmethod
    def _moved(at: int, contact: Contact, closed: int) -> None:
        contact.moved = None if closed == contact.level else at if contact.moved is None else contact.moved

    @staticmethod
    def _read(at: int, reading: Reading, place: int) -> bool:
        """Take what is told of a reading; return whether that is news."""
        was_known, was_past = reading.due < NEVER, reading.is_past
        reading.due = NEVER if place == UNKNOWN else at + reading.stale_ms
        if place != BETWEEN:
            reading.is_past = place == PAST
        return (was_known, was_past) != (reading.due < NEVER, reading.is_past)

    def _pass_time(self, at: int) -> Iterator[tuple[int | None, str]]:
        """Let come about what is due; yield what comes too late."""
        late = 0
        for contact in self._inputs:
            if contact.due <= at:
                late = max(late, at - contact.due)
                contact.level, contact.moved = 1 - contact.level, None
        for reading in self._readings:
            if reading.due <= at:
                late = max(late, at - reading.due)
                reading.is_past, reading.due = False, NEVER
        for one in self._conditions:
            if one.due <= at:
                late = max(late, at - one.due)
                one.is_met, one.doubted = not one.is_met, None
                if one.released_by >= 0 and self._unsaved is None:
                    self._unsaved = at
        if late > LATE_MS:
            yield None, f"a rule comes about {late} ms late"

    def _act(self, before: array[int]) -> Mapping[int, list[Wish]]:
        """Return what rules do now on each channel, in order."""
        wishes: dict[int, list[Wish]] = {}
        for channel in range(self.plan.channels):
            done = self._shut(channel, before) or self._hold(channel)
            if done:
                wishes[channel] = [done]
        for one in self._conditions:
            if one.kind == WHEN and one.is_taken != one.is_met:
                one.is_taken = one.is_met
                for channel, verb, level in one.acts if one.is_met else ():
                    wishes.setdefault(channel, []).append((one.cause, verb, level))
        return wishes

    def _shut(self, channel: int, before: array[int]) -> Wish | None:
        """Let what keeps a channel off end what holds it, where that is on."""
        locks = self.locks(channel)
        if not locks or not before[self.plan.channel_at[channel] + WANTED]:
            return None
        for one in self._of[HOLDS][channel]:
            one.is_taken = False
        return locks[0], core.OFF, 0

    def _hold(self, channel: int) -> Wish | None:
        """Return what begins to hold a channel, or ends as the last that held it."""
        is_free = not any(one.is_met for kind in (LOCKS, RESTS) for one in self._of[kind][channel])
        wish = ended = None
        for one in self._of[HOLDS][channel]:
            if one.is_taken and not one.is_met:
                one.is_taken, ended = False, one
            elif one.is_met and not one.is_taken and is_free:
                one.is_taken = True
                wish = (one.cause, *one.acts[0][1:])
        if wish or ended is None or any(one.is_taken for one in self._of[HOLDS][channel]):
            return wish
        return ended.cause, core.OFF, 0

    def _judge(self, before: array[int], after: array[int], hands: Collection[int]) -> Iterator[tuple[int | None, str]]:
        """Yield what a rule must have done and did not, and what it did without a reason."""
        for channel, at in enumerate(self.plan.channel_at):
            wishes, locks, cause = self.acted.get(channel, ()), self.locks(channel), after[at + CAUSE]
            has_run_out = cause in self._times[channel] and not after[at + WANTED]
            if wishes and channel not in hands and not has_run_out:
                due, verb, level = wishes[-1]
                if locks and asks_for_on(self.plan, before, channel, verb, level):
                    due, verb, level = locks[0], core.OFF, 0
                if cause != due or not is_kept(self.plan, before, after, channel, verb, level):
                    yield channel, f"{self.names.cause(due)} asks for {core.VERBS[verb]}{f' {level}' if level else ''}, and that does not come about"
                    continue
            if (before[at + WANTED], before[at + CAUSE]) != (after[at + WANTED], cause) and cause >= RULED and not has_run_out:
                if cause not in {*(wish[0] for wish in wishes), *locks}:
                    yield channel, f"{self.names.cause(cause)} acts, and nothing that it waits for has come about"

    def _kept_off(self, after: array[int]) -> Iterator[tuple[int | None, str]]:
        """Yield what is on and must not be."""
        for channel, at in enumerate(self.plan.channel_at):
            locks = self.locks(channel)
            if not locks or not (after[at + WANTED] or after[at + APPLIED]):
                self._said.discard(channel)
            elif channel not in self._said:
                self._said.add(channel)
                yield channel, f"is on, and {self.names.cause(locks[0])} keeps it off"

    def _look(self, at: int, before: array[int], after: array[int]) -> None:
        """Begin to doubt what is otherwise than it counts, and cease to."""
        for one in self._conditions:
            is_on = one.source == OF_CHANNEL and self._is_on(one, before, after)
            if self._is_so(one, is_on) == one.is_met:
                one.doubted = None
            elif one.doubted is None:
                one.doubted = at
        self._next = min(one.due for those in (self._conditions, self._inputs, self._readings) for one in those)

    def _is_so(self, one: Condition, is_on: bool) -> bool:
        """Return whether what a condition looks at is as it says; `is_on` of a channel. Of a reading that is not known a lock says yes."""
        if one.released_by >= 0 and one.is_met and not self._conditions[one.released_by].is_met:
            return True
        if one.source == OF_INPUT:
            return self._inputs[one.number].level == one.sense
        if one.source == OF_CHANNEL:
            return is_on == bool(one.sense)
        reading = self._readings[one.number]
        return one.kind == LOCKS if reading.due == NEVER else reading.is_past

    def _is_on(self, one: Condition, before: array[int], after: array[int]) -> bool:
        """Return whether a channel counts as on: asked for, and for whoever waits for off, not held up. A minimum off time that begins now is seen later."""
        at = self.plan.channel_at[one.number]
        is_held_up = after[at + TURN] or after[at + HOLD] and before[at + HOLD]
        return bool(after[at + WANTED] and (one.sense or not is_held_up))


def _condition(row: Mapping[str, Any]) -> Condition:
    acts = tuple((int(channel), int(verb), int(level)) for channel, verb, level in row["acts"])
    return Condition(row["kind"], row["source"], row["number"], row["sense"], row["from_ms"], row["after_ms"], RULED + row["rule"], acts, row.get("released_by", -1))
