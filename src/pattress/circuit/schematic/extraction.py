"""The nets of drawn sheets, read back from their lines: geometry and printed words only, nothing that the drawing was made from.

What counts: each `polyline.wire`, point by point on the grid; `circle.dot`; in a `g.part` its `text.ref` and the first point of each
`polyline.lead` with its number, or its `circle.terminal` (pin 1); the origin of each `g.rail`, `g.flag` and `g.net`, and the name in it.
Coincident ends join; so do ends and pins on a dot or terminal, and rails and flags of one name on all sheets. A crossing joins nothing.
"""

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from xml.etree import ElementTree

from pattress.circuit.model import Circuit
from pattress.circuit.schematic.captions import captions, printed_number
from pattress.circuit.schematic.frame import UNIT

Place = tuple[int, float, float]                # sheet, then a point in grid units
Segment = tuple[Place, Place]
Drawn = tuple[str, str]                         # a designator and the number of its pin
_SVG = "{http://www.w3.org/2000/svg}"
_JOINING = ("rail", "flag")


@dataclass(frozen=True, slots=True)
class Extracted:
    """The pins on each drawn net, by its printed name, and what is wrong with the drawing."""

    nets: Mapping[str, tuple[Drawn, ...]]
    slips: tuple[str, ...]


@dataclass(slots=True)
class _Lines:
    """What the sheets hold, before it is joined."""

    segments: list[Segment] = field(default_factory=list)
    dots: list[Place] = field(default_factory=list)
    terminals: list[Place] = field(default_factory=list)
    pins: list[tuple[Place, Drawn]] = field(default_factory=list)
    names: list[tuple[Place, str, str]] = field(default_factory=list)            # point, name, kind
    flags: list[tuple[Place, str, str]] = field(default_factory=list)            # point, name, the partner's place
    barriers: dict[int, float] = field(default_factory=dict)


class _Groups:
    """Points that are joined."""

    def __init__(self) -> None:
        self._up: dict[Place | str, Place | str] = {}

    def root(self, one: Place | str) -> Place | str:
        while self._up.setdefault(one, one) != one:
            one = self._up[one]
        return one

    def join(self, one: Place | str, other: Place | str) -> None:
        self._up[self.root(one)] = self.root(other)


def extracted(svgs: Sequence[str]) -> Extracted:
    """Return the nets that sheets show, given as SVG in their order, and every slip: a loose end, a joint without a dot, a name on two nets.

    Raises
    ------
    xml.etree.ElementTree.ParseError
        A sheet is no XML.
    """
    lines = _Lines()
    for sheet, svg in enumerate(svgs, 1):
        _read(lines, sheet, ElementTree.fromstring(svg))
    groups = _joined(lines)
    names: dict[Place | str, set[str]] = defaultdict(set)
    roots: dict[str, set[Place | str]] = defaultdict(set)
    for point, name, _ in lines.names:
        names[groups.root(point)].add(name)
        roots[name].add(groups.root(point))
    nets: dict[str, list[Drawn]] = defaultdict(list)
    for point, pin in lines.pins:
        found = names[groups.root(point)]
        nets[" = ".join(sorted(found)) or f"(no name at {_told(point)})"].append(pin)
    slips = [*_slips(lines), *(f"{name} is on {len(found)} nets" for name, found in sorted(roots.items()) if len(found) > 1),
             *(f"one net has the names {', '.join(sorted(found))}" for found in names.values() if len(found) > 1), *_unpaired(lines)]
    return Extracted({name: tuple(sorted(pins)) for name, pins in sorted(nets.items())}, tuple(slips))


def differences(circuit: Circuit, drawn: Extracted) -> tuple[str, ...]:
    """Return in words where drawn nets and those of a circuit differ, net for net and pin for pin; each pin is drawn once."""
    names = captions(circuit)
    meant: dict[str, Counter[Drawn]] = defaultdict(Counter)
    for component in circuit.components:
        for pin in component.pins:
            meant[names[pin.net]][(component.designator, printed_number(pin.number))] += 1
    found = []
    for name in sorted({*meant, *drawn.nets}):
        shown = Counter(drawn.nets.get(name, ()))
        missing, extra = meant[name] - shown, shown - meant[name]
        if missing or extra:
            words = [*([f"not drawn: {_listed(missing)}"] if missing else []), *([f"drawn only: {_listed(extra)}"] if extra else [])]
            found.append(f"{name}: {'; '.join(words)}")
    return tuple(found)


def _listed(pins: Iterable[Drawn]) -> str:
    return ", ".join(f"{designator}.{number}" for designator, number in sorted(pins))


def _read(lines: _Lines, sheet: int, root: ElementTree.Element) -> None:
    for element in root.iter():
        kind = (element.get("class") or "").partition(" ")[0]
        if kind == "wire":
            points = _points(sheet, element)
            lines.segments += zip(points, points[1:])
        elif kind == "dot":
            lines.dots.append(_centre(sheet, element))
        elif kind == "barrier":
            lines.barriers[sheet] = _points(sheet, element)[0][1]
        elif kind in ("net", *_JOINING):
            _read_name(lines, sheet, element, kind)
        elif kind == "part":
            _read_part(lines, sheet, element)


def _read_name(lines: _Lines, sheet: int, element: ElementTree.Element, kind: str) -> None:
    texts = {(one.get("class") or ""): one.text or "" for one in element.iter(f"{_SVG}text")}
    x, y = map(float, re.findall(r"-?\d+(?:\.\d+)?", element.get("transform") or "0 0"))
    point = (sheet, x / UNIT, y / UNIT)
    name = texts["" if kind == "net" else "name"]
    lines.names.append((point, name, kind))
    if kind == "flag":
        lines.flags.append((point, name, texts["place"]))


def _read_part(lines: _Lines, sheet: int, element: ElementTree.Element) -> None:
    reference = element.findtext(f"{_SVG}text[@class='ref']") or ""
    for group in element.findall(f"{_SVG}g[@class='pin']"):
        lead = group.find(f"{_SVG}polyline")
        if lead is not None:
            lines.pins.append((_points(sheet, lead)[0], (reference, group.findtext(f"{_SVG}text") or "")))
    for ring in element.findall(f"{_SVG}circle[@class='terminal']"):
        point = _centre(sheet, ring)
        lines.terminals.append(point)
        lines.pins.append((point, (reference, "1")))


def _points(sheet: int, element: ElementTree.Element) -> list[Place]:
    return [(sheet, float(x) / UNIT, float(y) / UNIT) for x, y in (pair.split(",") for pair in (element.get("points") or "").split())]


def _centre(sheet: int, element: ElementTree.Element) -> Place:
    return sheet, float(element.get("cx") or "nan") / UNIT, float(element.get("cy") or "nan") / UNIT


def _joined(lines: _Lines) -> _Groups:
    groups = _Groups()
    for one, other in lines.segments:
        groups.join(one, other)
    for point in (*lines.dots, *lines.terminals):
        for segment in _through(lines, point):
            groups.join(point, segment[0])
    for point, name, kind in lines.names:
        if kind in _JOINING:
            groups.join(point, name)
        elif under := next(_through(lines, point), None):
            groups.join(point, under[0])
    return groups


def _through(lines: _Lines, point: Place) -> Iterator[Segment]:
    """Yield the pieces of wire that a point lies on, ends too."""
    sheet, x, y = point
    for one, other in lines.segments:
        if one[0] == sheet and min(one[1], other[1]) <= x <= max(one[1], other[1]) and min(one[2], other[2]) <= y <= max(one[2], other[2]):
            yield one, other


def _slips(lines: _Lines) -> Iterator[str]:
    ends = Counter(point for segment in lines.segments for point in segment)
    pins = Counter(point for point, _ in lines.pins)
    hung = Counter(point for point, _, kind in lines.names if kind in _JOINING)
    dots, terminals = set(lines.dots), set(lines.terminals)
    for one, other in lines.segments:
        if one[1] != other[1] and one[2] != other[2]:
            yield f"slanted wire at {_told(one)}"
        wall = lines.barriers.get(one[0])
        if wall is not None and (one[1] - wall) * (other[1] - wall) <= 0:
            yield f"wire at the barrier: {_told(one)}"
    for point in sorted({*ends, *pins, *hung, *dots, *(point for point, _, _ in lines.names)}):
        if point[1] % 1 or point[2] % 1:
            yield f"off the grid: {_told(point)}"
    for point, name, kind in lines.names:
        if kind == "net" and not any(True for _ in _through(lines, point)):
            yield f"the name {name} lies on no wire"
    for point in sorted({*ends, *pins, *hung, *dots}):
        middles = sum(point not in segment for segment in _through(lines, point))
        arms = ends[point] + pins[point] + hung[point] + 2 * middles
        if point in dots and arms < 3:
            yield f"a dot where no three meet: {_told(point)}"
        if arms > 2 and point not in dots | terminals:
            yield f"three meet without a dot: {_told(point)}"
        if arms > 3 and point not in terminals:
            yield f"four meet in one point: {_told(point)}"
        if arms < 2:
            yield f"loose: {_told(point)}"
    yield from _overlaid(lines)


def _overlaid(lines: _Lines) -> Iterator[str]:
    """Yield where two wires lie on each other."""
    along: dict[tuple[int, bool, float], list[tuple[float, float]]] = defaultdict(list)
    for one, other in lines.segments:
        level = one[2] == other[2]
        axis = 1 if level else 2
        along[one[0], level, one[3 - axis]].append((min(one[axis], other[axis]), max(one[axis], other[axis])))
    for (sheet, level, at), spans in along.items():
        spans.sort()
        for first, second in zip(spans, spans[1:]):
            if second[0] < first[1]:
                yield f"two wires on each other: {_told((sheet, second[0], at) if level else (sheet, at, second[0]))}"


def _unpaired(lines: _Lines) -> Iterator[str]:
    """Yield the flags whose partner's sheet holds no flag of that name which points back."""
    for point, name, place in lines.flags:
        if "/" in place:
            sheet = int(place.partition("/")[0])
            if not any(other[0] == sheet and called == name and back.partition("/")[0] == str(point[0]) for other, called, back in lines.flags):
                yield f"the flag {name} at {_told(point)} has no partner at {place}"


def _told(point: Place) -> str:
    return f"sheet {point[0]}, {point[1]:g} {point[2]:g}"
