"""The board drawn from above with every wire at its pin, as one SVG that needs nothing beside it."""

from html import escape

from pattress.pins.best import Assignment, Placement
from pattress.pins.demands import CONTACT, LAMP, RECEIVER, RELAY, SENSOR
from pattress.stock.boards import Board, Pin

ROW, TOP, BOTTOM = 24, 56, 76            # heights [px]
WIDTH, BOARD_LEFT, BOARD_RIGHT = 760, 270, 490
FREE, TAKEN = "#ffffff", "#c9c9c9"      # a free pin, and one the board uses itself
# Fill of a pin by what hangs on it; dark enough for the outline, told in the legend and by the wire's name too.
FILLS = {RELAY: "#d98a3d", CONTACT: "#5b8fd6", RECEIVER: "#9a6fc2", SENSOR: "#4fa37a", LAMP: "#e3c443"}
LEGEND = ((RELAY, "relay"), (CONTACT, "contact"), (RECEIVER, "infra-red"), (SENSOR, "sensor"), (LAMP, "status lamp"))


def picture(board: Board, result: Assignment) -> str:
    """Return the SVG of a board and its wires. Places without a pin here are power, ground or reset."""
    wires = {placed.pin.gpio: placed for placed in result.pins}
    height = TOP + board.rows * ROW + BOTTOM
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" role="img" '
        'font-family="sans-serif" font-size="13">',
        f"<title>Wires on the board {escape(board.type)}</title>",
        f'<rect width="{WIDTH}" height="{height}" fill="#ffffff"/>',
        _text(WIDTH / 2, 22, board.title, anchor="middle", more='font-weight="bold"'),
        _text(WIDTH / 2, 40, board.view, anchor="middle", more='font-size="11" fill="#555555"'),
        f'<rect x="{BOARD_LEFT}" y="{TOP}" width="{BOARD_RIGHT - BOARD_LEFT}" height="{board.rows * ROW}" rx="8" '
        'fill="#eef2ee" stroke="#44574a"/>',
    ]
    parts += [_pin(pin, TOP + (board.row(pin) + 0.5) * ROW, wires.get(pin.gpio)) for pin in board.pins if pin.edge]
    return "\n".join([*parts, *_legend(height - BOTTOM + 32), "</svg>"])


def _pin(pin: Pin, y: float, placed: Placement | None) -> str:
    """Return a pin: its hole, its name on the board, and what hangs on it outside."""
    left = pin.edge == "left"
    x, inwards = (BOARD_LEFT, 1) if left else (BOARD_RIGHT, -1)
    inner, outer = ("start", "end") if left else ("end", "start")
    used = pin.reserved or ("console" if pin.console else "")
    fill = FILLS.get(placed.demand.need, TAKEN) if placed else TAKEN if used else FREE
    name = pin.label if pin.label.endswith(str(pin.gpio)) else f"{pin.label} = GPIO{pin.gpio}"
    parts = [
        f'<circle cx="{x + inwards * 12}" cy="{y}" r="7" fill="{fill}" stroke="#333333"/>',
        _text(x + inwards * 26, y + 4, name, anchor=inner, more='font-size="12"'),
    ]
    if placed:
        mark = " (soldered)" if placed.fixed else ""
        parts.append(f'<path d="M{x + inwards * 5} {y}H{x - inwards * 22}" stroke="#333333"/>')
        parts.append(_text(x - inwards * 28, y + 4, placed.demand.name + mark, anchor=outer, more=""))
    elif used:
        parts.append(_text(x - inwards * 28, y + 4, used, anchor=outer, more='fill="#666666" font-style="italic"'))
    return "".join(parts)


def _legend(y: float) -> list[str]:
    """Return what each fill means, in one row."""
    parts = []
    for number, (fill, words) in enumerate((*((FILLS[need], words) for need, words in LEGEND),
                                            (FREE, "free"), (TAKEN, "the board's own"))):
        x = 30 + number * 102
        parts.append(f'<circle cx="{x}" cy="{y}" r="7" fill="{fill}" stroke="#333333"/>')
        parts.append(_text(x + 12, y + 4, words, anchor="start", more='font-size="11"'))
    note = "Places without a pin are power, ground or reset. Wire the board with all power off."
    return [*parts, _text(30, y + 28, note, anchor="start", more='font-size="11" fill="#555555"')]


def _text(x: float, y: float, words: str, *, anchor: str, more: str) -> str:
    return f'<text x="{x}" y="{y}" text-anchor="{anchor}" {more}>{escape(words)}</text>'
