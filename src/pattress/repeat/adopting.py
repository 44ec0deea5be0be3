"""From a published job and answers to the adopter's own job.

What is asked anew is never kept by itself: where it is not answered it becomes "unknown", and that is
told; where the job file takes no "unknown" an answer has to be there.
"""

from collections.abc import Iterator, Mapping
from typing import Any

from pattress.incoming import FileRefusal, toml_of
from pattress.job import JobError, Problem, read
from pattress.job.model import UNKNOWN
from pattress.job.places import Places
from pattress.job.problem import key_path
from pattress.job.reading import Source
from pattress.job.syntax import document as document_of
from pattress.refusal import Refusal, nearest
from pattress.repeat.field_policy import Path, set_at, value_at
from pattress.repeat.points import NOT_SAID, Point, points_of
from pattress.repeat.publishing import JOB
from pattress.repeat.references import CHANNELS, without
from pattress.repeat.writing import as_toml, job_text

MAY_BE_LEFT_OUT = (*CHANNELS, "switch", "input", "regulator", "remote", "sensor")
HAVE_NONE = "none"             # said of a thing: the adopter has none


def leave_out(document: Mapping[str, Any], thing: Path) -> dict[str, Any]:
    """Return a document without a thing, what speaks of it, and the wishes that then mean nothing.

    Raises JobError when the rest is no job, such as without the last load.
    """
    left = without(document, *thing)
    gone = {problem.key for problem in problems(left)}
    wishes = {name: row for name, row in left.get("wish", {}).items() if f"wish.{name}.says" not in gone}
    left = {name: rows for name, rows in (left | {"wish": wishes}).items() if rows != {}}
    found = problems(left)
    if found:
        raise JobError(found)
    return left


def problems(document: Mapping[str, Any]) -> tuple[Problem, ...]:
    """Return everything that is wrong in a document as a job."""
    try:
        read(job_text(document), JOB)
    except JobError as error:
        return error.problems
    return ()


def problem_at(document: Mapping[str, Any], path: Path) -> Problem | None:
    """Return what is wrong with the value at a path, or with an item of it."""
    key = key_path(path)
    return next((problem for problem in problems(document) if problem.key == key or problem.key.endswith(f" of {key}")), None)


def is_asked(point: Point, document: Mapping[str, Any]) -> bool:
    """Return whether a point still means something: not inside a table for which a word stands."""
    return bool(point.words) or len(point.path) <= 2 or not isinstance(value_at(document, point.path[:-1]), str)


def answered(document: Mapping[str, Any], point: Point, value: Any) -> dict[str, Any]:
    """Return a document with the answer to a point; one of its words takes the place of the table around it.

    A switch that is a latching one is neither held nor pressed twice any more.
    """
    if isinstance(value, str) and value in point.words:
        return set_at(document, point.path[:-1], value)
    left = set_at(document, point.path, value)
    if point.path[0] == "switch" and point.path[2:] == ("kind",) and value == "latching":
        switch = left["switch"][point.path[1]]
        left = set_at(left, point.path[:2], {name: what for name, what in switch.items() if name not in ("held", "twice")})
    return left


def value_of(text: str, document: Mapping[str, Any], point: Point) -> Any:
    """Return what a typed answer means there: the text itself, or the number, list or truth that it reads as.

    Raises JobError with the problem when the job file takes neither.
    """
    try:
        value = toml_of(f"value = {text}")["value"]
        tried = (text, value) if not isinstance(value, str) else (value,)
    except FileRefusal:
        tried = (text,)
    faults = []
    for value in tried:
        problem = problem_at(answered(document, point, value), point.path)
        if problem is None:
            return value
        faults.append(problem)
    raise JobError(faults[:1])


def adopted(published: Mapping[str, Any], text: str, file: str) -> tuple[dict[str, Any], tuple[str, ...]]:
    """Return the adopter's job from a published one and the text of an answers file, and the keys that are "unknown" for want of an answer.

    The file has the form of a job file with only what is answered; `machine = "none"` under
    `[load]` leaves a load out, and likewise for the other things that may be left out. Raises
    JobError with everything that is missing, is no point, or cannot be taken.
    """
    text = text.replace("\r\n", "\n")
    answers = document_of(text, file)
    source, document = Source(file, Places(text)), dict(published)
    left_out = [(section, key) for section in MAY_BE_LEFT_OUT for key in document.get(section, {})
                if value_at(answers, (section, key)) == HAVE_NONE]
    for thing in left_out:
        if value_at(document, thing) is not None:         # it may have gone with another already
            document = leave_out(document, thing)
    found: list[Problem] = []
    by_path = {point.path: point for point in points_of(document)}
    tables = {point.path[:-1] for point in by_path.values() if point.words}
    for path, value in _leaves(answers):
        if path in by_path:
            document = answered(document, by_path[path], value)
        elif path in tables and isinstance(value, str):
            document = set_at(document, path, value)
        elif path[:2] not in left_out:
            known = [point.key for point in by_path.values()]
            found.append(source.problem(path, Refusal("no point of the published job", "a key that `pattress adopt FOLDER --list` prints",
                                                      nearest(key_path(path), known)), at_key=True))
    unanswered: list[str] = []
    for point in by_path.values():
        if not point.anew or not is_asked(point, document) or value_at(answers, point.path) is not None:
            continue
        if _may_stay_open(point, answers):
            document = answered(document, point, UNKNOWN)
            unanswered.append(key_path(point.path[:-1] if UNKNOWN in point.words else point.path))
        else:
            found.append(Problem(file, None, None, point.key, "missing; what the original had is never kept by itself", point.allowed))
    paths = {key_path(path): path for path in (*by_path, *tables)}
    for problem in problems(document):
        place = paths.get(problem.key.rpartition(" of ")[2])
        if place is None or value_at(answers, place) is not None:
            found.append(source.problem(place, Refusal(problem.found, problem.allowed, problem.nearest)) if place else problem)
        elif not any(one.key == problem.key for one in found):
            found.append(Problem(file, None, None, problem.key, problem.found, problem.allowed, problem.nearest))
    if found:
        raise JobError(found)
    return with_own_board(document, published), tuple(unanswered)


def with_own_board(document: Mapping[str, Any], published: Mapping[str, Any]) -> dict[str, Any]:
    """Return an adopter's document without the publisher's board file where another board is named."""
    board = document["board"]
    if "file" in board and board["type"] != published["board"]["type"]:
        board = {key: value for key, value in board.items() if key != "file"}
    return {**document, "board": board}


def _may_stay_open(point: Point, answers: Mapping[str, Any]) -> bool:
    """Return whether "unknown" can stand for a point without an answer; not for a table of which another part is answered."""
    return point.may_be_unknown and (UNKNOWN not in point.words or value_at(answers, point.path[:-1]) is None)


def blank(published: Mapping[str, Any], costs: Mapping[str, tuple[str, ...]]) -> str:
    """Return an answers file to fill in: every point with its question, what the original had, and what is allowed."""
    lines = ["# Answers for `pattress adopt FOLDER --answers FILE`. Take the # from the lines you answer.",
             "# Lines marked ANEW are to be answered: what the original had is not yours, and without an answer it is \"unknown\", or missing where",
             "# that is not allowed. The others keep the original when left as they are.",
             f'# You have no such thing: "{HAVE_NONE}" in its place, such as load.KEY = "{HAVE_NONE}".']
    for point in points_of(published):
        if not is_asked(point, published):
            continue
        original = NOT_SAID if point.original is None else as_toml(point.original)
        lines += ["", f"# {point.question}", f"#   allowed: {point.allowed}", f"#   original: {original}"]
        lines += [f"#   unknown: {line}" for line in costs.get(point.key, ())]
        lines.append(f"# {point.key} = {'' if point.anew or point.original is None else original}{'   # ANEW' if point.anew else ''}")
    return "\n".join(lines) + "\n"


def _leaves(answers: Mapping[str, Any], path: Path = ()) -> Iterator[tuple[Path, Any]]:
    """Yield every answer with its path; a table is taken apart."""
    for key, value in answers.items():
        place = (*path, key)
        if isinstance(value, Mapping) and value:
            yield from _leaves(value, place)
        else:
            yield place, value
