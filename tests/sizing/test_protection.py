import pytest

from pattress.finding import Figure, Verdict
from pattress.sizing.protection import COLD_READING, fault_current, findings, largest_cold_reading, next_rating
from pattress.stock import devices

from .invented import by_id, load_text, make_job


def answers(*things, **changed):
    return by_id(findings(make_job(*things, **changed)))


# docs/sources.md, E21: the largest loop impedance of a B16, which trips at 80 A.
def test_largest_loop_impedance():
    assert largest_cold_reading(voltage=230.0, needed=80.0) / COLD_READING == pytest.approx(2.731, abs=0.0005)


# BS 7671 table 41.3 (from memory): B6 7.28, B10 4.37, B16 2.73, C10 2.19, C16 1.37 ohm; a tester on cold conductors may read 0.8 of it.
@pytest.mark.parametrize("curve, rating, printed", [("B", 6.0, 7.28), ("B", 10.0, 4.37), ("B", 16.0, 2.73), ("C", 10.0, 2.19), ("C", 16.0, 1.37)])
def test_loop_impedances_of_breakers_as_printed(curve, rating, printed):
    needed = devices.instantaneous_band(curve).sure * rating
    assert largest_cold_reading(voltage=230.0, needed=needed) == pytest.approx(0.8 * printed, abs=0.005)


def test_a_short_behind_a_cable():           # worked on paper: 230 V / (0.23 + 0.77) ohm
    assert fault_current(voltage=230.0, outside=0.23, resistance=0.77) == pytest.approx(230.0)


def test_the_current_of_a_feed_at_its_worst():
    found = answers(load_text(kind="resistive heater", power="2.2 kW"), rating="10 A", other="0.5 A")["protection.lights"]
    assert found.value == Figure(pytest.approx(2200 / 230 * 1.1 + 0.5), "A")
    assert found.verdict is Verdict.FAILS
    assert found.change == (
        "another feed for Pendant (10.5 A)",
        "a device of 13 A, only where the cable allows it: see conductors.lights",
    )


def test_nothing_on_a_feed_is_no_load():
    assert answers(load_text())["protection.lights"].verdict is Verdict.HOLDS


def test_breaking_capacity_unknown_is_unknown_not_a_failure():
    found = answers(fault="unknown", breaking="unknown")["fault.lights"]
    assert found.verdict is Verdict.UNKNOWN
    assert [(a.key, a.taken) for a in found.assumptions] == [
        ("supply.fault_current", "6 kA"), ("feed.lights.device.breaking_capacity", "3 kA")]
    assert answers(fault="unknown", breaking="6 kA")["fault.lights"].verdict is Verdict.HOLDS
    assert answers(fault="8 kA", breaking="6 kA")["fault.lights"].verdict is Verdict.FAILS


def test_a_long_thin_cable_does_not_trip_at_once():
    found = answers(load_text(length="60 m"), curve="C", rating="16 A", feed_length="40 m")["trip.pendant"]
    assert found.verdict is Verdict.FAILS
    assert found.value == Figure(pytest.approx(0.95 * 230 / (0.23 + 2 * 100 * 14.52e-3), rel=1e-3), "A")
    assert found.change == ("a larger section or a shorter way",)
    assert found.assumptions == ()
    near = answers(load_text(length="5 m"), curve="B")["trip.pendant"]
    assert near.verdict is Verdict.HOLDS


# Gates of gG, IEC 60269-1 table 3 (from memory): 32 A surely melts within 0.1 s at 350 A, more than ten times its rating.
# 6 m of 4 mm2 hot, out and back: 12 m x 4.61 mohm/m x 300 / 250 = 66.4 mohm; 0.95 x 230 V / (230 V / 385 A + 66.4 mohm) = 329.2 A.
def test_ten_times_its_rating_does_not_yet_melt_a_larger_fuse_link_at_once():
    found = answers(load_text(section="4 mm2", length="1 m"), curve="gG", rating="32 A", feed_section="4 mm2", feed_length="5 m",
                    fault="385 A",)["trip.pendant"]
    assert (found.value.value, found.limit.value) == (pytest.approx(329.2, abs=0.05), 350.0)
    assert found.verdict is Verdict.UNKNOWN and found.assumptions == ()
    assert found.change[0] == "look at the fuse-link's own curve: where it melts within 0.4 s at 329 A it disconnects in time"


# 16 A: four times is 64 A. 0.23 ohm and 100 m of 1.5 mm2, 200 m x 14.52 mohm/m = 2.904 ohm: 218.5 V / 3.134 ohm = 69.7 A; 110 m: 63.7 A.
def test_a_fuse_link_that_may_take_seconds_is_refused():
    slow = dict(curve="gG", rating="16 A", feed_length="5 m")
    assert answers(load_text(length="95 m"), **slow)["trip.pendant"].verdict is Verdict.UNKNOWN
    assert answers(load_text(length="105 m"), **slow)["trip.pendant"].verdict is Verdict.FAILS


def test_at_120_volts_a_fuse_link_has_more_time():             # 0.12 ohm and 10 m: 290.4 mohm; 114 V / 0.4104 ohm = 277.8 A of 350 A
    found = answers(load_text(length="5 m"), curve="gG", rating="32 A", feed_length="5 m", system="120 V 60 Hz")["trip.pendant"]
    assert found.change[0] == "look at the fuse-link's own curve: where it melts within 0.8 s at 278 A it disconnects in time"


# 10 A: curve B surely trips at 50 A, D at 200 A, a gG fuse-link melts within 0.1 s at 110 A.
@pytest.mark.parametrize("device, length, needed, verdict", [
    ("miniature circuit-breaker", "5 m", 200.0, Verdict.HOLDS), ("miniature circuit-breaker", "40 m", 200.0, Verdict.UNKNOWN),
    ("fuse", "5 m", 110.0, Verdict.HOLDS), ("fuse", "60 m", 110.0, Verdict.UNKNOWN)])
def test_an_unknown_curve_does_not_hold_by_the_one_that_trips_first(device, length, needed, verdict):
    found = answers(load_text(length=length), device=device, curve="unknown", feed_length="5 m")["trip.pendant"]
    assert (found.limit.value, found.verdict) == (needed, verdict)
    assert found.assumptions[0].key == "feed.lights.device.curve"


def test_the_curve_that_would_trip_is_named():
    found = answers(load_text(length="15 m"), curve="D", rating="16 A", feed_length="10 m")["trip.pendant"]
    assert found.verdict is Verdict.FAILS
    assert found.change == ("a device of curve C, which surely trips at 160 A: see inrush", "a larger section or a shorter way")


# 17 m of 1.5 mm2 hot, out and back: 34 m x 12.1 mohm/m x 300/250 = 0.4937 ohm; C16 surely trips at 160 A, 0.95 x 230 V = 218.5 V.
# Behind the worst credible 0.8 ohm: 168.9 A; behind 0.9 ohm 156.8 A; behind the 230 V / 1 kA = 0.23 ohm of the largest fault: 301.9 A.
NEAR = dict(curve="C", rating="16 A", feed_length="12 m")


def test_what_the_largest_fault_current_leaves_is_not_taken_for_the_least():
    found = answers(load_text(), loop="unknown", **NEAR)["trip.pendant"]
    assert (found.value.value, found.verdict) == (pytest.approx(168.9, abs=0.05), Verdict.HOLDS)
    assert [(a.key, a.taken) for a in found.assumptions] == [("supply.loop_impedance", "800 mohm before the device")]
    assert answers(load_text(), loop="0.9 ohm", **NEAR)["trip.pendant"].verdict is Verdict.FAILS
    stated = answers(load_text(), loop="0.23 ohm", **NEAR)["trip.pendant"]
    assert (stated.value.value, stated.assumptions) == (pytest.approx(301.9, abs=0.05), ())


# 40 m: 80 m x 14.52 mohm/m = 1.1616 ohm. Behind 0.8 ohm 111.4 A, behind 0.23 ohm 157.0 A, behind nothing 188.1 A.
def test_an_unknown_loop_fails_only_where_no_mains_would_let_it_trip():
    long = dict(curve="C", rating="16 A", feed_length="35 m", loop="unknown")
    assert answers(load_text(), fault="unknown", **long)["trip.pendant"].verdict is Verdict.UNKNOWN
    assert answers(load_text(), fault="1000 A", **long)["trip.pendant"].verdict is Verdict.FAILS
    assert answers(load_text(length="60 m"), fault="unknown", **long)["trip.pendant"].verdict is Verdict.FAILS
    assert answers(load_text(length="0 m"), fault="unknown", **long | {"feed_length": "0 m"})["trip.pendant"].verdict is Verdict.HOLDS


# 218.5 V / 160 A / 1.05 - 1.1616 ohm = 0.1390 ohm. Curve D: 218.5 V / 320 A / 1.05 = 0.650 ohm, less than the cable alone.
def test_what_a_measured_loop_must_show_is_said_before_anything_is_changed():
    long = dict(rating="16 A", feed_length="35 m", loop="unknown", fault="unknown")
    found = answers(load_text(), curve="C", **long)["trip.pendant"]
    assert found.change == ("settle the figures above: a loop of at most 139 mohm before the device lets it trip",
                            "a device of curve B, which surely trips at 80 A: see inrush", "a larger section or a shorter way")
    assert answers(load_text(), curve="C", **long | {"loop": "0.138 ohm"})["trip.pendant"].verdict is Verdict.HOLDS
    assert answers(load_text(), curve="unknown", **long)["trip.pendant"].change[0] == "settle the figures above"
    assert answers(load_text(), curve="C", **long | {"loop": "0.8 ohm"})["trip.pendant"].change[0].startswith("a device of curve B")


# A weak mains: 230 V / 200 A leaves 1.15 ohm at least, more than the worst credible 0.8.
def test_a_weak_mains_is_not_taken_for_a_stiff_one():
    found = answers(load_text(length="0 m"), fault="200 A", loop="unknown", **NEAR | {"feed_length": "0 m"})["trip.pendant"]
    assert found.value.value == pytest.approx(0.95 * 200.0)
    assert found.assumptions[0].taken == "1.15 ohm before the device"


def unknown_loop(**changed):
    return answers(loop="unknown", **changed)["trip.pendant"].assumptions[0]


def test_it_is_said_whose_loop_was_taken_and_how_to_measure_it():
    assert unknown_loop().why == "it is the most that operators in the UK declare"
    assert unknown_loop().measure == "a loop tester where the devices sit, line to earth and line to neutral, by an electrician"
    assert unknown_loop(earthing="TT").measure == "a loop tester where the devices sit, line to neutral, by an electrician"
    assert unknown_loop(fault="200 A").why == "the largest fault current leaves no less"


def test_a_loop_of_230_volts_is_not_passed_off_as_one_of_120():
    found = unknown_loop(system="120 V 60 Hz")
    assert found.taken == "800 mohm before the device, as of a supply of 230 V"
    assert found.why == "it is the most that operators in the UK declare, and no figure for 120 V is known here"
    assert found.measure.endswith("by an electrician; or the volts that are lost there while a heater runs, over its amperes")


def test_of_a_tt_home_the_earth_is_asked_elsewhere():
    assert answers(earthing="TT")["trip.pendant"].covers_not == (
        "a fault to earth, which with TT only the residual-current device disconnects: see residual.lights")
    assert answers()["trip.pendant"].covers_not == "a fault to earth with a thinner protective conductor: its loop must be measured"


def test_the_largest_fault_does_not_move_with_the_loop():
    wide = answers(fault="6 kA", loop="2 ohm", breaking="6 kA")
    assert (wide["fault.lights"].value, wide["fault.lights"].verdict) == (Figure(6000.0, "A"), Verdict.HOLDS)


def test_next_ratings():
    assert next_rating(10.0) == 10.0
    assert next_rating(10.5) == 13.0
    assert next_rating(64.0) is None
