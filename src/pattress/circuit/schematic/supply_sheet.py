"""The sheet of the controller's own supply: module across the barrier, mains inlet at its right, board supply and status lamp at its left."""

from collections.abc import Sequence
from math import pi, sin

from pattress.circuit.model import Circuit, Component, Kind, Pin, Role
from pattress.circuit.parts import FIVE, GROUND, THREE
from pattress.circuit.schematic.canvas import LINE, Canvas, Lead, Words, boxed, fitted, wrapped
from pattress.circuit.schematic.relay_rows import board_pin
from pattress.circuit.schematic.symbols import Stroke

LINE_ROW, APART, SUPPLY_LEFT, SUPPLY_RIGHT = 14, 12, 54, 62
LAMP_ROW = 38
OPEN_ROW, OPEN_PITCH = 50, 4


def supply(canvas: Canvas, circuit: Circuit, drawn: Sequence[str]) -> None:
    """Draw the sheet; `drawn` are the nets of the board's signals that other sheets hold."""
    board = next(iter(circuit.of(Kind.BOARD)), None)
    module = next(iter(circuit.of(Kind.SUPPLY)), None)
    inlet = next((block.components for block in circuit.blocks if any(one.kind is Kind.FUSE for one in block.components)), ())
    bleeds = [one for one in inlet if one.kind is Kind.RESISTOR]
    low = LINE_ROW + max(APART, 7 * len(bleeds) - 2)
    warning = next((pin for pin in module.pins if pin.role is Role.SINK), None) if module else None
    if module:
        _module(canvas, module, low)
        _inlet(canvas, inlet, bleeds, module, low)
    if board:
        _board(canvas, board, warning, low)
        _rails(canvas, circuit, module, warning, low)
        _lamp(canvas, circuit, board)
        _open_pins(canvas, board, {*drawn, "status", *([warning.net] if warning else [])})


def _module(canvas: Canvas, module: Component, low: int) -> None:
    heights = {}
    for pin in module.pins:
        heights[pin.number] = LINE_ROW if pin.role is Role.SOURCE and pin.net == FIVE else low
    live, back = (pin for pin in module.pins if pin.side == 1)
    heights[live.number], heights[back.number] = LINE_ROW, low
    leads, words = [], [Words(57.6, LINE_ROW - 4.7, module.designator, "end", "ref"), Words(57.6, LINE_ROW - 3.4, fitted(module.value, 12.0), "end")]
    for pin in module.pins:
        y = LINE_ROW + 8 if pin.role is Role.SINK else heights[pin.number]
        outer, inner = (SUPPLY_RIGHT + 2, SUPPLY_RIGHT) if pin.side == 1 else (SUPPLY_LEFT - 2, SUPPLY_LEFT)
        leads.append(Lead(pin.number, (outer, y), (inner, y), ((outer + inner) / 2, y - 0.3)))
    middle = (LINE_ROW + low) / 2
    signs = [*_equals(SUPPLY_LEFT + 2, middle), *_tilde(SUPPLY_RIGHT - 2, middle)]
    canvas.part(module, [boxed(SUPPLY_LEFT, LINE_ROW - 3, SUPPLY_RIGHT, low + 3), *signs], leads, words)


def _equals(x: float, y: float) -> list[Stroke]:
    return [Stroke(((x - 0.7, y + shift), (x + 0.7, y + shift))) for shift in (-0.25, 0.25)]


def _tilde(x: float, y: float) -> list[Stroke]:
    return [Stroke(tuple((x - 0.8 + 1.6 * step / 16, y - 0.35 * sin(2 * pi * step / 16)) for step in range(17)))]


def _inlet(canvas: Canvas, inlet: Sequence[Component], bleeds: Sequence[Component], module: Component, low: int) -> None:
    live, back = (pin for pin in module.pins if pin.side == 1)
    fuse = next((one for one in inlet if one.kind is Kind.FUSE), None)
    y = LINE_ROW
    if bleeds:
        at = y
        for place, one in enumerate(bleeds):
            canvas.two(one, 68, at, upright=True, room=7)
            last = place + 1 == len(bleeds)
            canvas.wire((68, at + 5), (68, low if last else at + 7), mains=True)
            if not last:
                canvas.name_beside(one.pins[1].net, 68, at + 6)
            at += 7
    for kind, x in ((Kind.CAPACITOR, 77), (Kind.VARISTOR, 86)):
        for one in (one for one in inlet if one.kind is kind):
            start = (y + low - 5) // 2
            canvas.wire((x, y), (x, start), mains=True)
            canvas.two(one, x, start, upright=True, room=6.5, note=one.rating.partition(",")[0])
            canvas.wire((x, start + 5), (x, low), mains=True)
    canvas.wire((SUPPLY_RIGHT + 2, low), (95, low), mains=True)
    canvas.flag(95, low, back.net, onward=False, words=_alone(canvas, back.net))
    canvas.wire((SUPPLY_RIGHT + 2, y), (88, y), mains=True)
    canvas.net(live.net, 78, y, shift=0.3)
    if fuse:
        canvas.two(fuse, 88, y, first=fuse.pins[1].number, room=12)
        canvas.wire((93, y), (95, y), mains=True)
        canvas.flag(95, y, fuse.pins[0].net, onward=False, words=_alone(canvas, fuse.pins[0].net))
        for height, net in ((y, fuse.pins[0].net), (low, back.net)):
            if net in canvas.after and net in canvas.before:
                canvas.wire((95, height), (95, height + 3), mains=True)
                canvas.flag(95, height + 3, net, onward=True)


def _alone(canvas: Canvas, net: str) -> str:
    return "" if net in canvas.before or net in canvas.after else "-"


def _board(canvas: Canvas, board: Component, warning: Pin | None, low: int) -> None:
    supplies = [(pin, y) for net, y in ((FIVE, LINE_ROW), (THREE, LINE_ROW + 4), (GROUND, low)) for pin in board.pins if pin.net == net]
    if warning:
        supplies += [(pin, LINE_ROW + 8) for pin in board.pins if pin.net == warning.net]
    leads = [Lead(pin.number, (18, y), (15, y), (15.2, y - 0.3), "start") for pin, y in supplies]
    words = [Words(9.4, LINE_ROW - 1.3, board.designator, "start", "ref"), *(Words(14.6, y + 0.36, fitted(pin.name, 5.4), "end") for pin, y in supplies if pin.name and pin.name != pin.number)]
    canvas.part(board, [boxed(9, LINE_ROW - 3, 15, low + 3)], leads, words, dashed=True)
    for row, one in enumerate(wrapped(board.value, 24.0, 2)):
        canvas.say(9, LINE_ROW - 5.6 + LINE * row, one)


def _rails(canvas: Canvas, circuit: Circuit, module: Component | None, warning: Pin | None, low: int) -> None:
    end = SUPPLY_LEFT - 2 if module else 48
    canvas.wire((18, LINE_ROW), (end, LINE_ROW))
    canvas.wire((18, low), (end, low))
    canvas.wire((18, LINE_ROW + 4), (22, LINE_ROW + 4))
    canvas.rail(48, LINE_ROW, FIVE)
    canvas.rail(48, low, GROUND, left=True)
    canvas.rail(22, LINE_ROW + 4, THREE)
    block = next((block for block in circuit.blocks if module in block.components), None)
    for place, one in enumerate(one for one in (block.components if block else ()) if one.kind is Kind.CAPACITOR):
        x = 39 - 12 * place
        canvas.wire((x, LINE_ROW), (x, LINE_ROW + 2))
        canvas.two(one, x, LINE_ROW + 2, upright=True, room=8.5, note=one.rating.partition(",")[0])
        canvas.wire((x, LINE_ROW + 7), (x, low))
    if warning:
        canvas.wire((18, LINE_ROW + 8), (end, LINE_ROW + 8))
        canvas.net(warning.net, 18, LINE_ROW + 8, shift=0.9)


def _lamp(canvas: Canvas, circuit: Circuit, board: Component) -> None:
    lamp = next(iter(circuit.of(Kind.LAMP)), None)
    if not lamp:
        return
    resistor = next(one for one, _ in circuit.by_net[lamp.pins[0].net] if one.kind is Kind.RESISTOR)
    y, net = LAMP_ROW, resistor.pins[0].net
    start = board_pin(canvas, board, net, y)
    canvas.wire((start, y), (30, y))
    canvas.net(net, start, y, shift=0.9)
    canvas.two(resistor, 30, y)
    canvas.wire((35, y), (46, y))
    canvas.net(lamp.pins[0].net, 35, y, shift=0.7)
    canvas.two(lamp, 46, y, upright=True, left=True, room=20)
    canvas.rail(46, y + 5, GROUND)


def _open_pins(canvas: Canvas, board: Component, drawn: set[str]) -> None:
    """Draw the board's pins that no part hangs on, so that each is on a sheet."""
    left = [pin for pin in board.pins if pin.net not in drawn and pin.net not in (FIVE, THREE, GROUND)]
    for place, pin in enumerate(left):
        x, y = 9 + 16 * (place // OPEN_PITCH), OPEN_ROW + OPEN_PITCH * (place % OPEN_PITCH)
        board_pin(canvas, board, pin.net, y, left=x)
        canvas.flag(x + 9, y, pin.net, words="-")
