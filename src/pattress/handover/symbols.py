"""Symbols of IEC 60617 and ANSI/IEEE 315 (both from memory), drawn level: in at the left, out at the right.

A shape is an SVG path with its origin at the left connection. What North America draws in its
own way stands in its own table; the rest is the same in both.
"""

from dataclasses import dataclass

from pattress.drawing.box import Box
from pattress.drawing.look import NAME
from pattress.drawing.sheet import SIZE, Drawing
from pattress.handover.colours import Practice


@dataclass(frozen=True, slots=True)
class Shape:
    """A symbol: how far it reaches, its path, and letters in its middle."""

    width: float
    above: float
    below: float
    path: str
    letters: str = ""


IEC = {
    "breaker": Shape(44, 15, 6, "M0 0H12M8 -4l8 8m0 -8l-8 8M34 0L13 -13M34 0H44"),
    "residual": Shape(66, 15, 12, "M0 0H12M34 0L13 -13M34 0H66M55 0a5 11 0 1 1-10 0a5 11 0 1 1 10 0M50 -11V-14H26V-6"),
    "breaker and residual": Shape(
        66, 15, 12, "M0 0H12M8 -4l8 8m0 -8l-8 8M34 0L13 -13M34 0H66M55 0a5 11 0 1 1-10 0a5 11 0 1 1 10 0M50 -11V-14H26V-6"),
    "fuse": Shape(44, 7, 7, "M0 0H44M10 -6h24v12h-24z"),
    "contact": Shape(44, 14, 4, "M0 0H12M33 0L13 -12M33 0H44"),
    "retractive": Shape(44, 18, 4, "M0 0H12M33 0L13 -12M33 0H44M23 -6V-16M18 -16h10"),
    "resistor": Shape(44, 7, 7, "M0 0H10M34 0H44M10 -6h24v12h-24z"),
    "capacitor": Shape(44, 10, 10, "M0 0H19M19 -9V9M25 -9V9M25 0H44"),
    "coil": Shape(44, 10, 10, "M0 0H10M34 0H44M10 -9h24v18h-24z"),
    "lamp": Shape(24, 12, 12, "M24 0a12 12 0 1 1-24 0a12 12 0 1 1 24 0M3.5 -8.5l17 17m0 -17l-17 17"),
    "heater": Shape(40, 9, 9, "M0 -8h40v16h-40zM10 -8v16M20 -8v16M30 -8v16"),
    "motor": Shape(28, 14, 14, "M28 0a14 14 0 1 1-28 0a14 14 0 1 1 28 0", "M"),
    "supply": Shape(44, 13, 13, "M0 -12h44v24h-44zM0 12L44 -12", ""),
    "solenoid": Shape(28, 10, 10, "M0 -9h28v18h-28zM8 9L20 -9"),
    "socket": Shape(24, 14, 14, "M0 0H8M22 -14A14 14 0 0 0 22 14"),
    "terminal": Shape(10, 5, 5, "M10 0a5 5 0 1 1-10 0a5 5 0 1 1 10 0"),
}
NORTH_AMERICA = IEC | {
    "breaker": Shape(44, 15, 4, "M0 0H10M34 0H44M10 -3q12 -20 24 0M12 0a2 2 0 1 1-4 0a2 2 0 1 1 4 0M36 0a2 2 0 1 1-4 0a2 2 0 1 1 4 0"),
    "breaker and residual": Shape(
        66, 15, 12, "M0 0H10M34 0H66M10 -3q12 -20 24 0M12 0a2 2 0 1 1-4 0a2 2 0 1 1 4 0M36 0a2 2 0 1 1-4 0a2 2 0 1 1 4 0"
                    "M55 0a5 11 0 1 1-10 0a5 11 0 1 1 10 0"),
    "fuse": Shape(44, 8, 8, "M0 0H10Q16 -14 22 0T34 0H44"),
    "contact": Shape(44, 10, 10, "M0 0H17M17 -9V9M27 -9V9M27 0H44"),
    "resistor": Shape(44, 7, 7, "M0 0H10l2 -6l4 12l4 -12l4 12l4 -12l4 12l2 -6H44"),
    "capacitor": Shape(44, 10, 10, "M0 0H19M19 -9V9M28 -9Q22 0 28 9M25 0H44"),
    "coil": Shape(44, 11, 11, "M0 0H12M32 0H44M32 0a10 10 0 1 1-20 0a10 10 0 1 1 20 0"),
    "lamp": Shape(24, 12, 12, "M24 0a12 12 0 1 1-24 0a12 12 0 1 1 24 0M0 0h6q6 -14 12 0h6"),
    "heater": Shape(40, 9, 9, "M0 0l3 -7l6 14l6 -14l6 14l6 -14l6 14l6 -14l1 7"),
    "motor": Shape(28, 14, 14, "M28 0a14 14 0 1 1-28 0a14 14 0 1 1 28 0", "MOT"),
    "socket": Shape(24, 12, 12, "M24 0a12 12 0 1 1-24 0a12 12 0 1 1 24 0M8 -7v14M16 -7v14"),
}
TABLES = {Practice.IEC: IEC, Practice.NORTH_AMERICA: NORTH_AMERICA}
# The symbol of a load by its kind in the job file.
OF_LOAD = {
    "resistive heater": "heater", "tungsten lamp": "lamp", "LED driver": "lamp", "fluorescent ballast": "lamp",
    "motor": "motor", "compressor": "motor", "electronic supply": "supply", "solenoid": "solenoid", "socket": "socket",
}


def shape_of(kind: str, practice: Practice) -> Shape:
    """Return the shape of a symbol in a practice."""
    return TABLES[practice][kind]


def draw(drawing: Drawing, kind: str, name: str, x: float, y: float, practice: Practice) -> float:
    """Draw a symbol with its left connection at (x, y); return where it ends."""
    shape = shape_of(kind, practice)
    drawing.symbol(name, Box(x, y - shape.above, x + shape.width, y + shape.below), shape.path, x=x, y=y)
    if shape.letters:
        size = NAME if len(shape.letters) == 1 else SIZE
        drawing.text(x + shape.width / 2, y + size * 0.35, shape.letters, size=size, anchor="middle", inside=name)
    return x + shape.width
