"""The elevations as the page shows them: cut to what is drawn, each thing a link, the chosen one marked."""

from collections.abc import Mapping
from dataclasses import dataclass

from pattress.design import Design
from pattress.handover.drawing import SIZE, Box, Drawing
from pattress.handover.elevation import SCREEN, elevation_drawings
from pattress.handover.things import failing
from pattress.job import model
from pattress.web.things import address_of

AIR = 8.0                     # around what is drawn, in units of the drawing
LETTERING = 0.76              # rem, at least; the drawing is wider where there is room, and scrolls where there is not
SEEN_FROM = "Seen from inside the room, to scale; heights in metres above the finished floor. Points and small boxes are drawn larger than they are."


@dataclass(frozen=True, slots=True)
class Wall:
    """One elevation."""

    title: str
    svg: str
    caption: str


def walls_of(design: Design, chosen: str = "") -> tuple[Wall, ...]:
    """Return the elevations with a mark at each thing that fails; none for a job without walls.

    `chosen` is the path of the thing whose sheet lies beside it, "switch/door".
    """
    if not design.job.wall:
        return ()
    marks = failing(design)
    return tuple(_wall(drawing, number, design.job.wall, chosen) for number, drawing in enumerate(elevation_drawings(design, marks=marks, medium=SCREEN)))


def _wall(drawing: Drawing, number: int, walls: Mapping[str, model.Wall], chosen: str) -> Wall:
    shown = _extent(drawing)
    svg = drawing.svg(link=lambda path: address_of(tuple(path.split("."))) + "#sheet").replace('id="hatch"', f'id="hatch-{number}"')
    whole = f'viewBox="0 0 {drawing.width:g} {drawing.height:g}"'
    wide, high = shown.right - shown.left, shown.bottom - shown.top
    part = f'width="{wide / SIZE * LETTERING:.4g}rem" viewBox="{shown.left:g} {shown.top:g} {wide:g} {high:g}"'
    here = f'href="{address_of(tuple(chosen.split("/")))}#sheet"'
    title = [*(f"{wall.room}, {wall.name}" for wall in walls.values()), drawing.title.partition(": ")[2]][number]
    return Wall(title, svg.replace(whole, part, 1).replace(here, f'{here} aria-current="true"'),
                SEEN_FROM if number < len(walls) else "")


def _extent(drawing: Drawing) -> Box:
    """Return what the things, their words and the scales take up."""
    boxes = [*(one.box for one in drawing.wires), *(one.box for one in drawing.symbols), *(one.box for one in drawing.labels), *drawing.zones]
    return Box(min(box.left for box in boxes) - AIR, min(box.top for box in boxes) - AIR,
               max(box.right for box in boxes) + AIR, max(box.bottom for box in boxes) + AIR)
