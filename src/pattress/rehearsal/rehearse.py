"""From a plan to a rehearsal: a scripted day, random days, and the same under MicroPython."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from random import Random
from typing import Any

from pattress.controller.digest import digest
from pattress.plural import counted
from pattress.rehearsal import monitor
from pattress.rehearsal.day import DAY, Day, Names, Problem
from pattress.rehearsal.differential import Difference, difference
from pattress.rehearsal.habits import sticks
from pattress.rehearsal.household import STICKS_A_DAY, random_day
from pattress.rehearsal.script import scripted
from pattress.rehearsal.stimuli import Mishaps, Stimulus
from pattress.rehearsal.surroundings import random_surroundings
from pattress.rehearsal.world import World


@dataclass(frozen=True, slots=True)
class Rehearsal:
    """All days of a rehearsal; the first one is the scripted day.

    `digest` names program and plan. `compared` counts the events that were also answered
    under MicroPython, None when that was not asked for.
    """

    digest: str
    days: tuple[Day, ...]
    compared: int | None
    difference: Difference | None

    @property
    def problems(self) -> tuple[tuple[str, Problem], ...]:
        """Return the problems of all days, each with the title of its day."""
        return tuple((day.title, problem) for day in self.days for problem in day.problems)

    @property
    def holds(self) -> bool:
        """Return whether no day showed a problem and no answer differed."""
        return not self.problems and self.difference is None

    @property
    def summary(self) -> str:
        """Return the outcome in one line."""
        events = sum(day.facts.events for day in self.days)
        words = f"{counted(len(self.days), 'day')}, {counted(events, 'event')}, {counted(len(self.problems), 'problem')}"
        if self.compared is not None:
            same = "alike" if self.difference is None else "differently"
            words += f"; {counted(self.compared, 'event')} answered {same} by CPython and MicroPython"
        return words


def rehearse(
    table: Mapping[str, Any],
    names: Names | None = None,
    *,
    seed: int,
    days: int = 1,
    micropython: bool = True,
    progress: Callable[[int, int, str], None] | None = None,
) -> Rehearsal:
    """Rehearse the scripted day and `days` random days of a plan.

    The same seed gives the same days, event for event. `names` are what people call things,
    those in the table when not given. `progress` is called with the days done, the days in all
    and the title of the day that comes next. With `micropython` each day is also run under
    that interpreter; the comparison ends at the first difference. Raises InterpreterError when
    it cannot run.
    """
    names = names or Names.of(table)
    rehearsed: list[Day] = []
    first: Difference | None = None
    for number in range(days + 1):
        title = f"Random day {number}" if number else "Scripted day"
        if progress:
            progress(number, days + 1, title)
        # Each day has its own seeds, so that it does not change because another one was added.
        notes: tuple[str, ...]
        if number:
            stimuli, notes, mishaps = random_day(table, Random(f"{seed}/{number}/household")), (), Mishaps()
            stimuli += tuple(sticks(table, Random(f"{seed}/{number}/contacts"), STICKS_A_DAY))
            stimuli += tuple(random_surroundings(table, Random(f"{seed}/{number}/surroundings")))
        else:
            stimuli, notes = scripted(table)
            mishaps = Mishaps(frame_lost=0.0, slow_turn=0.0)    # it shall show what it is written to show
        day = live(table, names, stimuli, title=title, seed=f"{seed}/{number}/world", mishaps=mishaps, notes=notes)
        rehearsed.append(day)
        if micropython and first is None:
            first = difference(table, day)
    if progress:
        progress(days + 1, days + 1, "")
    compared = sum(day.facts.events for day in rehearsed) if micropython else None
    return Rehearsal(digest(table), tuple(rehearsed), compared, first)


def live(
    table: Mapping[str, Any],
    names: Names,
    stimuli: Iterable[Stimulus],
    *,
    title: str,
    seed: str,
    mishaps: Mishaps = Mishaps(),
    length: int = DAY,
    notes: tuple[str, ...] = (),
) -> Day:
    """Let one day pass with these stimuli, and return all that was seen."""
    world = World(table, names, seed, mishaps=mishaps, length=length)
    world.run(stimuli)
    plan = world.plan
    log = tuple(world.board.log)
    found = [*world.oracle.problems, *monitor.problems(plan, names, log, length)]
    return Day(
        title=title,
        seed=seed,
        length=length,
        log=log,
        user_actions=tuple(sorted(world.oracle.user_actions, key=lambda user_action: user_action.at)),
        spans=tuple(world.spans),
        facts=monitor.facts(plan, log, world.oracle, length),
        problems=tuple(sorted(found, key=lambda problem: problem.at)),
        notes=notes,
    )
