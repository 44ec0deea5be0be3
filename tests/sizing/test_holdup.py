import pytest
from hypothesis import given
from hypothesis import strategies as st

from pattress.finding import Figure, Verdict
from pattress.sizing.holdup import bulk_capacitance, findings

from .invented import by_id, choose, make_job


def answers(**changed):
    job = make_job(**changed)
    return by_id(findings(job, choose(job)))


# docs/sources.md, E103: 0.1 A for 50 ms; E107: 0.3 A more for 1 ms is 0.6383 V of 470 uF.
def test_a_capacitor_that_alone_gives_a_current():
    assert bulk_capacitance(current=0.1, time=50e-3, dip=4.75 - 4.40) * 1e3 == pytest.approx(14.29, abs=0.005)
    assert bulk_capacitance(current=0.3, time=1e-3, dip=0.6383) == pytest.approx(470e-6, rel=1e-4)


def test_the_bulk_capacitor_of_a_board():
    found = answers(board="esp32")["bulk.controller"]
    # The maker asks for 500 mA at 3.3 V: (0.5 - 0.12) A x 0.3 ms / 0.15 V = 760 uF, over 0.64 for tolerance and age 1188 uF.
    assert found.value == Figure(1.5e-3, "F")
    assert found.detail == "1500 uF at the 5 V input of the board."
    assert answers()["bulk.controller"].value.value < found.value.value      # a switching regulator asks less


def test_hold_up_is_told_and_not_asked_for():
    found = answers()["hold_up.controller"]
    assert (found.verdict, found.limit, found.safety) == (Verdict.HOLDS, None, False)
    assert found.detail.startswith("Not needed: ")


def test_a_job_that_is_warned_must_be_held_up_and_is_refused_more_than_the_supply_starts_into():
    job = make_job(board="rp2040-wifi")
    warned = job.model_copy(update={"board": job.board.model_copy(update={"power_fail": True})})
    untold, told = (by_id(findings(one, choose(one)))["hold_up.controller"] for one in (job, warned))
    by_hand = untold.value.value * 420 / 405            # both looks at the warning: 15 ms more
    assert told.value.value >= by_hand / 0.8 / 0.8 and told.limit == Figure(4.7e-3, "F")
    assert (told.verdict, told.safety) == (Verdict.FAILS, False)
    assert told.detail.startswith("To be fitted at the 5 V rail: ")
    assert told.formula == untold.formula + ", and 20 % each for tolerance and age, the next value up"


# W25Q64JV: a sector erase takes 45 ms, but 400 ms at most; with 5 ms to write, and 15 ms until the warning is believed.
def test_the_longest_erase_is_held_through_and_not_the_usual_one():
    job = make_job(board="rp2040-wifi")
    found = by_id(findings(job, choose(job)))["hold_up.controller"]
    assert found.value.value / found.nominal.value == pytest.approx(405 / 50)


# An electrolytic capacitor may be 20 % low as made, and a fifth less at the end of its life: 0.64 of its print must do.
@pytest.mark.parametrize("board", ["rp2040-wifi", "esp32"])
def test_the_bulk_capacitor_does_at_the_low_end_of_its_tolerance_and_old(board):
    found = answers(board=board)["bulk.controller"]
    assert 0.8 * 0.8 * found.value.value >= found.nominal.value


@given(current=st.floats(0, 10), time=st.floats(0, 1), dip=st.floats(0.01, 5), more=st.floats(0, 5))
def test_a_deeper_dip_never_needs_more(current, time, dip, more):
    assert bulk_capacitance(current=current, time=time, dip=dip + more) <= bulk_capacitance(current=current, time=time, dip=dip)


def test_errors():
    with pytest.raises(ValueError, match=r"^dip must be above zero and finite, found 0\.0$"):
        bulk_capacitance(current=1.0, time=1.0, dip=0.0)
