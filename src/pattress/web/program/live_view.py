"""The room at one moment of a run as a drawing: what every lamp, relay and switch does, by shape and by word.

The walls stand as elevations, seen from inside the room, each stretched to the same size so that
labels find room; what has no place on a wall stands in rows below.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import cos, radians, sin

from pattress.design import Design
from pattress.designators import channel_designators, relay_designators
from pattress.drawing import Box, Medium, Picture, Piece
from pattress.drawing.lettering import SANS
from pattress.drawing.look import FEED, FLOOR, INK, LIGHT, LIVE, TEXT, WALL
from pattress.drawing.pieces import NOTHING, circle, group, line, link, path, rectangle, text
from pattress.handover.colours import Practice, colours_of
from pattress.handover.symbols import OF_LOAD, shape_of
from pattress.job.model import CEILING, Fan, Load, Place, Wall
from pattress.rehearsal.day import standing
from pattress.rehearsal.live_run import Control, Lamp

WIDTH, SIDE = 420, 14        # of the drawing and its margin
HEIGHT = 400                 # of a wall
CELL, CELL_HEIGHT = 140, 138
FINGER = 22.0                # half of what a finger finds
TRIES = 8                    # orders in which things look for their places
STEP = 16.0                  # from line to line of a label
MOST_WIDE = 168.0            # of a name
LEAST_WIDE = {"load": 126.0, "fan": 126.0, "switch": 98.0, "regulator": 112.0}      # of a label, so that nothing moves with its words
SHALL = "shall be"
HEAD = 22                    # room for a wall's name
ABOVE = 22                   # of a symbol's middle
BELOW = {"load": 86, "fan": 86, "switch": 54, "regulator": 54}      # of it, its label of at most four lines, or two, with it
# Steps away from a place, nearest first; sideways is nearer than up and down.
_AROUND = sorted(((dx, dy) for dx in range(-396, 397, 12) for dy in range(-276, 277, 12)), key=lambda step: step[0] ** 2 + 4 * step[1] ** 2)
RAYS = "M0 -16v-5M0 16v5M16 0h5M-16 0h-5M11 -11l4 -4M-11 11l-4 4M11 11l4 4M-11 -11l-4 -4"


@dataclass(frozen=True, slots=True)
class Standing:
    """One thing as it stands: `path` of the job file, `words` its state, `level` 0 when off or open.

    `relays` says what its relays do, "" where it has none; `kind` is a symbol's name or "regulator".
    """

    path: str
    name: str
    kind: str
    level: int
    words: str
    relays: str
    place: Place | None


@dataclass(frozen=True, slots=True)
class LiveView:
    """Everything that stands in the room at one moment."""

    things: tuple[Standing, ...]

    @property
    def words(self) -> tuple[str, ...]:
        """Return the drawing for those who do not see it."""
        return tuple(f"{one.name}: {one.words}" + (f"; {one.relays}" if one.relays else "") for one in self.things)


def live_view_of(design: Design, lamps: Iterable[Lamp], controls: Iterable[Control]) -> LiveView:
    """Return the moment of a job in which its channels and controls stand so; remotes have no place on a wall."""
    return LiveView((*(_load(design, lamp) for lamp in lamps), *(_control(design, one) for one in controls if one.kind != "button")))


def drawn(design: Design, moment: LiveView) -> str:
    """Return the drawing of a moment as SVG; each thing is a link to its control, "#do-switch-door"."""
    practice = colours_of(design.job.supply.system, design.job.site.country).practice
    parts: list[Piece] = []
    top = 0.0
    for key, wall in design.job.wall.items():
        here = [(one, one.place) for one in moment.things if one.place and one.place.wall == key]
        if here:
            face = Box(SIDE, top + HEAD, WIDTH - SIDE, top + HEAD + HEIGHT)
            parts += _wall(wall.name, face)
            parts += _placed(here, wall, face, practice)
            top = face.bottom + 16
    loose = [one for one in moment.things if one.place is None or one.place.wall not in design.job.wall]
    across = WIDTH // CELL
    for number, one in enumerate(loose):
        x, y = (number % across + 0.5) * CELL, top + number // across * CELL_HEIGHT + 44
        parts.append(_thing(one, x, y, practice))
    top += -(-len(loose) // across) * CELL_HEIGHT
    return Picture("The room as it stands", "; ".join(moment.words) or "nothing is in it", Box(0, 0, WIDTH, top), tuple(parts),
                   has_links=True).svg(Medium.PAGE)


def _load(design: Design, lamp: Lamp) -> Standing:
    job, plan = design.job, design.plan
    is_fan = lamp.key in job.fan
    thing: Load | Fan = job.fan[lamp.key] if is_fan else job.load[lamp.key]
    place = f"{'fan' if is_fan else 'load'}/{lamp.key}", thing.name, OF_LOAD[thing.kind] if isinstance(thing, Load) else "motor"
    if lamp.level is None:
        return Standing(*place, 1, "no level it has", "", thing.at)
    words = standing(lamp.level, lamp.top)
    if lamp.wanted != lamp.level:
        words += f", {SHALL} {standing(lamp.wanted, lamp.top)}"
    words += "".join(f", {reason} {_time(left)}" for reason, left in lamp.waits)
    mask = next(row["masks"] for row in plan["channels"] if row["key"] == lamp.key)[lamp.level]
    return Standing(*place, lamp.level, words, _relays(channel_designators(plan, lamp.key), relay_designators(mask)), thing.at)


def _relays(own: tuple[str, ...], shut: tuple[str, ...]) -> str:
    """Return how the relays of a channel stand, of which some are closed."""
    if len(own) == 1:
        return f"relay {own[0]} {'closed' if shut else 'open'}"
    return f"{'+'.join(shut)} closed" if shut else f"{own[0]} to {own[-1]} open"


def _time(left: int) -> str:
    return f"{left} ms" if left < 1000 else f"{left / 1000:.1f} s"


def _control(design: Design, control: Control) -> Standing:
    if control.kind == "regulator":
        regulator = design.job.regulator[control.key]
        levels = next(row["levels"] for row in design.plan["regulators"] if row["key"] == control.key)
        stands = 0 <= control.position < len(levels)
        words = f"stands at {standing(levels[control.position], 2)}" if stands else "between two positions"
        return Standing(f"regulator/{control.key}", regulator.name, "regulator", control.position, words, "", regulator.at)
    switch = design.job.switch[control.key]
    pressed = control.kind == "retractive"
    words = ("pressed" if control.position else "at rest") if pressed else ("closed" if control.position else "open")
    return Standing(f"switch/{control.key}", switch.name, "retractive" if pressed else "contact", control.position, words, "", switch.at)


def _wall(name: str, face: Box) -> tuple[Piece, ...]:
    return (text(SIDE, face.top - 8, SANS.shortened(name, face.width, TEXT, bold=True), bold=True), rectangle(face, stroke=INK, weight=WALL),
            line(((face.left - 8, face.bottom), (face.right + 8, face.bottom)), weight=FLOOR))


def _placed(here: list[tuple[Standing, Place]], wall: Wall, face: Box, practice: Practice) -> list[Piece]:
    """Return what is on a wall, each symbol with its label as near to its place as there is room."""
    spots = []
    for one, place in here:
        up = wall.height if place.height == CEILING else place.height
        spots.append((_reach(one), BELOW[one.path.partition("/")[0]], place.along / wall.width * face.width, (1 - up / wall.height) * face.height))
    places = _side_by_side(tuple(spots), face.width, face.height)
    return [_thing(one, face.left + x, face.top + y, practice) for (one, _), (x, y) in zip(here, places, strict=True)]


Spot = tuple[float, float, float, float]      # half width, room below, x, y


@lru_cache(maxsize=64)
def _side_by_side(spots: tuple[Spot, ...], width: float, height: float) -> tuple[tuple[float, float], ...]:
    """Return a place for each spot, near to it and over as few others as can be.

    It depends on places and names only: nothing moves when a lamp comes on. Who comes first takes the best place; in
    another try those come first that lay over others. The first try without any is taken, else the one with the fewest.
    """
    order = list(range(len(spots)))
    best: dict[int, tuple[float, float]] = {}
    fewest = len(spots) + 1
    for _ in range(TRIES):
        found, over = _in_order(spots, order, width, height)
        if len(over) < fewest:
            best, fewest = found, len(over)
        if not over:
            break
        order = [*over, *(number for number in order if number not in over)]
    return tuple(best[number] for number in range(len(spots)))


def _in_order(spots: Sequence[Spot], order: Iterable[int], width: float, height: float) -> tuple[dict[int, tuple[float, float]], list[int]]:
    """Return places taken one after the other, and the numbers of those that lie over another."""
    taken: list[tuple[float, float, float, float]] = []
    found: dict[int, tuple[float, float]] = {}
    crowded = []
    for number in order:
        reach, below, x, y = spots[number]
        x, y = min(max(x, reach), max(width - reach, reach)), min(max(y, ABOVE), max(height - below, ABOVE))
        fewest, box, place = len(spots), (0.0, 0.0, 0.0, 0.0), (x, y)
        for dx, dy in _AROUND:
            at, down = x + dx, y + dy
            if not (reach <= at <= max(width - reach, reach) and ABOVE <= down <= max(height - below, ABOVE)):
                continue
            offer = (at - reach, down - ABOVE, at + reach, down + below)
            over = sum(_overlap(offer, other) for other in taken)
            if over < fewest:
                fewest, box, place = over, offer, (at, down)
                if not over:
                    break
        taken.append(box)
        found[number] = place
        if fewest:
            crowded.append(number)
    return found, crowded


def _overlap(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _reach(one: Standing) -> float:
    """Return half the width that a thing takes with its label."""
    return max(FINGER, SANS.width(_name(one), TEXT, bold=True) / 2, LEAST_WIDE[one.path.partition("/")[0]] / 2)


def _name(one: Standing) -> str:
    return SANS.shortened(one.name, MOST_WIDE, TEXT, bold=True)


def _lines(one: Standing) -> tuple[str, ...]:
    state, *more = one.words.split(", ")
    return (_name(one), state, *(words for words in more if words.startswith(SHALL)), *((one.relays,) if one.relays else ()))


def _thing(one: Standing, x: float, y: float, practice: Practice) -> Piece:
    """Return a symbol with its label under it, as a link to its control."""
    words = [text(x, y + 34 + STEP * row, words, anchor="middle", bold=bool(one.level)) for row, words in enumerate(_lines(one))]
    said = f"{one.name}: {one.words}" + (f"; {one.relays}" if one.relays else "")
    area = rectangle(Box(x - FINGER, y - FINGER + 2, x + FINGER, y + FINGER + 2), hidden=True)
    return link((area, group(_symbol(one, practice), at=(x, y), stroke=INK, weight=WALL), *words),
                f"#do-{one.path.replace('/', '-')}", alt=said, kind=f"stands {'on' if one.level else 'off'}")


def _symbol(one: Standing, practice: Practice) -> tuple[Piece, ...]:
    if one.kind == "regulator":
        turn = radians(30 * max(one.level, 0))
        return circle(0, 0, 13), line(((0, 0), (-11 * sin(turn), 11 * cos(turn))), stroke=None, weight=LIVE)
    if one.kind in ("contact", "retractive"):
        blade = "M-14 0H-6M-6 0H8M8 0H16" if one.level else "M-14 0H-6M8 0L-6 -11M8 0H16"
        knob = ("M-2 0V-8M-7 -8h10" if one.level else "M-1 -7V-16M-6 -16h10") if one.kind == "retractive" else ""
        return path(blade + knob), circle(-6, 0, 2.4, fill=INK, stroke=NOTHING), circle(8, 0, 2.4, fill=INK, stroke=NOTHING)
    shape = shape_of(one.kind, practice)
    rays = (path(RAYS, weight=FEED, kind="rays"),) if one.level else ()
    fill = LIGHT if one.level else NOTHING
    letters = (group((text(0, 0.36 * TEXT, shape.letters, anchor="middle"),), stroke=NOTHING),) if shape.letters else ()
    if len(shape.letters) > 1:       # they need more room than the symbol has
        return (*rays, circle(0, 0, SANS.width(shape.letters, TEXT) / 2 + 2, fill=fill), *letters)
    return (*rays, path(shape.path, at=(-shape.width / 2, 0), fill=fill), *letters)
