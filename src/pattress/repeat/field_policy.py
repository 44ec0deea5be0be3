"""What becomes of each field of the job file when a job is published and adopted; read from `fields.toml`."""

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

ANEW, OWN, DESIGN = "anew", "own", "design"
ANY = "*"                      # any one key of a path
Path = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Field:
    """A field by its path, `*` for any key. `adopted` is "" where nobody is asked."""

    path: Path
    published: bool = True
    adopted: str = ""
    question: str = ""
    why: str = ""

    def covers(self, path: Path) -> bool:
        """Return whether a path is this field, or lies inside its value."""
        return len(path) >= len(self.path) and all(one in (ANY, other) for one, other in zip(self.path, path))

    def lies_in(self, path: Path) -> bool:
        """Return whether this field lies inside the table at a path."""
        return len(path) < len(self.path) and all(one in (ANY, other) for one, other in zip(self.path, path))


@cache
def fields() -> tuple[Field, ...]:
    """Return all fields in the order in which an adopter is asked."""
    rows = tomllib.loads(files(__package__).joinpath("fields.toml").read_text("utf-8"))["field"]
    return tuple(Field(**row | {"path": tuple(row["path"].split("."))}) for row in rows)


def sections() -> tuple[str, ...]:
    """Return the sections of the job file in the order in which an adopter is asked."""
    return tuple(dict.fromkeys(field.path[0] for field in fields() if field.adopted))


def is_published(path: Path) -> bool:
    """Return whether the value at a path may leave its owner's file. False for a field that is not listed."""
    return any(field.published for field in fields() if field.covers(path) or field.lies_in(path))


def places(field: Field, document: Mapping[str, Any]) -> Iterator[Path]:
    """Yield the paths of a field in a document, one for each thing that has it, said or not."""
    found: list[Path] = [()]
    for part in field.path:
        found = [(*path, key) for path in found for key in (_keys(document, path) if part == ANY else (part,))]
    yield from found


def value_at(document: Any, path: Path) -> Any:
    """Return the value at a path, None where there is none. A table that is one word gives the word."""
    for part in path:
        if not isinstance(document, Mapping):
            return document
        document = document.get(part)
    return document


def set_at(document: Mapping[str, Any], path: Path, value: Any) -> dict[str, Any]:
    """Return a document with a value at a path; tables on the way are made, a word on the way gives way to one."""
    key, rest = path[0], path[1:]
    if rest:
        inner = document.get(key)
        value = set_at(inner if isinstance(inner, Mapping) else {}, rest, value)
    return {**document, key: value}


def _keys(document: Mapping[str, Any], path: Path) -> tuple[str, ...]:
    found = value_at(document, path)
    return tuple(found) if isinstance(found, Mapping) else ()
