"""Test points: the nets that a person may measure, each under a mark that belongs to its part: TP at extra-low voltage, TL live."""

from collections.abc import Iterator, Mapping

from pattress.circuit.blocks.inlet import FUSED
from pattress.circuit.model import Circuit, Component, Kind, Pin, Role
from pattress.circuit.parts import FIVE, GROUND, THREE, pin_numbers

RAILS = {FIVE: "TP1", GROUND: "TP2", THREE: "TP3", "lamp.status": "TP4"}
WITHOUT_RESISTOR = 900       # the number of the first wire that no resistor numbers


def marks_of(circuit: Circuit) -> Mapping[str, str]:
    """Return the mark of each net that has a test point, those at extra-low voltage first: rails, gates and coils, inputs, then lines."""
    return dict(_marks(circuit))


def _marks(circuit: Circuit) -> Iterator[tuple[str, str]]:
    yield from ((net, mark) for net, mark in RAILS.items() if net in circuit.net_by_name)
    for relay in circuit.of(Kind.RELAY):
        coil = relay.pin(pin_numbers()["relay"]["coil_minus"]).net
        yield coil.replace("coil.", "gate.", 1), f"TP{relay.designator[1:]}1"
        yield coil, f"TP{relay.designator[1:]}2"
    for board in circuit.of(Kind.BOARD):
        for place, pin in enumerate(board.pins):
            if pin.role is Role.INPUT or pin.net.startswith("sensor."):
                yield pin.net, f"TP{_number(circuit, pin, place)}"
    if FUSED in circuit.net_by_name:
        yield FUSED, "TL1"
    for load in circuit.of(Kind.LOAD, Kind.FAN):
        yield load.pin("L").net, f"TL{load.designator[1:]}1"


def _number(circuit: Circuit, pin: Pin, place: int) -> str:
    """Return the number of the first resistor on an input's net; of one without, that of its place among the board's pins."""
    resistor: Component | None = next((component for component, _ in circuit.by_net[pin.net] if component.kind is Kind.RESISTOR), None)
    return resistor.designator[1:] if resistor else str(WITHOUT_RESISTOR + place)
