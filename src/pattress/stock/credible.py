"""What a figure may be where the sheet gives none: its credible range, and what was taken of it.

The ranges are in `credible.toml`, each with the published rows behind it beside those of the
stock. A question takes the end that is worse for it, and lists that as an assumption.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from functools import cache

from pattress.finding import Assumption, Figure, Input, Source
from pattress.quantity import parse, show
from pattress.stock.record import Rating
from pattress.stock.shipped import table

BOARD = "board"
SHARE = "%"                      # of figures without a unit: read as a share, shown in per cent


class End(StrEnum):
    """An end of a range: which one is worse depends on the question."""

    LEAST = "least"
    MOST = "most"

    @property
    def other(self) -> "End":
        """Return the other end."""
        return End.MOST if self is End.LEAST else End.LEAST


@dataclass(frozen=True, slots=True)
class Range:
    """The least and the most a figure credibly is, in SI units, with the published rows beside those of the stock."""

    least: float
    most: float
    unit: str
    source: Source
    why: str
    rows: tuple[tuple[str, float], ...] = ()

    def at(self, end: End) -> float:
        """Return the value at an end."""
        return self.least if end is End.LEAST else self.most

    def covers(self, value: float) -> bool:
        """Return whether a value lies within."""
        return self.least * (1.0 - 1e-9) <= value <= self.most * (1.0 + 1e-9)


@dataclass(frozen=True, slots=True)
class Known:
    """A figure in SI units, as an input of a finding, and what was assumed to get it: None where the sheet gives it."""

    value: float
    input: Input
    assumed: Assumption | None = None


def credible(kind: str, name: str) -> Range:
    """Return the credible range of a figure of a kind of part, or of the kind "board".

    Raises KeyError where none is known: what such a figure decides is unknown without it.
    """
    return _ranges()[kind, name]


def ranges() -> Iterator[tuple[str, str, Range]]:
    """Yield kind, figure and range of all that are known."""
    return ((kind, name, found) for (kind, name), found in _ranges().items())


def taken(rating: Rating, *, kind: str, thing: str, name: str, worse: End, best: bool = False) -> Known:
    """Return a figure as the sheet has it, or the `worse` end of its credible range with the assumption; the other end if `best`.

    `thing` is what is printed on the part. Raises KeyError where the figure is unknown and has no range.
    """
    label = name.replace("_", " ")
    number = rating.number
    if number is not None:
        return Known(number, Input(label, Figure(number, rating.unit), f"{thing}, {rating.at}".rstrip(", "), rating.source))
    span = credible(kind, name)
    value = span.at(worse.other if best else worse)
    why = rating.why or "the sheet gives none"
    return Known(value, Input(label, Figure(value, span.unit), f"{thing}: worst credible of {kind}s", span.source),
                 Assumption(f"{'board' if kind == BOARD else 'part'}.{thing}.{name}", show(value, span.unit), why,
                            f"the {label} in the data sheet of {thing}, or a measurement of it"))


def assumed(*known: Known) -> tuple[Assumption, ...]:
    """Return what was assumed for these figures."""
    return tuple(one.assumed for one in known if one.assumed is not None)


def values(known: Iterable[Known]) -> tuple[float, ...]:
    """Return the plain values."""
    return tuple(one.value for one in known)


@cache
def _ranges() -> dict[tuple[str, str], Range]:
    shipped = table("credible")
    found = {}
    for kind, figures in shipped.entries.items():
        if kind == "sources":
            continue
        for name, entry in figures.items():
            unit = entry["unit"]
            read = "" if unit == SHARE else unit
            found[kind, name] = Range(
                parse(entry["least"], read), parse(entry["most"], read), unit, shipped.source(entry["source"]), entry["why"],
                tuple((title, parse(value, read)) for title, value in entry.get("rows", ())))
    return found
