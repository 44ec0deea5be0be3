import pytest
from hypothesis import given
from hypothesis import strategies as st

from pattress.finding import Figure, Verdict
from pattress.sizing.tracks import (
    OUNCE,
    SQUARE_MIL,
    area_2152,
    area_2221,
    area_that_survives,
    findings,
    survives,
    track_resistance,
    width,
)

from .invented import by_id, load_text, make_job

MIL = 1.378 * 25.4e-6            # m of copper per ounce in the published curve fit


def answers(*things, **changed):
    return by_id(findings(make_job(*things, **changed)))


# docs/sources.md, E45 to E47: width in mm outside and inside, area in square mils.
@pytest.mark.parametrize(("current", "rise", "ounces", "outside", "inside", "mils"), [
    (1.0, 10.0, 1, 0.3004, 0.7814, 16.3), (5.0, 20.0, 1, 1.816, 4.724, 98.51), (10.0, 20.0, 2, 2.362, 6.144, 256.3),
])
def test_widths_by_ipc_2221(current, rise, ounces, outside, inside, mils):
    area = area_2221(current=current, rise=rise)
    assert area / SQUARE_MIL == pytest.approx(mils, rel=1e-3)
    assert width(area=area, thickness=ounces * MIL) * 1e3 == pytest.approx(outside, rel=1e-3)
    assert width(area=area_2221(current=current, rise=rise, internal=True), thickness=ounces * MIL) * 1e3 == pytest.approx(inside, rel=1e-3)


# docs/sources.md, E48: 3 mm wide, one ounce, 20 K.
def test_currents_by_ipc_2221():
    assert area_2221(current=7.195, rise=20.0) == pytest.approx(3e-3 * MIL, rel=5e-4)
    assert area_2221(current=3.598, rise=20.0, internal=True) == pytest.approx(3e-3 * MIL, rel=5e-4)


# docs/sources.md, E49: inside needs 2^(1/0.725) times the width.
def test_inside_over_outside():
    ratio = area_2221(current=3.0, rise=20.0, internal=True) / area_2221(current=3.0, rise=20.0)
    assert ratio == pytest.approx(2.601, abs=0.0005)


# docs/sources.md, E50: where IPC-2152 differs: between the two curves of the older standard.
def test_the_newer_measurements_lie_between():
    areas = [area_2221(current=5.0, rise=20.0), area_2152(current=5.0, rise=20.0), area_2221(current=5.0, rise=20.0, internal=True)]
    assert [area / SQUARE_MIL for area in areas] == pytest.approx([98.51, 150.8, 256.3], rel=1e-3)


# docs/sources.md, E51: 50 mm x 2 mm x 35 um, and its loss at 10 A.
def test_the_resistance_of_a_track():
    ohms = track_resistance(length=0.05, width=2e-3, thickness=35e-6)
    assert ohms * 1e3 == pytest.approx(12.32, abs=0.005)
    assert 10.0**2 * ohms == pytest.approx(1.232, abs=0.0005)


# IEC 60364-5-54: k = 143 for bare PVC-warm copper, 30 to 160 degC, within a per cent (table value from memory).
def test_k_of_copper():
    assert survives(area=1e-6, start=30.0, end=160.0) ** 0.5 == pytest.approx(143.0, rel=0.01)


@given(energy=st.floats(0, 1e6))
def test_the_surviving_area_survives(energy):
    assert survives(area=area_that_survives(energy=energy)) == pytest.approx(energy, rel=1e-9, abs=1e-9)


@given(current=st.floats(0, 60), more=st.floats(0, 60), rise=st.floats(5, 60))
def test_more_current_never_narrows_a_track(current, more, rise):
    for area in (area_2221, area_2152):
        assert area(current=current + more, rise=rise) >= area(current=current, rise=rise) >= 0.0
        some = max(current, 0.5)             # below, the fit of IPC-2152 is out of its chart
        assert area(current=some, rise=rise + 5) <= area(current=some, rise=rise)


def test_a_heater_needs_a_wide_track():
    found = answers(load_text(kind="resistive heater", power="2.2 kW"), rating="16 A")["track.pendant"]
    assert 2e-3 < found.value.value < 6e-3
    assert found.detail.startswith("Least width by copper: 35 um copper: ")
    lamp = answers(load_text())["track.pendant"]
    assert lamp.value == Figure(1e-3, "m")
    assert lamp.detail == ("Least width by copper: 35 um copper: 1 mm outside, 1 mm inside (IPC-2221); "
                           "70 um copper: 1 mm outside, 1 mm inside (IPC-2221).")
    too_much = answers(load_text(kind="resistive heater", power="6 kW"), rating="32 A")["track.pendant"]
    assert too_much.verdict is Verdict.FAILS
    assert too_much.change == ("the track on both sides, or a wire of the run's section soldered along it",)


def test_a_short_may_cost_the_board():
    found = answers(fault="1 kA", curve="C", rating="16 A")["track_fault.lights"]
    assert found.value == Figure(pytest.approx(11.7e-3, abs=0.2e-3), "m")
    assert found.verdict is Verdict.TIGHT and not found.safety
    assert found.detail == ("One side carries 10 mm: run it on both sides, or solder a wire along it, or count the board as scrap "
                            "after a short.")


def test_one_ounce_is_35_um():
    assert MIL == pytest.approx(OUNCE, rel=1e-3)


# 3 x 1.1 kW at 230 V and 10 % high: 15.78 A in the track that all share; by both fits at 20 K on 35 um 9.0 mm and on 70 um 4.5 mm,
# each alone 5.26 A. The device of 16 A lets no more pass, whatever hangs on it.
def test_the_track_that_all_channels_of_a_feed_share_carries_their_sum():
    heaters = [load_text(f"h{i}", kind="resistive heater", power="1.1 kW") for i in range(3)]
    found = answers(*heaters, rating="16 A")
    common = found["track_common.lights"]
    current = next(given.figure.value for given in common.inputs if given.name == "current")
    assert current == pytest.approx(3 * 1100 / 230 * 1.1)
    area = max(area_2221(current=current, rise=20.0), area_2152(current=current, rise=20.0))
    assert common.value.value == pytest.approx(area / 70e-6) and common.value.value > 2.5 * found["track.h0"].value.value
    assert f"{area / 35e-6 * 1e3:.3g} mm outside" in common.detail
    more = answers(*heaters, *(load_text(f"g{i}", kind="resistive heater", power="1.1 kW") for i in range(3)), rating="16 A")["track_common.lights"]
    assert next(given.figure.value for given in more.inputs if given.name == "current") == 16.0


def test_every_feed_with_a_load_has_a_common_track():
    assert [one for one in answers(load_text()) if one.startswith("track_common")] == ["track_common.lights"]
