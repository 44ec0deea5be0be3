"""Status lamp with its resistor."""

from pattress.circuit.designators import Numbers
from pattress.circuit.model import Block, Component, Kind, Net, NetKind, Pin
from pattress.circuit.parts import GROUND, resistor

LAMP_DROP = 2.0              # V across a red light-emitting diode (from memory)


def status_lamp(ohms: float, common: Numbers, *, logic: float) -> Block:
    """Return the lamp on the wire `status`, lit by a high level through `ohms` [ohm]."""
    lit = "lamp.status"
    lamp = Component(designator="P1", kind=Kind.LAMP, part="light-emitting diode", name="status lamp", polar=True, pins=(Pin("A", lit), Pin("K", GROUND)))
    return Block("status lamp", (resistor(common.next(Kind.RESISTOR), ohms, "status", lit, name="status lamp"), lamp),
                 (Net("status", NetKind.SIGNAL, logic, logic / ohms), Net(lit, NetKind.SIGNAL, logic, logic / ohms)))
