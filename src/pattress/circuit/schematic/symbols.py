"""Shapes of the symbols, as strokes: IEC 60617 or the North American custom, never mixed (both from memory).

A part of two pins lies along an axis 5 units long, its start at 0; the second figure of a point is across it, upward negative.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import cos, pi, sin

from pattress.circuit.model import Component, Kind

Point = tuple[float, float]
PITCH = 5.0                              # units from pin to pin of a part of two


class Practice(StrEnum):
    """Whose symbols are drawn."""

    IEC = "IEC 60617"
    NORTH_AMERICAN = "IEEE 315"


class Pen(StrEnum):
    """What a stroke is drawn with."""

    BODY = "body"
    THICK = "thick"
    INK = "ink"                          # a filled outline


@dataclass(frozen=True, slots=True)
class Stroke:
    """Straight lines from point to point."""

    points: tuple[Point, ...]
    pen: Pen = Pen.BODY


@dataclass(frozen=True, slots=True)
class Shape:
    """A part of two pins: its strokes, where its leads end, letters in it, and how far it reaches to both sides of its axis [units]."""

    strokes: tuple[Stroke, ...]
    leads: tuple[float, float]
    reach: float
    letters: tuple[tuple[float, float, str], ...] = ()


def shape_of(component: Component, practice: Practice) -> Shape:
    """Return the shape of a part of two pins. Raises KeyError for a kind that has none."""
    american = practice is Practice.NORTH_AMERICAN
    kind = component.kind
    if kind is Kind.RESISTOR:
        return _zig_zag() if american else Shape((_box(),), (1.0, 4.0), 0.5)
    if kind is Kind.FUSE or kind is Kind.PROTECTIVE_DEVICE and component.part.startswith("fuse"):
        return _wave() if american else Shape((_box(), Stroke(((1, 0), (4, 0)))), (1.0, 4.0), 0.5)
    if kind is Kind.VARISTOR:
        body = _zig_zag().strokes[0] if american else _box()
        return Shape((body, Stroke(((1.2, 1.1), (1.7, 1.1), (3.6, -1.1)))), (1.0, 4.0), 1.1)
    if kind is Kind.CAPACITOR:
        return _capacitor(american, component.polar)
    if kind in (Kind.DIODE, Kind.LAMP):
        return _diode(kind is Kind.LAMP)
    return {Kind.RELAY: _strokes_apart() if american else _blade(), Kind.SWITCH: _blade(), Kind.CONTACT: _blade(), Kind.PROTECTIVE_DEVICE: _breaker(american)}[kind]


def turned(points: Sequence[Point], x: float, y: float, *, upright: bool, mirrored: bool) -> tuple[Point, ...]:
    """Return points of a shape on the sheet, its start at (x, y): to the right or downward; `mirrored` swaps its ends."""
    along = [(PITCH - a if mirrored else a, b) for a, b in points]
    return tuple((x - b, y + a) if upright else (x + a, y + b) for a, b in along)


def _box() -> Stroke:
    return Stroke(((1, -0.5), (4, -0.5), (4, 0.5), (1, 0.5), (1, -0.5)))


def _zig_zag() -> Shape:
    peaks = tuple((1.25 + 0.5 * step, -0.6 if step % 2 == 0 else 0.6) for step in range(6))
    return Shape((Stroke(((1, 0), *peaks, (4, 0))),), (1.0, 4.0), 0.6)


def _wave() -> Shape:
    return Shape((Stroke(tuple((1 + 3 * step / 24, -0.6 * sin(2 * pi * step / 24)) for step in range(25))),), (1.0, 4.0), 0.6)


def _capacitor(american: bool, polar: bool) -> Shape:
    second = Stroke(tuple((3.05 - 0.3 * cos(pi * b / 2.4), b) for b in (-1, -0.6, -0.3, 0, 0.3, 0.6, 1)), Pen.THICK) if american else Stroke(((2.8, -1), (2.8, 1)), Pen.THICK)
    return Shape((Stroke(((2.2, -1), (2.2, 1)), Pen.THICK), second), (2.2, 2.8), 1.0, ((1.35, -0.75, "+"),) if polar else ())


def _diode(lit: bool) -> Shape:
    strokes = [Stroke(((1.9, -0.7), (1.9, 0.7), (3.1, 0), (1.9, -0.7))), Stroke(((3.1, -0.75), (3.1, 0.75)))]
    for start in (2.1, 2.7) if lit else ():
        strokes += [Stroke(((start, 0.9), (start + 0.6, 1.6))), Stroke(((start + 0.75, 1.8), (start + 0.28, 1.52), (start + 0.62, 1.25)), Pen.INK)]
    return Shape(tuple(strokes), (1.9, 3.1), 1.8 if lit else 0.75)


def _blade() -> Shape:
    return Shape((Stroke(((1.6, 0), (3.75, -1))),), (1.6, 3.6), 1.0)


def _strokes_apart() -> Shape:
    return Shape((Stroke(((2.1, -1), (2.1, 1))), Stroke(((2.9, -1), (2.9, 1)))), (2.1, 2.9), 1.0)


def _breaker(american: bool) -> Shape:
    if american:
        arc = tuple((2.5 - 1.1 * cos(pi * step / 12), -0.4 - 0.8 * sin(pi * step / 12)) for step in range(13))
        return Shape((Stroke(arc),), (1.4, 3.6), 1.2)
    return Shape((Stroke(((1.6, 0), (3.75, -1))), Stroke(((3.35, -0.25), (3.85, 0.25))), Stroke(((3.35, 0.25), (3.85, -0.25)))), (1.6, 3.6), 1.0)


def coil(practice: Practice) -> Stroke:
    """Return the coil of a relay about its middle: 3.5 by 2 units, or a circle 2 across."""
    if practice is Practice.NORTH_AMERICAN:
        return Stroke(tuple((cos(2 * pi * step / 24), sin(2 * pi * step / 24)) for step in range(25)))
    return Stroke(((-1.75, -1), (1.75, -1), (1.75, 1), (-1.75, 1), (-1.75, -1)))


def transistor(bipolar: bool) -> tuple[Stroke, ...]:
    """Return a transistor about its output pin, which is above its grounded pin four units below; its input comes from the left at 3 units below."""
    if bipolar:
        return (Stroke(((-1.3, 1.9), (-1.3, 4.1)), Pen.THICK), Stroke(((-1.3, 2.7), (0, 1.6), (0, 1))), Stroke(((-1.3, 3.3), (0, 3.9), (0, 4))),
                Stroke(((-0.1, 3.95), (-0.75, 3.85), (-0.5, 3.35)), Pen.INK))
    plates = tuple(Stroke(((-1, 2 + a), (-1, 2 + b)), Pen.THICK) for a, b in ((-1.4, -0.6), (-0.4, 0.4), (0.6, 1.4)))
    return (Stroke(((-1.4, 0.8), (-1.4, 3))), *plates, Stroke(((-1, 1), (0, 1))), Stroke(((-1, 3), (0, 3))), Stroke(((-1, 2), (0, 2), (0, 3))),
            Stroke(((-0.9, 2), (-0.3, 1.74), (-0.3, 2.26)), Pen.INK))


def optocoupler() -> tuple[Stroke, ...]:
    """Return an optocoupler about its collector's connection: lamp at the right, transistor at the left, the second pins six units below the first."""
    return (
        Stroke(((2, -1.5), (8, -1.5), (8, 7.5), (2, 7.5), (2, -1.5))),
        Stroke(((8, 0), (7, 0), (7, 6), (8, 6))), Stroke(((6.3, 2.4), (7.7, 2.4), (7, 3.6), (6.3, 2.4))), Stroke(((6.3, 3.6), (7.7, 3.6))),
        Stroke(((3.2, 1.8), (3.2, 4.2)), Pen.THICK), Stroke(((3.2, 2.5), (2.4, 1.6), (2.4, 0), (2, 0))), Stroke(((3.2, 3.5), (2.4, 4.4), (2.4, 6), (2, 6))),
        Stroke(((2.45, 4.35), (2.62, 3.8), (2.95, 4.1)), Pen.INK),
        *(stroke for y in (2.6, 3.4) for stroke in (Stroke(((6, y), (4.4, y))), Stroke(((4, y), (4.5, y - 0.2), (4.5, y + 0.2)), Pen.INK))))
