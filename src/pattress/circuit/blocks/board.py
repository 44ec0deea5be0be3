"""Controller board: its supply pins, and one pin for every wire that hangs on it."""

from collections.abc import Collection, Mapping

from pattress.circuit.model import Block, Component, Kind, Pin, Role
from pattress.circuit.parts import FIVE, GROUND, THREE, pin_numbers
from pattress.stock.board import Board
from pattress.stock.board import Pin as BoardPin

ROLES = {"relay": Role.OUTPUT, "status": Role.OUTPUT, "sensor": Role.OUTPUT}      # all others listen


def role_of(wire: str) -> Role:
    """Return what the board's pin does on a wire, by the wire's name ("relay.pendant")."""
    return ROLES.get(wire.partition(".")[0], Role.INPUT)


def controller_board(board: Board, pins: Mapping[str, BoardPin | None], pulled: Collection[str]) -> Block:
    """Return the board with the pins of all its wires, by the wires' names; None where no pin is found for one. `pulled` are the wires that its own pull-ups hold."""
    marks = pin_numbers()["board"]
    signals = tuple(Pin(_number(board, pin, wire), wire, role_of(wire), pin.label or pin.name if pin else "no pin", pulled=wire in pulled) for wire, pin in pins.items())
    component = Component(
        designator="A1", kind=Kind.BOARD, part=board.title, name=board.type,
        pins=(Pin(marks["five"], FIVE, Role.FED), Pin(marks["three"], THREE, Role.SOURCE), Pin(marks["ground"], GROUND, Role.FED), *signals))
    return Block("board", (component,))


def _number(board: Board, pin: BoardPin | None, wire: str) -> str:
    """Return the number of a pin at the board's edge where edges are counted around, else its label; "?" and the wire where there is none."""
    if pin is None:
        return f"?{wire}"
    return str(pin.place) if board.counted == "around" and pin.edge else pin.label or pin.name
