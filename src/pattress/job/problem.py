"""What is wrong in a job file, in words for its writer.

Every problem is one `Problem`; a `JobError` carries all that one reading found.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from pattress.errors import PattressError
from pattress.refusal import advice

MOST_PRINTED = 40
_BARE = re.compile(r"[A-Za-z0-9_-]+")

Path = tuple[str | int, ...]       # keys and places in lists, outermost first


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing to put right.

    `line` and `column` count from 1; both are None when the file could not be read at all. `key`
    is the dotted path of the value, "" for the file as a whole. `found` is a noun phrase after
    "is" where there is a key, otherwise a sentence.
    """

    file: str
    line: int | None
    column: int | None
    key: str
    found: str
    allowed: str = ""
    nearest: str = ""

    def __str__(self) -> str:
        where = self.file if self.line is None else f"{self.file}:{self.line}:{self.column}"
        what = f"{self.key} is {self.found}" if self.key else self.found
        return f"{where}: {what}{advice(self.allowed, self.nearest)}"


class JobError(PattressError):
    """The job file cannot be used as it is; `problems` says where and what to write instead.

    Usual cause: a missing unit or quote, a mistyped key. Try the nearest word that a problem names.
    """

    def __init__(self, problems: Iterable[Problem]):
        self.problems = tuple(sorted(problems, key=lambda p: (p.line or 0, p.column or 0)))
        super().__init__(self.problems)

    def __str__(self) -> str:
        lines = [str(problem) for problem in self.problems[:MOST_PRINTED]]
        if len(self.problems) > MOST_PRINTED:
            lines.append(f"and {len(self.problems) - MOST_PRINTED} more")
        return "\n".join(lines)


def key_path(path: Path) -> str:
    """Return a path as people write it: "load.pendant.power", "item 2 of switch.door.does"."""
    parts = [part for part in path if isinstance(part, str)]
    items = [part for part in path if isinstance(part, int)]
    dotted = ".".join(part if _BARE.fullmatch(part) else _quoted(part) for part in parts)
    return "".join(f"item {item + 1} of " for item in reversed(items)) + dotted


def _quoted(part: str) -> str:
    shown = part if len(part) <= 60 else part[:57] + "..."
    return '"' + "".join(c if c.isprintable() else "?" for c in shown) + '"'
