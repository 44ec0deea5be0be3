"""Whole tables of a job file added and taken away, as text: everything around them stays as it was."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from pattress.design.rewriting import as_written, edited, on_plain
from pattress.job.places import Places
from pattress.job.problem import Path, key_path


@dataclass(frozen=True, slots=True)
class _Table:
    """A [header] with its lines: numbers of the first (comments right above it included) and of the one after the last."""

    path: Path
    first: int
    end: int


def with_table(text: str, path: Path, values: Mapping[str, Any]) -> str:
    """Return a job file's text with the table [SECTION.KEY] after the last one of its section, or at the end."""
    def change(plain: str) -> str:
        from tomlkit import item

        lines = plain.rstrip("\n").split("\n")
        places = [table.end for table in _tables(plain) if table.path[0] == path[0]]
        at = places[-1] if places else len(lines)
        rows = [f"{key_path((name,))} = {item(as_written(value)).as_string()}" for name, value in values.items()]
        return "\n".join([*lines[:at], "", f"[{key_path(path)}]", *rows, *lines[at:]]) + "\n"

    return on_plain(text, change)


def without_table(text: str, path: Path, file: str) -> str:
    """Return a job file's text without a table, the tables in it, and the comments right above their headers.

    Raises UseError when it stands in the file in a way that cannot be taken out.
    """
    def change(plain: str) -> str:
        gone = [table for table in _tables(plain) if table.path[: len(path)] == path]
        if not gone:
            return edited(plain, [(path, None)], file)
        lines = plain.split("\n")
        for table in reversed(gone):
            before, after = lines[: table.first], lines[table.end :]
            while before and not before[-1].strip() and (not after or not after[0].strip()):
                before.pop()
            lines = before + after
        return "\n".join(lines).rstrip("\n") + "\n"

    return on_plain(text, change)


def _tables(text: str) -> Iterator[_Table]:
    """Yield every [header] in the order of the file."""
    places, lines = Places(text), text.split("\n")
    headers: dict[int, Path] = {}
    for path, span in places.keys.items():
        row = places.position(span.start)[0] - 1
        if lines[row].lstrip().startswith("[") and len(path) > len(headers.get(row, ())):
            headers[row] = path
    rows = sorted(headers)
    firsts = [_with_comments(lines, row) for row in rows]
    for number, row in enumerate(rows):
        end = firsts[number + 1] if number + 1 < len(rows) else len(lines)
        while end > row + 1 and (not lines[end - 1].strip() or lines[end - 1].lstrip().startswith("#")):
            end -= 1
        yield _Table(headers[row], firsts[number], end)


def _with_comments(lines: list[str], row: int) -> int:
    while row > 0 and lines[row - 1].lstrip().startswith("#"):
        row -= 1
    return row
