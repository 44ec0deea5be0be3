"""Supply module across the barrier, its bulk capacitor, and the warning of power failure where the job wants one."""

from pattress.circuit.blocks.inlet import FUSED
from pattress.circuit.designators import Numbers
from pattress.circuit.fitted import Fitted
from pattress.circuit.model import Block, Component, Kind, Pin, Role
from pattress.circuit.parts import FIVE, GROUND, capacitor, numbers_of, sided

POWER_FAIL = "power_fail"


def supply_module(given: Fitted, common: Numbers, *, neutral: str, warns: bool) -> Block:
    """Return the module from mains to 5 V. `warns`: an open collector of it pulls the wire `power_fail` to 0 V while the mains is gone."""
    marks = numbers_of(given.supply.designation, "supply")
    pins: tuple[Pin, ...] = (
        sided(marks["line"], FUSED, 1), sided(marks["neutral"], neutral, 1),
        sided(marks["plus"], FIVE, 0, Role.SOURCE), sided(marks["minus"], GROUND, 0, Role.SOURCE))
    if warns:
        pins += (sided(marks["warning"], POWER_FAIL, 0, Role.SINK, "mains is gone"),)
    module = Component(designator="T1", kind=Kind.SUPPLY, part=given.supply.designation, pins=pins, insulation=given.supply.word("insulation"))
    parts = [module, capacitor(common.next(Kind.CAPACITOR), given.bulk, FIVE, GROUND, "10 V or more, low impedance", name="bulk capacitor", polar=True)]
    answers = ["supply.controller", "supply_separation.controller", "bulk.controller"]
    if given.hold_up is not None:
        parts.append(capacitor(common.next(Kind.CAPACITOR), given.hold_up, FIVE, GROUND, "10 V or more", name="hold-up capacitor", polar=True))
        answers.append("hold_up.controller")
    return Block("supply", tuple(parts), (), tuple(answers))
