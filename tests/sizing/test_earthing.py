import pytest
from hypothesis import given
from hypothesis import strategies as st

from pattress.finding import Figure, Verdict
from pattress.sizing.earthing import earth_leakage, findings, together

from .invented import by_id, make_job

BOX = 'enclosure = {{ width = "200 mm", height = "150 mm", depth = "80 mm", material = "{}" }}'


def answers(**changed):
    return by_id(findings(make_job(**changed)))


# E109 and E110: circuits tested together; a bleeder between line and neutral.
def test_insulation_tested_together():
    assert together([5e6] * 4) == pytest.approx(1.25e6)
    assert together([820e3, 50e6]) == pytest.approx(0.8068e6, abs=50)


# E89: 2.2 nF to earth.
def test_leakage_to_earth():
    assert earth_leakage(capacitance=2.2e-9, voltage=230.0, frequency=50.0) * 1e3 == pytest.approx(0.159, abs=0.0005)
    assert earth_leakage(capacitance=2.2e-9, voltage=253.0, frequency=50.0) * 1e3 == pytest.approx(0.1749, abs=0.0005)


def test_boxes():
    assert answers()["earthing.box"].verdict is Verdict.UNKNOWN
    assert answers(site=BOX.format("plastic"))["earthing.box"].verdict is Verdict.HOLDS
    metal = answers(site=BOX.format("painted steel"))["earthing.box"]
    assert metal.verdict is Verdict.TIGHT
    assert metal.detail == "A metal box must be bonded to the protective conductor, with its own screw and washer."


# IEC 60364-6 table 6.1: 500 V and 1.0 Mohm for circuits up to 500 V.
def test_dead_tests_are_told_and_not_judged():
    found = answers()["insulation_test.mains"]
    assert found.limit == Figure(1e6, "ohm")
    assert (found.verdict, found.value, found.safety) == (Verdict.UNKNOWN, None, False)
    assert found.formula == "at least 1 Mohm at 500 V DC"


@given(st.lists(st.floats(1e3, 1e12), min_size=1, max_size=10))
def test_together_is_never_better_than_the_worst(resistances):
    assert 0 < together(resistances) <= min(resistances) * (1 + 1e-9)
