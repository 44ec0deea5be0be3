"""Rehearsed days on the page: what came of them, and each of some stepped through event by event."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from pattress.controller.core.cells import CAUSES
from pattress.controller.core.plan import top_of
from pattress.design import Design
from pattress.drawing import Medium
from pattress.plural import counted
from pattress.rehearsal.day import Day, Problem, clock
from pattress.web.background_jobs import background_jobs_of
from pattress.web.program.live_view import LiveView, drawn, live_view_of
from pattress.web.program.stepped import Stepped, event_asked, events_around, ways_on
from pattress.web.sheet import Asked, NoSuchSheet, Sheet

if TYPE_CHECKING:
    from pattress.rehearsal.stepping import Step

REHEARSAL = "rehearsal"
SEED = 1
MOST_KEPT = 8                 # days that can be stepped through: the scripted day, days with a problem, then the first others
MOST_PROBLEMS = 20            # told of on the sheet
CAPTION = "Everything in the room, as it stands after the event. The relays are those of the log; a switch stands where it was put."


@dataclass(frozen=True, slots=True)
class Walk:
    """A day that can be stepped through."""

    title: str
    number: int
    steps: "tuple[Step, ...]"

    @property
    def address(self) -> str:
        """Return where its first event is shown."""
        return f"/proof/day/{self.number}"


@dataclass(frozen=True, slots=True)
class Days:
    """What came of a rehearsal: its outcome in a line, problems with the address of their event, the first day drawn, and days to walk through."""

    holds: bool
    summary: str
    problems: tuple[tuple[str, str], ...]       # address, "" where the day is not kept, and words
    more: int                                   # problems that are not told of
    drawing: str
    walks: tuple[Walk, ...]


def rehearse_job(tell: Callable[..., None], plan: Mapping[str, Any], days: int) -> Days:
    """Rehearse a plan under both interpreters; a work."""
    from pattress.rehearsal.rehearse import rehearse
    from pattress.rehearsal.timeline import timeline

    found = rehearse(plan, seed=SEED, days=days, progress=lambda done, of, title: tell(title, done, of))
    lived = tuple(_with_difference(day, found.difference) for day in found.days)
    walks = _walks(lived, plan)
    problems = [(_address(walks, number, problem), f"{day.title}, {problem}") for number, day in enumerate(lived) for problem in day.problems]
    return Days(found.holds, found.summary, tuple(problems[:MOST_PROBLEMS]), max(len(problems) - MOST_PROBLEMS, 0),
                timeline(found.days[0], plan).svg(Medium.PAGE), walks)


def view_day(asked: Asked) -> Stepped:
    """Return a rehearsed day at the event in the address, the first when none is named; raises NoSuchSheet."""
    work = background_jobs_of(asked.draft).of(REHEARSAL)
    walks = work.outcome.walks if work and work.outcome else ()
    walk = next((one for one in walks if str(one.number) == asked.place["day"]), None)
    if work is None or walk is None:
        raise NoSuchSheet("This day is not kept. Rehearse the job again.")
    last, design = len(walk.steps), work.version.design
    at = event_asked(asked.place.get("step"), last, otherwise=1)
    step = walk.steps[at - 1]
    moment = moment_at(step, design)
    told = [(f"{clock(one.at)}  {one.words}", one.outcome, one.problems) for one in walk.steps]
    wrong = sum(bool(one.problems) for one in walk.steps)
    return Stepped(
        title=walk.title, sentence=f"{counted(last, 'event')}, problems at {wrong} of them." if wrong else f"{counted(last, 'event')}, no problem seen.", id="",
        stale=work.version.digest != asked.version.digest, caption=CAPTION, svg=drawn(design, moment), standing=moment.words,
        events=events_around(walk.address, at, told), ways=ways_on(walk.address, at, last, lambda number: bool(walk.steps[number - 1].problems)),
        found=step.problems,
    )


def moment_at(step: "Step", design: Design) -> LiveView:
    """Return what stands in the room after a step of a day."""
    from pattress.rehearsal.live_run import Control, Lamp

    plan = design.plan
    lamps = [Lamp(row["key"], row["name"], level, top_of(row), wanted, CAUSES[0], (), None)
             for row, level, wanted in zip(plan["channels"], step.levels, step.wanted, strict=True)]
    controls = [Control(row["key"], row["name"], "latching" if row["latching"] else "retractive", contact, 2)
                for row, contact in zip(plan["switches"], step.contacts, strict=True)]
    controls += [Control(row["key"], row["name"], "regulator", position, len(row["levels"]))
                 for row, position in zip(plan["regulators"], step.positions, strict=True)]
    return live_view_of(design, lamps, controls)


def _with_difference(day: Day, difference: Any) -> Day:
    """Return a day with a different answer of the other interpreter among its problems."""
    if difference is None or difference.title != day.title:
        return day
    return replace(day, problems=tuple(sorted((*day.problems, Problem(difference.at, str(difference))), key=lambda problem: problem.at)))


def _walks(days: tuple[Day, ...], plan: Mapping[str, Any]) -> tuple[Walk, ...]:
    from pattress.rehearsal.stepping import steps_of

    first = sorted(range(len(days)), key=lambda number: (number > 0, not days[number].problems, number))[:MOST_KEPT]
    return tuple(Walk(days[number].title, number, steps_of(days[number], plan)) for number in sorted(first))


def _address(walks: tuple[Walk, ...], number: int, problem: Problem) -> str:
    walk = next((one for one in walks if one.number == number), None)
    step = walk and next((place for place, one in enumerate(walk.steps, 1) if problem.words in one.problems and one.end >= problem.at), len(walk.steps))
    return f"{walk.address}/{step}" if walk else ""


SHEETS = (
    Sheet("/proof/day/{day}", "", "stepped.html", view_day),
    Sheet("/proof/day/{day}/{step}", "", "stepped.html", view_day),
)
