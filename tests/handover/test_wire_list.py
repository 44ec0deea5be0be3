"""Who follows the wire list joins every net of the circuit and nothing else."""

from pathlib import Path

import pytest

from pattress.circuit.model import Kind, NetKind, Place, mark_of
from pattress.design import design_of
from pattress.handover.wire_list import Way, in_box, wires
from pattress.handover.wiring import wiring_of

from ..circuit.random_homes import designs

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*/job.toml"))
IDS = [*(path.parent.name for path in EXAMPLES), *(f"home {number}" for number in range(5))]


def followed(listed):
    """Return the groups of pins that the list joins."""
    groups = {}
    for wire in listed:
        joined = groups.get(wire.start, {wire.start}) | groups.get(wire.end, {wire.end})
        groups |= dict.fromkeys(joined, joined)
    return {frozenset(group) for group in groups.values()}


def meant(circuit):
    """Return the groups of pins in the box that a net joins."""
    return {frozenset(mark_of(*one) for one in pins) for net in circuit.nets if len(pins := in_box(circuit, net.name)) > 1}


@pytest.mark.parametrize("design", [*map(design_of, EXAMPLES), *designs(5, "wires")], ids=IDS)
def test_who_follows_the_list_builds_the_circuit(design):
    listed = wires(design)
    assert followed(listed) == meant(design.circuit)
    assert len(listed) == sum(len(group) - 1 for group in meant(design.circuit))          # none twice
    assert followed(listed[1:]) != meant(design.circuit)                                  # one left out is missed


def test_every_pin_in_the_box_is_on_the_list():
    design = design_of(EXAMPLES[-1])
    listed = {mark for wire in wires(design) for mark in (wire.start, wire.end)}
    there = {mark_of(component, pin) for component in design.circuit.components if component.place is Place.BOX for pin in component.pins}
    assert there - listed == set() and len(there) > 200


def test_sections_colours_and_bridges_are_those_of_the_feed():
    design = design_of(EXAMPLES[-1])
    by_net = {}
    for wire in wires(design):
        by_net.setdefault(wire.net, []).append(wire)
    assert {wire.section for wire in by_net["L.sockets"]} == {2.5e-6} and {wire.colour for wire in by_net["N.lights"]} == {"BU"}
    assert {wire.section for wire in by_net["L fused"]} == {0.75e-6} and {wire.colour for wire in by_net["PE"]} == {"GNYE"}
    assert ("X2:5", "X2:6", Way.BRIDGE, 0.5) in {(wire.start, wire.end, wire.way, wire.torque) for wire in by_net["N.lights"]}
    assert all(wire.length == pytest.approx((0.24 + 0.19) / 2) for wire in wires(design) if wire.way is Way.WIRE)


def test_the_terminals_of_the_wiring_are_those_of_the_circuit():
    """Two ways to the same strip: what is printed on it and what the netlist joins."""
    kinds = {"L": NetKind.LINE, "N": NetKind.NEUTRAL, "PE": NetKind.PROTECTIVE, "switched": NetKind.SWITCHED, "0 V": NetKind.SUPPLY, "3.3 V": NetKind.SUPPLY}
    for design in map(design_of, EXAMPLES):
        circuit, wiring = design.circuit, wiring_of(design)
        drawn = {terminal.designator: circuit.net_by_name[terminal.pins[0].net] for terminal in circuit.of(Kind.TERMINAL)}
        assert list(drawn) == [terminal.mark for terminal in wiring.terminals]
        for terminal in wiring.terminals:
            net = drawn[terminal.mark]
            assert net.kind is kinds.get(terminal.role, NetKind.SIGNAL), terminal
            if terminal.strip == "X1" and terminal.role in ("L", "N"):
                assert net.name == f"{terminal.role}.{terminal.thing.partition('.')[2]}"
            if terminal.role == "switched":
                assert net.name == f"line.{terminal.thing}"
