"""The sheet itself: A4 laid level with its frame, zones, grid and title block. Lengths in mm; places in grid units of 2.5 mm."""

from collections.abc import Iterator
from dataclasses import dataclass

from pattress.circuit.designators import SCHEME
from pattress.circuit.schematic.symbols import Practice
from pattress.drawing import Box, Piece
from pattress.drawing.lettering import MONO
from pattress.drawing.look import INK
from pattress.drawing.pieces import line, rectangle, text

UNIT = 2.5                                                   # mm
WIDTH, HEIGHT = 297.0, 210.0
LEFT, TOP, RIGHT, BOTTOM, BLOCK = 20.0, 10.0, 287.0, 200.0, 172.0     # the frame, and the upper edge of the title block
COLUMNS, ROWS = 6, "ABCD"
BARRIER = 58                                                 # units
SIZE, HEAD = 2.5, 3.6                                        # of letters; capitals of DejaVu Sans Mono are 0.729 of it: 1.82 mm (measured in the font)
LETTER = MONO.width("x", SIZE) / UNIT                        # units that one letter takes
THIN, SYMBOL, MAINS, THICK, HEAVY = 0.25, 0.35, 0.5, 0.6, 0.7
LINE = 3.1 / UNIT                                            # units from line to line of words
CAUTION = "Mains can kill. Work dead and proved dead; a relay is no isolation."
_CELL = 7.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Identity:
    """What the title block says of this issue; "" leaves a field empty, to be written by hand."""

    revision: str = ""
    date: str = ""
    drawn: str = ""
    checked: str = ""
    job_digest: str = ""
    program_digest: str = ""
    status: str = ""


def zone(x: float, y: float) -> str:
    """Return the zone of a point in units: row letter, column digit."""
    column = min(max(int((x * UNIT - LEFT) / ((RIGHT - LEFT) / COLUMNS)), 0), COLUMNS - 1)
    row = min(max(int((y * UNIT - TOP) / ((BOTTOM - TOP) / len(ROWS))), 0), len(ROWS) - 1)
    return f"{ROWS[row]}{column + 1}"


def framed(job: str, name: str, number: int, of: int, identity: Identity, practice: Practice) -> Iterator[Piece]:
    """Yield the frame with its zones and the title block."""
    yield rectangle(Box(LEFT, TOP, RIGHT, BOTTOM), stroke=INK, weight=HEAVY)
    yield from _zones()
    yield _rule(LEFT, BLOCK, RIGHT, BLOCK, HEAVY)
    yield from _revisions(identity)
    lines = (*((words, True) for words in MONO.wrapped(CAUTION, 53.0, SIZE)), *((words, False) for words in MONO.wrapped(SCHEME, 53.0, SIZE)),
             (f"Symbols: {practice.value}.", False))
    for row, (words, bold) in enumerate(lines):
        yield _say(97.5, BLOCK + 3.4 + 3.1 * row, words, bold=bold)
    yield from (_rule(x, BLOCK, x, BOTTOM, THIN) for x in (96.0, 152.0))
    yield from _cells(job, name, f"{number} of {of}", identity)


def _zones() -> Iterator[Piece]:
    wide, high = (RIGHT - LEFT) / COLUMNS, (BOTTOM - TOP) / len(ROWS)
    for column in range(COLUMNS):
        x = LEFT + wide * column
        yield from (_say(x + wide / 2, y, str(column + 1), anchor="middle") for y in (TOP - 1.6, BOTTOM + 3.5))
        if column:
            yield from (_rule(x, y, x, y + 4, THIN) for y in (TOP - 4, BOTTOM))
    for row, letter in enumerate(ROWS):
        y = TOP + high * row
        yield from (_say(x, y + high / 2 + 0.9, letter, anchor="middle") for x in (LEFT - 2.5, RIGHT + 2.5))
        if row:
            yield from (_rule(x, y, x + 4, y, THIN) for x in (LEFT - 4, RIGHT))


def _revisions(identity: Identity) -> Iterator[Piece]:
    columns = (LEFT, LEFT + 9.0, LEFT + 29.0, 85.0)
    yield from (_say(x + 1.0, BLOCK + 4.6, words, bold=True) for x, words in zip(columns, ("Rev", "Date", "Change", "By"), strict=True))
    yield from (_say(x + 1.0, BLOCK + _CELL + 4.6, MONO.shortened(words, room, SIZE))
                for x, words, room in zip(columns, (identity.revision, identity.date, "", identity.drawn if identity.revision else ""), (7.0, 18.0, 0.0, 9.0), strict=True) if words)
    yield from (_rule(LEFT, BLOCK + _CELL * row, 96.0, BLOCK + _CELL * row, THIN) for row in range(1, 4))
    yield from (_rule(x, BLOCK, x, BOTTOM, THIN) for x in columns[1:])


def _cells(job: str, name: str, number: str, identity: Identity) -> Iterator[Piece]:
    fields = (
        (0, 0, 88, "Job", job, HEAD), (88, 0, 24, "Sheet", number, HEAD), (112, 0, 23, "Revision", identity.revision, HEAD),
        (0, 1, 112, "Circuit diagram", name, SIZE), (112, 1, 23, "Date", identity.date, SIZE),
        (0, 2, 46, "Drawn", identity.drawn, SIZE), (46, 2, 42, "Checked", identity.checked, SIZE), (88, 2, 47, "Scale", "none; grid 2.5 mm", SIZE),
        (0, 3, 46, "Digest of job", identity.job_digest, SIZE), (46, 3, 42, "Digest of program", identity.program_digest, SIZE),
        (88, 3, 47, "Status", identity.status, SIZE))
    for x, row, wide, label, words, size in fields:
        left, top = 152.0 + x, BLOCK + _CELL * row
        yield rectangle(Box(left, top, left + wide, top + _CELL), stroke=INK, weight=THIN)
        yield _say(left + 1.2, top + 2.6, label)
        if words:
            yield text(left + 1.2, top + 6.2, MONO.shortened(words, wide - 2.0, size, bold=True), size=size, bold=True, lettering=MONO, as_around=SIZE)


def _say(x: float, y: float, words: str, *, anchor: str = "start", bold: bool = False) -> Piece:
    return text(x, y, words, size=SIZE, anchor=anchor, bold=bold, lettering=MONO, as_around=SIZE)


def _rule(x1: float, y1: float, x2: float, y2: float, weight: float) -> Piece:
    return line(((x1, y1), (x2, y2)), weight=weight)
