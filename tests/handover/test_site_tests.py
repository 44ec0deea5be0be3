"""The tests on site reach every conductor once, say at which terminals, and never measure in a closed box."""

from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest

from pattress.circuit.model import Kind
from pattress.design import build, design_of
from pattress.handover.site_tests import continuity, dead, inspection, insulation, live, polarity
from pattress.handover.wiring import wiring_of
from pattress.job import read
from pattress.stock.boards import load_boards
from pattress.stock.parts import load_parts

from ..circuit.random_homes import designs, home

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*/job.toml"))
HOMES = [*map(design_of, EXAMPLES), *designs(20, "site")]
NAMES = [*(path.parent.name for path in EXAMPLES), *(f"home {number}" for number in range(20))]


@pytest.fixture(params=HOMES, ids=NAMES)
def design(request):
    return request.param


def covered(design, steps):
    """Return how often each conductor that ends in the box is under test, and which ends there are."""
    ends = {one.designator for one in design.circuit.of(Kind.TERMINAL, Kind.STUD)}
    return Counter(mark for step in steps for mark in step.conductors), ends


def test_every_conductor_is_in_exactly_one_step_of_continuity_or_insulation(design):
    steps = (*continuity(design, wiring_of(design)), *insulation(design))
    counts, ends = covered(design, steps)
    assert set(counts) == ends and set(counts.values()) == {1}
    for left_out in range(len(steps)):                       # the fault seeded: a step that is missing leaves a core in no test
        fewer, _ = covered(design, steps[:left_out] + steps[left_out + 1:])
        assert set(fewer) != ends or not steps[left_out].conductors


def test_every_load_is_rung_through_and_every_pair_of_neutrals_is_told_apart(design):
    steps = polarity(design)
    feeds = len(design.job.feed)
    assert len(steps) == len(design.job.load) + len(design.job.fan) + feeds * (feeds - 1) // 2


def test_a_metal_box_is_looked_at_and_its_bond_is_measured():
    for material, bonded in (("painted steel", True), ("plastic", False)):
        one = build(read(home("bond", material=material), "home.toml")[0], load_parts(), load_boards())
        found = [step for step in continuity(one, wiring_of(one)) if step.what.startswith("Bond")]
        looked = next(row[1] for row in inspection(one, wiring_of(one)).tables[0].rows if row[0] == "Box")
        assert ([(step.conductors, step.expect) for step in found] == [(("X9",), "at most 100 mohm")]) is bonded
        assert ("bonded at X9" in looked) is bonded and ("plastic, whole" in looked) is not bonded


def test_the_steps_name_their_terminals():
    """The sewing room, by its terminal plan: F1 on X1:1 and X1:2, its neutrals on X2:5 to X2:8; the pendant lamps switched on X2:1."""
    design = design_of(EXAMPLES[-1])
    found = {step.what: step for step in insulation(design)}
    assert found["Supply side of F1, feed lights"].conductors == ("X1:1", "X1:2", "X2:5", "X2:6", "X2:7", "X2:8")
    assert found["Switched core of Pendant lamps"].how == "X2:1 to X1:3, or to it with the contact of K1 bridged in the step before; load off"
    assert found["Mains to extra-low voltage"].how == "X1:1, X1:2, X1:4, X1:5 joined, to 0 V at X3; board taken out"
    # IEC 60364-6, table 6.1, read in Bane NOR's technical rules: up to 50 V 250 V DC and 0.5 Mohm, up to 500 V 500 V DC and 1 Mohm.
    assert found["Extra-low voltage to earth"].expect == "at least 500 kohm at 250 V DC" and found["Mains to extra-low voltage"].expect == "at least 1 Mohm at 500 V DC"
    ohms = next(step.expect for step in continuity(design, wiring_of(design)) if step.what == "Protective conductor to Pendant lamps")
    assert ohms.startswith("about 302 mohm")           # 18 m + 7 m of 1.5 mm2 at 12.1 mohm/m: 0.3025 ohm


def test_nothing_is_measured_in_a_box_that_is_closed(design):
    inside, outside = live(design, wiring_of(design))
    assert inside.heading.endswith("box open") and "LIVE PARTS IN REACH" in inside.words[0]
    assert not any("X1" in cell or "X2" in cell or "voltmeter" in cell for table in outside.tables for row in table.rows for cell in row)
    words = dead(design, wiring_of(design)).words[0]
    assert words.startswith("DEAD, box open") and "under 34 V" in words


def test_a_limit_of_another_device_would_be_seen():
    """The fault seeded: the loop of a 16 A device asked of a 10 A one."""
    design = design_of(EXAMPLES[-1])
    lights = design.job.feed["lights"]
    other = design.job.model_copy(update={"feed": {**design.job.feed, "lights": lights.model_copy(update={"device": lights.device.model_copy(update={"rating": 16.0})})}})
    loops = [[row[2] for section in live(one, wiring_of(one)) for table in section.tables for row in table.rows if row[0] == "Loop impedance at Pendant lamps"]
             for one in (design, build(other, design.results["parts"], design.results["boards"]))]
    assert loops[0] != loops[1] and loops[0][0].startswith("at most 3.5 ohm") and loops[1][0].startswith("at most 2.19 ohm")


def test_every_part_is_signed(design):
    wiring = wiring_of(design)
    for section in (inspection(design, wiring), dead(design, wiring), *live(design, wiring)):
        assert section.tables[-1].head == ("Who", "Name, date", "Signature")
        assert replace(section, tables=section.tables[:-1]).tables


def with_country(country):
    one = design_of(EXAMPLES[-1])
    job = one.job.model_copy(update={"site": one.job.site.model_copy(update={"country": country})})
    return build(job, one.results["parts"], one.results["boards"])


def residual_rows(design):
    table = live(design, wiring_of(design))[1].tables[0]
    return [(row[0].partition(", ")[2], row[2]) for row in table.rows if row[0].startswith(("Residual-current device", "RCD", "Ground-fault"))]


@pytest.mark.parametrize("country, rows", [
    ("unknown", [("30 mA", "trips within 300 ms")]), ("FR", [("30 mA", "trips within 300 ms")]), ("GB", [("30 mA", "trips within 300 ms")]),
    ("NZ", [("15 mA", "does not trip"), ("30 mA", "trips within 300 ms"), ("150 mA", "trips within 40 ms")]), ("US", []),
])
def test_a_residual_current_device_is_tested_as_its_country_asks(country, rows):
    """The sewing room's devices of 30 mA (invented): 0.5 x 30 mA = 15 mA, 5 x 30 mA = 150 mA."""
    found = residual_rows(with_country(country))
    assert [expect for what, expect in found if what.endswith("its own test")] and {expect for what, expect in found if what.endswith("its own test")} == {"trips"}
    timed = [(what.rpartition("at ")[2], expect) for what, expect in found if ", at " in what]
    assert timed == rows * (len(timed) // max(len(rows), 1)) and bool(timed) is bool(rows)


def test_the_sheets_follow_the_words_and_the_standard_of_the_country():
    here, there = (inspection(with_country(country), wiring_of(with_country(country))) for country in ("NZ", "unknown"))
    assert "AS/NZS 3017" in here.words[0] and here.tables[0].rows[0][0].startswith("Devices at the switchboard")
    assert there.words[0].startswith("Order and content after IEC 60364-6") and "The job names no country" in there.words[0]
    assert there.tables[0].rows[0][0].startswith("Devices at the distribution board")
