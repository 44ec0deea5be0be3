"""Every net that a person may measure has a point, a reference of its own side, and a reading inside its band."""

from pathlib import Path

import pytest

from pattress.circuit.model import Kind, Role
from pattress.design import design_of
from pattress.handover.test_points import points_of
from pattress.sizing.mains import mains_of

from ..circuit.random_homes import designs

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*/job.toml"))
IDS = [*(path.parent.name for path in EXAMPLES), *(f"home {number}" for number in range(6))]


@pytest.mark.parametrize("design", [*map(design_of, EXAMPLES), *designs(6, "points")], ids=IDS)
def test_each_supply_driver_input_and_line_has_one(design):
    circuit, points = design.circuit, points_of(design)
    marked = {point.net: point for point in points}
    listened = {pin.net for component in circuit.components for pin in component.pins if pin.role in (Role.GATE, Role.INPUT)}
    coils = {pin.net for relay in circuit.of(Kind.RELAY) for pin in relay.pins if pin.number == "A2"}
    lines = {load.pin("L").net for load in circuit.of(Kind.LOAD, Kind.FAN)}
    assert {"+5 V", "+3.3 V", "0 V", "L fused"} | listened | coils | lines <= set(marked)
    assert len({point.mark for point in points}) == len(points) == len(marked)
    for point in points:
        assert all(reading.least <= reading.healthy <= reading.most for reading in point.readings), point
        assert circuit.net_by_name[point.reference].is_mains is point.is_live is circuit.net_by_name[point.net].is_mains
        component, _, number = point.at.rpartition(":")
        assert point.at in circuit.by_designator or circuit.by_designator[component].pin(number).net == point.net


def test_worked_on_paper():
    """A closed switch: 3.3 V x 100 / (100 + 2200) = 143 mV. A gate: 2.62 V x 10 / 10.1 = 2.59 V at the least. Mains: 230 V, 207 to 253 V."""
    points = {point.net: {reading.state: reading for reading in point.readings} for point in points_of(design_of(EXAMPLES[-1]))}
    assert points["switch.door"]["closed"].healthy == pytest.approx(0.1435, abs=5e-5)
    assert points["gate.pendant"]["relay in"].least == pytest.approx(2.594, abs=5e-4)
    on = points["line.pendant"]["on"]
    assert (on.least, on.healthy, on.most) == pytest.approx((207.0, 230.0, 253.0))


def test_a_snubber_lets_more_past_than_a_wire_picks_up():
    design = design_of(EXAMPLES[-1])
    off = {point.net: point.readings[1].most for point in points_of(design) if point.net.startswith("line.")}
    assert off["line.pendant"] == 5.0 <= min(off.values()) and max(off.values()) < 0.34 * mains_of(design.job).high


def test_the_sheet_says_healthy_first_and_then_the_band():
    points = {point.net: point for point in points_of(design_of(EXAMPLES[-1]))}
    assert points["switch.door"].readings[1].words == "closed: 143 mV (at most 800 mV)"
    (workshop,) = (path for path in EXAMPLES if path.parent.name == "garden-workshop")
    contact = {point.net: point for point in points_of(design_of(workshop))}
    assert contact["input.bin"].readings == contact["switch.door"].readings and contact["input.bin"].readings[0].state == "contact open"
    assert points["+5 V"].readings[0].words == "5 V (4.75 V to 5.2 V)" and points["0 V"].readings[0].words == "reference"
