"""A sheet that is drawn in pieces and knows where each of them lies, so that a clash can be found.

Lettering is of one width: the room a text takes is the number of its letters, whatever they are.
Coordinates are in units of the SVG, y downward. A wire is an upright or level line of one net; a
symbol is joined at its edge.
"""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import TypedDict, Unpack

from pattress.drawing import pieces
from pattress.drawing.box import Box
from pattress.drawing.lettering import ASCENT, DESCENT, LEADING, MONO
from pattress.drawing.look import BARRIER, CABLE, DASHED, IDENTITY, INK, LEADER, LETTER, LIVE, ZONE, Medium
from pattress.drawing.picture import Picture
from pattress.drawing.pieces import NOTHING, Piece

SIZE = LETTER
MARGIN = 20.0


class How(TypedDict, total=False):
    """How lines are written; see `Drawing.text`."""

    size: float
    anchor: str
    bold: bool
    inside: str


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
    under: tuple[Piece, ...]
    over: tuple[Piece, ...]

    def piece(self, link: Callable[[str], str] | None, current: str) -> Piece:
        """Return the pieces as one: a group, or a link that answers wherever its words and symbols lie."""
        inner, about = (_stroked(self.under), _filled(self.over)), {"about": self.about}
        if link is None:
            return pieces.group(inner, title=self.title, data=about)
        areas = (pieces.rectangle(box, hidden=True) for box in self.boxes)
        return pieces.link((*areas, *inner), link(self.about), title=self.title, data=about, current=self.about == current)


def _stroked(some: Sequence[Piece]) -> Piece:
    return pieces.group(some, fill=NOTHING, stroke=INK, weight=CABLE)


def _filled(some: Sequence[Piece]) -> Piece:
    return pieces.group(some, fill=INK)


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
    _under: list[Piece] = field(default_factory=list)
    _over: list[Piece] = field(default_factory=list)
    height: float = 0.0

    def copy(self) -> "Drawing":
        """Return the same sheet, to be drawn on apart from this one."""
        return replace(self, labels=[*self.labels], wires=[*self.wires], symbols=[*self.symbols], zones=[*self.zones],
                       things=[*self.things], _under=[*self._under], _over=[*self._over])

    def text(self, x: float, y: float, words: str, *, size: float = SIZE, anchor: str = "start", bold: bool = False,
             inside: str = "") -> None:
        """Write one line with its base line at y."""
        if not words:
            return
        self.labels.append(Label(words, pieces.text_box(x, y, words, size, anchor, MONO), inside))
        self._over.append(pieces.text(x, y, words, size=size, anchor=anchor, bold=bold, lettering=MONO, as_around=SIZE))
        self._reach(y + DESCENT * size)

    def lines(self, x: float, y: float, some: Sequence[str], **how: Unpack[How]) -> float:
        """Write lines, the first with its base line at y; return the base line after the last."""
        step = LEADING * how.get("size", SIZE)
        for number, words in enumerate(some):
            self.text(x, y + number * step, words, **how)
        return y + len(some) * step

    def head(self) -> float:
        """Write the title of the sheet over everything; return where the rest may begin."""
        return self.lines(MARGIN, 34, wrapped(self.title, self.width - 2 * MARGIN, IDENTITY), size=IDENTITY, bold=True)

    def above(self, x: float, y: float, some: Sequence[str], **how: Unpack[How]) -> None:
        """Write lines that end just above a wire at y."""
        self.lines(x, y - 5 - (len(some) - 1) * LEADING * SIZE, some, **how)

    def below(self, x: float, y: float, some: Sequence[str], **how: Unpack[How]) -> None:
        """Write lines that begin just below a wire at y."""
        self.lines(x, y + 4 + ASCENT * SIZE, some, **how)

    def wire(self, net: str, *points: tuple[float, float], thick: bool = False, light: bool = False, dashed: bool = False) -> None:
        """Draw a net's wire through points, each straight over or under the one before; light or dashed is what is no wire."""
        for (x1, y1), (x2, y2) in pairwise(points):
            if x1 != x2 and y1 != y2:
                raise ValueError(f"a wire of {net} runs aslant, from {x1, y1} to {x2, y2}")
            self.wires.append(Wire(net, Box(min(x1, x2), min(y1, y2), max(x1, x2), max(y1, y2))))
            self._reach(max(y1, y2))
        weight = LIVE if thick else LEADER if light or dashed else None
        self._under.append(pieces.line(points, stroke=None, weight=weight, dash=DASHED if dashed else ""))

    def joint(self, x: float, y: float) -> None:
        """Mark that wires are joined here."""
        self._over.append(pieces.circle(x, y, 2.8, fill=None))

    def symbol(self, name: str, box: Box, path: str, *, x: float = 0.0, y: float = 0.0, filled: bool = False) -> None:
        """Draw a symbol: an SVG path whose origin is at (x, y), as lines or filled."""
        self.symbols.append(Symbol(name, box))
        if path:
            self._under.append(pieces.path(path, at=(x, y), fill=INK, stroke=NOTHING, crisp=True) if filled else pieces.path(path, at=(x, y), fill=None))
        self._reach(box.bottom)

    def figure(self, path: str, *, x: float = 0.0, y: float = 0.0, weight: float | None = None) -> None:
        """Draw lines inside what has its room already: nothing has to keep clear of them."""
        self._under.append(pieces.path(path, at=(x, y), fill=None, weight=weight))

    def block(self, name: str, box: Box) -> None:
        """Draw a symbol that is a plain rectangle."""
        self.symbol(name, box, f"M{box.left:g} {box.top:g}H{box.right:g}V{box.bottom:g}H{box.left:g}z")

    @contextmanager
    def about(self, path: str, title: str, *boxes: Box) -> Iterator[None]:
        """Gather what is drawn meanwhile as one thing of the job, for a page to link to; it answers at `boxes` too."""
        outer, labels, symbols = (self._under, self._over), len(self.labels), len(self.symbols)
        self._under, self._over = [], []
        yield
        boxes += (*(label.box for label in self.labels[labels:]), *(symbol.box for symbol in self.symbols[symbols:]))
        self.things.append(Thing(path, title, boxes, tuple(self._under), tuple(self._over)))
        self._under, self._over = outer

    def zone(self, box: Box, *, barrier: bool = False, plain: bool = False) -> None:
        """Draw the border of a zone, dashed or plain, or a hatched barrier; wires may pass, words must not."""
        self.zones.append(box)
        self._under.insert(0, pieces.rectangle(box, fill=BARRIER, weight=LEADER) if barrier else pieces.rectangle(box, dash="" if plain else ZONE))
        self._reach(box.bottom)

    def finish(self, notes: Sequence[str]) -> "Drawing":
        """Write the notes under everything, between the margins."""
        y = self.height + 2.2 * SIZE
        for note in notes:
            y = self.lines(MARGIN, y, wrapped(note, self.width - 2 * MARGIN)) + 3
        self.height += MARGIN - DESCENT * SIZE
        return self

    @property
    def extent(self) -> Box:
        """Return the whole sheet."""
        return Box(0.0, 0.0, self.width, self.height)

    @property
    def alt(self) -> str:
        """Return the sheet for those who do not see it: its things with what they do, or all that is written on it."""
        return "; ".join(dict.fromkeys(thing.title for thing in self.things) if self.things else (label.words for label in self.labels)) or self.title

    def picture(self, link: Callable[[str], str] | None = None, *, current: str = "", frame: Box | None = None) -> Picture:
        """Return the sheet, or the part within a frame; with `link`, each thing of the job leads to link(path), and the `current` one is marked."""
        things = (thing.piece(link, current) for thing in self.things)
        return Picture(self.title, self.alt, frame or self.extent, (_stroked(self._under), _filled(self._over), *things),
                       lettering=MONO, size=SIZE, has_links=link is not None)

    def svg(self, medium: Medium = Medium.FILE) -> str:
        """Return the sheet as an SVG that needs nothing beside it."""
        return self.picture().svg(medium)

    def _reach(self, y: float) -> None:
        self.height = max(self.height, y)


def width_of(words: str, size: float = SIZE) -> float:
    """Return the room a line takes. Letters that are written full width take two places."""
    return MONO.width(words, size)


def wrapped(words: str, room: float, size: float = SIZE) -> tuple[str, ...]:
    """Return words in lines that fit a room, a number and its unit on one; what is longer than the room is broken."""
    return MONO.wrapped(words, room, size)
