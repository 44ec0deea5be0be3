"""A whole drawing: pieces in a frame, with a title and the words for those who do not see it."""

import re
from dataclasses import dataclass
from zlib import crc32

from pattress.drawing.box import Box
from pattress.drawing.lettering import SANS, Lettering
from pattress.drawing.look import INK, PAPER, PRINTED, TEXT, Hatch, Medium, dark_rules
from pattress.drawing.pieces import NOTHING, Piece, escaped, group, hatch_name, number, path, rectangle

_PAINTED = re.compile(' (fill|stroke)="(#[0-9a-f]{6})"')
_HATCHED = re.compile('(?<=="url\\(#)hatch-')


@dataclass(frozen=True, slots=True)
class Picture:
    """What is drawn. `alt` says in words what it shows; `has_links` where its parts lead somewhere, so that each is met by itself;
    one that `is_stretched` fills whatever room it gets and holds no words.

    Raises ValueError without a title or without those words.
    """

    title: str
    alt: str
    frame: Box
    pieces: tuple[Piece, ...]
    lettering: Lettering = SANS
    size: float = TEXT
    kind: str = ""
    has_links: bool = False
    is_stretched: bool = False

    def __post_init__(self) -> None:
        for name, words in (("title", self.title), ("alt text", self.alt)):
            if not words.strip():
                raise ValueError(f"a drawing needs a {name}, found {words!r}")

    def svg(self, medium: Medium = Medium.FILE, *, width: str = "") -> str:
        """Return it as SVG that needs nothing beside it, but on a page the style sheet of that page; `width` is what it takes there."""
        paper = () if medium is Medium.PAGE else (rectangle(self.frame, fill=PAPER),)
        hatches = tuple(dict.fromkeys(hatch for piece in self.pieces for hatch in piece.hatches))
        kinds, wide = f"drawing {self.kind}".rstrip(), f' width="{width}"' if width else ""
        letters = 'preserveAspectRatio="none" ' if self.is_stretched else f'font-family="{self.lettering.family}" font-size="{number(self.size)}" '
        text = "\n".join((
            f'<svg xmlns="http://www.w3.org/2000/svg" class="{kinds}"{wide} '
            f'viewBox="{number(self.frame.left)} {number(self.frame.top)} {number(self.frame.width)} {number(self.frame.height)}" '
            f'role="{"group" if self.has_links else "img"}" {letters}fill="{INK.light}">',
            f"<title>{escaped(self.title)}</title>", f"<desc>{escaped(self.alt)}</desc>",
            *((f"<style>{dark_rules()}</style>",) if medium is Medium.FILE else ()),
            *((f"<defs>{''.join(map(_tile, hatches))}</defs>",) if hatches else ()),
            *(piece.svg for piece in (*paper, *self.pieces)), "</svg>", "",
        ))
        own = f"h{crc32((self.title + self.alt).encode('utf-8', 'replace')):x}-"
        text = _HATCHED.sub(own, text).replace('<pattern id="hatch-', f'<pattern id="{own}')
        return _PAINTED.sub(lambda found: f' {found[1]}="{PRINTED[found[2]]}"', text) if medium is Medium.PAPER else text

    def outside(self) -> tuple[str, ...]:
        """Return the pieces that leave the frame."""
        return tuple(piece.svg for piece in self.pieces if piece.box and not self.frame.holds(piece.box))


def _tile(hatch: Hatch) -> str:
    tile = (*((rectangle(Box(0, 0, hatch.size, hatch.size), fill=hatch.ground),) if hatch.ground else ()),
            path(hatch.path, fill=NOTHING, stroke=hatch.line, weight=hatch.weight))
    turn = f' patternTransform="rotate({number(hatch.turn)})"' if hatch.turn else ""
    size = number(hatch.size)
    return f'<pattern id="{hatch_name(hatch)}" width="{size}" height="{size}" patternUnits="userSpaceOnUse"{turn}>{group(tile).svg}</pattern>'
