"""Deletion of a thing from the job: everything that refers only to it goes, too."""

from collections.abc import Iterator, Mapping
from typing import Any

from pattress.design.rewriting import edited
from pattress.design.tables import without_table
from pattress.job.problem import Path, key_path
from pattress.repeat.references import without
from pattress.web.draft import Edit, Version
from pattress.web.job.form_fields import written


def along(version: Version, section: str, key: str) -> tuple[Edit, ...]:
    """Return what changes beside the thing itself: a key that goes has the value None."""
    left = without(version.table, section, key)
    return tuple(edit for edit in _differences(version.table, left) if edit[0] != (section, key))


def told(version: Version, edits: tuple[Edit, ...]) -> tuple[str, ...]:
    """Return each change in words."""
    return tuple(
        f"{key_path(path)} goes{_known_as(at(version.table, path))}" if value is None else f"{key_path(path)}: {shown(at(version.table, path))} becomes {shown(value)}"
        for path, value in edits)


def taken_out(version: Version, path: Path, edits: tuple[Edit, ...], file: str) -> str:
    """Return the job file's text without a table and with these edits, comments and order kept.

    Raises UseError when it stands in the file in a way that cannot be taken out.
    """
    text = without_table(version.text, path, file)
    for place, value in edits:
        is_table = value is None and isinstance(at(version.table, place), Mapping)
        text = without_table(text, place, file) if is_table else edited(text, [(place, value)], file)
    return text


def _differences(before: Mapping[str, Any], after: Mapping[str, Any], path: Path = ()) -> Iterator[Edit]:
    for name, value in before.items():
        here, now = (*path, name), after.get(name)
        if isinstance(value, Mapping) and (isinstance(now, Mapping) or not path):
            yield from _differences(value, now or {}, here)
        elif name not in after:
            yield here, None
        elif value != now:
            yield here, now


def _known_as(row: Any) -> str:
    """Return how people know what goes: by its name, or a rule or wish by its sentence."""
    words = (row.get("name") or row.get("says")) if isinstance(row, Mapping) else None
    return f": {words}" if words else ""


def at(table: Any, path: Path) -> Any:
    """Return what stands at a path of a table."""
    for part in path:
        table = table[part]
    return table


def shown(value: Any) -> str:
    """Return a value as a person reads it, a list in one line."""
    return f'"{written(value, "; ")}"'
