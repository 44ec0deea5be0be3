"""Exploration in parallel: each process keeps the states whose value falls to it, and explores from those.

All go level by level, so the first way found to a failure is a shortest one. Memory is bounded;
when it is full, or when somebody presses Ctrl-C, what was done so far is told and nothing more
is claimed.
"""

from __future__ import annotations

import signal
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from itertools import islice
from multiprocessing import get_context
from multiprocessing.connection import Connection, wait
from os import cpu_count
from time import perf_counter
from typing import Any, cast

from pattress.plural import counted

from ..exploration import FILLINGS, Exploration, Part
from ..moves import Move
from ..properties import Failure
from .visited import Compact, Full, Whole, chance_of_omission, value_of

FRONTIER_SHARE = 0.4        # of the memory of a process, for states to explore from and to send
FRONTIER_OVERHEAD = 200     # of a state on its way, beside its bytes [bytes]
BREATH = 0.5                # between two words of progress [s]

Name = bytes | int                                            # what a state is known by: itself, or its value
Failed = tuple[Failure, Name | None, int, int | None]         # a failure, the state before it, and the numbers of move and filling


@dataclass(frozen=True, slots=True)
class Effort:
    """What exploring channels together may cost: processes (None = one a core), memory for states [bytes], whole states or values."""

    workers: int | None = None
    memory: int = 1 << 30
    compact: bool = False

    @property
    def settings(self) -> dict[str, Any]:
        """Return them as `search` takes them."""
        return {"workers": self.workers, "memory": self.memory, "compact": self.compact}


@dataclass(slots=True)
class Found:
    """What a search found. `exploration` holds the ways to its failures, for telling them; `why` it did not finish, "" if it did."""

    exploration: Exploration
    seen: set[object] = field(default_factory=set)
    states: int = 0
    transitions: int = 0
    depth: int = 0
    seconds: float = 0.0
    why: str = ""
    is_compact: bool = False

    @property
    def summary(self) -> str:
        """Return how far it went, in one line."""
        kept = f"states kept as 64 bits, chance of a missed one at most {chance_of_omission(self.states):.1g}" if self.is_compact else "exact"
        end = f"not finished ({self.why})" if self.why else "finished"
        return f"{end}: {counted(self.states, 'state')} explored, {counted(self.transitions, 'transition')}, depth {self.depth}, {kept}, {self.seconds:.1f} s"


def search(part: Part, *, workers: int | None = None, memory: int = 1 << 30, compact: bool = False, until_first_failure: bool = False,
           progress: Callable[[str], None] | None = None) -> Found:
    """Explore a part with so many processes (one a core when not given) in so much memory [bytes]. Return what was found.

    The memory is that of states; each process needs some 30 MB besides. `compact` keeps of
    each state a value of 64 bits only. Processes are forked, so the part need not be sent.
    """
    began, context = perf_counter(), get_context("fork")
    number = workers or cpu_count() or 1
    links, processes = [], []
    found = Found(Exploration(part), is_compact=compact)
    for place in range(number):
        ours, theirs = context.Pipe()
        worker = _Worker(part, place, number, memory // number, compact)
        process = context.Process(target=worker.serve, args=(theirs, ours), daemon=True)
        process.start()
        theirs.close()
        links.append(ours)
        processes.append(process)
    try:
        failures = _levels(links, found, until_first_failure, progress)
        for failure, name, move, filling in failures.values():
            _retrace(found.exploration, links, failure, name, move, filling)
    except KeyboardInterrupt:
        found.why = "stopped"
    finally:
        for process in processes:
            process.terminate()
        for process, link in zip(processes, links, strict=True):
            process.join()
            link.close()
    found.seconds = perf_counter() - began
    return found


def _levels(links: Sequence[Connection], found: Found, until_first_failure: bool, progress: Callable[..., Any] | None) -> dict[str, Failed]:
    """Go level by level until there is nothing new. Return {property id: (Failure, state, move, filling)}."""
    failures: dict[str, Failed] = {}
    states = [0] * len(links)
    inboxes: list[list[Any]] = [[("start", None, 0)] for _ in links]
    while any(inboxes) and not found.why:
        for link, inbox in zip(links, inboxes, strict=True):
            link.send(("level", inbox))
        inboxes = [[] for _ in links]
        working = set(links)
        level: dict[str, Failed] = {}
        while working:
            for link in cast(list[Connection], wait(list(working))):
                kind, *told = link.recv()
                states[links.index(link)] = told[0]
                if kind == "done":
                    working.discard(link)
                    _, outboxes, failed, seen, transitions, is_full = told
                    for inbox, outbox in zip(inboxes, outboxes, strict=True):
                        inbox += outbox
                    for key, one in failed.items():
                        level[key] = min(level.get(key, one), one, key=lambda row: (str(row[1]), row[2]))
                    found.seen |= seen
                    found.transitions += transitions
                    if is_full:
                        found.why = "memory is full"
                found.states = sum(states)
                if progress:
                    progress(f"depth {found.depth + 1}: {found.states} states")
        found.depth += not found.why
        for key, one in level.items():
            failures.setdefault(key, one)
        if failures and until_first_failure:
            found.why = "a property fails"
    return failures


def _retrace(explored: Exploration, links: Sequence[Connection], failure: Failure, name: Name | None, move: int, filling: int | None) -> None:
    """Go the way to a failure again, from power-up, and note it in the exploration."""
    numbers, before = [move], name
    while before is not None:
        for link in links:
            link.send(("before", before))
        answers = [answer for answer in (link.recv() for link in links) if answer]
        before, number = answers[0]
        numbers.append(number)
    *way, last = reversed(numbers)
    key = None
    for number in way:
        one = next(islice(_moves(explored, key), number, None))
        _, _, after, closed = explored._judged(explored.nothing if key is None else key, one, explored.relays_in(key), ())
        if after is None:               # a program that answers otherwise the second time: told up to here, and not said to hold
            explored.failures[failure.id] = (failure, key, one, None)
            return
        explored.parents.setdefault(after, (key, one))
        key = after
    one = next(islice(_moves(explored, key), last, None))
    explored.failures[failure.id] = (failure, key, one, None if filling is None else explored.fillings[filling])


def _moves(explored: Exploration, key: bytes | None) -> Iterator[Move]:
    """Return every move from a state; from none, those that begin."""
    return iter(explored.part.starts() if key is None else explored.part.moves(explored.running_in(key)))


class _Worker:
    """One process: the states that fall to it, and what comes of them."""

    def __init__(self, part: Part, place: int, number: int, memory: int, compact: bool) -> None:
        self.part, self.place, self.number = part, place, number
        self.room = int(memory * FRONTIER_SHARE)
        self.visited_room, self.compact = memory - self.room, compact

    def serve(self, link: Connection, other_end: Connection) -> None:
        """Answer until killed."""
        signal.signal(signal.SIGINT, signal.SIG_IGN)        # Ctrl-C is for the one who asks
        other_end.close()
        self.explored = Exploration(self.part)
        self.visited: Any = (Compact if self.compact else Whole)(self.visited_room)       # each has names of its own kind
        with suppress(EOFError, ConnectionError):           # whoever asks is gone
            while True:
                kind, told = link.recv()
                if kind == "before":
                    link.send(self.visited.before(told) if self._keeps(told) else None)
                else:
                    link.send(self._level(told, link))

    def _keeps(self, name: Name) -> bool:
        return (name if isinstance(name, int) else value_of(name)) % self.number == self.place

    def _level(self, inbox: list[Any], link: Connection) -> tuple[Any, ...]:
        """Keep what is new of a level and explore from it. Return the message that says what came of it."""
        self.outboxes: list[list[tuple[bytes, Name | None, int]]] = [[] for _ in range(self.number)]
        self.sent: set[bytes] = set()
        self.failed: dict[str, Failed] = {}
        self.size = self.transitions = 0
        is_full, told = False, perf_counter()
        self.part.seen.clear()
        try:
            if inbox and inbox[0][0] == "start":
                keys: list[bytes | None] = [None] if self.place == 0 else []
            else:
                keys = [key for key, before, move in inbox if self.visited.add(self._name(key), before, move)]
            inbox.clear()
            for key in keys:
                self._explore(key)
                if perf_counter() - told > BREATH:
                    told = perf_counter()
                    link.send(("on the way", len(self.visited)))
        except Full:
            is_full = True
        return ("done", len(self.visited), self.outboxes, self.failed, self.part.seen, self.transitions, is_full)

    def _name(self, key: bytes) -> Name:
        name: Name = self.visited.name_of(key, value_of(key) if self.compact else 0)
        return name

    def _explore(self, key: bytes | None) -> None:
        explored = self.explored
        at, before = explored.nothing if key is None else key, explored.relays_in(key)
        name, draw = None if key is None else self._name(key), value_of(at)
        for number, move in enumerate(_moves(explored, key)):
            drawn = (draw + number) % FILLINGS
            self.transitions += 1
            failure, filling, after, _ = explored._judged(at, move, before, (explored.fillings[drawn],))
            if failure is not None:
                self.failed.setdefault(failure.id, (failure, name, number, None if filling is None else drawn))
            elif after is not None and after not in self.sent:
                self.sent.add(after)
                self.size += len(after) + FRONTIER_OVERHEAD
                if self.size > self.room:
                    raise Full
                self.outboxes[value_of(after) % self.number].append((after, name, number))
