"""What moves between two designs: findings, parts and the plan. Pure."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from math import inf, isclose
from typing import Any

from pattress.design import Design
from pattress.finding import Figure, Finding
from pattress.pins.best import Assignment

SAME = 1e-9                  # relative: figures that differ by less are equal


class Direction(StrEnum):
    """How a finding moves, from worst to best."""

    WORSE = "worse"
    NEW = "new"
    MOVED = "moved"
    GONE = "gone"
    BETTER = "better"


@dataclass(frozen=True, slots=True)
class Move:
    """A finding that is not the same in both; None where a job does not have it."""

    id: str
    question: str
    before: Finding | None
    after: Finding | None

    @property
    def direction(self) -> Direction:
        """Return how it moves; `moved` when the verdict stays."""
        if self.before is None:
            return Direction.NEW
        if self.after is None:
            return Direction.GONE
        change = self.after.verdict.severity - self.before.verdict.severity
        return Direction.WORSE if change > 0 else Direction.BETTER if change < 0 else Direction.MOVED


@dataclass(frozen=True, slots=True)
class Difference:
    """A part or a place of the plan that differs; None where one of the two does not have it."""

    what: str
    before: Any
    after: Any


@dataclass(frozen=True, slots=True)
class Comparison:
    """Everything that differs. `moves` has the worst first."""

    moves: tuple[Move, ...]
    parts: tuple[Difference, ...]
    plan: tuple[Difference, ...]


def compare(before: Design, after: Design) -> Comparison:
    """Return what moves from one design to another."""
    old, new = ({finding.id: finding for finding in design.findings} for design in (before, after))
    moves = [Move(key, (new.get(key) or old[key]).question, old.get(key), new.get(key))
             for key in dict.fromkeys((*new, *old)) if not _alike(old.get(key), new.get(key))]
    return Comparison(
        tuple(sorted(moves, key=_worst_first)),
        _differences(dict(_parts(before)), dict(_parts(after))),
        _differences(dict(_places(before.plan)), dict(_places(after.plan))),
    )


def _worst_first(move: Move) -> tuple[Any, ...]:
    old, new = (finding.verdict.severity if finding else 0 for finding in (move.before, move.after))
    margin = move.after.margin if move.after and move.after.margin is not None else inf
    return old - new, -new, list(Direction).index(move.direction), margin, move.id


def _alike(old: Finding | None, new: Finding | None) -> bool:
    if old is None or new is None:
        return False
    return old.verdict is new.verdict and _same(old.value, new.value) and _same(old.limit, new.limit)


def _same(old: Figure | None, new: Figure | None) -> bool:
    if old is None or new is None:
        return old is new
    return old.unit == new.unit and isclose(old.value, new.value, rel_tol=SAME)


def _parts(design: Design) -> Iterator[tuple[str, str]]:
    """Yield what is bought, by what it is for, and the pin of every wire."""
    chosen = design.chosen
    yield "board", design.board.type
    yield "driver", chosen.driver.part.designation
    yield "supply", chosen.supply.part.designation
    for word, choices in (("relay", chosen.relays), ("terminal", chosen.terminals)):
        for key, choice in choices.items():
            yield f"{word} of {key}", choice.part.designation
    if isinstance(design.pins, Assignment):
        for placed in design.pins.pins:
            yield f"pin of {placed.demand.name}", placed.pin.name


def _places(table: Mapping[str, Any], path: str = "") -> Iterator[tuple[str, Any]]:
    """Yield every value of a plan with its place; rows go by their key, not by their number."""
    for name, value in table.items():
        place = f"{path}.{name}" if path else name
        if isinstance(value, list) and value and all(isinstance(row, Mapping) and "key" in row for row in value):
            for row in value:
                yield from _places({key: inner for key, inner in row.items() if key != "key"}, f"{place}.{row['key']}")
        elif isinstance(value, Mapping):
            yield from _places(value, place)
        elif value != []:
            yield place, value


def _differences(old: Mapping[str, Any], new: Mapping[str, Any]) -> tuple[Difference, ...]:
    return tuple(Difference(key, old.get(key), new.get(key)) for key in dict.fromkeys((*old, *new)) if old.get(key) != new.get(key))
