import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pattress.finding import Verdict
from pattress.sizing.fan_estimate import (
    DAMPING, QUIET_CURRENT, bleed_for, dead_time, estimate_fans, findings, largest_bleed, level_capacitances,
    motor_resistance, speed_share, voltage_left, voltage_share,
)
from pattress.sizing.mains import Mains
from pattress.stock.preferred import value_below

from .invented import PARTS, by_id, fan_text, make_job


def drive(**fields):
    return estimate_fans(make_job(fan_text(**fields)), PARTS)["ceiling"]


def answers(**fields):
    job = make_job(fan_text(**fields))
    return by_id(findings(job, PARTS, estimate_fans(job, PARTS)))


# The worked model fan example-75 (computed with the double revolving field, not measured): voltage and speed on its steps.
@pytest.mark.parametrize(("capacitance", "volts", "rpm"), [(2.2e-6, 82.7, 163.2), (3.3e-6, 117.1, 246.9), (5.5e-6, 163.6, 333.0)])
def test_the_estimate_follows_the_worked_model_fan(capacitance, volts, rpm):
    share = voltage_share(capacitance=capacitance, resistance=motor_resistance(power=75.0, voltage=230.0), frequency=50.0)
    assert share * 230.0 == pytest.approx(volts, rel=0.05)
    assert speed_share(share) * 382.5 == pytest.approx(rpm, rel=0.10)


def test_the_lowest_step_is_where_the_estimate_is_poorest():
    share = voltage_share(capacitance=1e-6, resistance=motor_resistance(power=75.0, voltage=230.0), frequency=50.0)
    assert share * 230.0 == pytest.approx(38.8, rel=0.02)
    assert speed_share(share) * 382.5 == pytest.approx(55.7, rel=0.45)       # friction is not in it


# E83 to E87: bleed resistors (34 V after 1 s, 60 V after 2 s).
def test_bleed_resistors():
    exact = dict(capacitor_tolerance=0.0, bleed_tolerance=0.0)
    assert largest_bleed(capacitance=0.47e-6, crest=357.8, **exact) == pytest.approx(904e3, rel=5e-4)
    assert largest_bleed(capacitance=0.47e-6, crest=357.8, left=60.0, time=2.0, **exact) == pytest.approx(2.383e6, rel=5e-4)
    assert value_below(904e3, 12) == 820e3
    assert largest_bleed(capacitance=0.47e-6, crest=325.27, **exact) == pytest.approx(942.2e3, rel=5e-4)
    assert voltage_left(start=357.8, time=1.0, resistance=820e3, capacitance=0.47e-6) == pytest.approx(26.72, abs=0.01)
    assert 253.0**2 / 820e3 == pytest.approx(78.06e-3, rel=5e-4)
    assert largest_bleed(capacitance=3.3e-6, crest=325.27, **exact) == pytest.approx(134.2e3, rel=5e-4)
    assert 230.0**2 / 134.2e3 == pytest.approx(0.3942, rel=5e-4)
    assert largest_bleed(capacitance=0.47e-6, crest=357.8, capacitor_tolerance=0.2) == pytest.approx(717.5e3, rel=5e-4)


# Switching example of the fan reference: 470 kohm on 2.2 uF from 325 V: 124 V after 1 s, 34 V after 2.33 s.
def test_a_published_bleed():
    assert voltage_left(start=325.0, time=1.0, resistance=470e3, capacitance=2.2e-6) == pytest.approx(124.0, abs=0.7)
    assert dead_time(resistance=470e3, capacitance=2.2e-6, start=325.0, left=34.0) == pytest.approx(2.33, abs=0.01)


def test_four_steps_take_two_capacitors_and_three_relays():
    found = drive()
    assert found.masks == (0, 0b001, 0b010, 0b011, 0b100)
    assert found.relays == 3
    assert found.capacitors[0] < found.capacitors[1]
    assert level_capacitances(found) == pytest.approx((found.capacitors[0], found.capacitors[1], sum(found.capacitors)))


def test_one_step_is_one_relay_without_a_wait():
    assert drive(steps=1).masks == (0, 1)
    assert drive(steps=1).dead == 0.0


@pytest.mark.parametrize(("steps", "relays"), [(1, 1), (2, 2), (3, 3), (4, 3), (5, 4), (6, 4)])
def test_relays_by_steps(steps, relays):
    found = drive(steps=steps)
    assert found.relays == relays
    assert len(found.masks) == steps + 1
    assert list(level_capacitances(found)) == sorted(level_capacitances(found))


def test_straight_through_never_closes_with_a_capacitor():
    for steps in range(1, 7):
        found = drive(steps=steps)
        through = 1 << (found.relays - 1)
        assert all(mask == through or not mask & through for mask in found.masks)


def test_low_steps_are_kicked_from_rest():
    found = drive()
    assert (found.kick_level, found.kick_top, found.kick) == (4, 1, 2.0)


def test_after_the_dead_time_left_over_charges_meet_quietly():
    found, crest = drive(), Mains(230.0, 50.0).crest
    for value in found.capacitors:
        left = voltage_left(start=crest, time=found.dead, resistance=bleed_for(value, crest), capacitance=value)
        assert 2 * left / (2 * DAMPING) <= QUIET_CURRENT


def test_only_a_capacitor_motor_may_be_slowed():
    assert answers()["fan_motor.ceiling"].verdict is Verdict.HOLDS
    wrong = answers(motor="electronically commutated")["fan_motor.ceiling"]
    assert (wrong.verdict, wrong.detail) == (Verdict.FAILS, "An electronic motor must not be fed through a capacitor.")
    assert answers(motor="shaded pole")["fan_motor.ceiling"].verdict is Verdict.FAILS
    unknown = answers(motor="unknown")["fan_motor.ceiling"]
    assert unknown.verdict is Verdict.UNKNOWN
    assert unknown.assumptions[0].measure == (
        "open the canopy: a capacitor of 1 to 4 uF at the motor, three leads, no electronics")
    assert answers(motor="shaded pole", steps=1)["fan_motor.ceiling"].verdict is Verdict.HOLDS


def test_the_finding_says_it_is_an_estimate():
    found = answers()["fan_speed.ceiling"]
    assert found.detail.startswith("This is an estimate from one model fan. step 1: ")
    assert not found.safety
    assert found.verdict in (Verdict.HOLDS, Verdict.TIGHT)
    assert answers()["fan_capacitor.ceiling"].verdict is Verdict.HOLDS


@settings(max_examples=30)
@given(power=st.floats(20, 200), steps=st.integers(1, 6))
def test_every_fan_gets_a_drive_whose_levels_differ(power, steps):
    found = drive(power=f"{power:.1f} W", steps=steps)
    assert len(set(found.masks)) == steps + 1
    assert 0.0 <= found.dead < 3.0


@given(capacitance=st.floats(0, 1e-4), more=st.floats(0, 1e-4), resistance=st.floats(50, 5000))
def test_more_capacitance_never_slows(capacitance, more, resistance):
    low, high = (voltage_share(capacitance=c, resistance=resistance, frequency=50.0) for c in (capacitance, capacitance + more))
    assert 0.0 <= speed_share(low) <= speed_share(high) <= 1.0
