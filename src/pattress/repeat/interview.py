"""The walk through the points of a published job, question by question, with whoever adopts it."""

from collections.abc import Callable, Mapping
from typing import Any

from pattress.job import JobError, Problem
from pattress.job.model import UNKNOWN
from pattress.refusal import advice
from pattress.repeat.adopting import MAY_BE_LEFT_OUT, answered, is_asked, leave_out, problem_at, value_of
from pattress.repeat.field_policy import Path, value_at
from pattress.repeat.points import NOT_SAID, Point, points_of

SAME = "="                     # typed on purpose: mine is as the original's
CHANGE, NONE = "c", "x"
OPENING = (
    "Enter keeps what the original had, except where it is asked anew: mains, devices and cables are yours.\n"
    f'There Enter means "{UNKNOWN}" where that is allowed, and {SAME} says that yours is the same. Ctrl-C writes nothing.'
)


def interview(
    published: Mapping[str, Any], costs: Mapping[str, tuple[str, ...]], ask: Callable[[], str], tell: Callable[[str], None],
) -> dict[str, Any]:
    """Return the adopter's job. `ask` returns one typed line, `tell` shows words."""
    document = dict(published)
    tell(OPENING)
    for thing in dict.fromkeys(point.thing for point in points_of(published)):
        if value_at(document, thing) is None and len(thing) == 2:      # gone with another thing
            continue
        every = True
        if thing[0] in MAY_BE_LEFT_OUT:
            document, every = _thing(document, thing, ask, tell)
        for point in points_of(document):
            if point.thing == thing and (every or point.anew) and is_asked(point, document):
                document = _answer(document, point, costs.get(point.key, ()), ask, tell)
    return document


def _thing(document: dict[str, Any], thing: Path, ask: Callable[[], str], tell: Callable[[str], None]) -> tuple[dict[str, Any], bool]:
    """Return the document, and whether everything about a thing is to be asked; leave the thing out when there is none."""
    row = document[thing[0]][thing[1]]
    tell(f"\n{thing[0]} {thing[1]}: {_summary(row)}\n  Enter: as in the original   {CHANGE}: change it   {NONE}: you have none")
    while True:
        said = ask().strip().casefold()
        if said in ("", CHANGE):
            return document, said == CHANGE
        if said == NONE:
            try:
                return leave_out(document, thing), False
            except JobError as error:
                tell(f"  it cannot be left out: {error.problems[0].found}{advice(error.problems[0].allowed, '')}")
        else:
            tell(f"  Enter, {CHANGE} or {NONE}")


def _summary(row: Mapping[str, Any]) -> str:
    shown = [row["name"]] + [f"{row[key]}" for key in ("kind", "motor", "power", "positions", "steps") if key in row]
    if row.get("count", 1) != 1:
        shown.append(f"{row['count']} of them")
    return ", ".join(shown)


def _answer(
    document: dict[str, Any], point: Point, costs: tuple[str, ...], ask: Callable[[], str], tell: Callable[[str], None],
) -> dict[str, Any]:
    """Ask one question until its answer can be taken; return the document with it."""
    tell(_question(point, costs))
    while True:
        said = ask().strip()
        if said == SAME and point.original is not None:
            return document
        if said == "" and not point.anew:
            problem = problem_at(document, point.path)
            if problem is None:
                return document
        elif said == "" and not point.may_be_unknown or said == SAME:
            tell("  The original's is never kept by itself." + (f" Type {SAME} if yours is the same." if point.original is not None else ""))
            continue
        else:
            try:
                return answered(document, point, value_of(said or UNKNOWN, document, point))
            except JobError as error:
                problem = error.problems[0]
        tell(_refused(problem))


def _question(point: Point, costs: tuple[str, ...]) -> str:
    original = NOT_SAID if point.original is None else point.original if isinstance(point.original, str) else str(point.original)
    lines = [f"\n{point.key}", f"  {point.question}", f"  original: {original}{'   (asked anew)' if point.anew else ''}", f"  allowed:  {point.allowed}"]
    return "\n".join([*lines, *(f"  unknown:  {line}" for line in costs)])


def _refused(problem: Problem) -> str:
    return f"  found {problem.found}{advice(problem.allowed, problem.nearest)}"
