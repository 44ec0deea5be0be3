"""Pieces of a drawing: each is a bit of SVG together with the box that it takes up.

The only place of the program where elements of SVG are written. Words are escaped here, so that
no name of a job can be read as markup. Attributes hold the colours of a light screen (`look`).
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from html import escape

from pattress.drawing.box import Box, around
from pattress.drawing.lettering import ASCENT, DESCENT, LEADING, SANS, Lettering
from pattress.drawing.look import HALO, INK, PAPER, TEXT, Colour, Hatch
from pattress.drawing.reach import reach

_NOT_IN_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
NOTHING = "none"                 # painted with nothing; None paints as the group around does
Paint = Colour | Hatch | str | None
Point = tuple[float, float]
AT_ORIGIN = (0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Piece:
    """Some SVG, the box that it takes up (None for what is not seen), and the hatchings it needs."""

    svg: str
    box: Box | None
    hatches: tuple[Hatch, ...] = ()


def escaped(words: str) -> str:
    """Return words as text or attribute of SVG; a sign that XML does not know becomes U+FFFD."""
    return escape(_NOT_IN_XML.sub("\ufffd", words))


def number(value: float) -> str:
    """Return a coordinate to the hundredth, as short as it is."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def box_attributes(box: Box) -> str:
    """Return place and size of a box as attributes."""
    return f'x="{number(box.left)}" y="{number(box.top)}" width="{number(box.width)}" height="{number(box.height)}"'


def text(x: float, y: float, words: str, *, size: float = TEXT, anchor: str = "start", bold: bool = False, italic: bool = False,
         colour: Colour | None = None, halo: bool = False, lettering: Lettering = SANS, as_around: float = 0.0, kind: str = "") -> Piece:
    """Return one line with its base line at y; with `halo` it keeps legible on lines. `as_around` is a size that needs no saying."""
    more = "".join((f' font-size="{number(size)}"' if size != as_around else "", f' text-anchor="{anchor}"' if anchor != "start" else "",
                    ' font-weight="bold"' if bold else "", ' font-style="italic"' if italic else "", _paint(colour, None, None, ""),
                    f' stroke="{PAPER.light}" stroke-width="{number(HALO)}" paint-order="stroke" stroke-linejoin="round"' if halo else ""))
    return Piece(f'<text{_kind(kind)} x="{number(x)}" y="{number(y)}"{more}>{escaped(words)}</text>', text_box(x, y, words, size, anchor, lettering, bold=bold))


def text_box(x: float, y: float, words: str, size: float, anchor: str, lettering: Lettering, *, bold: bool = False) -> Box:
    """Return the room of one line with its base line at y."""
    wide = lettering.width(words, size, bold=bold)
    left = {"start": x, "middle": x - wide / 2, "end": x - wide}[anchor]
    return Box(left, y - ASCENT * size, left + wide, y + DESCENT * size)


def paragraph(x: float, y: float, words: str, room: float, *, size: float = TEXT, bold: bool = False,
              colour: Colour | None = None, anchor: str = "start") -> tuple[list[Piece], float]:
    """Return words in lines that fit a room, the first with its base line at y, and the base line after the last."""
    rows = SANS.wrapped(words, room, size, bold=bold)
    step = LEADING * size
    return [text(x, y + step * row, line, size=size, bold=bold, colour=colour, anchor=anchor) for row, line in enumerate(rows)], y + step * len(rows)


def rectangle(box: Box, *, fill: Paint = NOTHING, stroke: Paint = None, weight: float | None = None, dash: str = "", kind: str = "",
              hidden: bool = False, title: str = "") -> Piece:
    """Return a rectangle; a `hidden` one is not seen but answers to a pointer."""
    more = "".join((_paint(fill, stroke, weight, dash), ' pointer-events="all"' if hidden else "", f">{_title(title)}</rect>" if title else "/>"))
    return Piece(f"<rect{_kind(kind)} {box_attributes(box)}{more}", box, _hatches(fill))


def circle(x: float, y: float, radius: float, *, fill: Paint = NOTHING, stroke: Paint = None, weight: float | None = None, kind: str = "") -> Piece:
    """Return a circle."""
    return Piece(f'<circle{_kind(kind)} cx="{number(x)}" cy="{number(y)}" r="{number(radius)}"{_paint(fill, stroke, weight, "")}/>',
                 Box(x - radius, y - radius, x + radius, y + radius), _hatches(fill))


def line(points: Sequence[Point], *, stroke: Paint = INK, weight: float | None = None, dash: str = "", kind: str = "") -> Piece:
    """Return straight lines from point to point."""
    places = " ".join(f"{number(x)},{number(y)}" for x, y in points)
    return Piece(f'<polyline{_kind(kind)} points="{places}"{_paint(NOTHING, stroke, weight, dash)}/>', around(Box(x, y, x, y) for x, y in points))


def path(d: str, *, at: Point = AT_ORIGIN, fill: Paint = NOTHING, stroke: Paint = None, weight: float | None = None, kind: str = "",
         crisp: bool = False) -> Piece:
    """Return an SVG path whose origin lies at a point; a `crisp` one has its edges on whole dots of a screen."""
    found = reach(d)
    more = "".join((f' transform="translate({number(at[0])} {number(at[1])})"' if at != AT_ORIGIN else "", _paint(fill, stroke, weight, ""),
                    ' shape-rendering="crispEdges"' if crisp else ""))
    return Piece(f'<path{_kind(kind)} d="{d}"{more}/>', found and found.moved(*at), _hatches(fill))


def group(pieces: Iterable[Piece], *, at: Point = AT_ORIGIN, title: str = "", data: Mapping[str, str] | None = None, fill: Paint = None,
          stroke: Paint = None, weight: float | None = None, kind: str = "") -> Piece:
    """Return pieces as one, with what they have in common."""
    some = tuple(pieces)
    where = f' transform="translate({number(at[0])} {number(at[1])})"' if at != AT_ORIGIN else ""
    box = around(one.box for one in some if one.box)
    return Piece(f"<g{_kind(kind)}{_data(data)}{where}{_paint(fill, stroke, weight, '')}>{_title(title)}{''.join(one.svg for one in some)}</g>",
                 box and box.moved(*at), _all_hatches(some))


def link(pieces: Iterable[Piece], href: str, *, alt: str = "", title: str = "", kind: str = "", data: Mapping[str, str] | None = None,
         current: bool = False) -> Piece:
    """Return pieces that lead somewhere; `current` marks what is looked at."""
    some = tuple(pieces)
    more = "".join((_kind(kind), f' href="{escaped(href)}"', f' aria-label="{escaped(alt)}"' if alt else "", _data(data),
                    ' aria-current="true"' if current else ""))
    return Piece(f"<a{more}>{_title(title)}{''.join(one.svg for one in some)}</a>", around(one.box for one in some if one.box), _all_hatches(some))


def crossed(x: float, y: float, half: float, *, weight: float) -> Piece:
    """Return a cross that keeps legible on lines."""
    d = f"M-{number(half)} -{number(half)}L{number(half)} {number(half)}M-{number(half)} {number(half)}L{number(half)} -{number(half)}"
    return group((path(d, at=(x, y), stroke=PAPER, weight=HALO), path(d, at=(x, y), stroke=INK, weight=weight)))


def hatch_name(hatch: Hatch) -> str:
    """Return the name of a hatching within a piece; a picture makes it its own."""
    return f"hatch-{hatch.name}"


def _paint(fill: Paint, stroke: Paint, weight: float | None, dash: str) -> str:
    return "".join((f' fill="{_colour(fill)}"' if fill is not None else "", f' stroke="{_colour(stroke)}"' if stroke is not None else "",
                    f' stroke-width="{number(weight)}"' if weight is not None else "", f' stroke-dasharray="{dash}"' if dash else ""))


def _colour(paint: Colour | Hatch | str) -> str:
    if isinstance(paint, Hatch):
        return f"url(#{hatch_name(paint)})"
    return paint.light if isinstance(paint, Colour) else paint


def _hatches(paint: Paint) -> tuple[Hatch, ...]:
    return (paint,) if isinstance(paint, Hatch) else ()


def _all_hatches(pieces: Iterable[Piece]) -> tuple[Hatch, ...]:
    return tuple(dict.fromkeys(hatch for piece in pieces for hatch in piece.hatches))


def _kind(kind: str) -> str:
    return f' class="{escaped(kind)}"' if kind else ""


def _data(data: Mapping[str, str] | None) -> str:
    return "".join(f' data-{name}="{escaped(value)}"' for name, value in (data or {}).items())


def _title(title: str) -> str:
    return f"<title>{escaped(title)}</title>" if title else ""
