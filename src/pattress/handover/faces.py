"""How things look from the room: faces of switches, lamps, boxes, and the marks of findings.

Appearance, not symbols of a standard: words beside each thing say what it is. A face is strokes
and circles in shares of the thing's outline, so that it fits whatever size the scale gives it.
"""

from dataclasses import dataclass
from math import cos, pi, sin

from pattress.drawing.box import Box
from pattress.drawing.sheet import SIZE, Drawing

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Face:
    """Strokes and circles (middle, radius), and whether the outline is drawn as a box."""

    strokes: tuple[tuple[Point, ...], ...] = ()
    circles: tuple[tuple[Point, float], ...] = ()
    boxed: bool = True

    def path(self, box: Box) -> str:
        """Return an SVG path of the face in a box."""
        wide, high = box.right - box.left, box.bottom - box.top
        pieces = ["M" + "L".join(f"{box.left + x * wide:.4g} {box.top + y * high:.4g}" for x, y in stroke) for stroke in self.strokes]
        for (x, y), share in self.circles:
            r = share * min(wide, high)
            pieces.append(f"M{box.left + x * wide + r:.5g} {box.top + y * high:.5g}a{r:.4g} {r:.4g} 0 1 1-{2 * r:.4g} 0a{r:.4g} {r:.4g} 0 1 1 {2 * r:.4g} 0")
        return "".join(pieces)


def _rectangle(left: float, top: float, right: float, bottom: float) -> tuple[Point, ...]:
    return (left, top), (right, top), (right, bottom), (left, bottom), (left, top)


def _blades(number: int) -> tuple[tuple[Point, ...], ...]:
    turns = [2 * pi * (blade / number + 0.25) for blade in range(number)]
    return tuple(tuple((0.5 + r * cos(t + twist), 0.5 - r * sin(t + twist)) for r, twist in ((0.12, 0), (0.46, 0.25), (0.46, -0.25), (0.12, 0))) for t in turns)


WHOLE = ((0.5, 0.5), 0.5)
ROCKER = _rectangle(0.22, 0.15, 0.78, 0.85)
FACES = {
    "latching": Face((ROCKER, ((0.22, 0.5), (0.78, 0.5)))),
    "retractive": Face((ROCKER,), (((0.5, 0.5), 0.14),)),
    "regulator": Face((((0.5, 0.5), (0.72, 0.28)),), (((0.5, 0.5), 0.34),)),
    "contact": Face((((0.12, 0.6), (0.3, 0.6), (0.68, 0.36)), ((0.7, 0.6), (0.88, 0.6)))),
    "controller": Face((_rectangle(0.06, 0.08, 0.94, 0.92), ((0.06, 0.75), (0.94, 0.75)))),
    "sensor": Face(tuple(((0.25, y), (0.75, y)) for y in (0.3, 0.5, 0.7))),
    "receiver": Face((), (((0.5, 0.5), 0.3), ((0.5, 0.5), 0.1))),
    "fan": Face(_blades(3), (((0.5, 0.5), 0.12),), boxed=False),
    "lamp": Face((((0.15, 0.15), (0.85, 0.85)), ((0.85, 0.15), (0.15, 0.85))), (WHOLE,), boxed=False),
    "motor": Face((((0.3, 0.68), (0.3, 0.32), (0.5, 0.55), (0.7, 0.32), (0.7, 0.68)),), (WHOLE,), boxed=False),
    "heater": Face(tuple(((x, 0.0), (x, 1.0)) for x in (0.25, 0.5, 0.75))),
    "supply": Face((((0.0, 1.0), (1.0, 0.0)),)),
    "solenoid": Face((((0.3, 1.0), (0.7, 0.0)),)),
    "socket": Face((), (((0.5, 0.5), 0.34), ((0.38, 0.5), 0.05), ((0.62, 0.5), 0.05))),
}
# A mark is told by its shape as well as by its word; a word without a shape of its own gets the last.
CROSS = "M0 0h9v9h-9zM2 2l5 5m0 -5l-5 5"
MARKS = {"fails": CROSS, "tight": "M4.5 0L9 9H0z", "unknown": "M4.5 0L9 4.5L4.5 9L0 4.5z", "holds": "M0 5l3 4l6 -9"}
OTHER_MARK = "M9 4.5a4.5 4.5 0 1 1-9 0a4.5 4.5 0 1 1 9 0"


def draw_outline(sheet: Drawing, name: str, kind: str, box: Box) -> None:
    """Draw what keeps its room free: a plain box, or nothing to see where the face is round."""
    if FACES[kind].boxed:
        sheet.block(name, box)
    else:
        sheet.symbol(name, box, "")


def draw_face(sheet: Drawing, kind: str, box: Box) -> None:
    """Draw a thing of a kind as one sees it from the room."""
    sheet.figure(FACES[kind].path(box))


def draw_mark(sheet: Drawing, word: str, x: float, y: float) -> None:
    """Draw the shape of a mark before its word, whose base line is at y."""
    sheet.figure(MARKS.get(word, OTHER_MARK), x=x, y=y - 0.8 * SIZE)
