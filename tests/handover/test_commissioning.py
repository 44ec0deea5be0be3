"""What the test sheet asks for, and what it says to expect."""

from pattress.handover.commissioning import live
from pattress.handover.context import _mains
from pattress.handover.wiring import wiring_of

from tests.design.seeded import EXAMPLES, design_of_text

from .designs import example


def rows(name):
    design = example(name)
    return {row[0]: row[1:3] for table in live(design, wiring_of(design)).tables for row in table.rows}


# B10: 0.8 x 0.95 x 230 V / 50 A = 3.496 ohm.
def test_a_loop_is_asked_in_ohms_on_cold_conductors():
    assert rows("sewing-room")["Loop impedance at Pendant lamps"] == (
        "loop tester, line to neutral and line to protective conductor, conductors cold",
        "at most 3.5 ohm, so that at least 50 A flow when they are warm")


# C10: 0.8 x 0.95 x 230 V / 100 A = 1.748 ohm. The earth of a TT home lets no such current flow: its electrode is asked for by itself.
def test_of_a_tt_home_the_earth_is_asked_for_by_itself():
    found = rows("landing")
    assert found["Loop impedance at Stairs"][0] == "loop tester, line to neutral, conductors cold"
    assert found["Loop impedance at Stairs"][1].startswith("at most 1.75 ohm, ")
    asked = {test: words for test, words in found.items() if test.startswith("Earth electrode")}
    assert len(asked) == 2 and {words[1] for words in asked.values()} == {"at most 200 ohm; up to 1.67 kohm where it is measured in the driest month"}
    assert not any(test.startswith("Earth electrode") for test in rows("sewing-room"))


# Where nobody knows the earthing it may be TT: its electrode has a row of its own, and 3.5 ohm are asked line to neutral, and to earth only of a TN home.
def test_a_home_of_unknown_earthing_is_tested_as_one_that_may_be_tt():
    design = design_of_text((EXAMPLES / "sewing-room" / "job.toml").read_text("utf-8").replace('earthing = "TN-C-S"', 'earthing = "unknown"'))
    found = {row[0]: row[1:3] for table in live(design, wiring_of(design)).tables for row in table.rows}
    assert found["Loop impedance at Pendant lamps"][0] == (
        "loop tester, line to neutral; line to protective conductor, too, where the earthing turns out to be TN, conductors cold")
    assert [words[1] for test, words in found.items() if test.startswith("Where the earthing is TT: earth electrode")] == [
        "at most 200 ohm; up to 1.67 kohm where it is measured in the driest month"] * 2
    assert "earth electrode unknown" in dict(_mains(design.job).rows)["Faults, where the devices sit"]


def test_the_page_says_what_the_job_says_of_faults():
    assert dict(_mains(example("landing").job).rows)["Faults, where the devices sit"] == (
        "largest current 1.5 kA, largest loop 250 mohm; earth electrode 80 ohm")
    assert dict(_mains(example("sewing-room").job).rows)["Faults, where the devices sit"] == "largest current unknown, largest loop unknown"
