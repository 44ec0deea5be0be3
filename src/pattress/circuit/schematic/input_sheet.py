"""Sheets of the inputs at extra-low voltage, in two columns: what is touched or seen in the room at the left of each, the board at its right.

A column has eight places, seven units apart; nothing of the mains is on these sheets, so they have no barrier.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from pattress.circuit.model import Circuit, Component, Kind
from pattress.circuit.parts import GROUND, THREE
from pattress.circuit.schematic.canvas import LINE, Canvas, Lead, Words, boxed, fitted, wrapped
from pattress.circuit.schematic.captions import printed_number

FIRST, PITCH, PLACES = 14, 7, 8
COLUMNS = (9, 62)
BOARD = 44                               # units from the left edge of a column to the board's pins
ONE_CONTACT = (Kind.SWITCH, Kind.CONTACT)
DRAWN = (*ONE_CONTACT, Kind.REGULATOR, Kind.RECEIVER, Kind.SENSOR)


@dataclass(frozen=True, slots=True)
class Input:
    """One device in the room with its parts in the box and its terminals, in the order of its pins' rows."""

    device: Component
    parts: tuple[Component, ...]
    terminals: tuple[Component, ...]

    @property
    def places(self) -> int:
        """Return how many places it takes."""
        return 2 if self.device.kind in ONE_CONTACT else len(self.device.pins)


def inputs_of(circuit: Circuit) -> tuple[Input, ...]:
    """Return the inputs in the order of their terminals."""
    strip = [one for one in circuit.of(Kind.TERMINAL) if one.designator.startswith("X3:")]
    found, at = [], 0
    for block in circuit.blocks:
        for device in (one for one in block.components if one.kind in DRAWN):
            count = len(device.pins)
            found.append(Input(device, tuple(one for one in block.components if one is not device), tuple(strip[at:at + count])))
            at += count
    return tuple(found)


def paged(inputs: Sequence[Input]) -> Iterator[tuple[tuple[Input, ...], ...]]:
    """Yield the columns of each sheet."""
    columns: list[list[Input]] = []
    room = 0
    for one in inputs:
        if one.places > room:
            columns.append([])
            room = PLACES
        columns[-1].append(one)
        room -= one.places
    for first in range(0, len(columns), len(COLUMNS)):
        yield tuple(tuple(column) for column in columns[first:first + len(COLUMNS)])


def input_sheet(canvas: Canvas, circuit: Circuit, columns: Sequence[Sequence[Input]]) -> None:
    """Draw one sheet of inputs."""
    board = next(iter(circuit.of(Kind.BOARD)))
    canvas.say(COLUMNS[0], 5.6, "EXTRA-LOW VOLTAGE (SELV)", bold=True)
    for left, column in zip(COLUMNS, columns):
        y = FIRST
        for one in column:
            draw = _single_contact if one.device.kind in ONE_CONTACT else {Kind.REGULATOR: _regulator, Kind.RECEIVER: _receiver, Kind.SENSOR: _sensor}[one.device.kind]
            draw(canvas, board, one, left, y)
            y += PITCH * one.places


def _single_contact(canvas: Canvas, board: Component, one: Input, x: int, y: int) -> None:
    device = one.device
    canvas.two(device, x + 4, y, upright=True, left=True, value="")
    canvas.say(x, y - 2.0, fitted(device.name, 29.0))
    for height in (y, y + 5):
        canvas.wire((x + 4, height), (x + 10, height))
    _ground(canvas, x + 10, y + 5)
    _terminals(canvas, one.terminals, x + 10, (y, y + 5))
    _contact(canvas, board, one, device.pins[0].net, x, y)


def _regulator(canvas: Canvas, board: Component, one: Input, x: int, y: int) -> None:
    heights = _device(canvas, one, x, y, x + 10)
    for pin, height in zip(one.device.pins, heights):
        if pin.net == GROUND:
            _ground(canvas, x + 10, height)
        else:
            _contact(canvas, board, one, pin.net, x, height)


def _receiver(canvas: Canvas, board: Component, one: Input, x: int, y: int) -> None:
    heights = dict(zip((pin.number for pin in one.device.pins), _device(canvas, one, x, y, x + 10)))
    resistor, capacitor = one.parts
    for pin in one.device.pins:
        height = heights[pin.number]
        if pin.net == GROUND:
            _ground(canvas, x + 10, height)
        elif pin.net == resistor.pins[1].net:
            canvas.wire((x + 10, height), (x + 29, height))
            canvas.net(pin.net, x + 10, height, shift=2.3)
            canvas.two(resistor, x + 29, height, first=resistor.pins[1].number)
            canvas.wire((x + 34, height), (x + 36, height))
            canvas.rail(x + 36, height, THREE)
            canvas.two(capacitor, x + 20, height, upright=True, note=capacitor.rating)
            canvas.rail(x + 20, height + 5, GROUND)
        else:
            canvas.wire((x + 10, height), (x + BOARD, height))
            canvas.net(pin.net, x + 31, height, shift=0.3)
            _board(canvas, board, pin.net, x, height)


def _sensor(canvas: Canvas, board: Component, one: Input, x: int, y: int) -> None:
    heights = dict(zip((pin.number for pin in one.device.pins), _device(canvas, one, x, y, x + 17)))
    pull_up, capacitor = one.parts
    nets = {pin.net: heights[pin.number] for pin in one.device.pins}
    for net, height in nets.items():
        if net == GROUND:
            _ground(canvas, x + 17, height)
        elif net == THREE:
            canvas.wire((x + 17, height), (x + 22, height))
            canvas.rail(x + 22, height, THREE)
        else:
            canvas.wire((x + 17, height), (x + BOARD, height))
            _pulled_up(canvas, board, pull_up, net, x, height)
    top = nets[THREE]
    canvas.two(capacitor, x + 9, top, upright=True, room=6)
    canvas.wire((x + 9, top + 5), (x + 9, nets[GROUND]))


def _device(canvas: Canvas, one: Input, x: int, y: int, terminal: int) -> tuple[int, ...]:
    """Draw a device as a box with a pin in each place, wired to its terminals; return the heights in the order of its pins."""
    device = one.device
    order = _ordered(one)
    heights = {number: y + PITCH * place for place, number in enumerate(order)}
    leads = [Lead(pin.number, (x + 8, heights[pin.number]), (x + 7, heights[pin.number]), (x + 7.5, heights[pin.number] - 0.3)) for pin in device.pins]
    names = [Words(x + 6.7, heights[pin.number] + 0.36, pin.name, "end") for pin in device.pins if pin.name]
    start = y + (2.4 if names else 0.2)
    lines = [device.designator, *wrapped(device.part, 6.4, 2), *wrapped(device.name, 6.4, 3)][:4 if names else 6]
    words = [Words(x + 0.4, start + LINE * row, words, "start", "" if row else "ref") for row, words in enumerate(lines)]
    canvas.part(device, [boxed(x, y - 2, x + 7, y + PITCH * (len(order) - 1) + 2)], leads, [*words, *names])
    ordered = [heights[pin.number] for pin in device.pins]
    for height in ordered:
        canvas.wire((x + 8, height), (terminal, height))
    by_net = {pin.net: heights[pin.number] for pin in device.pins}
    _terminals(canvas, one.terminals, terminal, [by_net[one.pins[0].net] for one in one.terminals])
    return tuple(ordered)


def _ordered(one: Input) -> list[str]:
    """Return the pins' numbers from above: signals, then supply, then 0 V."""
    rank = {GROUND: 2, THREE: 1}
    supplied = {part.pins[1].net for part in one.parts if part.kind is Kind.RESISTOR and part.pins[0].net == THREE} if one.device.kind is Kind.RECEIVER else set()
    return [pin.number for pin in sorted(one.device.pins, key=lambda pin: 1 if pin.net in supplied else rank.get(pin.net, 0))]


def _terminals(canvas: Canvas, terminals: Sequence[Component], x: int, heights: Sequence[int]) -> None:
    for terminal, height in zip(terminals, heights):
        canvas.terminal(terminal, x, height)


def _ground(canvas: Canvas, x: int, y: int) -> None:
    canvas.wire((x, y), (x + 3, y))
    canvas.rail(x + 3, y, GROUND)


def _contact(canvas: Canvas, board: Component, one: Input, outside: str, x: int, y: int) -> None:
    """Draw what stands between a contact's terminal and the board."""
    series = next(part for part in one.parts if part.kind is Kind.RESISTOR and part.pins[0].net == outside)
    wire = series.pins[1].net
    pull_up = next(part for part in one.parts if part.kind is Kind.RESISTOR and part.pins[0].net == THREE and part.pins[1].net == wire)
    canvas.wire((x + 10, y), (x + 24, y))
    canvas.net(outside, x + 10, y, shift=2.3)
    canvas.two(series, x + 24, y)
    canvas.wire((x + 29, y), (x + BOARD, y))
    _pulled_up(canvas, board, pull_up, wire, x, y)


def _pulled_up(canvas: Canvas, board: Component, pull_up: Component, net: str, x: int, y: int) -> None:
    canvas.net(net, x + 31, y, shift=0.3)
    canvas.wire((x + 31, y), (x + 31, y - 4), (x + 32, y - 4))
    canvas.two(pull_up, x + 32, y - 4, first=pull_up.pins[1].number)
    canvas.wire((x + 37, y - 4), (x + 38, y - 4))
    canvas.rail(x + 38, y - 4, THREE)
    _board(canvas, board, net, x, y)


def _board(canvas: Canvas, board: Component, net: str, x: int, y: int) -> None:
    for pin in board.pins:
        if pin.net == net:
            number = printed_number(pin.number)
            words = [Words(x + BOARD + 2.4, y - 0.9, board.designator, "start", "ref")]
            if pin.name and pin.name != number:
                words.append(Words(x + BOARD + 2.4, y + 0.36, fitted(pin.name, 5.2)))
            canvas.part(board, [boxed(x + BOARD + 2, y - 2.2, x + BOARD + 8, y + 1.5)],
                        [Lead(pin.number, (x + BOARD, y), (x + BOARD + 2, y), (x + BOARD + 1.8, y - 0.3), "end")], words, dashed=True)
