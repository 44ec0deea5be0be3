import pytest
from hypothesis import given
from hypothesis import strategies as st

from pattress.finding import Figure, Verdict
from pattress.sizing.clearances import distances, findings

from .invented import by_id, choose, load_text, make_job


def answers(*things, **changed):
    job = make_job(*things, **changed)
    return by_id(findings(job, choose(job)))


# docs/sources.md, E52 to E55 and E57: clearance and creepage in millimetres.
@pytest.mark.parametrize(("asked", "clearance", "creepage"), [
    (dict(voltage=230.0, category="II"), 1.5, 2.5),
    (dict(voltage=230.0, category="II", reinforced=True), 3.0, 5.0),
    (dict(voltage=230.0, category="III", reinforced=True), 5.5, 5.5),
    (dict(voltage=120.0, category="II"), 0.5, 1.5),
    (dict(voltage=120.0, category="II", reinforced=True), 1.5, 3.0),
    (dict(voltage=230.0, category="III", altitude=4000.0), 3.87, 3.87),
])
def test_distances(asked, clearance, creepage):
    needed = distances(**asked)
    assert needed.clearance * 1e3 == pytest.approx(clearance)
    assert needed.creepage * 1e3 == pytest.approx(creepage)


# docs/sources.md, E56: 400 V working voltage needs 4 mm of surface.
def test_creepage_at_400_volts():
    assert distances(voltage=400.0, category="I").creepage == pytest.approx(4e-3)


def test_a_plain_relay_between_mains_and_a_wall_switch_is_refused():
    found = answers(load_text(relay="SRD-05VDC-SL-A"))["clearances.pendant"]
    assert found.verdict is Verdict.FAILS
    assert found.detail == "A wall switch on the coil side is not far enough from mains. SRD-05VDC-SL-A: distances unknown."
    assert found.change[0] == ("a relay with reinforced insulation and at least 5.5 mm through air and 5.5 mm over surface, "
                               "coil to contacts")
    assert found.safety


def test_a_relay_may_suffice_at_120_v_and_not_at_230_v():
    at_120 = answers(load_text(relay="T9AS1D12-5"), system="120 V 60 Hz")["clearances.pendant"]
    at_230 = answers(load_text(relay="T9AS1D12-5"))["clearances.pendant"]
    assert (at_120.verdict, at_230.verdict) == (Verdict.TIGHT, Verdict.FAILS)
    assert at_120.detail.startswith("The distances suffice, but the sheet does not call the insulation reinforced.")


def test_altitude_asks_for_more():
    assert answers(altitude="4000 m")["clearances.pendant"].limit == Figure(pytest.approx(5.5e-3 * 1.29), "m")


def test_the_board_gets_its_distances():
    found = answers()
    assert found["board_distance.mains_to_mains"].limit == Figure(3e-3, "m")
    assert found["board_distance.mains_to_touchable"].limit == Figure(5.5e-3, "m")
    assert not found["board_distance.mains_to_touchable"].safety


@given(voltage=st.floats(10, 400), altitude=st.floats(0, 6000), category=st.sampled_from(["I", "II", "III", "IV"]))
def test_reinforced_is_never_less_and_creepage_never_below_clearance(voltage, altitude, category):
    basic = distances(voltage=voltage, category=category, altitude=altitude)
    reinforced = distances(voltage=voltage, category=category, altitude=altitude, reinforced=True)
    assert reinforced.clearance >= basic.clearance and reinforced.creepage >= basic.creepage
    assert basic.creepage >= basic.clearance > 0
