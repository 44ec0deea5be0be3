"""The elevations as the page shows them: cut to what is drawn, each thing a link, the chosen one marked."""

from collections.abc import Mapping
from dataclasses import dataclass

from pattress.design import Design
from pattress.drawing import Box, Medium
from pattress.drawing.box import around
from pattress.drawing.sheet import SIZE, Drawing
from pattress.handover.elevation import SCREEN, elevation_drawings
from pattress.handover.things import failing
from pattress.job import model
from pattress.web.job.things import address_of

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
    picture = drawing.picture(lambda path: address_of(tuple(path.split("."))) + "#sheet", current=chosen.replace("/", "."), frame=shown)
    svg = picture.svg(Medium.PAGE, width=f"{shown.width / SIZE * LETTERING:.4g}rem")
    title = [*(f"{wall.room}, {wall.name}" for wall in walls.values()), drawing.title.partition(": ")[2]][number]
    return Wall(title, svg, SEEN_FROM if number < len(walls) else "")


def _extent(drawing: Drawing) -> Box:
    """Return what the things, their words and the scales take up."""
    found = around((*(one.box for one in drawing.wires), *(one.box for one in drawing.symbols), *(one.box for one in drawing.labels), *drawing.zones))
    return drawing.extent if found is None else found.grown(AIR)
