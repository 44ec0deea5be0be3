"""How a relay is drawn: driver and coil left of the barrier; contact, snubber, branch and load right of it; and its line sense.

All by fixed places on rows 14 units apart: `y` is the row's height, at which its contact lies.
"""

from math import cos, pi, sin

from pattress.circuit.model import Component, Kind, Pin, Role
from pattress.circuit.parts import EARTH, FIVE, GROUND, THREE
from pattress.circuit.schematic import frame
from pattress.circuit.schematic.canvas import LINE, Canvas, Lead, Words, boxed, fitted, wrapped
from pattress.circuit.schematic.captions import printed_number
from pattress.circuit.schematic.channels import Row
from pattress.circuit.schematic.symbols import Stroke, coil, optocoupler, transistor

FIRST, ROW, ROWS = 12, 14, 4             # the height of the first row, the pitch, and how many a sheet holds
TOP, LAST = 8, 67                        # the heights of flags
LINE_BUS, CONTACT, STRAIGHT, JOIN, NEUTRAL_BUS, TERMINAL, LOAD = 64, 67, 72, 95, 97, 100, 105
TAP = 91                                 # where the line sense leaves the line
COIL = 50


def board_pin(canvas: Canvas, board: Component | None, net: str, y: int, *, left: int = 9) -> int:
    """Draw the piece of the board that drives a net, and return where its pin ends."""
    pin = next((pin for pin in board.pins if pin.net == net), None) if board else None
    if board is None or pin is None:
        return left + 9
    canvas.part(board, [boxed(left, y - 2.2, left + 6, y + 1.5)], [Lead(pin.number, (left + 9, y), (left + 6, y), (left + 6.2, y - 0.3), "start")],
                [Words(left + 0.4, y - 0.9, board.designator, "start", "ref"), *_named(pin, left + 5.6, y, "end")], dashed=True)
    return left + 9


def _named(pin: Pin, x: float, y: float, anchor: str) -> list[Words]:
    return [Words(x, y + 0.36, fitted(pin.name, 5.4), anchor)] if pin.name and printed_number(pin.number) != pin.name else []


def drive(canvas: Canvas, board: Component | None, row: Row, y: int) -> None:
    """Draw a relay's driver and coil; the coil's middle lies half a unit above the contact."""
    is_bare = row.diode is None and row.driver is not None and row.driver.kind is Kind.TRANSISTOR
    top, gate = y - 3, y + 5 + is_bare           # a coil's net needs a wire for its name: without a diode the transistor stands one unit lower
    start = board_pin(canvas, board, row.wire, gate)
    if row.series:
        canvas.wire((start, gate), (start + 12, gate))
        canvas.net(row.wire, start, gate, shift=0.9)
        canvas.two(row.series, start + 12, gate)
        canvas.wire((start + 17, gate), (COIL - 3, gate))
        canvas.net(row.gate, start + 17, gate, shift=0.7)
    if row.pull_down:
        canvas.two(row.pull_down, 39, gate, upright=True, room=7)
        canvas.rail(39, gate + 5, GROUND, left=True)
    if row.diode:
        canvas.wire((COIL - 8, top), (COIL, top))
        canvas.two(row.diode, COIL - 8, top, upright=True, first="K", left=True, room=8)
        canvas.wire((COIL - 8, top + 5), (COIL, top + 5))
    _coil(canvas, row.relay, top, f"to {canvas.number}/{frame.zone(CONTACT, y)}")
    if row.driver and row.driver.kind is Kind.DRIVER_ARRAY:
        canvas.wire((COIL, top + 5), (COIL, top + 6))
        canvas.net(row.coil, COIL, top + 5, shift=-0.4, below=True, anchor="end")
        _array(canvas, row.driver, row, top)
    elif row.driver:
        canvas.wire((COIL, top + 5), (COIL, top + 5 + is_bare))
        canvas.net(row.coil, COIL if is_bare else COIL - 3, top + 5, shift=-0.4 if is_bare else 0.9, below=True, anchor="end")
        _transistor(canvas, row.driver, top + 5 + is_bare)


def _coil(canvas: Canvas, relay: Component, y: int, contact: str) -> None:
    canvas.rail(COIL, y, FIVE)
    body, plus, minus = coil(canvas.practice), relay.pins[0].number, relay.pins[1].number
    across = max(abs(x) for x, _ in body.points)
    ohms = relay.rating.rpartition(", ")[2]
    lines = [(0.6, relay.designator, "ref"), (1.9, relay.value, ""), (3.6, ohms, ""), (4.85, contact, "")]
    canvas.part(
        relay, [Stroke(tuple((COIL + a, y + 2.5 + b) for a, b in body.points))],
        [Lead(plus, (COIL, y), (COIL, y + 1.5), (COIL - 0.3, y + 1.15), "end"), Lead(minus, (COIL, y + 5), (COIL, y + 3.5), (COIL - 0.3, y + 4.6), "end")],
        [Words(COIL + 2.1, y + down, fitted(words, 5.5), "start", kind) for down, words, kind in sorted(lines, key=lambda one: one[2] != "ref")])
    canvas.link((COIL + across, y + 2.5), (CONTACT + 2.6, y + 2.5))


def _transistor(canvas: Canvas, driver: Component, y: int) -> None:
    pins = {pin.role: pin for pin in driver.pins}
    gate, out, ground = pins[Role.GATE], pins[Role.SINK], pins[Role.FED]
    bipolar = gate.name == "B"
    inner = -1.3 if bipolar else -1.4
    canvas.part(
        driver, [Stroke(tuple((COIL + a, y + b) for a, b in stroke.points), stroke.pen) for stroke in transistor(bipolar)],
        [Lead(out.number, (COIL, y), (COIL, y + 1), (COIL + 0.3, y + 0.95), "start"), Lead(ground.number, (COIL, y + 4), (COIL, y + 3), (COIL + 0.3, y + 4.0), "start"),
         Lead(gate.number, (COIL - 3, y + 3), (COIL + inner, y + 3), (COIL - 2.2, y + 2.7))],
        [Words(COIL + 0.9, y + 2.1, driver.designator, "start", "ref"), Words(COIL + 0.9, y + 3.25, fitted(driver.value, 6.8), "start")])
    canvas.rail(COIL, y + 4, GROUND)


def _array(canvas: Canvas, array: Component, row: Row, y: int) -> None:
    place = next(place for place, pin in enumerate(array.pins) if pin.net == row.coil)
    leads = [Lead(array.pins[place].number, (COIL, y + 6), (COIL, y + 7), (COIL + 0.3, y + 6.85), "start"),
             Lead(array.pins[place - 1].number, (COIL - 3, y + 8), (COIL - 1, y + 8), (COIL - 1.9, y + 7.7))]
    if row.first_of_array:
        ground, common = array.pins[-2:]
        leads += [Lead(ground.number, (COIL + 3, y + 11), (COIL + 3, y + 10), (COIL + 2.7, y + 10.9), "end"),
                  Lead(common.number, (COIL + 6, y + 9), (COIL + 4, y + 9), (COIL + 4.2, y + 8.7), "start")]
        canvas.rail(COIL + 3, y + 11, GROUND)
        canvas.rail(COIL + 6, y + 9, FIVE)
    canvas.part(array, [boxed(COIL - 1, y + 7, COIL + 4, y + 10)], leads,
                [Words(COIL - 0.6, y + 8.4, array.designator, "start", "ref"), Words(COIL + 1.8, y + 6.6, fitted(array.value, 5.6))], dashed=True)


def contact(canvas: Canvas, row: Row, y: int) -> bool:
    """Draw a contact at the line bus with its snubber or branch; return whether it goes straight to the channel's line, from `STRAIGHT` on."""
    canvas.wire((LINE_BUS, y), (CONTACT, y), mains=True)
    canvas.two(row.relay, CONTACT, y, first=row.relay.pins[2].number, note=f"coil {canvas.number}/{frame.zone(COIL, y - 1)}", value="")
    if row.snubber:
        resistor, capacitor = row.snubber
        canvas.wire((CONTACT - 1, y), (CONTACT - 1, y + 5), (CONTACT, y + 5), mains=True)
        canvas.two(resistor, CONTACT, y + 5, note=_first(resistor.rating))
        canvas.wire((STRAIGHT, y + 5), (STRAIGHT + 12, y + 5), mains=True)
        canvas.net(resistor.pins[1].net, STRAIGHT, y + 5, shift=0.5)
        canvas.two(capacitor, STRAIGHT + 12, y + 5, room=8, note=capacitor.rating)
        canvas.wire((STRAIGHT + 17, y + 5), (STRAIGHT + 17, y), mains=True)
    if row.capacitor:
        _branch(canvas, row, row.capacitor, y)
        return False
    return True


def _branch(canvas: Canvas, row: Row, capacitor: Component, y: int) -> None:
    canvas.net(row.make, STRAIGHT, y, shift=0.5)
    if row.damping:
        canvas.wire((STRAIGHT, y), (STRAIGHT + 12, y), mains=True)
        canvas.two(row.damping, STRAIGHT + 12, y)
        canvas.wire((STRAIGHT + 17, y), (91, y), (91, y + 3), (CONTACT, y + 3), mains=True)
        canvas.net(row.node, STRAIGHT, y + 3, shift=0.7)
    else:
        canvas.wire((STRAIGHT, y), (91, y), (91, y + 3), (CONTACT, y + 3), mains=True)
    canvas.wire((CONTACT, y + 3), (CONTACT, y + 6), (80, y + 6), mains=True)
    canvas.two(capacitor, 80, y + 6, room=12, value=f"{capacitor.value} {capacitor.rating.rpartition(', ')[2]}")
    canvas.wire((85, y + 6), (JOIN, y + 6), mains=True)
    if row.bleeds:
        _bleeds(canvas, row, y)


def _bleeds(canvas: Canvas, row: Row, y: int) -> None:
    """Draw the bleed under its capacitor: one resistor, or two with their net's name between; of more, which no fan has, names would overlap."""
    canvas.wire((CONTACT, y + 6), (CONTACT, y + 10), mains=True)
    count = len(row.bleeds)
    step = {1: 22, 2: 16}.get(count, 7)
    x = CONTACT + (1 if count > 2 else 4)
    canvas.wire((CONTACT, y + 10), (x, y + 10), mains=True)
    for place, one in enumerate(row.bleeds):
        canvas.two(one, x, y + 10, room=6)
        last = place + 1 == count
        canvas.wire((x + 5, y + 10), (JOIN if last else x + step, y + 10), mains=True)
        if not last:
            name = one.pins[1].net
            canvas.net(name, x + 5, y + 10, shift=0.1 if count == 2 else 1.0 - 0.5 * LINE, below=count > 2)
        x += step


def load(canvas: Canvas, thing: Component, terminals: tuple[Component | None, ...], y: int) -> None:
    """Draw a load at its terminals: line at the row's height, then neutral and protective conductor, four units apart."""
    leads = [Lead(pin.number, (LOAD - 2, y + 4 * place), (LOAD, y + 4 * place), (LOAD - 1, y + 4 * place - 0.3)) for place, pin in enumerate(thing.pins)]
    lines = [thing.designator, *wrapped(thing.part, 8.3, 3), *wrapped(thing.name, 8.3, 2 if thing.kind is Kind.FAN else 3)]
    words = [Words(LOAD + 0.4, y + LINE * row, one, "start", "" if row else "ref") for row, one in enumerate(lines)]
    circle = [_motor(y)] if thing.kind is Kind.FAN else []
    canvas.part(thing, [boxed(LOAD, y - 1.5, LOAD + 9, y + 9.5), *circle], leads, [*words, *([Words(LOAD + 6.9, y + 8.2, "M", "middle")] if circle else [])])
    for place, terminal in enumerate(terminals):
        height = y + 4 * place
        canvas.wire((TERMINAL, height), (LOAD - 2, height), mains=True)
        if terminal:
            canvas.terminal(terminal, TERMINAL, height)
    canvas.wire((NEUTRAL_BUS, y + 4), (TERMINAL, y + 4), mains=True)
    canvas.rail(LOAD - 3, y + 8, EARTH)


def _motor(y: int) -> Stroke:
    """Return the ring of a motor's symbol in the lower corner of its box."""
    return Stroke(tuple((LOAD + 6.9 + 1.2 * cos(2 * pi * step / 32), y + 7.85 + 1.2 * sin(2 * pi * step / 32)) for step in range(33)))


def line_sense(canvas: Canvas, board: Component | None, parts: tuple[Component, ...], y: int, tap: int) -> None:
    """Draw the line sense under the row that it listens to, its lamp at height `y` + 1; it takes its line at height `tap`."""
    first, second, bleed, diode, opto, pull_up, capacitor = parts
    row = y + 1
    lamp, back = (pin for pin in opto.pins if pin.side == 1)
    out, ground = (pin for pin in opto.pins if pin.side == 0)
    canvas.part(
        opto, [Stroke(tuple((53 + a, row + b) for a, b in stroke.points), stroke.pen) for stroke in optocoupler()],
        [Lead(out.number, (53, row), (55, row), (54, row - 0.3)), Lead(ground.number, (53, row + 6), (55, row + 6), (54, row + 5.7)),
         Lead(lamp.number, (63, row), (61, row), (62, row - 0.3)), Lead(back.number, (63, row + 6), (61, row + 6), (62, row + 5.7))],
        [Words(57.5, row - 3.1, opto.designator, "end", "ref"), Words(57.5, row - 1.86, fitted(opto.value, 6.5), "end")])
    canvas.wire((TAP, tap), (TAP, row - 7), mains=True)
    canvas.two(first, TAP, row - 7, upright=True, left=True, room=7, note=_first(first.rating))
    canvas.wire((TAP, row - 2), (TAP, row), (84, row), mains=True)
    canvas.net(first.pins[1].net, 84, row, shift=0.3, below=True)
    canvas.two(second, 79, row, first=second.pins[1].number, room=6)
    canvas.wire((79, row), (63, row), mains=True)
    canvas.net(second.pins[1].net, 65, row, shift=-0.6)
    canvas.two(diode, 67, row, upright=True, first="K", room=5)
    canvas.two(bleed, 74, row, upright=True, room=5.5)
    for x in (67, 74):
        canvas.wire((x, row + 5), (x, row + 6), mains=True)
    canvas.wire((63, row + 6), (NEUTRAL_BUS, row + 6), mains=True)
    start = board_pin(canvas, board, out.net, row)
    canvas.wire((start, row), (53, row))
    canvas.net(out.net, start, row, shift=0.9)
    canvas.two(pull_up, 47, row - 5, upright=True, room=5)
    canvas.rail(47, row - 5, THREE)
    canvas.two(capacitor, 36, row, upright=True, room=9, note=_first(capacitor.rating))
    canvas.rail(36, row + 5, GROUND)
    canvas.rail(53, row + 6, GROUND, left=True)


def _first(rating: str) -> str:
    """Return the first words of a rating: "1 W" of "1 W, for 179 V at least"."""
    return rating.partition(",")[0]
