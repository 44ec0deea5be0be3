"""Whether a drawing can be read when it is printed, and how it is parted into sheets that can.

A drawing fills a page laid level (`sheet.typ`), within the margins here, so a tall one is printed
small. Seven points is the least that a person reads without a glass (common practice, no source).
"""

from collections.abc import Callable, Sequence
from typing import TypeVar

from pattress.drawing.lettering import ASCENT, DESCENT
from pattress.drawing.sheet import Drawing

PAPERS = {"a4": (297.0, 210.0), "letter": (279.4, 215.9)}      # laid level [mm]; ISO 216 and ANSI/ASME Y14.1 (from memory)
BESIDE, ABOVE, BELOW = 7.0, 7.0, 19.0                          # margins at left and right, at top, at bottom with the title block [mm], as in sheet.typ
LEAST = 7.0                                                    # letters [pt]
POINTS_PER_MM = 72.0 / 25.4
TRIED_WITH = 9                                                 # sheets said in a title while it is not known how many there are

Piece = TypeVar("Piece")


def letters(drawing: Drawing, paper: str) -> float:
    """Return the size of the smallest letters of a drawing on a paper [pt]."""
    wide, high = PAPERS[paper]
    scale = min((wide - 2 * BESIDE) / drawing.width, (high - ABOVE - BELOW) / drawing.height)
    smallest = min(label.box.bottom - label.box.top for label in drawing.labels) / (ASCENT + DESCENT)
    return smallest * scale * POINTS_PER_MM


def is_legible(drawing: Drawing) -> bool:
    """Return whether no letter is smaller than `LEAST` on any paper."""
    return all(letters(drawing, paper) >= LEAST for paper in PAPERS)


def over_sheets(pieces: Sequence[Piece], draw: Callable[[Sequence[Piece], int, int], Drawing]) -> tuple[Drawing, ...]:
    """Return drawings of all pieces in their order, as many on each as can be read, at least one.

    `draw` gets the pieces of one sheet, its number from 1, and how many sheets there are.
    """
    parts: list[list[Piece]] = []
    left = list(pieces)
    while left:
        count = len(left)
        while count > 1 and not is_legible(draw(left[:count], len(parts) + 1, TRIED_WITH if parts or count < len(left) else 1)):
            count -= 1
        parts.append(left[:count])
        left = left[count:]
    return tuple(draw(part, number, len(parts)) for number, part in enumerate(parts, 1))


def numbered(words: str, number: int, of: int) -> str:
    """Return a title with the sheet's number where there are several."""
    return f"{words}, {number} of {of}" if of > 1 else words
