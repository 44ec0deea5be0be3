"""The room at one moment as a drawing: what every lamp, relay and switch does, by shape and by word.

The walls stand as elevations, seen from inside the room, each stretched to the same size so that
labels find room; what has no place on a wall stands in rows below.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from html import escape

from pattress.design import Design
from pattress.handover.colours import Practice, colours_of
from pattress.handover.symbols import OF_LOAD, shape_of
from pattress.job.model import CEILING, Fan, Load, Place, Wall
from pattress.designators import channel_designators, relay_designators
from pattress.rehearsal.day import standing
from pattress.rehearsal.live_run import Control, Lamp

WIDTH, SIDE = 460, 14        # of the drawing and its margin
HEIGHT = 310                 # of a wall
CELL, CELL_HEIGHT = 115, 130
LETTER = 6.9                 # width of a sign at the size of the labels
MOST_SIGNS = 18              # of a name
LEAST_SIGNS = {"load": 16, "fan": 16, "switch": 14, "regulator": 14}      # of a label, so that nothing moves with its words
SHALL = "shall be"
HEAD = 22                    # room for a wall's name
ABOVE, BELOW = 22, 68        # of a symbol's middle, its label of at most four lines with it
# Steps away from a place, nearest first; sideways is nearer than up and down.
_AROUND = sorted(((dx, dy) for dx in range(-432, 433, 12) for dy in range(-204, 205, 12)), key=lambda step: step[0] ** 2 + 2 * step[1] ** 2)


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
    practice = colours_of(design.job.supply.system).practice
    parts, top = [], 0.0
    for key, wall in design.job.wall.items():
        here = [(one, one.place) for one in moment.things if one.place and one.place.wall == key]
        if here:
            width, height = WIDTH - 2 * SIDE, HEIGHT
            parts += _wall(wall.name, width, height, top)
            parts += _placed(here, wall, width, height, top + HEAD, practice)
            top += HEAD + height + 16
    loose = [one for one in moment.things if one.place is None or one.place.wall not in design.job.wall]
    across = WIDTH // CELL
    for number, one in enumerate(loose):
        x, y = SIDE + (number % across + 0.5) * CELL, top + number // across * CELL_HEIGHT + 44
        parts.append(_thing(one, x, y, practice))
    top += -(-len(loose) // across) * CELL_HEIGHT
    return (f'<svg class="moment" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {top:.0f}" role="group" '
            f'font-family="sans-serif" font-size="13"><title>The room as it stands</title>{"".join(parts)}</svg>')


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


def _wall(name: str, width: float, height: float, top: float) -> list[str]:
    return [f'<text class="wall" x="{SIDE}" y="{top + 14:.0f}" font-weight="bold">{escape(name)}</text>',
            f'<rect class="wall" x="{SIDE}" y="{top + HEAD:.1f}" width="{width:.1f}" height="{height:.1f}" fill="none" stroke="currentColor" stroke-width="1.5"/>',
            f'<path d="M{SIDE - 8} {top + HEAD + height:.1f}h{width + 16:.1f}" stroke="currentColor" stroke-width="3"/>']


def _placed(here: list[tuple[Standing, Place]], wall: Wall, width: float, height: float, top: float, practice: Practice) -> list[str]:
    """Return what is on a wall, each symbol with its label as near to its place as there is room."""
    spots = []
    for one, place in here:
        up = wall.height if place.height == CEILING else place.height
        spots.append((_reach(one), place.along / wall.width * width, (1 - up / wall.height) * height))
    places = _side_by_side(tuple(spots), width, height)
    return [_thing(one, SIDE + x, top + y, practice) for (one, _), (x, y) in zip(here, places, strict=True)]


@lru_cache(maxsize=64)
def _side_by_side(spots: tuple[tuple[float, float, float], ...], width: float, height: float) -> tuple[tuple[float, float], ...]:
    """Return a place for each (half width, x, y), near to it and over as few others as can be.

    It depends on places and names only: nothing moves when a lamp comes on.
    """
    taken: list[tuple[float, float, float, float]] = []
    found = []
    for reach, x, y in spots:
        x, y = min(max(x, reach), max(width - reach, reach)), min(max(y, ABOVE), max(height - BELOW, ABOVE))
        fewest, box, place = len(spots), (0.0, 0.0, 0.0, 0.0), (x, y)
        for dx, dy in _AROUND:
            at, down = x + dx, y + dy
            if not (reach <= at <= max(width - reach, reach) and ABOVE <= down <= max(height - BELOW, ABOVE)):
                continue
            offer = (at - reach, down - ABOVE, at + reach, down + BELOW)
            over = sum(_overlap(offer, other) for other in taken)
            if over < fewest:
                fewest, box, place = over, offer, (at, down)
                if not over:
                    break
        taken.append(box)
        found.append(place)
    return tuple(found)


def _overlap(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _reach(one: Standing) -> float:
    """Return half the width that a thing takes with its label."""
    return max(22.0, LETTER * max(len(_lines(one)[0]), LEAST_SIGNS[one.path.partition("/")[0]]) / 2)


def _lines(one: Standing) -> tuple[str, ...]:
    name = one.name if len(one.name) <= MOST_SIGNS else one.name[:MOST_SIGNS - 1] + "\u2026"
    state, *more = one.words.split(", ")
    return (name, state, *(words for words in more if words.startswith(SHALL)), *((one.relays,) if one.relays else ()))


def _thing(one: Standing, x: float, y: float, practice: Practice) -> str:
    """Return a symbol with its label under it, as a link to its control."""
    text = "".join(f'<text x="{x:.1f}" y="{y + 32 + 14 * row:.1f}" text-anchor="middle">{escape(line)}</text>' for row, line in enumerate(_lines(one)))
    said = f"{one.name}: {one.words}" + (f"; {one.relays}" if one.relays else "")
    return (f'<a class="stands {"on" if one.level else "off"}" href="#do-{one.path.replace("/", "-")}" aria-label="{escape(said)}">'
            f'<rect x="{x - 22:.1f}" y="{y - 20:.1f}" width="44" height="44" fill="none" pointer-events="all"/>'
            f'{_symbol(one, x, y, practice)}{text}</a>')


def _symbol(one: Standing, x: float, y: float, practice: Practice) -> str:
    line = 'stroke="currentColor" stroke-width="1.6"'
    if one.kind == "regulator":
        turn = 180 + 30 * max(one.level, 0)
        return (f'<g transform="translate({x:.1f} {y:.1f})"><circle r="13" fill="none" {line}/>'
                f'<path d="M0 0V11" transform="rotate({turn - 180})" stroke="currentColor" stroke-width="3"/></g>')
    if one.kind in ("contact", "retractive"):
        blade = "M-14 0H-6M-6 0H8M8 0H16" if one.level else "M-14 0H-6M8 0L-6 -11M8 0H16"
        knob = ("M-2 0V-8M-7 -8h10" if one.level else "M-1 -7V-16M-6 -16h10") if one.kind == "retractive" else ""
        dots = '<circle cx="-6" r="2.4" fill="currentColor"/><circle cx="8" r="2.4" fill="currentColor"/>'
        return f'<g transform="translate({x:.1f} {y:.1f})"><path d="{blade}{knob}" fill="none" {line}/>{dots}</g>'
    shape = shape_of(one.kind, practice)
    rays = ""
    if one.level:
        rays = '<path class="rays" d="M0 -16v-5M0 16v5M16 0h5M-16 0h-5M11 -11l4 -4M-11 11l-4 4M11 11l4 4M-11 -11l-4 -4" fill="none" stroke="currentColor" stroke-width="2.2"/>'
    letters = f'<text y="4" text-anchor="middle" font-size="{12 if len(shape.letters) == 1 else 8}">{shape.letters}</text>' if shape.letters else ""
    fill = "lit" if one.level else "dark"
    return (f'<g transform="translate({x:.1f} {y:.1f})">{rays}<path class="{fill}" d="{shape.path}" transform="translate({-shape.width / 2} 0)" '
            f'fill="none" {line}/>{letters}</g>')
