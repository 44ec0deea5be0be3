"""From a fan of a job to its drive and its findings."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pattress.fan.answers import findings
from pattress.fan.design import QUIET_CURRENT, fan_designs, fan_drives, relays_for, revolutions
from pattress.fan.switching import coasting_speed
from pattress.finding import Verdict
from pattress.stock.parts import load_parts
from tests.sizing.invented import fan_text, make_job

PARTS = load_parts()


def job_of(**fields):
    return make_job(fan_text(**fields))


def design_of(**fields):
    job = job_of(**fields)
    return job, fan_designs(job, PARTS)["ceiling"]


def answers(**fields):
    job = job_of(**fields)
    return {finding.id: finding for finding in findings(job, fan_designs(job, PARTS))}


def test_four_steps_take_two_capacitors_three_relays_and_never_bridge_one_with_the_link():
    _, design = design_of(poles=14, run_capacitor="2.5 uF", speed="380 rpm")
    drive = design.drive
    assert len(drive.capacitors) == 2 and drive.relays == 3 and len(drive.masks) == 5 and drive.masks[0] == 0
    link = 1 << 2
    assert all(not mask & link or mask == link for mask in drive.masks)
    assert drive.masks[4] == link


def test_an_edit_of_one_fan_designs_no_other_anew():
    before, after = (fan_designs(make_job(fan_text(power=power), fan_text("study", power="60 W")), PARTS) for power in ("75 W", "76 W"))
    assert after["study"] is before["study"] and after["ceiling"].fit.nameplate.power == 76.0
    assert fan_designs(make_job(fan_text(), fan_text("study", power="60 W"), system="230 V 60 Hz"), PARTS)["study"] is not before["study"]


def test_steps_come_in_order_and_full_speed_is_the_nameplate_s():
    _, design = design_of(poles=14, run_capacitor="2.5 uF", speed="380 rpm")
    speeds = [revolutions(step.speed) for step in design.steps]
    assert speeds == sorted(speeds)
    assert speeds[-1] == pytest.approx(380, rel=0.02)


def test_one_step_is_one_relay_without_a_wait():
    _, design = design_of(steps=1)
    assert design.drive.masks == (0, 1) and design.drive.dead == 0.0 and not design.steps


def test_the_dead_time_costs_little_speed():
    _, design = design_of(poles=14, run_capacitor="2.5 uF")
    assert 0.02 < design.drive.dead < 1.0
    full = design.steps[-1].speed
    assert coasting_speed(design.fit.load, speed=full, time=design.drive.dead) > 0.5 * full


def test_readings_narrow_the_band():
    # readings of the worked fan "example-75" (computed; invented parameters)
    measured = ('measured = { main_winding = "300 ohm", auxiliary_winding = "315 ohm", readings = ['
                '{ mains = "230 V", power = "75.37 W", apparent_power = "75.82 VA", speed = "382.5 rpm" },'
                '{ mains = "230 V", capacitor = "2.2 uF", power = "12.42 W", apparent_power = "34.54 VA", speed = "163.2 rpm" } ] }')
    _, guessed = design_of(poles=14, run_capacitor="2.5 uF", speed="382 rpm")
    job = make_job(fan_text(poles=14, run_capacitor="2.5 uF", speed="382 rpm") + measured + "\n")
    known = fan_designs(job, PARTS)["ceiling"]
    assert guessed.fit.estimate and not known.fit.estimate
    assert known.prediction.spread.max() < 0.4 * guessed.prediction.spread.max()
    assert not any(assumption.key.endswith("measured") for assumption in known.assumptions)


@pytest.mark.parametrize("motor, verdict", [
    ("permanent split capacitor", Verdict.HOLDS), ("unknown", Verdict.UNKNOWN),
    ("shaded pole", Verdict.FAILS), ("electronically commutated", Verdict.FAILS),
])
def test_only_a_capacitor_motor_may_be_slowed(motor, verdict):
    assert answers(motor=motor)["fan_motor.ceiling"].verdict is verdict


def test_figures_that_cannot_be_are_told_and_stop_the_bundle():
    found = answers(poles=14, run_capacitor="2.5 uF", speed="600 rpm")      # synchronous speed is 428.6 r/min
    suits = found["fan_motor.ceiling"]
    assert suits.verdict is Verdict.FAILS and suits.safety
    assert suits.detail.startswith("The figures given cannot be: speed must be above 0 and below synchronous 44.88 rad/s")
    assert list(found) == ["fan_motor.ceiling"]


def test_what_the_job_does_not_know_is_said_with_what_would_settle_it():
    found = answers()["fan_speed.ceiling"]
    assert {assumption.key for assumption in found.assumptions} == {
        "fan.ceiling.poles", "fan.ceiling.run_capacitor", "fan.ceiling.measured"}


@settings(max_examples=25, suppress_health_check=list(HealthCheck))
@given(power=st.integers(15, 400), steps=st.integers(1, 6), motor=st.sampled_from(("permanent split capacitor", "shaded pole")))
def test_every_fan_gets_a_drive_whose_levels_differ(power, steps, motor):
    job = job_of(power=f"{power} W", steps=steps, motor=motor)
    drive = fan_drives(fan_designs(job, PARTS))["ceiling"]
    assert len(set(drive.masks)) == len(drive.masks) == steps + 1
    assert steps == 1 or drive.dead > 0.0
    for finding in findings(job, fan_designs(job, PARTS)):
        assert finding.id != "fan_switching.ceiling" or finding.value.value <= QUIET_CURRENT


@pytest.mark.parametrize("motor", [{}, {"poles": 14, "run_capacitor": "2.5 uF", "speed": "380 rpm"}, {"power": "1 kW"}])
@pytest.mark.parametrize("steps", range(1, 7))
def test_how_many_relays_a_fan_takes_is_known_without_designing_it(steps, motor):
    """The wires of a job are named from this, so an edit of a pin designs no fan."""
    _, design = design_of(steps=steps, **motor)
    assert design.drive.relays == relays_for(steps)


# The network is linear at a speed: what lies over a capacitor goes as the mains, but for a smaller bleed (0.1 %).
def test_the_capacitors_bear_the_highest_mains_the_job_states():
    usual = job_of()
    wide = usual.model_copy(update={"supply": usual.supply.model_copy(update={"tolerance": 0.20})})
    found = [{one.id: one for one in findings(job, fan_designs(job, PARTS))}["fan_capacitor.ceiling"] for job in (usual, wide)]
    assert found[1].value.value / found[0].value.value == pytest.approx(1.2 / 1.1, rel=1e-3)
    assert found[1].corner.startswith("mains at 120 %")
