"""Exploration of one part of a job: every state it can reach, every move from each, breadth first.

Every transition runs twice. The first run has the hidden cells in a reference filling, the
waits at the smallest values that still tell running from running out. The second has hidden
cells at random (seeded), and true-sized waits and elapsed times. Both are judged on the raw
result; both must leave the live cells and the part's relays alike.
"""

from __future__ import annotations

from array import array
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from random import Random
from typing import TYPE_CHECKING

from pattress.controller.core import TIME

from .moves import CLOCK_HALF, CUT, PASS, TELL, Move, Row
from .power_up import judge_power_up
from .properties import Failure

if TYPE_CHECKING:
    from pattress.proof.subject import Subject

RUNNING = 2             # value of every running wait in a stored state
FILLINGS = 24           # random fillings a part draws from in turn


@dataclass(frozen=True, slots=True)
class Filling:
    """The whole state at random, the time that passes in it, and the part's own waits to go with that [ms].

    A wait is set to `running_out` when it shall run out, to `running_on` when it shall not,
    and to `running` when no time passes at all.
    """

    content: bytes
    cells: array[int]
    elapsed: int
    running_out: int
    running_on: int
    running: int


@dataclass(frozen=True, slots=True)
class Trace:
    """One transition seen whole: the state before and after, the core's event, what a power cut found."""

    start: tuple[int, ...]
    end: tuple[int, ...]
    row: Row
    begin: tuple[bytes | None, bytes, bytes] | None
    before: int
    relays: int
    error: str


class Stopped(Exception):
    """Exploration was asked to stop at the first failing property."""


class Part:
    """A part of a job: which cells are live, what may happen, what must hold. Subclasses say it all.

    live        slices (start, stop) of the state that make up the key, in order
    blank       cells within them that are hidden all the same
    channels    whose relays and wishes the part is about
    still       (kind, number) of switches and regulators that settle only in a move that says so
    claims      ids of the properties judged in every transition
    samples     random second runs of each transition
    """

    claims: tuple[str, ...] = ()
    samples = 1
    tracks_quiet = False
    seen: set[object]

    def __init__(self, subject: Subject, name: str, live: Sequence[tuple[int, int]],
                 channels: Iterable[int], still: Iterable[tuple[str, int]], blank: Iterable[int] = ()) -> None:
        self.subject = subject
        self.name = name
        self.live = live
        self.blank = tuple(blank)
        self.channels = frozenset(channels)
        self.still = frozenset(still)
        own = 0
        for channel in self.channels:
            own |= subject.own_relays[channel]
        self.own_relays = own
        self.waits = tuple(cell for start, stop in live for cell in range(start, stop)
                           if cell in subject.waits and cell not in self.blank)
        self.live_bytes = 4 * sum(stop - start for start, stop in live)
        self.expected: dict[object, tuple[str, str]] = {}      # by what is to be seen: the claim, and its words
        self.seen = set()

    def starts(self) -> Iterable[Move]:
        """Return the moves (power cuts) from which the part begins."""
        raise NotImplementedError

    def moves(self, running: Sequence[int]) -> Iterable[Move]:
        """Return the moves from a state in which exactly these waits run."""
        raise NotImplementedError

    def snapshot(self, move: Move, old: array[int], ghost: bytes, random: Random) -> bytearray | None:
        """Return the snapshot that a power cut finds."""
        raise NotImplementedError

    def judge_begin(self, raw: array[int], snapshot: bytearray | None, ghost: bytes) -> Failure | None:
        """Return the Failure of a moment of power-up, or None."""
        return None

    def judge(self, old: array[int], raw: array[int], move: Move, elapsed: int,
              todo: int | list[int], before: int, after: int, ghost: bytes) -> tuple[Failure | None, bytes]:
        """Return (Failure or None, next ghost) of a transition. `before` and `after` are the part's relays."""
        raise NotImplementedError

    def closed(self, random: Random, ghost: bytes) -> tuple[list[int], list[int]]:
        """Return the contact levels that a power cut finds, switches and regulators."""
        subject = self.subject
        return (
            [random.randrange(2) for _ in (*subject.switches, *subject.inputs)],
            [random.randrange(1 << row["contacts"]) for row in subject.table["regulators"]],
        )


class Exploration:
    """The explored part: its states, transitions and first failure of each property, with the way to it."""

    def __init__(self, part: Part, until_first_failure: bool = False) -> None:
        self.part, self.until_first_failure = part, until_first_failure
        subject = part.subject
        self.core, self.plan = subject.core, subject.plan
        self.raw, self.old = self.core.new_state(self.plan), self.core.new_state(self.plan)
        self.view, self.old_view = memoryview(self.raw).cast("B"), memoryview(self.old).cast("B")
        self.reference = bytes(memoryview(subject.reference()).cast("B"))
        random = Random(f"fillings of {part.name}")
        self.fillings = []
        for number in range(FILLINGS):
            elapsed = random.choice((1, random.randint(2, 60), random.randint(61, 90_000))) if number else CLOCK_HALF - 1
            cells = subject.random_filling(random, elapsed, part.still)
            self.fillings.append(Filling(
                bytes(memoryview(cells).cast("B")), cells, elapsed, random.randint(1, elapsed),
                elapsed + random.choice((1, random.randint(1, 90_000))), random.choice((1, random.randint(1, 90_000))),
            ))
        self.random = Random(f"power cuts of {part.name}")
        self.copies, place = [], 0
        for start, stop in part.live:
            size = 4 * (stop - start)
            self.copies.append((4 * start, 4 * stop, place, place + size))
            place += size
        self.queue: list[bytes] = []             # keys in the order found
        self.parents: dict[bytes, tuple[bytes | None, Move]] = {}           # key -> (key before, move)
        self.closed: dict[bytes | None, int] = {}            # key -> relays closed in it
        self.aims: dict[bytes, set[bytes]] = {}              # key -> keys that waits alone lead to
        self.failures: dict[str, tuple[Failure, bytes | None, Move, Filling | None]] = {}          # property id -> (Failure, key before, move, filling)
        self.longest: int | None = None         # steps until quiet, at most
        self.transitions = 0

    @property
    def states(self) -> int:
        return len(self.parents)

    def run(self) -> Exploration:
        """Explore everything. Return self."""
        try:
            self._explore()
            if self.part.tracks_quiet:
                self.longest = self._longest_way_to_quiet()
        except Stopped:
            pass
        return self

    @property
    def nothing(self) -> bytes:
        """Return the key that stands for no state, before power comes on."""
        return b"\0" * self.part.live_bytes

    def running_in(self, key: bytes) -> tuple[int, ...]:
        """Return the part's waits that run in a state."""
        raw, view = self.raw, self.view
        for start, stop, first, last in self.copies:
            view[start:stop] = key[first:last]
        return tuple([cell for cell in self.part.waits if raw[cell]])

    def relays_in(self, key: bytes | None) -> int:
        """Return the part's relays that are closed in a state; none before power comes on."""
        if key is None:
            return 0
        self.view[:] = self.reference
        for start, stop, first, last in self.copies:
            self.view[start:stop] = key[first:last]
        return int(self.core.relays(self.plan, self.raw) & self.part.own_relays)

    def _explore(self) -> None:
        part, nothing = self.part, self.nothing
        moves_of: dict[tuple[int, ...], tuple[Move, ...]] = {}
        for move in part.starts():
            self._transition(nothing, None, move)
        for key in self.queue:          # grows while it is gone through: breadth first
            running = self.running_in(key)
            moves = moves_of.get(running)
            if moves is None:
                moves = moves_of[running] = tuple(part.moves(running))
            for move in moves:
                self._transition(key, key, move)

    def _transition(self, key: bytes, parent: bytes | None, move: Move) -> None:
        """Run a move from a state, twice or more; judge every run; note where it leads."""
        part = self.part
        self.transitions += 1
        first = self.transitions * part.samples
        drawn = [self.fillings[(first + sample) % FILLINGS] for sample in range(part.samples)]
        failure, filling, after_key, after = self._judged(key, move, self.closed.get(parent, 0), drawn)
        if failure is not None:
            if failure.id not in self.failures:
                self.failures[failure.id] = (failure, parent, move, filling)
            if self.until_first_failure:
                raise Stopped
            return
        if after_key is None or after is None:      # never where nothing failed
            return
        if after_key not in self.parents:
            self.parents[after_key] = (parent, move)
            self.closed[after_key] = after
            self.queue.append(after_key)
        if part.tracks_quiet and move.kind == PASS and move.expire and not move.asks and parent is not None:
            self.aims.setdefault(parent, set()).add(after_key)

    def _judged(self, key: bytes, move: Move, before: int, fillings: Sequence[Filling]) -> tuple[Failure | None, Filling | None, bytes | None, int | None]:
        """Run a move in the reference filling and in these. Return (Failure or None, the filling it showed in, key after, relays after)."""
        filling = after_key = after = None
        try:
            failure, after_key, after = self._attempt(key, move, before, None)
            for filling in fillings if failure is None else ():
                failure, second_key, second = self._attempt(key, move, before, filling)
                if failure is None and (second_key != after_key or second != after):
                    failure = Failure("undisturbed", "the same move with another rest of the state led elsewhere")
                if failure is not None:
                    break
        except Exception as error:          # the core may do anything when it is broken: that is what we look for
            failure = Failure("no-error", f"{type(error).__name__}: {error}")
        return failure, filling, after_key, after

    def follow(self, moves: tuple[Move, ...]) -> Failure | None:
        """Go one way from power-up, every move judged in every filling. Return the first Failure, or None.

        A wait that does not run here, though the moves say that it runs out, is left out.
        """
        key, closed, part = b"\0" * self.part.live_bytes, 0, self.part
        for move in moves:
            for start, stop, first, last in self.copies:
                self.view[start:stop] = key[first:last]
            idle = {cell for cell in part.waits if not self.raw[cell]}
            possible = replace(move, expire=tuple(cell for cell in move.expire if cell not in idle))
            failure, _, after, relays = self._judged(key, possible, closed, self.fillings)
            if failure is not None or after is None or relays is None:
                return failure
            key, closed = after, relays
        return None

    def _prepare(self, key: bytes, move: Move, filling: Filling | None) -> int:
        """Set the state to the moment before a move. Return the time that will pass [ms]."""
        part, raw, view = self.part, self.raw, self.view
        if filling is None:
            view[:] = self.reference
            elapsed, running_out = 1, 1
            for start, stop, first, last in self.copies:
                view[start:stop] = key[first:last]
        else:
            elapsed, running_out = filling.elapsed, filling.running_out
            running = filling.running_on if move.kind == PASS else filling.running
            view[:] = filling.content
            for start, stop, first, last in self.copies:
                view[start:stop] = key[first:last]
            for cell in part.blank:
                raw[cell] = filling.cells[cell]
            for cell in part.waits:
                if raw[cell]:
                    raw[cell] = running
        for cell, value in move.poke:
            raw[cell] = value
        for cell in move.expire:
            raw[cell] = running_out
        return elapsed

    def _attempt(self, key: bytes, move: Move, before: int, filling: Filling | None) -> tuple[Failure | None, bytes | None, int | None]:
        """Run a move once and judge it. Return (Failure or None, key after, the part's relays after)."""
        part, raw, view, core, plan, kind = self.part, self.raw, self.view, self.core, self.plan, move.kind
        elapsed = self._prepare(key, move, filling)
        ghost, failure, row = key[part.live_bytes:], None, move.row
        self.old_view[:] = view
        if kind == CUT:
            found = self._power_up(move, ghost)
            failure = judge_power_up(part.subject, raw, *found[1:]) or part.judge_begin(raw, found[0], ghost)
            if failure is not None:
                return failure, None, None
            before = 0
            self.old_view[:] = view
        elif kind == PASS:
            row = (TIME, elapsed, 0, 0, 0)
        todo = self._tell() if kind == TELL else core.step(plan, raw, row)
        after = core.relays(plan, raw) & part.own_relays
        if not move.known:
            if todo != core.REFUSED or view != self.old_view:
                failure = Failure(move.broken, "it was not refused, or it changed the state")
        elif kind != TELL and todo & core.REFUSED:
            failure = Failure("unknown-refused", "an event the plan knows was refused")
        if failure is None:
            elapsed = max(0, row[1]) if row[0] == TIME else 0
            failure, ghost = part.judge(self.old, raw, move, elapsed, todo, before, after, ghost)
        if failure is not None:
            return failure, None, None
        for cell in part.blank:
            raw[cell] = 0
        for cell in part.waits:
            if raw[cell]:
                raw[cell] = RUNNING
        return None, b"".join([view[start:stop] for start, stop, _, _ in self.copies]) + ghost, after

    def retrace(self, key: bytes | None, move: Move, filling: Filling | None) -> Trace:
        """Run a move again for a story, judging nothing. Return its Trace."""
        core, plan, raw = self.core, self.plan, self.raw
        key = b"\0" * self.part.live_bytes if key is None else key
        elapsed = self._prepare(key, move, filling)
        start, row = tuple(raw), (TIME, elapsed, 0, 0, 0) if move.kind == PASS else move.row
        begin, before, relays, error = None, 0, 0, ""
        self.old_view[:] = self.view
        try:
            if move.kind != CUT:
                before = core.relays(plan, raw)
            else:
                snapshot, closed, contacts = self._power_up(move, key[self.part.live_bytes:])
                begin = (None if snapshot is None else bytes(snapshot), bytes(closed), bytes(contacts))
            if move.kind == TELL:
                self._tell()
            else:
                core.step(plan, raw, row)
            relays = core.relays(plan, raw)
        except Exception as problem:
            error = f"the program stops: {type(problem).__name__}: {problem}"
        return Trace(start, tuple(raw), row, begin, before, relays, error)

    def _power_up(self, move: Move, ghost: bytes) -> tuple[bytearray | None, list[int], list[int]]:
        """Let the mains come back. Return the snapshot and the contacts that the core was given."""
        snapshot = self.part.snapshot(move, self.old, ghost, self.random)
        closed, contacts = self.part.closed(self.random, ghost)
        self.core.begin(self.plan, self.raw, snapshot, closed, contacts)
        for cell, value in move.poke:           # what the core learnt of hidden things
            self.raw[cell] = value
        return snapshot, closed, contacts

    def _tell(self) -> list[int]:
        """Let the network fetch all its news; return the channels told, in order."""
        told = []
        for _ in range(len(self.part.subject.channels) + 1):
            channel = self.core.next_news(self.plan, self.raw)
            if channel < 0:
                break
            told.append(channel)
        return told

    def _longest_way_to_quiet(self) -> int | None:
        """Return the most steps in which waits run out one after the other; note a failure if without end."""
        longest: dict[bytes, int] = {}
        open_ones: set[bytes] = set()
        for first in self.aims:
            stack = [first]
            while stack:
                key = stack[-1]
                if key in longest:
                    stack.pop()
                    continue
                open_ones.add(key)
                todo = [aim for aim in self.aims.get(key, ()) if aim not in longest]
                looping = [aim for aim in todo if aim in open_ones]
                if looping:
                    parent, move = self.parents[looping[0]]
                    failure = Failure("becomes-quiet", "from here on, waits alone lead back to the same state without end")
                    self.failures.setdefault("becomes-quiet", (failure, parent, move, None))
                    return None
                if todo:
                    stack.append(todo[0])
                    continue
                longest[key] = max((1 + longest[aim] for aim in self.aims.get(key, ())), default=0)
                open_ones.discard(key)
                stack.pop()
        return max(longest.values(), default=0)
