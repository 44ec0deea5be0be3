"""Wall elevations: each wall to scale with what is on it, heights from the finished floor, and what each thing does.

Switches and regulators at one place share a back box; their gangs go left to right in the order of
the job file. What has no place is shown by itself, and a job without walls gets one wall drawn to
no scale: nothing is hidden. Each thing carries its path in the job, so that a page can link to it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

from pattress.design import Design
from pattress.drawing.box import Box
from pattress.drawing.lettering import ASCENT, LEADING
from pattress.drawing.look import FLOOR
from pattress.drawing.sheet import MARGIN, SIZE, Drawing, width_of, wrapped
from pattress.handover.callouts import LEVEL, find_room, stairs
from pattress.handover.faces import draw_face, draw_mark, draw_outline
from pattress.handover.things import CONTROLLER, GANGED, RECEIVER, Thing, things_of
from pattress.job.field_types import CEILING
from pattress.job.model import Place, Wall

STEP = LEADING * SIZE
ABOVE, BELOW = 140.0, 150.0      # room for words over and under a wall
MOST_HIGH = 460.0
GANG = 0.071                     # m from gang to gang, and the least a back box is high (common practice, no source)
LEAST = 15.0                     # units: what is smaller on the wall is drawn so large
POINT = 18.0                     # units: what has no size of its own
NEAR = 1.5                       # units: heights and distances that near share one mark
USUAL_BOX = (0.24, 0.19)         # m: a controller whose box the job file does not know
TRIES = 5                        # orders in which things look for room for their words
APART = 3.0                      # units: between things drawn beside each other
CELL = 220.0                     # of what has no place, at least
NO_MARKS: Mapping[str, str] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Medium:
    """What the elevations are drawn for. Lettering is `SIZE` high on each, so a narrow sheet is read from further away.

    `side` is the room for words beside a wall, `words` the widths that are tried for those at a thing. A sheet
    that is `alone` has title and notes. Beside what people touch it says what that does, and with `ratings`
    what each thing is and, in words too, where.
    """

    width: float
    side: float
    words: tuple[float, ...]
    alone: bool
    ratings: bool = True


PAPER = Medium(width=1180.0, side=220.0, words=(225.0, 300.0, 420.0), alone=True)
HOME = Medium(width=1180.0, side=220.0, words=(225.0, 300.0, 420.0), alone=True, ratings=False)      # for those who live there
SCREEN = Medium(width=710.0, side=100.0, words=(150.0, 200.0, 300.0), alone=False)


@dataclass(frozen=True, slots=True)
class Group:
    """Things at one place: gangs of one back box, or one thing; its outline on the sheet."""

    things: tuple[Thing, ...]
    box: Box

    @property
    def name(self) -> str:
        """Return what its symbol is called."""
        return " ".join(thing.path for thing in self.things)

    @property
    def at(self) -> Place:
        """Return the place that its things share."""
        return self.things[0].place


def elevation_drawings(design: Design, *, marks: Mapping[str, str] = NO_MARKS, cautions: Sequence[str] = (),
                       medium: Medium = PAPER) -> tuple[Drawing, ...]:
    """Return the elevation of every wall, then what has no place.

    `marks` are words such as "fails" by the path of a thing ("switch.door", "receiver", "board" for
    the controller); each is drawn at its thing as word and shape.
    """
    title, things = design.job.job.title, things_of(design) if medium.ratings else tuple(map(_without_ratings, things_of(design)))
    drawings = []
    for key, wall in design.job.wall.items():
        here = tuple(thing for thing in things if thing.at and thing.at.wall == key)
        drawings.append(_wall(f"{title}: {wall.name if wall.room == title else f'{wall.room}, {wall.name}'}", wall, here, marks, cautions, medium))
    without = tuple(thing for thing in things if thing.at is None)
    if without:
        drawings.append(_without_place(title, without, marks, cautions, medium, walls=bool(design.job.wall)))
    return tuple(drawings)


def _without_ratings(thing: Thing) -> Thing:
    """Return a thing with words only where they say what happens when somebody touches it."""
    return thing if thing.kind in GANGED or thing.path == RECEIVER else replace(thing, words="")


def metres(length: float) -> str:
    """Return a length on a wall: in metres, to the centimetre, and to the millimetre where it has some."""
    return f"{length:.3f}".removesuffix("0") + " m"


def _wall(title: str, wall: Wall, things: tuple[Thing, ...], marks: Mapping[str, str], cautions: Sequence[str], medium: Medium) -> Drawing:
    scale = min((medium.width - 2 * medium.side) / wall.width, MOST_HIGH / wall.height)
    wide, high = wall.width * scale, wall.height * scale
    left = (medium.width - wide) / 2
    trial = Heights(_groups(things, Box(left, 0.0, left + wide, high), scale)[0], left, high, scale, wall)
    more = max(0.0, MARGIN - trial.left)
    sheet = Drawing(title, medium.width + more)
    top = _headed(sheet, medium) + ABOVE
    face = Box(left + more, top, left + more + wide, top + high)
    groups, moved = _groups(things, face, scale)
    sheet.zone(face, plain=True)
    sheet.figure(f"M{face.left:g} {face.bottom:g}H{face.right:g}", weight=FLOOR)
    for group in groups:
        _draw_group(sheet, group)
    _draw_heights(sheet, groups, face, Heights(groups, face.left, face.bottom, scale, wall))
    bottom = _distances(sheet, groups, face, wall)
    sheet.width = max(sheet.width, *(label.box.right + MARGIN for label in sheet.labels))      # a wall's last distance may be two, side by side
    room = Box(MARGIN, top - ABOVE, sheet.width - MARGIN, bottom + BELOW)
    sheet, left_over = _with_words(sheet, groups, marks, room, medium)
    for group in left_over:
        sheet.text(MARGIN, sheet.height + 2 * SIZE, "For want of room beside it:")
        _write(sheet, _said(group.things, marks, medium.width - 2 * MARGIN - 2 * SIZE, medium), MARGIN, sheet.height + 6)
    notes = [f"Seen from inside the room. {wall.name}: {metres(wall.width)} wide, {metres(wall.height)} high, drawn to scale; "
             "heights are of the middle of each thing above the finished floor, distances from the left end.",
             "Symbols of points and small boxes are drawn larger than they are."]
    return sheet.finish([*(notes if medium.alone else ()), *moved, *cautions])


def _headed(sheet: Drawing, medium: Medium) -> float:
    """Write the title of a sheet that is alone; return where the rest begins."""
    return sheet.head() if medium.alone else 0.0


def _with_words(bare: Drawing, groups: Sequence[Group], marks: Mapping[str, str], room: Box, medium: Medium) -> tuple[Drawing, list[Group]]:
    """Return a drawing with words at its groups, and the groups that found no room.

    Whoever comes first takes the best room: those with the most words, and in another try those left over. The try with the fewest is taken.
    """
    order = sorted(groups, key=lambda group: -sum(len(thing.name) + len(thing.words) for thing in group.things))
    best = bare, list(groups)
    for _ in range(TRIES):
        sheet, left_over = bare.copy(), []
        for group in order:
            if not _say(sheet, group, marks, room, medium):
                left_over.append(group)
                if len(left_over) == len(best[1]):      # no better than what there is
                    break
        else:
            best = sheet, left_over
        if not left_over:
            break
        order = [*left_over, *(group for group in order if group not in left_over)]
    return best


def _groups(things: tuple[Thing, ...], face: Box, scale: float) -> tuple[list[Group], list[str]]:
    """Return things by place, and what to say about those drawn beside their place because another is there."""
    gathered: dict[object, list[Thing]] = {}
    for thing in things:
        gathered.setdefault((thing.at, thing.kind in GANGED or thing.path), []).append(thing)
    groups: list[Group] = []
    moved: list[str] = []
    for members in sorted(gathered.values(), key=lambda some: (some[0].path != CONTROLLER, some[0].place.along)):
        box = _outline(tuple(members), face, scale)
        wanted = box.left
        while clash := next((other.box for other in groups if box.meets(other.box.grown(APART))), None):
            box = Box(clash.right + 4, box.top, clash.right + 4 + box.right - box.left, box.bottom)
        if box.left != wanted:
            moved.append(f"{members[0].name} is drawn beside its place, {_where(members[0].place)}: something else is drawn there.")
        groups.append(Group(tuple(members), box))
    return groups, moved


def _outline(members: tuple[Thing, ...], face: Box, scale: float) -> Box:
    first = members[0]
    if first.path == CONTROLLER and first.place.height != CEILING:
        wide, high = (max(LEAST, side * scale) for side in first.size or USUAL_BOX)
    elif first.kind in GANGED:
        high = max(LEAST, GANG * scale)
        wide = high * len(members)
    else:
        wide = high = POINT
    x = face.left + first.place.along * scale
    y = face.top - high / 2 - 2 if first.place.height == CEILING else face.bottom - first.place.height * scale
    return Box(x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)


def _draw_group(sheet: Drawing, group: Group) -> None:
    """Draw a back box with its gangs, or the one thing."""
    draw_outline(sheet, group.name, group.things[0].kind, group.box)
    wide = (group.box.right - group.box.left) / len(group.things)
    for place, thing in enumerate(group.things):
        left = group.box.left + place * wide
        box = Box(left, group.box.top, left + wide, group.box.bottom)
        with sheet.about(thing.path, ": ".join(filter(None, (thing.name, thing.words))), box):
            draw_face(sheet, thing.kind, box)
            if place:
                sheet.figure(f"M{box.left:g} {box.top:g}V{box.bottom:g}")


class Heights:
    """The scale of heights left of a wall: words by level, each with its step away from the wall so that none meets another."""

    def __init__(self, groups: Sequence[Group], left: float, floor: float, scale: float, wall: Wall):
        levels: dict[float, list[float]] = {}
        for height in sorted({0.0, wall.height} | {group.at.height for group in groups if group.at.height != CEILING}):
            y = floor - height * scale
            levels.setdefault(next((known for known in levels if abs(known - y) < NEAR), y), []).append(height)
        self.words = {y: ", ".join(metres(height) for height in heights) for y, heights in levels.items()}
        self.steps = stairs([-y for y in levels], [STEP] * len(levels))
        self.column = max(width_of(text) for text in self.words.values()) + 8
        self.edge = min([left, *(group.box.left for group in groups)])
        self.left = self.edge - 10 - (max(self.steps) + 1) * self.column


def _draw_heights(sheet: Drawing, groups: Sequence[Group], face: Box, heights: Heights) -> None:
    """Draw the scale of heights, and light lines from it to what they are of."""
    for (y, text), step in zip(heights.words.items(), heights.steps, strict=True):
        end = heights.edge - 2 - (step + 1) * heights.column
        sheet.wire(f"height {text}", (heights.edge - 4, y), (end, y), light=True)
        sheet.text(end, y - 3, text)
        if face.top + 2 < y < face.bottom - 2:
            _level(sheet, groups, y, face)
    sheet.lines(heights.edge - 10, face.bottom + SIZE + 2, ("finished", "floor"), anchor="end")


def _level(sheet: Drawing, groups: Sequence[Group], y: float, face: Box) -> None:
    """Draw a light line at a height as far as the last thing there, broken by what is in its way."""
    on = [group.box for group in groups if group.box.top - 0.5 <= y <= group.box.bottom + 0.5]
    there = [box for box in on if abs((box.top + box.bottom) / 2 - y) < NEAR]
    at = face.left
    for box in sorted(on, key=lambda box: box.left):
        if there and box.left > at + 1 and box.left <= max(one.left for one in there):
            sheet.wire(f"{LEVEL} {y:g} {at:g}", (at, y), (box.left, y), dashed=True)
        at = max(at, box.right)


def _distances(sheet: Drawing, groups: Sequence[Group], face: Box, wall: Wall) -> float:
    """Draw the scale of distances under the wall; return where it ends."""
    marks: dict[float, list[float]] = {}
    for along in sorted({0.0, wall.width} | {group.at.along for group in groups}):
        x = face.left + along * (face.right - face.left) / wall.width
        near = next((known for known in marks if abs(known - x) < NEAR), x)
        marks.setdefault(near, []).append(along)
    words = [", ".join(metres(along) for along in some) for some in marks.values()]
    steps = stairs(list(marks), [width_of(text) + 8 for text in words])
    edge = max([face.bottom, *(group.box.bottom for group in groups)])
    first = edge + 10 + STEP
    for x, text, step in zip(marks, words, steps, strict=True):
        y = first + (step + 1) * STEP
        sheet.wire(f"distance {text}", (x, edge + 4), (x, y), light=True)
        sheet.text(x + 3, y, text)
    return first + (max(steps) + 2) * STEP


Line = tuple[str, str]                    # words, and how they are written: PLAIN, BOLD or MARK
Block = tuple[tuple[Thing, tuple[Line, ...]], ...]
PLAIN, BOLD, MARK = "plain", "bold", "mark"


def _said(things: Sequence[Thing], marks: Mapping[str, str], room: float, medium: Medium) -> Block:
    """Return the lines to write at things of one place, within a room."""
    block = []
    for number, thing in enumerate(things, 1):
        gang = f" ({'gang ' if medium.ratings else ''}{number} of {len(things)})" if len(things) > 1 else ""
        lines = [(marks[thing.path], MARK)] if thing.path in marks else []
        lines += [(line, BOLD) for line in wrapped(thing.name + gang, room)]
        lines += [(line, PLAIN) for line in wrapped(thing.words, room)]
        if medium.alone and medium.ratings and number == len(things) and thing.at:
            lines += [(line, PLAIN) for line in wrapped(_where(thing.at), room)]
        block.append((thing, tuple(lines)))
    return tuple(block)


def _where(at: Place) -> str:
    height = "at the ceiling" if at.height == CEILING else f"{metres(at.height)} high"
    return f"{height}, {metres(at.along)} along"


def _say(sheet: Drawing, group: Group, marks: Mapping[str, str], room: Box, medium: Medium) -> bool:
    """Write the words of a group near it and join them by a line; return whether there was room."""
    for wide in medium.words:
        block = _said(group.things, marks, wide, medium)
        lines = [line for _, some in block for line in some]
        size = max(width_of(words) + _indent(how) for words, how in lines), len(lines) * STEP
        found = find_room(sheet, group.name, size, room)
        if found:
            where, route = found
            sheet.wire(f"words of {group.name}", *route, light=True)
            sheet.joint(*route[0])
            _write(sheet, block, where.left, where.top)
            return True
    return False


def _write(sheet: Drawing, block: Block, x: float, top: float) -> float:
    """Write the lines of things under each other, return where they end."""
    y = top + ASCENT * SIZE
    for thing, lines in block:
        with sheet.about(thing.path, ": ".join(filter(None, (thing.name, thing.words)))):
            for words, how in lines:
                sheet.text(x + _indent(how), y, words, bold=how != PLAIN)
                if how == MARK:
                    draw_mark(sheet, words, x, y)
                y += STEP
    return y


def _indent(how: str) -> float:
    return 1.3 * SIZE if how == MARK else 0.0


def _without_place(title: str, things: Sequence[Thing], marks: Mapping[str, str], cautions: Sequence[str], medium: Medium, *, walls: bool) -> Drawing:
    """Return a sheet of what has no place, in cells; on one wall without scale when the job has no wall."""
    sheet = Drawing(f"{title}: {'place not given' if walls else 'wall, drawn to no scale'}", medium.width)
    top = _headed(sheet, medium) + SIZE
    y, columns = top + SIZE, int((medium.width - 2 * MARGIN) // CELL)
    cell = (medium.width - 2 * MARGIN) / columns
    for start in range(0, len(things), columns):
        end = y
        for place, thing in enumerate(things[start:start + columns]):
            x = MARGIN + 8 + place * cell
            box = Box(x, y, x + POINT, y + POINT)
            draw_outline(sheet, thing.path, thing.kind, box)
            with sheet.about(thing.path, ": ".join(filter(None, (thing.name, thing.words))), box):
                draw_face(sheet, thing.kind, box)
            end = max(end, _write(sheet, _said([thing], marks, cell - POINT - 22, medium), x + POINT + 8, y), box.bottom)
        y = end + SIZE
    note = "These have no place in the job file: write at = { wall, along, height } beside each." if walls else \
        "The job file gives no wall, so this one has no scale and no place on it means anything. Write [wall.NAME], and at = { wall, along, height } beside each thing."
    if not walls:
        sheet.zone(Box(MARGIN, top, medium.width - MARGIN, y), plain=True)
    return sheet.finish([*((note,) if medium.alone or not walls else ()), *cautions])
