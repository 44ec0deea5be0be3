"""Channels that wait for each other by their rules: does everything become quiet, or does one switch the other without end?

Each channel alone becomes quiet; where a ring of conditions leads from a channel back to itself, that says
nothing. There it is run, not explored, with true durations: from every quiet state that can be come to so, everything that can be asked of the
channels of the ring, and everything that their conditions look at, changes once, and nobody touches anything until all is quiet
again. A program that is left alone does the same from the same state, so a state that comes back comes back without end. What is asked in the middle of
a change is not run. A sensor goes on telling what it told.
"""

from __future__ import annotations

from array import array
from collections import deque
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from pattress.controller.core import CODE, COMMAND, CONTACT, NEW_PRESS, ROTOR, TIME
from pattress.controller.core.cells import BEYOND, CAUSE, CONTACTS, FRESH, INPUT_MOVED, LEVEL, READ, SAVE, SET, SHOWN
from pattress.controller.core.conditions import OF_CHANNEL, OF_INPUT, OF_READING, PAST, RELEASE, UNKNOWN
from pattress.designators import together

from .moves import Row, is_barred
from .owner.controls import Told, presses_of
from .parts.reading import PLACES
from .properties import CLAIMS, Failure
from .story import Step, Story

if TYPE_CHECKING:
    from pattress.proof.subject import Subject

RINGS = "rules that wait for each other"        # the run, as stories name it
QUIET = "becomes-quiet"
ENOUGH = 2000           # steps in which waits run out, before a way counts as without end
MOST = 300              # quiet states from which a way is gone


def rings_run(subject: Subject) -> tuple[Story | None, int]:
    """Return (Story or None, steps): from quiet to quiet, wherever rules make a ring."""
    steps, way = 0, []
    try:
        for one in _ways(subject):
            steps, way = steps + len(one.steps), one.steps
            if one.failure is not None:
                return _told(one.failure, way), steps
    except Exception as error:          # as in the exploration: a broken core may do anything
        return _told(Failure("no-error", f"{type(error).__name__}: {error}"), way), steps
    return None, steps


def ring_of(subject: Subject) -> frozenset[int]:
    """Return the channels that a row of conditions leads back to."""
    leads: dict[int, set[int]] = {channel: set() for channel in subject.channels}
    for number, row in enumerate(subject.conditions):
        if row["source"] == OF_CHANNEL:
            ends = [one for one in subject.kept if subject.conditions[one]["released_by"] == number] if row["kind"] == RELEASE else [number]
            leads[row["number"]] |= {channel for one in ends for channel, _, _ in subject.condition_acts(one)}
    reached = {channel: set(aims) for channel, aims in leads.items()}
    for middle in subject.channels:
        for aims in reached.values():
            if middle in aims:
                aims |= reached[middle]
    return frozenset(channel for channel, aims in reached.items() if channel in aims)


class _Way:
    """One way from quiet to quiet."""

    def __init__(self, subject: Subject, state: array[int], steps: tuple[Step, ...] = ()) -> None:
        self.subject, self.state, self.steps = subject, state[:], list(steps)
        self.failure: Failure | None = None

    def step(self, words: str, row: Row, begin: tuple[bytes | None, bytes, bytes] | None = None) -> None:
        core, plan = self.subject.core, self.subject.plan
        before = 0 if begin else core.relays(plan, self.state)
        if begin:
            core.begin(plan, self.state, None, *map(list, begin[1:]))
        core.step(plan, self.state, row)
        relays = core.relays(plan, self.state)
        self.steps.append(Step(words, "" if relays == before else f"{together(relays)} closed" if relays else "all open", row, begin=begin, relays=relays))

    def wait(self, milliseconds: int) -> None:
        """Let time pass, waking whenever a wait of the program runs out."""
        while milliseconds:
            due = self.subject.core.due_in(self.subject.plan, self.state)
            passed = min(milliseconds, due) if due > 0 else milliseconds
            self.step(f"{passed} ms pass", (TIME, passed, 0, 0, 0))
            milliseconds -= passed

    def settle(self) -> _Way:
        """Let all waits run out, one after the other."""
        subject, state, met = self.subject, self.state, set()
        fresh = [at + FRESH for at in subject.reading_at]
        for _ in range(ENOUGH):
            waits = [state[cell] for cell in subject.waits if state[cell] and cell != SAVE and cell not in fresh]
            if not waits:
                return self
            here = self.key
            if here in met:
                break
            met.add(here)
            known = [number for number, cell in enumerate(fresh) if state[cell]]
            wait = min([*waits, *(max(1, state[fresh[number]] - 1) for number in known)])
            self.step(f"{wait} ms pass", (TIME, wait, 0, 0, 0))
            for number in known:
                place = PAST if state[subject.reading_at[number] + BEYOND] else 0
                self.step(f"{subject.reading_name(number)} is told again", (READ, number, place, 0, 0))
        self.failure = Failure(QUIET, "from here on, waits alone lead on without end: the rules of these channels switch each other")
        return self

    @property
    def key(self) -> bytes:
        """Return all that matters of the state: not who asked, what is told and saved, and for how long a reading is still known."""
        state = self.state[:]
        state[SAVE] = 0
        for at in self.subject.channel_at:
            state[at + SHOWN] = state[at + CAUSE] = 0
        for at in self.subject.reading_at:
            state[at + FRESH] = int(bool(state[at + FRESH]))
        return state.tobytes()


def _ways(subject: Subject) -> Iterator[_Way]:
    """Yield the ways from quiet to quiet, breadth first."""
    ring, core = ring_of(subject), subject.core
    if not ring:
        return
    first = _Way(subject, core.new_state(subject.plan))
    first.step("power comes on, snapshot lost or none", (TIME, 0, 0, 0, 0),
               (None, bytes(len(subject.switches) + len(subject.inputs)), bytes(len(subject.regulators))))
    yield first.settle()
    found, queue = {first.key}, deque([first])
    while queue:
        here = queue.popleft()
        for rows in _asked(subject, ring, here.state):
            way = _Way(subject, here.state, tuple(here.steps))
            for words, row in rows:
                if row[0] == TIME:
                    way.wait(row[1])
                else:
                    way.step(words, row)
            yield way.settle()
            if way.key not in found and len(found) < MOST:
                found.add(way.key)
                queue.append(way)


def _asked(subject: Subject, ring: frozenset[int], state: array[int]) -> Iterator[Sequence[Told]]:
    """Yield everything that can be asked of the channels of a ring, in words and as events, and everything else that their conditions look at."""
    for switch in subject.presses:
        for control, acts in presses_of(subject, switch):
            if any(channel in ring for channel, _, _ in acts):
                held = [("", (TIME, control.settle, 0, 0, 0)), *control.release] if control.release else []
                yield [*control.edges(state), *held]
    for row in _asked_at_once(subject, ring, state):
        yield [(_words(subject, row), row)]


def _asked_at_once(subject: Subject, ring: frozenset[int], state: array[int]) -> Iterator[Row]:
    """Yield what is asked, or looked at, in one event."""
    for switch, at in enumerate(subject.switch_at):
        if switch not in subject.presses and ring & subject.trigger_channels("switch", switch):
            yield (CONTACT, switch, 1 - state[at + LEVEL], 0, 0)
    for regulator, at in enumerate(subject.regulator_at):
        if ring & subject.trigger_channels("regulator", regulator):
            for contact in range(subject.table["regulators"][regulator]["contacts"]):
                yield (ROTOR, regulator, contact, 1 - (state[at + CONTACTS] >> contact & 1), 0)
    for button in subject.buttons:
        if ring & subject.trigger_channels("button", button):
            row = subject.table["buttons"][button]
            yield (CODE, row["protocol"], row["address"], row["command"], NEW_PRESS)
    for channel in sorted(ring) if subject.has_network else ():
        for level in range(subject.tops[channel] + 1):
            if not is_barred(subject, channel, SET, level):
                yield (COMMAND, channel, SET, level, 0)
    near = [row for number, row in enumerate(subject.conditions)
            if row["kind"] == RELEASE or ring & subject.trigger_channels("condition", number)]
    for number in sorted({row["number"] for row in near if row["source"] == OF_INPUT}):
        yield (INPUT_MOVED, number, 1 - state[subject.input_at[number] + LEVEL], 0, 0)
    for number in sorted({row["number"] for row in near if row["source"] == OF_READING}):
        for place in (UNKNOWN, 0, PAST):
            yield (READ, number, place, 0, 0)


def _words(subject: Subject, row: Row) -> str:
    """Return what happens in an event that is asked."""
    kind, number = row[:2]
    if kind == CODE:
        return "a remote button is pressed"
    if kind == COMMAND:
        return f"network asks {subject.channel_name(number)}: set {row[3]}"
    if kind == READ:
        return f"{subject.reading_name(number)} {PLACES[row[2] + 1]}"
    names = {CONTACT: subject.table["switches"], ROTOR: subject.table["regulators"]}
    return f"contact of {names[kind][number]['name'] if kind in names else subject.input_name(number)} moves"


def _told(failure: Failure, steps: list[Step]) -> Story:
    return Story(failure.id, CLAIMS[failure.id].sentence, RINGS, tuple(steps), failure.detail)
