"""A sheet that is drawn in pieces and knows where each of them lies, so that a clash can be found.

Lettering is of one width: the room a text takes is the number of its letters, whatever they are.
Coordinates are in units of the SVG, y downward. A wire is an upright or level line of one net; a
symbol is joined at its edge.
"""

import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from html import escape
from itertools import chain, combinations, pairwise
from typing import Any
from unicodedata import combining, east_asian_width

from pattress.quantity.showing import NO_BREAK, unbroken

FONT = "'DejaVu Sans Mono', monospace"
ADVANCE = 0.61                   # em per letter; DejaVu Sans Mono has 0.602
ASCENT, DESCENT = 0.80, 0.25     # em above and below the base line
LEADING = 1.25                   # em from line to line
SIZE = 11.0
MARGIN = 20.0
TOUCH = 0.4                      # what counts as touching, not crossing
STROKED = '<g fill="none" stroke="#111" stroke-width="1.4" stroke-linejoin="round">'
FILLED = '<g fill="#111">'


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def svg(self) -> str:
        """Return the attributes of an SVG rectangle."""
        return f'x="{self.left:g}" y="{self.top:g}" width="{self.right - self.left:g}" height="{self.bottom - self.top:g}"'

    def meets(self, other: "Box") -> bool:
        """Return whether the two share more than an edge."""
        return (self.left < other.right - TOUCH and other.left < self.right - TOUCH
                and self.top < other.bottom - TOUCH and other.top < self.bottom - TOUCH)

    def holds(self, other: "Box") -> bool:
        """Return whether the other lies inside."""
        return (self.left <= other.left + TOUCH and self.top <= other.top + TOUCH
                and self.right >= other.right - TOUCH and self.bottom >= other.bottom - TOUCH)


@dataclass(frozen=True, slots=True)
class Label:
    """Words on the sheet; `inside` names the symbol they are written in."""

    words: str
    box: Box
    inside: str = ""


@dataclass(frozen=True, slots=True)
class Wire:
    """One straight piece of a net."""

    net: str
    box: Box


@dataclass(frozen=True, slots=True)
class Symbol:
    """What a wire may end at but not run through."""

    name: str
    box: Box


@dataclass(frozen=True, slots=True)
class Thing:
    """What is drawn for one thing of the job; `about` is its path there, such as "switch.door"."""

    about: str
    title: str
    boxes: tuple[Box, ...]
    under: tuple[str, ...]
    over: tuple[str, ...]

    def svg(self, link: Callable[[str], str] | None) -> Iterator[str]:
        """Yield the pieces: a group, or a link that answers wherever its words and symbols lie."""
        about = f'data-about="{escape(self.about)}"'
        yield f'<a href="{escape(link(self.about))}" {about}>' if link else f"<g {about}>"
        yield f"<title>{escape(self.title)}</title>"
        for box in self.boxes if link else ():
            yield f'<rect {box.svg} fill="none" pointer-events="all"/>'
        yield from (STROKED, *self.under, "</g>", FILLED, *self.over, "</g>", "</a>" if link else "</g>")


@dataclass
class Drawing:
    """A sheet in the making."""

    title: str
    width: float
    labels: list[Label] = field(default_factory=list)
    wires: list[Wire] = field(default_factory=list)
    symbols: list[Symbol] = field(default_factory=list)
    zones: list[Box] = field(default_factory=list)
    things: list[Thing] = field(default_factory=list)
    _under: list[str] = field(default_factory=list)
    _over: list[str] = field(default_factory=list)
    height: float = 0.0

    def text(self, x: float, y: float, words: str, *, size: float = SIZE, anchor: str = "start", bold: bool = False,
             inside: str = "") -> None:
        """Write one line with its base line at y."""
        if not words:
            return
        wide = width_of(words, size)
        left = {"start": x, "middle": x - wide / 2, "end": x - wide}[anchor]
        self.labels.append(Label(words, Box(left, y - ASCENT * size, left + wide, y + DESCENT * size), inside))
        more = "".join((f' font-size="{size:g}"' if size != SIZE else "", f' text-anchor="{anchor}"' if anchor != "start" else "",
                        ' font-weight="bold"' if bold else ""))
        self._over.append(f'<text x="{x:g}" y="{y:g}"{more}>{escape(words)}</text>')
        self._reach(y + DESCENT * size)

    def lines(self, x: float, y: float, some: Sequence[str], **how: Any) -> float:
        """Write lines, the first with its base line at y; return the base line after the last."""
        step: float = LEADING * how.get("size", SIZE)
        for number, words in enumerate(some):
            self.text(x, y + number * step, words, **how)
        return y + len(some) * step

    def above(self, x: float, y: float, some: Sequence[str], **how: Any) -> None:
        """Write lines that end just above a wire at y."""
        self.lines(x, y - 5 - (len(some) - 1) * LEADING * SIZE, some, **how)

    def below(self, x: float, y: float, some: Sequence[str], **how: Any) -> None:
        """Write lines that begin just below a wire at y."""
        self.lines(x, y + 4 + ASCENT * SIZE, some, **how)

    def wire(self, net: str, *points: tuple[float, float], thick: bool = False, light: bool = False, dashed: bool = False) -> None:
        """Draw a net's wire through points, each straight over or under the one before; light or dashed is what is no wire."""
        for (x1, y1), (x2, y2) in pairwise(points):
            if x1 != x2 and y1 != y2:
                raise ValueError(f"a wire of {net} runs aslant, from {x1, y1} to {x2, y2}")
            self.wires.append(Wire(net, Box(min(x1, x2), min(y1, y2), max(x1, x2), max(y1, y2))))
            self._reach(max(y1, y2))
        path = " ".join(f"{x:g},{y:g}" for x, y in points)
        self._under.append(f'<polyline points="{path}"' + (' stroke-width="3"' if thick else ' stroke-width="0.6"' if light else ' stroke-width="0.6" stroke-dasharray="5 4"' if dashed else "") + "/>")

    def joint(self, x: float, y: float) -> None:
        """Mark that wires are joined here."""
        self._over.append(f'<circle cx="{x:g}" cy="{y:g}" r="2.8"/>')

    def symbol(self, name: str, box: Box, path: str, *, x: float = 0.0, y: float = 0.0, filled: bool = False) -> None:
        """Draw a symbol: an SVG path whose origin is at (x, y), as lines or filled."""
        self.symbols.append(Symbol(name, box))
        how = ' fill="#000" stroke="none" shape-rendering="crispEdges"' if filled else ""
        self._under.append(f'<path transform="translate({x:g} {y:g})" d="{path}"{how}/>')
        self._reach(box.bottom)

    def figure(self, path: str, *, x: float = 0.0, y: float = 0.0, stroke: float = 1.4) -> None:
        """Draw lines inside what has its room already: nothing has to keep clear of them."""
        self._under.append(f'<path transform="translate({x:g} {y:g})" d="{path}"' + (f' stroke-width="{stroke:g}"' if stroke != 1.4 else "") + "/>")

    def block(self, name: str, box: Box) -> None:
        """Draw a symbol that is a plain rectangle."""
        self.symbol(name, box, f"M{box.left:g} {box.top:g}H{box.right:g}V{box.bottom:g}H{box.left:g}z")

    @contextmanager
    def about(self, path: str, title: str, *boxes: Box) -> Iterator[None]:
        """Gather what is drawn meanwhile as one thing of the job, for a page to link to; it answers at `boxes` too."""
        outer, labels, symbols = (self._under, self._over), len(self.labels), len(self.symbols)
        self._under, self._over = [], []
        yield
        boxes += (*(one.box for one in self.labels[labels:]), *(one.box for one in self.symbols[symbols:]))
        self.things.append(Thing(path, title, boxes, tuple(self._under), tuple(self._over)))
        self._under, self._over = outer

    def zone(self, box: Box, *, barrier: bool = False, plain: bool = False) -> None:
        """Draw the border of a zone, dashed or plain, or a hatched barrier; wires may pass, words must not."""
        self.zones.append(box)
        self._under.insert(0, f'<rect {box.svg} fill="url(#hatch)" stroke-width="0.8"/>' if barrier else
                           f'<rect {box.svg}/>' if plain else f'<rect {box.svg} stroke-dasharray="7 4" stroke-width="1"/>')
        self._reach(box.bottom)

    def finish(self, notes: Sequence[str]) -> "Drawing":
        """Write the notes under everything, between the margins."""
        y = self.height + 2.2 * SIZE
        for note in notes:
            y = self.lines(MARGIN, y, wrapped(note, self.width - 2 * MARGIN)) + 3
        self.height += MARGIN - DESCENT * SIZE
        return self

    def svg(self, link: Callable[[str], str] | None = None) -> str:
        """Return the sheet as an SVG that needs nothing beside it; with `link`, each thing of the job leads to link(path)."""
        size, role = f"{self.width:g} {self.height:g}", "" if link else ' role="img"'
        return "\n".join((
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size}"{role} font-family="{FONT}" font-size="{SIZE:g}">',
            f"<title>{escape(self.title)}</title>",
            '<defs><pattern id="hatch" width="8" height="8" patternUnits="userSpaceOnUse">'
            '<path d="M0 8L8 0M-2 2L2 -2M6 10L10 6" stroke="#111" stroke-width="0.8"/></pattern></defs>',
            f'<rect width="{self.width:g}" height="{self.height:g}" fill="#fff"/>',
            STROKED, *self._under, "</g>", FILLED, *self._over, "</g>",
            *(piece for thing in self.things for piece in thing.svg(link)), "</svg>", "",
        ))

    def _reach(self, y: float) -> None:
        self.height = max(self.height, y)


def width_of(words: str, size: float = SIZE) -> float:
    """Return the room a line takes. Letters that are written full width take two places."""
    places = sum(0 if combining(letter) else 2 if east_asian_width(letter) in "WF" else 1 for letter in words)
    return places * ADVANCE * size


def wrapped(words: str, room: float, size: float = SIZE) -> tuple[str, ...]:
    """Return words in lines that fit a room, a number and its unit on one; what is longer than the room is broken."""
    lines, line = [], ""
    pieces = re.split(rf"[^\S{NO_BREAK}]+", unbroken(words).strip())
    for word in chain.from_iterable([piece.replace(NO_BREAK, " ")] if width_of(piece, size) <= room else piece.split(NO_BREAK) for piece in pieces):
        while width_of(word, size) > room:
            fits = max(1, next(n for n in range(len(word), 0, -1) if n == 1 or width_of(word[:n], size) <= room))
            head, word = word[:fits], word[fits:]
            lines += [line] if line else []
            lines.append(head)
            line = ""
            if not word:
                break
        longer = f"{line} {word}".strip()
        if width_of(longer, size) <= room:
            line = longer
        else:
            lines, line = [*lines, line], word
    return (*lines, line) if line else tuple(lines)


def clashes(drawing: Drawing) -> Iterator[str]:
    """Yield every place where words, wires or symbols are in each other's way."""
    sheet = Box(0, 0, drawing.width, drawing.height)
    symbols = {symbol.name: symbol.box for symbol in drawing.symbols}
    for label in drawing.labels:
        if not sheet.holds(label.box):
            yield f"{label.words!r} leaves the sheet"
        if label.inside and not symbols[label.inside].holds(label.box):
            yield f"{label.words!r} leaves {label.inside}"
        for symbol in drawing.symbols:
            if symbol.name != label.inside and symbol.box.meets(label.box):
                yield f"{label.words!r} is written over {symbol.name}"
        for wire in drawing.wires:
            if runs_through(wire.box, label.box):
                yield f"a wire of {wire.net} runs through {label.words!r}"
        for zone in drawing.zones:
            if zone.meets(label.box) and not zone.holds(label.box):
                yield f"{label.words!r} lies on the border of a zone"
    for one, other in combinations(drawing.labels, 2):
        if one.box.meets(other.box):
            yield f"{one.words!r} is written over {other.words!r}"
    for first, second in combinations(drawing.symbols, 2):
        if first.box.meets(second.box):
            yield f"{first.name} lies on {second.name}"
    for wire in drawing.wires:
        for symbol in drawing.symbols:
            if runs_through(wire.box, symbol.box):
                yield f"a wire of {wire.net} runs through {symbol.name}"
    for here, there in combinations(drawing.wires, 2):
        if here.net != there.net and lies_along(here.box, there.box):
            yield f"wires of {here.net} and {there.net} lie on each other"


def crossings(drawing: Drawing) -> int:
    """Return how often wires of different nets cross."""
    return sum(one.net != other.net and are_crossing(one.box, other.box) for one, other in combinations(drawing.wires, 2))


def runs_through(wire: Box, box: Box) -> bool:
    """Return whether a wire runs through a box, not only along its edge."""
    return (wire.left < box.right - TOUCH and wire.right > box.left + TOUCH
            and wire.top < box.bottom - TOUCH and wire.bottom > box.top + TOUCH)


def lies_along(one: Box, other: Box) -> bool:
    """Return whether two wires share a stretch, or one ends on the other."""
    shared_x = min(one.right, other.right) - max(one.left, other.left)
    shared_y = min(one.bottom, other.bottom) - max(one.top, other.top)
    if shared_x < -TOUCH or shared_y < -TOUCH:
        return False
    return not are_crossing(one, other)


def are_crossing(one: Box, other: Box) -> bool:
    """Return whether a level and an upright wire cross, each going on at both sides."""
    for level, upright in ((one, other), (other, one)):
        if level.top == level.bottom and upright.left == upright.right:
            if (level.left + TOUCH < upright.left < level.right - TOUCH and upright.top + TOUCH < level.top < upright.bottom - TOUCH):
                return True
    return False
