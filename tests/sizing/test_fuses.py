import pytest
from hypothesis import given
from hypothesis import strategies as st

from pattress.finding import Verdict
from pattress.sizing.contacts import pulse_integral
from pattress.sizing.fuses import findings, fuse_for, least_rating, melting_needed

from .invented import PARTS, by_id, choose, make_job


def answers(**changed):
    job = make_job(**changed)
    return by_id(findings(job, PARTS, choose(job)))


# docs/sources.md, E22: 65 A decaying with 100 us, 100 000 switchings: T1A of one maker (1.1 A2s) just holds.
def test_a_driver_pulse():
    needed = melting_needed(pulse=pulse_integral(peak=65.0, duration=100e-6, shape="decay"), pulses=100_000)
    assert needed == pytest.approx(0.9602, abs=0.0005)
    assert PARTS["T1A H"].value("melting_integral") == 1.1 > needed


# docs/sources.md, E23: half-sine 20 A, 10 ms, 1000 pulses: T2A (9.2 A2s) is the smallest of the list that holds.
def test_a_half_sine():
    pulse = pulse_integral(peak=20.0, duration=10e-3, shape="half-sine")
    assert pulse == pytest.approx(2.0)
    assert melting_needed(pulse=pulse, pulses=1000) == pytest.approx(5.263, abs=0.0005)
    assert fuse_for(PARTS, current=0.1, pulse=pulse, pulses=1000).designation == "T2A H"


# docs/sources.md, E24: 0.86 A continuously; the next standard value is 1.25 A.
def test_a_continuous_current():
    assert least_rating(current=0.86) == pytest.approx(1.147, abs=0.0005)
    assert fuse_for(PARTS, current=0.86, pulse=0.1).designation == "T1.25A H"


# Melting integrals of one maker (SMD-SPT 5x20): one to eight times the square of the rating.
def test_melting_integrals_are_of_the_order_of_the_square_of_the_rating():
    for fuse in PARTS.of("fuse"):
        assert 1.0 <= fuse.value("melting_integral") / fuse.value("rated_current") ** 2 <= 8.0


def test_the_controller_gets_a_fuse_that_bears_its_supply():
    found = answers()["fuse.controller"]
    assert found.verdict is Verdict.HOLDS
    assert found.detail == "T1A H, ceramic, 5 x 20 mm."
    assert answers()["fuse_breaking.controller"].verdict is Verdict.HOLDS


def test_beside_the_board_of_the_home_a_small_fuse_cannot_break_the_fault():
    found = answers(fault="5 kA", feed_length="0 m")["fuse_breaking.controller"]
    assert found.verdict is Verdict.FAILS
    assert answers(fault="unknown", feed_length="0 m")["fuse_breaking.controller"].verdict is Verdict.UNKNOWN


@given(pulse=st.floats(1e-6, 100))
def test_more_switchings_never_need_a_smaller_fuse(pulse):
    needed = [melting_needed(pulse=pulse, pulses=pulses) for pulses in (100, 1000, 10_000, 100_000)]
    assert needed == sorted(needed)


def test_the_error_lists_what_is_known():
    with pytest.raises(ValueError, match=r"^pulses must be one of 100, 1000, 10000, 100000, found 5$"):
        melting_needed(pulse=1.0, pulses=5)
