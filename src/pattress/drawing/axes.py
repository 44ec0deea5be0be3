"""Scales and axes: from a figure to its place, round ticks, and the lines and words of an axis."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import ceil, floor, log10

from pattress.drawing.box import Box
from pattress.drawing.look import DETAIL, INK, LEADER, RULE, TEXT, TICK, Colour
from pattress.drawing.pieces import Piece, line, text

MINUS = "\N{MINUS SIGN}"
LONG, AWAY = 5.0, 5.0            # of a tick, and from it to its words


@dataclass(frozen=True, slots=True)
class Scale:
    """Figures from `low` to `high` laid out from `start` to `end`, which may lie the other way round."""

    low: float
    high: float
    start: float
    end: float

    def __call__(self, figure: float) -> float:
        """Return the place of a figure."""
        return self.start + (figure - self.low) / (self.high - self.low) * (self.end - self.start)

    def held(self, figure: float) -> float:
        """Return the place of a figure, of one beyond the scale the end of the scale."""
        return self(min(max(figure, self.low), self.high))


def ticks(low: float, high: float, about: int = 5) -> list[float]:
    """Return round figures from low to high, about so many: steps of 1, 2 or 5 and noughts."""
    raw = (high - low) / about
    step: float = 10.0 ** floor(log10(raw))
    step *= next(factor for factor in (1, 2, 5, 10) if factor * step >= raw * 0.999)
    return [round(step * place, 12) for place in range(ceil(low / step - 1e-9), floor(high / step + 1e-9) + 1)]


def figure(value: float) -> str:
    """Return the words of a tick."""
    return f"{value:.10g}".replace("-", MINUS)


def axes(frame: Box, across: Scale, up: Scale, *, across_name: str = "", up_name: str = "", size: float = TEXT) -> Iterator[Piece]:
    """Yield the grid, the two axes and their words: figures at the left and, where `across` has a name, below."""
    for value in ticks(up.low, up.high):
        yield line(((frame.left, up(value)), (frame.right, up(value))), stroke=RULE, weight=DETAIL)
        yield text(frame.left - AWAY, up(value) + 0.36 * size, figure(value), size=size, anchor="end")
    if across_name:
        for value in ticks(across.low, across.high):
            yield from _tick(across(value), frame.bottom, figure(value), size)
        yield text((frame.left + frame.right) / 2, frame.bottom + 2.7 * size, across_name, size=size, anchor="middle")
    if up_name:
        yield text(4, frame.top - 8, up_name, size=size)
    level = up(0.0) if up.low < 0.0 < up.high else frame.bottom
    yield line(((frame.left, frame.top), (frame.left, frame.bottom)), stroke=INK, weight=TICK)
    yield line(((frame.left, level), (frame.right, level)), stroke=INK, weight=TICK)


def _tick(x: float, y: float, words: str, size: float) -> Iterator[Piece]:
    yield line(((x, y), (x, y + LONG)), stroke=INK, weight=DETAIL)
    yield text(x, y + LONG + size, words, size=size, anchor="middle")


def time_axis(scale: Scale, y: float, marks: Iterable[tuple[float, str]], *, size: float, above: float, below: float,
              tick: Colour = RULE, colour: Colour | None = None) -> Iterator[Piece]:
    """Yield ticks of a level scale with their words at y, the words at its ends within it.

    A tick reaches from `above` its words' base line to `below` that.
    """
    for value, words in marks:
        x = scale(value)
        anchor = "start" if value == scale.low else "end" if value == scale.high else "middle"
        yield line(((x, y + above), (x, y + below)), stroke=tick, weight=LEADER)
        yield text(x, y, words, size=size, anchor=anchor, colour=colour)
