"""The board drawn from above with every wire at its pin."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from pattress.drawing import Box, Picture, Piece
from pattress.drawing.lettering import LEADING, SANS
from pattress.drawing.look import BLUE, GREEN, INK, NAME, ORANGE, PAPER, RULE, SMALL, SOFT, SYMBOL, TEXT, TICK, VIOLET, WASH, YELLOW
from pattress.drawing.pieces import circle, group, line, paragraph, rectangle, text
from pattress.pins.best import Placement
from pattress.pins.demands import CONTACT, LAMP, RECEIVER, RELAY, SENSOR, WARNING
from pattress.stock.boards import Board, Pin

FREE, TAKEN = PAPER, RULE      # a free pin, and one the board uses itself
# Fill of a pin by what hangs on it; told in the legend and by the wire's name too.
FILLS = {RELAY: ORANGE, CONTACT: BLUE, WARNING: BLUE, RECEIVER: VIOLET, SENSOR: GREEN, LAMP: YELLOW}
LEGEND = ((RELAY, "relay"), (CONTACT, "contact"), (RECEIVER, "infra-red"), (SENSOR, "sensor"), (LAMP, "status lamp"))
NOTE = ("Places without a pin are power, ground or reset.", "Wire the board with all power off.")
SQUARE = "A square is a wire that the job file keeps at its pin."


@dataclass(frozen=True, slots=True)
class Layout:
    """Sizes of the picture: height of a row, widths of the whole and of the board, its letters, room for an entry of the legend, what is said in full."""

    row: int
    width: int
    board: int
    size: float
    entry: float
    in_full: bool


PRINTED = Layout(row=24, width=760, board=220, size=NAME, entry=102, in_full=True)
NARROW = Layout(row=34, width=420, board=140, size=TEXT, entry=130, in_full=False)      # for a telephone, with room for a finger
MARGIN, LEGEND_ROW, HOLE = 14.0, 24.0, 7.0
LINE = 1.08                                           # em from line to line of a name on two
INWARDS, OUTWARDS = 24.0, 28.0                        # from the edge of the board to the words within and beside it


def pinout(board: Board, placed: Iterable[Placement], layout: Layout = PRINTED, around: Callable[[Pin, tuple[Piece, ...]], Piece] | None = None) -> Picture:
    """Return a board and its wires. Places without a pin here are power, ground or reset.

    `around` may gather what is drawn of a pin and an unseen area around it, as a link for example.
    """
    wires = {one.pin.gpio: one for one in placed}
    room, view = layout.width - 2 * MARGIN, board.view if layout.in_full else board.view.partition(";")[0]
    head, y = paragraph(layout.width / 2, 22, board.title, room, size=TEXT, anchor="middle", bold=True)
    seen, y = paragraph(layout.width / 2, y, view, room, size=layout.size, anchor="middle", colour=SOFT)
    edges = Box((layout.width - layout.board) / 2, y, (layout.width + layout.board) / 2, y + board.rows * layout.row)
    parts = [*head, *seen, rectangle(edges, fill=WASH, stroke=INK, weight=SYMBOL)]
    for pin in board.pins:
        if pin.edge:
            drawn = tuple(_pin(pin, edges.top + (board.row(pin) + 0.5) * layout.row, wires.get(pin.gpio), edges, layout))
            parts.append(around(pin, (_reach(pin, edges.top + board.row(pin) * layout.row, layout), *drawn)) if around else group(drawn))
    legend, bottom = _legend(edges.bottom + 32, layout)
    at = (f"{one.demand.name} at {one.pin.label}" for one in wires.values())
    return Picture(f"Wires on the board {board.type}", "; ".join(at) or "no wire at any pin", Box(0, 0, layout.width, bottom), (*parts, *legend),
                   size=layout.size, has_links=around is not None)


def _reach(pin: Pin, top: float, layout: Layout) -> Piece:
    """Return an unseen area as large as there is room for, so that a finger finds the pin."""
    left = 0.0 if pin.edge == "left" else layout.width / 2
    return rectangle(Box(left, top, left + layout.width / 2, top + layout.row), kind="reach", hidden=True)


def _pin(pin: Pin, y: float, placed: Placement | None, edges: Box, layout: Layout) -> Iterable[Piece]:
    """Yield a pin: its hole, its name on the board, and what hangs on it outside; a soldered one is square."""
    left = pin.edge == "left"
    x, inwards = (edges.left, 1) if left else (edges.right, -1)
    inner, outer = ("start", "end") if left else ("end", "start")
    used = pin.reserved or ("console" if pin.console else "")
    fill = FILLS.get(placed.demand.need, TAKEN) if placed else TAKEN if used else FREE
    is_plain = not layout.in_full and pin.label or pin.label.endswith(str(pin.gpio))
    name = pin.label if is_plain else f"{pin.label} = GPIO{pin.gpio}"
    at, base, room = x + inwards * 12, y + 0.36 * layout.size, edges.left - OUTWARDS - MARGIN / 2
    if placed and placed.fixed:
        yield rectangle(Box(at - HOLE, y - HOLE, at + HOLE, y + HOLE), fill=fill, stroke=INK, weight=TICK)
    else:
        yield circle(at, y, HOLE, fill=fill, stroke=INK, weight=TICK)
    yield text(x + inwards * INWARDS, base, SANS.shortened(name, edges.width / 2 - INWARDS, layout.size), size=layout.size, anchor=inner)
    if placed:
        mark = " (soldered)" if placed.fixed and layout.in_full else ""
        yield line(((x + inwards * 5, y), (x - inwards * 22, y)), weight=TICK)
        for row, words in _rows(placed.demand.name + mark, room, base, layout):
            yield text(x - inwards * OUTWARDS, row, words, size=layout.size, anchor=outer)
    elif used:
        for row, words in _rows(used, room, base, layout):
            yield text(x - inwards * OUTWARDS, row, words, size=layout.size, anchor=outer, colour=SOFT, italic=True)


def _rows(words: str, room: float, base: float, layout: Layout) -> Iterable[tuple[float, str]]:
    """Yield words with their base line: on one line, or on two within the row of the pin, broken behind a dot or between words."""
    if SANS.width(words, layout.size) <= room or layout.row < 2 * LINE * layout.size:
        yield base, SANS.shortened(words, room, layout.size)
        return
    places = [at + 1 for at, sign in enumerate(words[:-1]) if sign in ". " and SANS.width(words[:at + 1].rstrip(), layout.size) <= room]
    cut = (min(places, key=lambda at: max(SANS.width(part, layout.size) for part in (words[:at], words[at:]))) if places
           else next(n for n in range(len(words) - 1, 0, -1) if n == 1 or SANS.width(words[:n], layout.size) <= room))
    yield base - LINE * layout.size / 2, words[:cut].rstrip()
    yield base + LINE * layout.size / 2, SANS.shortened(words[cut:], room, layout.size)


def _legend(y: float, layout: Layout) -> tuple[list[Piece], float]:
    """Return what each fill means, what is to be known, and where that ends."""
    parts: list[Piece] = []
    entries = (*((FILLS[need], words) for need, words in LEGEND), (FREE, "free"), (TAKEN, "the board's own"))
    across = int((layout.width - 2 * MARGIN) // layout.entry)
    for number, (fill, words) in enumerate(entries):
        x, at = MARGIN + HOLE + number % across * layout.entry, y + number // across * LEGEND_ROW
        parts += [circle(x, at, HOLE, fill=fill, stroke=INK, weight=TICK), text(x + 12, at + 4, words, size=SMALL if layout.in_full else layout.size)]
    below = y + (len(entries) - 1) // across * LEGEND_ROW + 30
    for note in [" ".join(NOTE)] if layout.in_full else [SQUARE, *NOTE]:
        rows, below = paragraph(MARGIN, below, note, layout.width - 2 * MARGIN, size=layout.size, colour=SOFT)
        parts += rows
    return parts, below - LEADING * layout.size + MARGIN
