"""What influences what in the control program, found by recording what it reads and writes.

A program's path is fixed by the values it reads. So a cell can depend on another only if the
other was read, in the same function or one that called it, before the cell could be written.
For every function and what it is called for, two things are noted at each line: the cells read
there, and the cells ever written once that line was passed, in any run. Every such pair counts
as an influence, whether the value mattered or not; that errs on the side of too many. What a
function returns carries what it read until somebody looks at it.

This is exact but for paths of the program never taken meanwhile: `Influences.met` says
which were.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, MutableSequence
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from types import FrameType, ModuleType
from typing import Any

from pattress.controller.core import CODE, COMMAND, CONTACT, ROTOR, TIME
from pattress.controller.core.cells import (
    APPLIED,
    CONTACTS,
    DOWN,
    HOLD,
    INPUT_MOVED,
    KICK,
    OFF,
    ON,
    POSITION,
    READ,
    SENSED,
    SET,
    TOGGLE,
    TURN,
    UP,
    WAIT,
)

from ..parts.unknown_inputs import UnknownInputsPart
from ..subject import Subject, folder_of
from .blocks import Blocks, Coupling
from .loading import Condition, Notes, instrumented

QUIET_ROUNDS = 12       # rounds of all events in which nothing new is read, written or gone through, before that counts as all
CALLED_FOR = {"channel", "switch", "regulator", "acts", "event", "at", "condition", "reading"}        # third parameters that tell calls apart
FILLINGS = 200          # random states in which events are recorded
CUTS = 6                # power cuts in a round


@dataclass(frozen=True, slots=True)
class Influences:
    """All couplings found, in how many recorded steps, which paths the program took meanwhile, and errors that ended some."""

    couplings: tuple[Coupling, ...]
    steps: int
    met: Mapping[tuple[Condition, bool], bool]
    errors: tuple[str, ...] = ()

    @property
    def groups(self) -> tuple[tuple[int, ...], ...]:
        """Return the sets of channels, two or more each, that cannot be looked at one by one."""
        return joined(one.channels for one in self.couplings)


def joined(sets: Iterable[frozenset[int]]) -> tuple[tuple[int, ...], ...]:
    """Return sets of channels joined where they touch; those of one channel are left out."""
    groups: list[set[int]] = []
    for one in sets:
        touched = [group for group in groups if group & one]
        groups = [group for group in groups if not group & one] + [set(one).union(*touched)]
    return tuple(sorted(tuple(sorted(group)) for group in groups if len(group) > 1))


def influences(table: Mapping[str, Any], core: ModuleType | None = None) -> Influences:
    """Record the program under a plan's table in every kind of event and return what depends on what it must not."""
    notes, ledger = Notes(), _Ledger()
    with instrumented(folder_of(Subject(table, core).core), notes, ledger.framed) as copy:
        subject = Subject(table, copy)
        steps, errors = _run(subject, ledger, notes)
    blocks = Blocks(subject)
    couplings: dict[tuple[str, str], Coupling] = {}
    for place, read, written in ledger.pairs():
        for cell in _bits(written):
            what, allowed = blocks.of[cell], blocks.allowed[cell]
            for other in _bits(read & ~allowed):
                by = blocks.of[other]
                couplings.setdefault((what, by), Coupling(what, by, place, blocks.channels[what] | blocks.channels[by]))
    couplings |= {(one.what, one.by): one for one in blocks.shared_relays()}
    return Influences(tuple(couplings.values()), steps, notes.ways(), errors)


def _run(subject: Subject, ledger: _Ledger, notes: Notes) -> tuple[int, tuple[Any, ...]]:
    """Take every kind of event, in states filled at random, until nothing new is read or written.

    Return how many, and the errors that ended some.
    """
    random, steps, quiet, errors = Random("influences"), 0, 0, set()
    core, plan, events = subject.core, subject.plan, _events(subject)
    fillings = [_filling(subject, random) for _ in range(FILLINGS)]
    while quiet < QUIET_ROUNDS:
        size = ledger.size() + sum(notes.met)
        for row in [*events, *[None] * CUTS]:
            elapsed, filling = random.choice(fillings)
            state = _Cells(filling[:], 0, ledger)
            try:
                if row is None:
                    _power_cut(subject, state, random, ledger)
                else:
                    core.step(plan, state, (TIME, elapsed * row[1], 0, 0, 0) if row[0] == TIME else row)
            except Exception as error:      # the core may do anything when it is broken
                errors.add(f"{type(error).__name__}: {error}")
                ledger.stack.clear()
        steps += len(events) + CUTS
        quiet = quiet + 1 if ledger.size() + sum(notes.met) == size else 0
    return steps, tuple(sorted(errors))


def _power_cut(subject: Subject, state: _Cells, random: Random, ledger: _Ledger) -> None:
    """Let the power be cut, and do all that only looks."""
    core, plan = subject.core, subject.plan
    core.due_in(plan, state)
    for channel in subject.channels if subject.feedback_at else ():
        plan.watch.cause(plan, state, channel)
    core.begin(plan, state, *_found(subject, random, ledger))
    core.relays(plan, state)
    core.write(plan, state, bytearray(core.size(plan)))
    for _ in range(len(subject.channels) + 1):
        if core.next_news(plan, state) < 0:
            break


def _filling(subject: Subject, random: Random) -> tuple[int, list[int]]:
    """Return (elapsed, cells): a random state, in which many channels are open and wait for nothing, as they are most of the time."""
    elapsed = random.choice((1, random.randint(2, 60), random.randint(61, 90_000)))
    cells = list(subject.random_filling(random, elapsed))
    for at in subject.channel_at:
        if random.random() < 0.4:
            for place in (APPLIED, WAIT, HOLD, TURN, KICK):
                cells[at + place] = 0
    for row, at in zip(subject.table["regulators"], subject.regulator_at, strict=True):
        if random.random() < 0.4:           # it stands where it was last believed to stand
            contact = random.randrange(row["contacts"])
            cells[at + CONTACTS], cells[at + POSITION] = 1 << contact, contact + row["off_is_open"]
    return elapsed, cells


def _found(subject: Subject, random: Random, ledger: _Ledger) -> tuple[_Cells | None, _Cells, _Cells]:
    """Return what a power cut finds, recorded: snapshot, switches, regulators. Their cells come after those of the state."""
    length = subject.snapshot_size
    saved = [random.randrange(random.choice((3, 256))) for _ in range(length)]
    at = subject.cells + length
    return (
        random.choice((None, _Cells(saved[1:], subject.cells, ledger), *[_Cells(saved, subject.cells, ledger)] * 4)),
        _Cells([random.randrange(2) for _ in (*subject.switches, *subject.inputs)], at, ledger),
        _Cells([random.choice((0, 1, random.randrange(1 << row["contacts"]))) for row in subject.table["regulators"]],
               at + len(subject.switches) + len(subject.inputs), ledger),
    )


def _events(subject: Subject) -> list[tuple[int, ...]]:
    """Return time four times over, every other kind of event once, and those without meaning."""
    table = subject.table
    rows = [(TIME, 1, 0, 0, 0)] * 4 + [(TIME, -1, 0, 0, 0)]
    rows += [(CONTACT, switch, level, 0, 0) for switch in subject.switches for level in (0, 1)]
    rows += [(ROTOR, regulator, contact, level, 0) for regulator in subject.regulators
             for contact in range(table["regulators"][regulator]["contacts"]) for level in (0, 1)]
    rows += [(CODE, row["protocol"], row["address"], row["command"], freshness) for row in table["buttons"] for freshness in range(3)]
    rows += [(COMMAND, channel, verb, level, 0) for channel in subject.channels
             for verb, level in ((OFF, 0), (ON, 0), (TOGGLE, 0), (UP, 0), (DOWN, 0), (SET, subject.tops[channel]))]
    rows += [(SENSED, channel, live, 0, 0) for channel in subject.feedback_at for live in (0, 1)]
    rows += [(INPUT_MOVED, number, level, 0, 0) for number in range(len(subject.inputs)) for level in (0, 1)]
    rows += [(READ, number, place, 0, 0) for number in range(len(subject.readings)) for place in range(-1, 3)]
    return rows + [move.row for move in UnknownInputsPart(subject).events] + [(COMMAND, 0, verb, level, 0) for verb, level in ((SET, -1), (SET, 99), (-1, 0), (6, 0))]


class _Cells:
    """A row of numbers that notes who reads and who writes them; the first is cell `base`."""

    def __init__(self, values: MutableSequence[int], base: int, ledger: _Ledger) -> None:
        self.values, self.base, self.ledger = values, base, ledger

    def __len__(self) -> int:
        return len(self.values)

    def __getitem__(self, place: int) -> int:
        self.ledger.reads(1 << (self.base + place))
        return self.values[place]

    def __setitem__(self, place: int, value: int) -> None:
        self.values[place] = value
        self.ledger.writes(1 << (self.base + place))


Key = tuple[str, Any]        # a function, and what it is called for


@dataclass(slots=True)
class Frame:
    """A instrumented function that is running: the lines passed that read something, and all cells read."""

    key: Key
    lines: set[int] = field(default_factory=set)
    read: int = 0


class _Ledger:
    """Who read what, and what was written after that line was passed. Cells are bits of a whole number."""

    def __init__(self) -> None:
        self.read: dict[Key, dict[int, int]] = {}          # (function, called for) -> {line: cells read there}
        self.written: dict[Key, dict[int, int]] = {}       # the same -> {line: cells written after it}
        self.stack: list[Frame] = []         # of (key, the lines passed that read something, all cells read)

    def framed(self, function: Callable[..., Any]) -> Callable[..., Any]:
        """Return the function, instrumented. It is known by its name and by what it is called for."""
        code = function.__code__
        name, third = f"{Path(code.co_filename).name}, {code.co_name}", code.co_varnames[2:min(3, code.co_argcount)]

        def run(plan: Any, *given: Any) -> Any:
            key = (name, _called_for(third[0], given[1]) if third and third[0] in CALLED_FOR else None)
            self.stack.append(Frame(key))
            try:
                value = function(plan, *given)
            finally:
                read = self.stack.pop().read
            if value is None or not read or not self.stack:
                return value
            return _Carried(value, read, self)
        return run

    def size(self) -> int:
        """Return how much is known: pairs of line and cell read, and of line and cell written after it."""
        return sum(cells.bit_count() for known in (self.read, self.written) for lines in known.values() for cells in lines.values())

    def reads(self, cells: int) -> None:
        frame, line = self.stack[-1], _line()
        lines = self.read.setdefault(frame.key, {})
        lines[line] = lines.get(line, 0) | cells
        frame.lines.add(line)
        frame.read |= cells

    def writes(self, cells: int) -> None:
        for frame in self.stack:
            after = self.written.setdefault(frame.key, {})
            for line in frame.lines:
                after[line] = after.get(line, 0) | cells

    def pairs(self) -> Iterator[tuple[str, int, int]]:
        """Yield (place, cells read, cells written after) for every line that read something."""
        for key, lines in self.read.items():
            for line, read in lines.items():
                yield f"{key[0]}, line {line}", read, self.written.get(key, {}).get(line, 0)


class _Carried:
    """What a function returned, with the cells it read; they count as read where somebody looks at it."""

    def __init__(self, value: int, read: int, ledger: _Ledger) -> None:
        self.value, self.read, self.ledger = value, read, ledger

    def look(self) -> int:
        """Return the plain value; whoever looks has read what it was made from."""
        self.ledger.reads(self.read)
        return self.value

    def __or__(self, other: int) -> _Carried:
        if isinstance(other, _Carried):
            return _Carried(self.value | other.value, self.read | other.read, self.ledger)
        return _Carried(self.value | other, self.read, self.ledger)

    __ror__ = __or__

    def __bool__(self) -> bool:
        return bool(self.look())

    def __index__(self) -> int:
        return self.look()

    def __eq__(self, other: object) -> bool:
        return self.look() == other

    def __lt__(self, other: int) -> bool:
        return self.look() < other

    def __gt__(self, other: int) -> bool:
        return self.look() > other

    def __le__(self, other: int) -> bool:
        return self.look() <= other

    def __ge__(self, other: int) -> bool:
        return self.look() >= other

    __hash__ = None     # type: ignore[assignment]     # as dear to compare as the number it stands for


def _line() -> int:
    """Return the line of the instrumented program that is running now."""
    frame: FrameType | None = sys._getframe(2)
    while frame is not None and "_framed" not in frame.f_globals:
        frame = frame.f_back
    if frame is None:
        raise RuntimeError("no instrumented function is running")
    return frame.f_lineno


def _called_for(name: str, given: Any) -> int | tuple[int, ...]:
    """Return what tells the calls of a function apart: a number, acts, the kind of an event."""
    return int(given[0]) if name == "event" else given if isinstance(given, int) else tuple(given)


def _bits(mask: int) -> Iterator[int]:
    while mask:
        yield (mask & -mask).bit_length() - 1
        mask &= mask - 1
