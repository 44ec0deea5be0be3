"""The issues of a pack: which revision went out when and why, and what moved since the one before."""

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from string import ascii_uppercase

from pattress.design import Design
from pattress.design.comparison import Direction, compare
from pattress.errors import UseError
from pattress.incoming import json_of, text_of
from pattress.plural import counted

FOLDER, RECORD = "issued", "issues.json"
LONGEST_REASON = 120
NOT_ISSUED = "not issued"


@dataclass(frozen=True, slots=True)
class Issue:
    """One issue: its letter, its day (ISO 8601), why it went out, the codes of what it is of, and what moved since the one before."""

    revision: str
    date: str
    reason: str
    design: str
    program: str
    moved: str


def read_issues(folder: Path) -> tuple[Issue, ...]:
    """Return the issues recorded in a results folder, the first first. Raises UseError when the record cannot be read."""
    file = folder / FOLDER / RECORD
    if not file.exists():
        return ()
    try:
        return tuple(Issue(**row) for row in json_of(text_of(file, "the record of issues")))
    except (ValueError, TypeError) as error:
        raise UseError(f"{file} cannot be read: {getattr(error, 'found', error)}\n  allowed: the record as --issue wrote it; or move the folder {folder / FOLDER} away and begin with revision A") from error


def record_of(issues: Sequence[Issue]) -> str:
    """Return the record as it is written."""
    return json.dumps([asdict(issue) for issue in issues], indent=1, ensure_ascii=False) + "\n"


def next_revision(issues: Sequence[Issue]) -> str:
    """Return the letter of the next issue: A to Z, then AA, AB and so on."""
    number, letters = len(issues) + 1, ""
    while number:
        number, place = divmod(number - 1, len(ascii_uppercase))
        letters = ascii_uppercase[place] + letters
    return letters


def moved_words(before: Design, after: Design) -> str:
    """Return in words what moves between two designs."""
    moved = compare(before, after)
    worse = sum(move.direction is Direction.WORSE for move in moved.moves)
    said = [f"{counted(len(moved.moves), 'finding')}{f', {worse} worse' if worse else ''}"] if moved.moves else []
    said += [counted(len(some), one, many) for some, one, many in ((moved.parts, "part or pin", "parts and pins"), (moved.plan, "place of the plan", "places of the plan")) if some]
    return "; ".join(said) or "nothing that is checked, bought or run"


def revision_of(issues: Sequence[Issue], design: str, program: str) -> str:
    """Return the revision that a pack is: the letter of the last issue where it is of this design and program, else that it is not issued."""
    if not issues:
        return NOT_ISSUED
    last = issues[-1]
    return last.revision if (last.design, last.program) == (design, program) else f"after {last.revision}, {NOT_ISSUED}"
