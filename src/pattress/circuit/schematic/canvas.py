"""One sheet while it is drawn: wires, parts, names, rails and flags by grid units. Dots are set where the lines meet, by nobody's hand."""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

from pattress.circuit.model import Component, Kind
from pattress.circuit.parts import EARTH
from pattress.circuit.schematic import frame
from pattress.circuit.schematic.captions import printed_number
from pattress.circuit.schematic.symbols import PITCH, Pen, Point, Practice, Stroke, shape_of, turned
from pattress.drawing import Box, Piece
from pattress.drawing.lettering import MONO
from pattress.drawing.look import INK, PAPER
from pattress.drawing.pieces import NOTHING, circle, group, line, path, rectangle, text

U, LETTER, LINE = frame.UNIT, frame.LETTER, frame.LINE
WEIGHTS = {Pen.BODY: frame.SYMBOL, Pen.THICK: frame.THICK, Pen.INK: frame.SYMBOL}
MARK = 4                                 # letters of the mark of a test point that fit beside a pull-down
DOT = 0.75                               # mm
SWITCHING = frozenset((Kind.RELAY, Kind.SWITCH, Kind.CONTACT, Kind.PROTECTIVE_DEVICE))      # their blades lie above, so their pin numbers stand below
LIFT, DROP = -0.36, 1.2                  # units from a wire to the base line of a name above and below it


@dataclass(frozen=True, slots=True)
class Lead:
    """A lead of a part: the number of its pin, its connection point, where it meets the body, and where its number stands."""

    number: str
    outer: Point
    inner: Point
    at: Point
    anchor: str = "middle"


@dataclass(frozen=True, slots=True)
class Words:
    """A line of words with its base line at a point; `kind` is the class of its element."""

    x: float
    y: float
    text: str
    anchor: str = "start"
    kind: str = ""


@dataclass(frozen=True, slots=True)
class Flag:
    """Where a net leaves the sheet; `onward` to a later sheet, or back to an earlier one. `words` stand instead of a partner's place where it has none."""

    net: str
    x: int
    y: int
    left: bool
    onward: bool
    words: str = ""


class Canvas:
    """A sheet that is being drawn. `captions` are what is printed for nets, `points` the marks of those with a test point. `before` and `after` are the nets that earlier and later sheets hold too."""

    def __init__(self, number: int, practice: Practice, captions: Mapping[str, str], points: Mapping[str, str], before: Collection[str] = (), after: Collection[str] = ()) -> None:
        self.number, self.practice, self.captions, self.points, self.before, self.after = number, practice, captions, points, before, after
        self.flags: list[Flag] = []
        self.parts: list[tuple[str, Point]] = []
        self._wires: list[tuple[tuple[Point, ...], bool]] = []
        self._pieces: list[Piece] = []
        self._named: set[str] = set()
        self._hung: Counter[Point] = Counter()
        self._terminals: set[Point] = set()

    def wire(self, *points: Point, mains: bool = False) -> None:
        """Draw a wire whose ends and bends are whole units; one of no length is left out."""
        if len(set(points)) > 1:
            self._wires.append((points, mains))

    def net(self, name: str, x: int, y: int, *, shift: float = 0.0, below: bool = False, anchor: str = "start") -> None:
        """Name the wire at a point, once a sheet; the words begin `shift` units beside it."""
        if name in self._named or name in {flag.net for flag in self.flags}:
            return
        self._named.add(name)
        words = Words(shift, DROP if below else LIFT, self.captions[name], anchor)
        self._pieces.append(group((_written(words),), at=_mm((x, y)), kind="net"))
        if name in self.points:
            # Before a name that ends here; else on the other side of the wire, where a fifth letter begins farther left.
            beside = len(self.captions[name]) + 1 if anchor == "end" else max(len(self.points[name]) - MARK, 0)
            mark = Words(shift - LETTER * beside, DROP if below is (anchor == "end") else LIFT, self.points[name], anchor)
            self._pieces.append(group((_written(mark),), at=_mm((x, y)), kind="point"))

    def name_beside(self, name: str, x: int, y: int, *, left: bool = False) -> None:
        """Name an upright wire at a point, once a sheet."""
        if name not in self._named:
            self._named.add(name)
            words = Words(-0.4 if left else 0.4, 0.36, self.captions[name], "end" if left else "start")
            self._pieces.append(group((_written(words),), at=_mm((x, y)), kind="net"))

    def rail(self, x: int, y: int, name: str, *, left: bool = False) -> None:
        """Hang the symbol of a common potential on a point: a bar above, a triangle below for 0 V, an earth for PE."""
        self._hung[x, y] += 1
        if name.startswith("+"):
            strokes: tuple[Stroke, ...] = (Stroke(((0, 0), (0, -1))), Stroke(((-0.8, -1), (0.8, -1)), Pen.THICK))
            words = Words(0, -1.36, name, "middle", "name")
        elif name == EARTH:
            strokes = (Stroke(((0, 0), (0, 1))), Stroke(((-0.8, 1), (0.8, 1)), Pen.THICK), Stroke(((-0.5, 1.35), (0.5, 1.35))), Stroke(((-0.2, 1.7), (0.2, 1.7))))
            words = Words(-1.0 if left else 1.0, 1.9, name, "end" if left else "start", "name")
        else:
            strokes = (Stroke(((0, 0), (0, 0.5))), Stroke(((-0.6, 0.5), (0.6, 0.5), (0, 1.3), (-0.6, 0.5))))
            words = Words(-0.9 if left else 0.9, 1.3, name, "end" if left else "start", "name")
        self._pieces.append(group((*map(_drawn, strokes), _written(words)), at=_mm((x, y)), kind="rail"))

    def flag(self, x: int, y: int, net: str, *, left: bool = False, onward: bool = True, words: str = "") -> None:
        """Lead a net off to its next or former sheet."""
        self._hung[x, y] += 1
        self.flags.append(Flag(net, x, y, left, onward, words))

    def leave(self, net: str, x: int, first: int, last: int, rows: Sequence[int], *, left: bool = False) -> None:
        """Draw an upright wire of a mains net past all `rows`, with flags at `first` above and `last` below where other sheets hold it too."""
        ends = [*([first] if net in self.before else []), *rows, *([last] if net in self.after else [])]
        self.wire((x, min(ends)), (x, max(ends)), mains=True)
        if net in self.before:
            self.flag(x, first, net, left=left, onward=False)
        if net in self.after:
            self.flag(x, last, net, left=left)

    def part(self, component: Component, strokes: Sequence[Stroke], leads: Sequence[Lead], words: Sequence[Words], *, dashed: bool = False) -> None:
        """Draw a part or a piece of it: its body, leads and words, the first of which is its designator."""
        pieces = [_drawn(stroke, dash="3 1" if dashed else "") for stroke in strokes]
        for lead in leads:
            self._hung[lead.outer] += 1
            number = Words(*lead.at, printed_number(lead.number), lead.anchor)
            pieces.append(group((line(tuple(map(_mm, (lead.outer, lead.inner))), weight=frame.SYMBOL, kind="lead"), _written(number)), kind="pin"))
        pieces += [_written(one) for one in words]
        self.parts.append((component.designator, leads[0].outer if leads else (words[0].x, words[0].y)))
        self._pieces.append(group(pieces, kind="part"))

    def two(self, component: Component, x: int, y: int, *, upright: bool = False, first: str = "", left: bool = False, room: float = 9.0, note: str = "",
            value: str | None = None) -> None:
        """Draw a part of two pins from a point to the right or downward; `first` is the number of the pin at the point, the part's own first one if "".

        `left`: the words of an upright part stand left of it; `room` is what they have [units]; `value` stands instead of its own.
        """
        shape = shape_of(component, self.practice)
        numbers = [pin.number for pin in component.pins[-2:]]
        mirrored = bool(first) and first != numbers[0]
        strokes = [Stroke(turned(stroke.points, x, y, upright=upright, mirrored=mirrored), stroke.pen) for stroke in shape.strokes]
        is_switching = component.kind in SWITCHING
        leads = []
        for number, outer, inner in ((numbers[0], 0.0, shape.leads[0]), (numbers[1], PITCH, shape.leads[1])):
            ends = turned(((outer, 0), (inner, 0)), x, y, upright=upright, mirrored=mirrored)
            at_end = ends[0] != (x, y)
            at = (x - 0.25, y + (PITCH - 0.15 if at_end else 0.88)) if upright else (x + (PITCH - 0.5 if at_end else 0.5), y + (DROP if is_switching else -0.3))
            leads.append(Lead(number, ends[0], ends[1], at, "end" if upright else "middle"))
        lines = [fitted(words, room) for words in (component.designator, component.value if value is None else value, note) if words]
        if upright:
            beside = 0.4 + max(shape.reach, 0.5)
            top = y + PITCH / 2 + 0.36 - LINE * (len(lines) - 1) / 2
            words = [Words(x + (-beside if left else beside), top + LINE * row, one, "end" if left else "start", "" if row else "ref") for row, one in enumerate(lines)]
        else:
            high, low = -shape.reach - 0.35, max(shape.reach + 1.2, 2.45 if is_switching else 0.0)
            words = [Words(x + PITCH / 2, y + (high if row == 0 else low + LINE * (row - 1)), one, "middle", "" if row else "ref") for row, one in enumerate(lines)]
        for a, b, letter in shape.letters:
            (px, py), = turned(((a, b),), x, y, upright=upright, mirrored=mirrored)
            words.append(Words(px, py + 0.36, letter, "middle"))
        self.part(component, strokes, leads, words)

    def terminal(self, component: Component, x: int, y: int, *words: str, right: bool = False) -> None:
        """Draw a terminal whose connection point is the middle of its circle, its mark above or at its right, words under that."""
        self._terminals.add((x, y))
        self._hung[x, y] += 1
        mark = Words(x + 0.8, y + 0.36, component.designator, "start", "ref") if right else Words(x, y - 0.7, component.designator, "middle", "ref")
        self.parts.append((component.designator, (x, y)))
        px, py = _mm((x, y))
        ring = circle(px, py, 1.0, fill=PAPER, stroke=INK, weight=frame.SYMBOL, kind="terminal")
        self._pieces.append(group((ring, _written(mark)), kind="part"))
        self._pieces += [_written(Words(x + 0.8, y + 0.36 + LINE * (row + 1), one)) for row, one in enumerate(words)]

    def say(self, x: float, y: float, words: str, *, anchor: str = "start", bold: bool = False) -> None:
        """Write words with their base line at a point."""
        self._pieces.append(_written(Words(x, y, words, anchor, "head" if bold else "")))

    def link(self, *points: Point) -> None:
        """Draw the dashed link of a coil and its contact."""
        self._pieces.append(line(tuple(map(_mm, points)), weight=frame.THIN, dash="1.5 1", kind="link"))

    def barrier(self, last: float, words: str) -> None:
        """Draw the barrier between extra-low voltage, left, and mains."""
        x = frame.BARRIER
        self._pieces.append(line(tuple(map(_mm, ((x, 4.6), (x, last)))), weight=frame.HEAVY, dash="6 1.2 0.9 1.2 0.9 1.2", kind="barrier"))
        self.say(x - 1, 5.6, "EXTRA-LOW VOLTAGE (SELV)", anchor="end", bold=True)
        self.say(x + 1, 5.6, words, bold=True)

    def pieces(self, places: Mapping[Flag, str]) -> Iterator[Piece]:
        """Yield everything drawn, wires first; `places` are those of the flags' partners."""
        for points, mains in self._wires:
            yield line(tuple(map(_mm, points)), weight=frame.MAINS if mains else frame.THIN, kind="wire mains" if mains else "wire")
        for x, y in self._joints():
            yield circle(x * U, y * U, DOT, fill=INK, kind="dot")
        yield from self._pieces
        for flag in self.flags:
            yield _flagged(flag, self.captions[flag.net], flag.words or places[flag])

    def _joints(self) -> Iterator[Point]:
        ends: Counter[Point] = Counter()
        level, upright = defaultdict(list), defaultdict(list)
        for points, _ in self._wires:
            for (x1, y1), (x2, y2) in zip(points, points[1:]):
                ends[x1, y1] += 1
                ends[x2, y2] += 1
                (level[y1].append((min(x1, x2), max(x1, x2))) if y1 == y2 else upright[x1].append((min(y1, y2), max(y1, y2))))
        for x, y in sorted({*ends, *self._hung}):
            through = sum(a < x < b for a, b in level[y]) + sum(a < y < b for a, b in upright[x])
            if ends[x, y] + self._hung[x, y] + 2 * through > 2 and (x, y) not in self._terminals:
                yield x, y


def _mm(point: Point) -> Point:
    return point[0] * U, point[1] * U


def _drawn(stroke: Stroke, dash: str = "") -> Piece:
    points = tuple(map(_mm, stroke.points))
    if stroke.pen is Pen.INK:
        return path(f"M{'L'.join(f'{x:g} {y:g}' for x, y in points)}Z", fill=INK, stroke=INK, weight=0.1)
    return line(points, weight=WEIGHTS[stroke.pen], dash=dash, kind="thick" if stroke.pen is Pen.THICK else "body")


def _written(words: Words) -> Piece:
    x, y = _mm((words.x, words.y))
    return text(x, y, words.text, size=frame.SIZE, anchor=words.anchor, bold=words.kind in ("ref", "name", "head"), lettering=MONO, as_around=frame.SIZE, kind=words.kind)


def fitted(words: str, room: float) -> str:
    """Return words that fit a room [units], with an ellipsis where they are cut."""
    return MONO.shortened(words, room * U, frame.SIZE)


def wrapped(words: str, room: float, most: int) -> list[str]:
    """Return words in at most so many lines that fit a room [units]; the last is cut where there is more."""
    lines = list(MONO.wrapped(words, room * U, frame.SIZE))
    return lines if len(lines) <= most else [*lines[:most - 1], fitted(lines[most - 1] + "\u2026", room) if most else ""][:most]


def _flagged(flag: Flag, name: str, place: str) -> Piece:
    wide, side = 1.4 + (len(name) + len(place) + 1) * LETTER, -1 if flag.left else 1
    outline = ((0, 0), (0.8, -0.84), (wide, -0.84), (wide, 0.84), (0.8, 0.84), (0, 0))
    start = -wide + 0.5 if flag.left else 0.9
    words = Words(start, 0.36, name, "start", "name"), Words(start + (len(name) + 1) * LETTER, 0.36, place, "start", "place")
    return group((_drawn(Stroke(tuple((side * x, y) for x, y in outline))), *map(_written, words)), at=_mm((flag.x, flag.y)), kind="flag")


def boxed(left: float, top: float, right: float, bottom: float) -> Stroke:
    """Return the outline of a box [units]."""
    return Stroke(((left, top), (right, top), (right, bottom), (left, bottom), (left, top)))


def sheet_ground() -> Piece:
    """Return the white of the sheet."""
    return rectangle(Box(0, 0, frame.WIDTH, frame.HEIGHT), fill=PAPER, stroke=NOTHING)
