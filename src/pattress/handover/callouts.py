"""Words beside a thing on a drawing, joined to it by a line, where nothing else is.

A place is looked for, nearest first, among those that a level, an upright or a once-bent line
reaches. Pure geometry: what lies on the sheet already is the only thing it asks for.
"""

from collections.abc import Sequence
from itertools import pairwise, product
from math import copysign

from pattress.drawing.box import TOUCH, Box, are_crossing, lies_along
from pattress.drawing.sheet import Drawing

AIR = 6.0                        # between words and anything else
APART = 20.0                     # between words and another thing, which they could be taken to belong to
LEVEL = "level"                  # begins the net of a line that a line to words may cross, where there is no other way
AWAY = (12, 20, 30, 44, 60, 78, 100, 125, 155, 190, 230, 275, 325, 380)      # how far a line goes, at most so far
ASIDE = (14, 30, 50, 80, 120, 170, 230, 300, 380)
BEND = 40.0                      # length that a bend is worth
CLOSE = 2.0                      # from the end of a line to its words

Route = tuple[tuple[float, float], ...]


def find_room(sheet: Drawing, target: str, size: tuple[float, float], room: Box) -> tuple[Box, Route] | None:
    """Return where a block of words can lie and the line to it from the symbol `target`, None where it cannot."""
    at = next(symbol.box for symbol in sheet.symbols if symbol.name == target)
    words = [label.box for label in sheet.labels]
    other_things = [symbol.box for symbol in sheet.symbols if symbol.name != target]
    wires = [wire.box for wire in sheet.wires]
    filled, barred = _sides([*words, *(symbol.box for symbol in sheet.symbols), *wires]), _sides([*words, *other_things])
    levels = [wire.box for wire in sheet.wires if wire.net.startswith(LEVEL)]
    never = [wire.box for wire in sheet.wires if not wire.net.startswith(LEVEL)]

    def is_free(block: Box, route: Route) -> bool:
        padded = block.grown(AIR)
        if not room.holds(padded) or _meets(padded, filled) or any(zone.meets(padded) and not zone.holds(padded) for zone in sheet.zones):
            return False
        return not any(
            _meets(piece, barred) or any(lies_along(piece, wire) for wire in wires)
            or any(are_crossing(piece, wire) for wire in never) for piece in _pieces(route))

    def is_plain(block: Box, route: Route) -> bool:
        """Return whether the words lie near nothing else, and their line crosses nothing."""
        return (not any(block.grown(APART).meets(box) for box in other_things)
                and not any(are_crossing(piece, level) for piece in _pieces(route) for level in levels))

    usable = None
    for way in WAYS:
        block, route = _way(at, size, *way)
        if is_free(block, route):
            if is_plain(block, route):
                return block, route
            usable = usable or (block, route)
    return usable


Sides = list[tuple[float, float, float, float]]


def _sides(boxes: Sequence[Box]) -> Sides:
    return [(box.left, box.top, box.right, box.bottom) for box in boxes]


def _meets(one: Box, others: Sides) -> bool:
    """Return whether a box shares more than an edge with any other, as `Box.meets` and `runs_through` say: it is asked most, so in one loop."""
    from_left, from_top, to_right, to_bottom = one.left + TOUCH, one.top + TOUCH, one.right - TOUCH, one.bottom - TOUCH
    for left, top, right, bottom in others:
        if left < to_right and right > from_left and top < to_bottom and bottom > from_top:
            return True
    return False


def _pieces(route: Route) -> list[Box]:
    return [Box(min(a, c), min(b, d), max(a, c), max(b, d)) for (a, b), (c, d) in pairwise(route)]


def _way(at: Box, size: tuple[float, float], side: str, away: float, aside: float, share: float) -> tuple[Box, Route]:
    """Return a block and the line to it: leaving at a side, so far away, then bent aside (not at 0)."""
    wide, high = size
    x, y = (at.left + at.right) / 2, (at.top + at.bottom) / 2 + (at.bottom - at.top) / 4     # off the line of its height
    if side in ("left", "right"):
        start, end = (at.right, at.right + away) if side == "right" else (at.left, at.left - away)
        left = end if side == "right" else end - wide
        return Box(left, y - share * high, left + wide, y + (1 - share) * high), ((start, y), (end - copysign(CLOSE, end - start), y))
    start, end = (at.top, at.top - away) if side == "up" else (at.bottom, at.bottom + away)
    if not aside:
        left, top = x - share * wide, end - high if side == "up" else end
        return Box(left, top, left + wide, top + high), ((x, start), (x, end - copysign(CLOSE, end - start)))
    left, top = x + aside if aside > 0 else x + aside - wide, end - share * high
    return Box(left, top, left + wide, top + high), ((x, start), (x, end), (x + aside - copysign(CLOSE, aside), end))


def _ways() -> list[tuple[str, float, float, float]]:
    straight: list[tuple[str, float, float, float]] = [(side, away, 0.0, share) for away, share, side in product(AWAY, (0.05, 0.5, 0.95), ("up", "down", "right", "left"))]
    bent: list[tuple[str, float, float, float]] = [(side, away, sign * aside, share) for away, aside, share, side, sign in product(AWAY, ASIDE, (0.1, 0.9), ("up", "down"), (1, -1))]
    return sorted(straight + bent, key=lambda way: way[1] + abs(way[2]) + (BEND if way[2] else 0.0))


WAYS = _ways()      # nearest first


def stairs(places: Sequence[float], widths: Sequence[float]) -> list[int]:
    """Return a step for each mark of a scale, so that its words, which begin at the mark, meet no other's words or line.

    Marks rise; a mark's line passes every lower step.
    """
    steps: list[int] = []
    begun: dict[int, float] = {}             # where the words begin that stand furthest back on a step
    for place, wide in reversed(list(zip(places, widths, strict=True))):
        step = next(n for n in range(len(places)) if all(place + wide <= begun[m] for m in begun if m >= n))
        begun[step] = place
        steps.append(step)
    return steps[::-1]
