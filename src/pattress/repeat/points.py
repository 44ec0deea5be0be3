"""The points of a published job at which an adopter puts their own: mains, loads, fan, remote, place."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from pattress.job.model import UNKNOWN
from pattress.job.problem import key_path
from pattress.job.translation import allowed_at
from pattress.repeat.field_policy import ANEW, Field, Path, fields, places, sections, value_at

NOT_SAID = "not said"
_WORD = re.compile(r'"([^"]+)"')


@dataclass(frozen=True, slots=True)
class Point:
    """One question to the adopter.

    `original` is the value of the published job, None where it says nothing. An `anew` point
    has to be answered; any other may keep the original. `words` are those that may stand for
    the whole table around it ("none", "unknown"); `costs` says what "unknown" would cost.
    """

    path: Path
    question: str
    original: Any
    allowed: str
    anew: bool
    words: tuple[str, ...] = ()
    costs: tuple[str, ...] = ()

    @property
    def key(self) -> str:
        """Return the path as people write it."""
        return key_path(self.path)

    @property
    def may_be_unknown(self) -> bool:
        """Return whether "unknown" is an answer."""
        return UNKNOWN in self.words or f'"{UNKNOWN}"' in self.allowed or UNKNOWN in self.allowed.split(", ")

    @property
    def thing(self) -> Path:
        """Return the section, or the section and key of the thing, that it belongs to."""
        return self.path[:2] if len(self.path) > 2 else self.path[:1]


def points_of(document: Mapping[str, Any]) -> tuple[Point, ...]:
    """Return every point of a published job, thing by thing, in the order in which to ask."""
    found = [_point(field, path, document) for field in fields() if field.adopted and field.question for path in places(field, document)]
    order = {thing: place for place, thing in enumerate(_things(document))}
    return tuple(sorted(found, key=lambda point: order[point.thing]))


def _things(document: Mapping[str, Any]) -> Iterator[Path]:
    for section in sections():
        yield (section,)
        yield from ((section, key) for key in document.get(section, {}))


def _point(field: Field, path: Path, document: Mapping[str, Any]) -> Point:
    thing = value_at(document, path[:2])
    name = thing.get("name", path[1]) if isinstance(thing, Mapping) else ""
    question = field.question.format(key=path[1], name=name, button=path[3] if len(path) > 4 else "")
    words = _words_of_table(field, path)
    allowed = allowed_at(path) + "".join(f', or "{word}"' for word in words)
    return Point(path, question, value_at(document, path), allowed, field.adopted == ANEW, words)


def _words_of_table(field: Field, path: Path) -> tuple[str, ...]:
    """Return the words that may stand for the table around a path; only its first field takes them."""
    around = allowed_at(path[:-1]) if len(path) > 2 else ""
    if not around.startswith("a table"):
        return ()
    first = next(other for other in fields() if other.path[:-1] == field.path[:-1] and other.adopted)
    return tuple(_WORD.findall(around)) if first is field else ()
