"""The board drawn from above with every wire at its pin, as one SVG that needs nothing beside it."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from html import escape

from pattress.pins.best import Placement
from pattress.pins.demands import CONTACT, LAMP, RECEIVER, RELAY, SENSOR, WARNING
from pattress.stock.boards import Board, Pin

FREE, TAKEN = "#ffffff", "#c9c9c9"      # a free pin, and one the board uses itself
# Fill of a pin by what hangs on it; dark enough for the outline, told in the legend and by the wire's name too.
FILLS = {RELAY: "#d98a3d", CONTACT: "#5b8fd6", WARNING: "#5b8fd6", RECEIVER: "#9a6fc2", SENSOR: "#4fa37a", LAMP: "#e3c443"}
LEGEND = ((RELAY, "relay"), (CONTACT, "contact"), (RECEIVER, "infra-red"), (SENSOR, "sensor"), (LAMP, "status lamp"))
NOTE = ("Places without a pin are power, ground or reset.", "Wire the board with all power off.")


@dataclass(frozen=True, slots=True)
class Layout:
    """Sizes of the picture [px]: height of a row, widths of the whole and of the board, signs of a wire's name, entries of the legend in a row."""

    row: int
    width: int
    board: int
    most: int
    across: int


PAPER = Layout(row=24, width=760, board=220, most=40, across=7)
NARROW = Layout(row=34, width=420, board=124, most=20, across=4)      # for a telephone, with room for a finger
TOP, LEGEND_ROW, BOTTOM = 56, 24, 76


def picture(board: Board, placed: Iterable[Placement], layout: Layout = PAPER, around: Callable[[Pin, str], str] | None = None) -> str:
    """Return the SVG of a board and its wires. Places without a pin here are power, ground or reset.

    `around` may wrap the drawing of a pin and an unseen area around it, in a link for example.
    """
    wires = {one.pin.gpio: one for one in placed}
    rows = -(-(len(LEGEND) + 2) // layout.across)
    height = TOP + board.rows * layout.row + BOTTOM + (rows - 1) * LEGEND_ROW + 16 * (layout is not PAPER) * len(NOTE)
    left = (layout.width - layout.board) // 2
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {layout.width} {height}" role="{"group" if around else "img"}" '
        'font-family="sans-serif" font-size="13">',
        f"<title>Wires on the board {escape(board.type)}</title>",
        f'<rect width="{layout.width}" height="{height}" fill="#ffffff"/>',
        _text(layout.width / 2, 22, board.title, anchor="middle", more='font-weight="bold"'),
        *_view(board, layout),
        f'<rect x="{left}" y="{TOP}" width="{layout.board}" height="{board.rows * layout.row}" rx="8" '
        'fill="#eef2ee" stroke="#44574a"/>',
    ]
    for pin in board.pins:
        if pin.edge:
            drawn = _pin(pin, TOP + (board.row(pin) + 0.5) * layout.row, wires.get(pin.gpio), layout)
            parts.append(around(pin, _reach(pin, board, layout) + drawn) if around else drawn)
    return "\n".join([*parts, *_legend(TOP + board.rows * layout.row + 32, layout), "</svg>"])


def _reach(pin: Pin, board: Board, layout: Layout) -> str:
    """Return an unseen area as large as there is room for, so that a finger finds the pin."""
    left = 0 if pin.edge == "left" else layout.width // 2
    return f'<rect class="reach" x="{left}" y="{TOP + board.row(pin) * layout.row}" width="{layout.width // 2}" height="{layout.row}" fill="none" pointer-events="all"/>'


def _view(board: Board, layout: Layout) -> list[str]:
    """Return from where the board is seen, in as few lines as the width allows."""
    words = board.view if layout.width > 600 else board.view.partition(";")[0]
    return [_text(layout.width / 2, 40, words, anchor="middle", more='font-size="11" fill="#555555"')]


def _pin(pin: Pin, y: float, placed: Placement | None, layout: Layout) -> str:
    """Return a pin: its hole, its name on the board, and what hangs on it outside; a soldered one is square."""
    left = pin.edge == "left"
    edge = (layout.width - layout.board) // 2
    x, inwards = (edge, 1) if left else (edge + layout.board, -1)
    inner, outer = ("start", "end") if left else ("end", "start")
    used = pin.reserved or ("console" if pin.console else "")
    fill = FILLS.get(placed.demand.need, TAKEN) if placed else TAKEN if used else FREE
    is_plain = layout is not PAPER and pin.label or pin.label.endswith(str(pin.gpio))
    name = pin.label if is_plain else f"{pin.label} = GPIO{pin.gpio}"
    at = x + inwards * 12
    hole = f'<circle cx="{at}" cy="{y}" r="7" fill="{fill}" stroke="#333333"/>'
    if placed and placed.fixed:
        hole = f'<rect x="{at - 7}" y="{y - 7}" width="14" height="14" fill="{fill}" stroke="#333333"/>'
    parts = [hole, _text(x + inwards * 26, y + 4, name, anchor=inner, more='font-size="12"')]
    if placed:
        mark = " (soldered)" if placed.fixed and layout is PAPER else ""
        parts.append(f'<path d="M{x + inwards * 5} {y}H{x - inwards * 22}" stroke="#333333"/>')
        parts.append(_text(x - inwards * 28, y + 4, _short(placed.demand.name, layout) + mark, anchor=outer, more=""))
    elif used:
        parts.append(_text(x - inwards * 28, y + 4, _short(used, layout), anchor=outer, more='fill="#666666" font-style="italic"'))
    return "".join(parts)


def _short(words: str, layout: Layout) -> str:
    return words if len(words) <= layout.most else words[:layout.most - 1] + "\u2026"


def _legend(y: float, layout: Layout) -> list[str]:
    """Return what each fill means."""
    parts = []
    for number, (fill, words) in enumerate((*((FILLS[need], words) for need, words in LEGEND),
                                            (FREE, "free"), (TAKEN, "the board's own"))):
        x, at = (30 if layout is PAPER else 16) + number % layout.across * 102, y + number // layout.across * LEGEND_ROW
        parts.append(f'<circle cx="{x}" cy="{at}" r="7" fill="{fill}" stroke="#333333"/>')
        parts.append(_text(x + 12, at + 4, words, anchor="start", more='font-size="11"'))
    below = y + (len(LEGEND) + 1) // layout.across * LEGEND_ROW + 28
    notes = [" ".join(NOTE)] if layout is PAPER else ["A square is a wire that the job file keeps at its pin.", *NOTE]
    return [*parts, *(_text(30 if layout is PAPER else 9, below + 16 * number, note, anchor="start", more='font-size="11" fill="#555555"')
                      for number, note in enumerate(notes))]


def _text(x: float, y: float, words: str, *, anchor: str, more: str) -> str:
    return f'<text x="{x}" y="{y}" text-anchor="{anchor}" {more}>{escape(words)}</text>'
