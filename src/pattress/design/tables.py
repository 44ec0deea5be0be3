"""Whole tables of a job file added and taken away, as text: everything around them stays as it was."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from tomllib import TOMLDecodeError, loads
from typing import Any

from pattress.design.rewriting import as_written, edited, on_plain
from pattress.errors import UseError
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


def with_keys(text: str, keys: Mapping[Path, str], file: str) -> str:
    """Return a job file's text in which keys, given by their whole paths, have other names wherever they are written.

    Raises UseError when the text would then not be the same document with those keys.
    """
    def change(plain: str) -> str:
        changed = plain
        for path, span in sorted(Places(plain).written, key=lambda place: place[1].start, reverse=True):
            if path in keys:
                changed = changed[: span.start] + key_path((keys[path],)) + changed[span.end :]
        try:
            is_meant = loads(changed) == _called(loads(plain), keys)
        except TOMLDecodeError:
            is_meant = False
        if not is_meant:
            told = "; ".join(f"{key_path(path)} becomes {new}" for path, new in keys.items())
            raise UseError(f"{file} is left as it is: a key cannot be renamed as it is written there\n  change it by hand: {told}")
        return changed

    return on_plain(text, change)


def _called(rows: Any, keys: Mapping[Path, str], path: Path = ()) -> Any:
    if not isinstance(rows, Mapping):
        return rows
    return {keys.get((*path, name), name): _called(value, keys, (*path, name)) for name, value in rows.items()}


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
