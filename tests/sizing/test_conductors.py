import re
from math import hypot
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pattress.finding import Figure, Verdict
from pattress.sizing.conductors import capacity, fault_at_controller, findings, voltage_drop, withstand
from pattress.stock.conductors import least_resistance_per_metre, resistance_per_metre

from .invented import by_id, choose, load_text, make_job


def answers(*things, **changed):
    job = make_job(*things, **changed)
    return by_id(findings(job, choose(job)))


# docs/sources.md, E35: 2.5 mm2, B1, 45 degC, three circuits bunched: 13.27 A, so 16 A must be refused and 13 A accepted.
def test_a_bunched_warm_cable():
    assert capacity(section=2.5e-6, method="B1", ambient=45.0, grouped=3) == pytest.approx(13.27, abs=0.005)
    warm = dict(feed_section="2.5 mm2", method="B1", ambient="45 degC", grouped=3)
    assert answers(rating="16 A", **warm)["conductors.lights"].verdict is Verdict.FAILS
    assert answers(rating="13 A", **warm)["conductors.lights"].verdict is Verdict.HOLDS


# docs/sources.md, E36: 1.5 mm2, A2, 40 degC, two circuits: 9.744 A; 10 A refused, 6 A accepted.
def test_two_circuits_in_an_insulated_wall():
    assert capacity(section=1.5e-6, method="A2", ambient=40.0, grouped=2) == pytest.approx(9.744, abs=0.0005)
    warm = dict(method="A2", ambient="40 degC", grouped=2)
    assert answers(rating="10 A", **warm)["conductors.lights"].verdict is Verdict.FAILS
    assert answers(rating="6 A", **warm)["conductors.lights"].verdict is Verdict.HOLDS


# docs/sources.md, E39 to E41.
@pytest.mark.parametrize(("section", "power_factor", "printed"), [(1.5e-6, 1.0, 7.5), (2.5e-6, 1.0, 4.5), (1.5e-6, 0.8, 6.024)])
def test_voltage_drops(section, power_factor, printed):
    lost = voltage_drop(current=10.0, length=25.0, section=section, power_factor=power_factor)
    assert lost == pytest.approx(printed, abs=0.0005)


# docs/sources.md, E43: longest 1.5 mm2 run at 10 A for 3 % of 230 V.
def test_longest_run():
    assert voltage_drop(current=10.0, length=23.0, section=1.5e-6) == pytest.approx(0.03 * 230.0)


# IEC 60364-4-43: k = 115 for PVC-insulated copper, so 1.5 mm2 survives 29.8 kA2s (from memory).
def test_what_a_conductor_survives():
    assert withstand(section=1.5e-6) == pytest.approx(29756, abs=1)


# docs/sources.md, E27: 13.0 ohm/km measured at 40 degC, brought back to 20 degC.
def test_a_measured_resistance_comes_back_to_20_degc():
    factor = resistance_per_metre(section=1e-6, temperature=20.0) / resistance_per_metre(section=1e-6, temperature=40.0)
    assert 13.0 * factor == pytest.approx(12.04, abs=0.005)


def test_one_circuit_is_told_as_one():
    assert answers()["conductors.lights"].corner == "30 degC, 1 circuit together"
    assert answers(grouped=3)["conductors.lights"].corner == "30 degC, 3 circuits together"


def test_the_change_names_the_section_that_passes():
    found = answers(rating="20 A", feed_section="1.5 mm2")["conductors.lights"]
    assert found.verdict is Verdict.FAILS
    assert found.change == ("a device of 16 A", "2.5 mm² carries 23 A")


# IEC 60364-4-43, 433.1: I2 <= 1.45 Iz. 1.5 mm2 by method B2 carries 16.5 A, 1.45 times that is 23.925 A. A gG fuse-link of
# 16 A surely melts at 1.6 x 16 = 25.6 A, one of 13 A at 1.9 x 13 = 24.7 A, one of 10 A at 19 A; a breaker of 16 A trips at 23.2 A.
@pytest.mark.parametrize("curve, rating, verdict", [
    ("B", "16 A", Verdict.HOLDS), ("gG", "16 A", Verdict.FAILS), ("gG", "13 A", Verdict.FAILS), ("gG", "10 A", Verdict.HOLDS)])
def test_a_fuse_link_that_melts_late_wants_a_thicker_cable_than_a_breaker(curve, rating, verdict):
    assert answers(curve=curve, rating=rating, feed_section="1.5 mm2")["conductors.lights"].verdict is verdict


def test_a_fuse_link_of_unknown_letters_is_not_taken_for_a_breaker():
    found = answers(curve="unknown", device="fuse", rating="16 A", feed_section="1.5 mm2")["conductors.lights"]
    assert found.verdict is Verdict.FAILS


def test_what_is_advised_for_a_fuse_link_cures():
    found = answers(curve="gG", rating="16 A", feed_section="1.5 mm2")["conductors.lights"]
    assert found.limit.value == pytest.approx(1.45 * 16.5 / 1.6)            # 14.95 A
    assert found.change == ("a device of 10 A", "2.5 mm² carries 23 A")
    assert answers(curve="gG", rating="16 A", feed_section="2.5 mm2")["conductors.lights"].verdict is Verdict.HOLDS


def test_a_run_behind_a_late_fuse_link_is_not_protected_either():
    run = answers(load_text(section="1.5 mm2"), curve="gG", rating="16 A", feed_section="2.5 mm2")["run.pendant"]
    assert run.verdict is Verdict.TIGHT
    assert run.change[0] == "2.5 mm² carries the load and is protected by the device"


def test_a_run_the_device_does_not_protect_is_tight_and_says_why():
    found = answers(load_text(section="0.75 mm2"))["run.pendant"]
    assert found.verdict is Verdict.TIGHT
    assert found.detail == "The device of 10 A does not protect this run against overload."
    assert found.change == (
        "1 mm² carries the load and is protected by the device",
        "or leave it only where the load cannot overload: a fixed lamp, heater or fan, never a socket",
    )


def test_a_run_too_thin_for_its_load_fails():
    found = answers(load_text(kind="resistive heater", power="2 kW", section="0.75 mm2"))["run.pendant"]
    assert found.verdict is Verdict.FAILS


def test_a_long_run_to_a_lamp_loses_too_much():
    found = answers(load_text(kind="tungsten lamp", power="1 kW", length="60 m"))["drop.pendant"]
    assert found.verdict is Verdict.FAILS
    assert found.limit == Figure(pytest.approx(6.9), "V")
    # 4.783 A: 0.1435 V/m in 1.5 mm2, so 8.61 V along 60 m; in 2.5 mm2 5.17 V. (6.9 V - 1.43 V) / 0.1435 V/m = 38.09 m.
    assert found.change == ("2.5 mm² for the run loses 6.6 V", "keep the run to 38 m")
    assert found.detail == "1.43 V along the feed, 8.61 V along the run; 3 % of 230 V is allowed."
    assert not found.safety


SECTIONS = (0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0)     # mm2, of IEC 60228, that the stock has


def advised(found, which):
    """Return the section [mm2] that a finding advises for "run" or "feed", None where it advises none."""
    words = next((re.match(rf"([0-9.]+) mm² for the {which} loses", one) for one in found.change if f"for the {which} loses" in one), None)
    return words and float(words[1])


def test_the_advised_sections_are_the_first_that_hold_for_anything():
    chance, seen = Random(60364), set()
    for _ in range(250):
        power, run, feed = 10 ** chance.uniform(1.5, 3.9), chance.uniform(2, 200), chance.uniform(2, 60)
        of_run, of_feed = (chance.choice(SECTIONS[1:6]) for _ in range(2))
        found = answers(load_text(kind="tungsten lamp", power=f"{power:.1f} W", length=f"{run:.2f} m", section=f"{of_run} mm2"),
                        feed_length=f"{feed:.2f} m", feed_section=f"{of_feed} mm2")["drop.pendant"]
        power, run, feed = (float(text) for text in (f"{power:.1f}", f"{run:.2f}", f"{feed:.2f}"))
        current = power / 230.0 * 1.1

        def lost(a, b):
            return 2.0 * current * (run * hypot(0.0225 / a, 0.08e-3) + feed * hypot(0.0225 / b, 0.08e-3))

        assert found.value.value == pytest.approx(lost(of_run, of_feed), rel=1e-9)
        if found.verdict is Verdict.HOLDS:
            assert found.change == ()
            continue
        within = 6.9 if found.verdict is Verdict.FAILS else 0.9 * 6.9
        for which, first in (("run", next((s for s in SECTIONS if s >= of_run and lost(s, of_feed) <= within), None)),
                             ("feed", next((s for s in SECTIONS if s >= of_feed and lost(of_run, s) <= within), None))):
            assert advised(found, which) == first
            seen.add((found.verdict, which, first is not None))
        metres = next((float(one.split()[4]) for one in found.change if one.startswith("keep the run to")), 0.0)
        per_metre, left = 2.0 * current * hypot(0.0225 / of_run, 0.08e-3), within - 2.0 * current * feed * hypot(0.0225 / of_feed, 0.08e-3)
        assert (metres <= left / per_metre < metres + (1.0 if metres >= 100 else 0.1 + 1e-9)) if left / per_metre >= 1.0 else metres == 0.0
        both = next((re.match(r"([0-9.]+) mm² for the run and ([0-9.]+) mm² for the feed together", one) for one in found.change if "together" in one), None)
        pairs = [(run * a + feed * b, a, b) for a in SECTIONS for b in SECTIONS if a >= of_run and b >= of_feed and lost(a, b) <= within]
        if advised(found, "run") or advised(found, "feed"):
            assert both is None
        else:
            assert (both and (float(both[1]), float(both[2]))) == (min(pairs)[1:] if pairs else None)
            seen.add(("both", bool(pairs)))
    assert seen >= {(Verdict.FAILS, "run", True), (Verdict.FAILS, "feed", True), (Verdict.TIGHT, "run", True), ("both", True), ("both", False)}


# 230 V, 27 W at 0.5: 0.2348 A nominal; 5 m and 10 m of 1.5 mm2: 2 x 15 m x (0.0225 / 1.5 x 0.5 + 0.08e-3 x 0.866) x 0.2348 A = 53.3 mV.
# 1 A of other loads through the feed: 2 x 10 m x 0.015 ohm/m x 1 A = 0.3 V more.
def test_the_nominal_loss_takes_each_current_by_its_power_factor():
    lamps = load_text(count=3, power_factor=0.5)
    assert answers(lamps)["drop.pendant"].nominal.value == pytest.approx(53.3e-3, rel=1e-3)
    assert answers(lamps, other="1 A")["drop.pendant"].nominal.value == pytest.approx(353.3e-3, rel=1e-3)


def test_other_loads_may_lose_five_per_cent():
    assert answers(load_text(kind="motor", power="100 W"))["drop.pendant"].limit == Figure(pytest.approx(11.5), "V")


def test_a_thin_run_behind_a_stiff_supply_does_not_survive_a_short():
    found = answers(load_text(section="0.75 mm2"), fault="3 kA", rating="16 A", curve="C", feed_length="0 m")["short_circuit.pendant"]
    assert found.verdict is Verdict.FAILS
    assert found.limit == Figure(pytest.approx(7439, abs=1), "A2 s")
    assert found.change == ("1.5 mm² survives it",)
    assert answers(load_text(section="1.5 mm2"), fault="3 kA", rating="16 A", curve="C", feed_length="0 m")["short_circuit.pendant"].change == ()
    unknown = answers(load_text(section="0.75 mm2"), fault="unknown", rating="16 A", curve="C")["short_circuit.pendant"]
    assert unknown.verdict is Verdict.UNKNOWN


def test_a_breaker_of_curve_d_clears_within_its_tenth_of_a_second():
    found = answers(load_text(section="2.5 mm2"), curve="D", rating="6 A", fault="600 A")["short_circuit.pendant"]
    fault = 600 / (1 + 600 * 2 * 10 / (58 * 1.5) * 235 / 250 / 230)       # copper of 58 MS/m, 1.5 mm2, at 5 degC
    assert found.verdict is Verdict.HOLDS
    assert found.value == Figure(pytest.approx(fault**2 * 0.1, rel=1e-3), "A2 s")
    below = answers(load_text(section="2.5 mm2"), curve="D", rating="32 A", fault="600 A")["short_circuit.pendant"]
    assert (below.verdict, below.detail) == (Verdict.UNKNOWN, "The standard gives no let-through for this device.")


def test_a_section_too_thick_for_the_terminal_gets_a_larger_one():
    job = make_job(load_text(section="4 mm2"))
    assert choose(job).terminals["pendant"].part.designation == "terminal 7.62 mm, 4 mm2"
    assert answers(load_text(section="4 mm2"))["terminal.pendant"].verdict is Verdict.HOLDS
    thick = answers(load_text(section="10 mm2"))["terminal.pendant"]
    assert (thick.verdict, thick.detail) == (Verdict.FAILS, "10 mm² does not go into 2.5 mm².")


@given(section=st.sampled_from([0.5e-6, 0.75e-6, 1.5e-6, 2.5e-6, 6e-6]), ambient=st.floats(-20, 69),
       grouped=st.integers(1, 20), method=st.sampled_from(["A1", "A2", "B1", "B2", "C"]))
def test_warmth_and_company_never_raise_capacity(section, ambient, grouped, method):
    here = capacity(section=section, method=method, ambient=ambient, grouped=grouped)
    assert capacity(section=section, method=method, ambient=ambient + 1, grouped=grouped) <= here * (1 + 1e-12)
    assert capacity(section=section, method=method, ambient=ambient, grouped=grouped + 1) <= here * (1 + 1e-12)
    assert here >= 0.0


@given(current=st.floats(0, 100), length=st.floats(0, 500), section=st.floats(0.5e-6, 50e-6), factor=st.floats(0.05, 1))
def test_drop_is_proportional_to_length_and_current(current, length, section, factor):
    once = voltage_drop(current=current, length=length, section=section, power_factor=factor)
    assert voltage_drop(current=2 * current, length=length, section=section, power_factor=factor) == pytest.approx(2 * once)
    assert voltage_drop(current=current, length=2 * length, section=section, power_factor=factor) == pytest.approx(2 * once)
    assert voltage_drop(current=current, length=length, section=2 * section, power_factor=factor) <= once * (1 + 1e-12)


def test_the_error_names_the_quantity():
    with pytest.raises(ValueError, match=r"^length must be zero or more and finite, found -3\.0$"):
        voltage_drop(current=6.0, length=-3.0, section=1.5e-6)


# IEC 60228 prints the largest resistance allowed, 12.1 mohm/m for 1.5 mm2 at 20 degC; the least is that of pure copper, cold: 10.8.
def test_the_largest_fault_takes_the_least_resistance():
    least = least_resistance_per_metre(section=1.5e-6)
    assert least == pytest.approx(1 / 58e6 / 1.5e-6 * 235 / 250)
    for section in (0.75e-6, 1.5e-6, 2.5e-6, 4e-6, 6e-6, 10e-6):
        assert least_resistance_per_metre(section=section) < resistance_per_metre(section=section, temperature=5.0)
    job = make_job(fault="6 kA", feed_length="18 m")
    # 230 V / (230 V / 6 kA + 36 m x 10.80 mohm/m) = 538 A
    assert fault_at_controller(job, job.feed["lights"]) == pytest.approx(538.4, abs=0.5)


def test_an_unknown_curve_lets_through_what_the_worst_of_them_does_and_is_named():
    def of(**changed):
        return answers(load_text(section="1.5 mm2"), rating="16 A", fault="3 kA", **changed)["short_circuit.pendant"]

    unknown = of(curve="unknown")
    assert [a.key for a in unknown.assumptions] == ["feed.lights.device.curve"]
    known = [of(curve=curve) for curve in ("B", "C", "D")]
    assert unknown.value.value == max(found.value.value for found in known if found.value)
    assert unknown.verdict is Verdict.UNKNOWN or unknown.verdict is max((found.verdict for found in known), key=lambda one: one.severity)
    beyond = answers(load_text(), rating="40 A", feed_section="10 mm2", fault="300 A", curve="unknown")["short_circuit.pendant"]
    assert (beyond.verdict, beyond.change[0]) == (Verdict.UNKNOWN, "settle the curve: look at the device") and not beyond.stops
