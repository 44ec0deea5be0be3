"""From a fan of a job to its drive and its findings."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pattress.fan.answers import findings
from pattress.fan.design import QUIET_CURRENT, fan_designs, fan_drives, known_of, relays_for, revolutions
from pattress.finding import Verdict
from pattress.stock.parts import load_parts
from tests.sizing.invented import fan_text, make_job

from .closed_forms import coasting_speed

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


# The worked fan "example-75" (computed; invented parameters): 14 poles, straight through and two steps.
WORKED = [("none", 382.5, 75.37, 75.82), ("2.2 uF", 163.2, 12.42, 34.54), ("3.3 uF", 246.9, 23.97, 47.07)]


def measured_job(rows=(), measured="", reading="", **fields):
    """A fan with what was measured at it: `measured` and `reading` are more keys of the table, and of each reading."""
    readings = ", ".join(f'{{ mains = "230 V", capacitor = "{capacitor}", speed = "{speed} rpm", power = "{power} W", apparent_power = "{apparent} VA"{reading} }}'
                         for capacitor, speed, power, apparent in rows)
    return make_job(fan_text(**fields) + f"measured = {{ readings = [{readings}]{measured} }}\n")


def assumed(job, key):
    return [one for one in fan_designs(job, PARTS)["ceiling"].assumptions if one.key == f"fan.ceiling.{key}"]


def test_poles_that_are_not_known_are_taken_from_the_readings():
    poles = assumed(measured_job(WORKED, run_capacitor="2.5 uF"), "poles")
    assert [one.taken for one in poles] == ["14"] and poles[0].why == "the readings fit it best; 12 poles are over 1000 times less likely"
    # every speed half as much again, W as before: fields of 12 poles (500 r/min) and more are overtaken
    faster = [(capacitor, round(1.5 * speed, 1), power, apparent) for capacitor, speed, power, apparent in WORKED]
    assert assumed(measured_job(faster, run_capacitor="2.5 uF"), "poles")[0].taken in ("8", "10")
    assert assumed(measured_job(WORKED, poles=14, run_capacitor="2.5 uF"), "poles") == []


# Synchronous speeds at 50 Hz: 18 poles 333.3, 16 375, 14 428.6, 12 500, 10 600, 8 750 r/min.
@pytest.mark.parametrize("speed, poles", [("350 rpm", 14), ("500 rpm", 10), ("560 rpm", 10), ("610 rpm", 8), ("200 rpm", 18)])
def test_poles_that_the_printed_speed_forbids_are_not_taken(speed, poles):
    design = fan_designs(job_of(run_capacitor="2.5 uF", speed=speed), PARTS)["ceiling"]
    assert design.problem == "" and design.fit.nameplate.poles == poles


def test_a_winding_read_cold_is_fitted_warm():
    known = known_of(measured_job(measured=', main_winding = "250 ohm", auxiliary_winding = "260 ohm"').fan["ceiling"])
    assert known["main_resistance"] == pytest.approx(250 * 1.195) and known["auxiliary_resistance"] == pytest.approx(260 * 1.195)   # 50 K x 0.39 %/K
    assert known["resistance_error"] == pytest.approx(0.053, abs=0.001)      # 2 % of the meter, 15 K x 0.0039 / 1.195 of the rise


@pytest.mark.parametrize("main, auxiliary, both, pair", [
    ("300 ohm", "317 ohm", "615 ohm", (300, 317)), ("317 ohm", "300 ohm", "615 ohm", (317, 300)),    # as named
    ("615 ohm", "300 ohm", "317 ohm", (300, 317)), ("300 ohm", "615 ohm", "317 ohm", (300, 317)),    # the sum stands in another's place
    ("300 ohm", "unknown", "615 ohm", (300, 315)), ("unknown", "315 ohm", "615 ohm", (300, 315)),
    ("unknown", "unknown", "615 ohm", (None, None)),
])
def test_three_readings_between_the_leads_give_both_windings(main, auxiliary, both, pair):
    known = known_of(measured_job(measured=f', main_winding = "{main}", auxiliary_winding = "{auxiliary}", both_windings = "{both}"').fan["ceiling"])
    assert [known[name] and known[name] / 1.195 for name in ("main_resistance", "auxiliary_resistance")] == pytest.approx(pair)


@pytest.mark.parametrize("measured, words", [
    (', main_winding = "300 ohm", auxiliary_winding = "315 ohm", both_windings = "400 ohm"',
     "readings must have one that is the sum of the others, found 300, 315 and 400 ohm"),
    (', main_winding = "300 ohm", both_windings = "280 ohm"', "both_windings must be more than one of them, 300 ohm, found 280 ohm"),
])
def test_windings_that_cannot_be_are_told(measured, words):
    job = measured_job(measured=measured, run_capacitor="2.5 uF")
    assert fan_designs(job, PARTS)["ceiling"].problem == words
    assert {one.id: one for one in findings(job, fan_designs(job, PARTS))}["fan_motor.ceiling"].detail == f"The figures given cannot be: {words}."


def test_a_run_capacitor_that_nobody_read_makes_the_power_known_less_well():
    known, guessed = (fan_designs(measured_job(poles=14, **fields), PARTS)["ceiling"] for fields in ({"run_capacitor": "2.5 uF"}, {}))
    assert guessed.fit.nameplate.run_capacitance == pytest.approx(known.fit.nameplate.run_capacitance)
    assert guessed.prediction.power_spread[0] > 1.1 * known.prediction.power_spread[0]


def test_the_very_part_that_was_read_goes_into_the_regulator():
    """1.46 uF as measured, sold as 1.5 uF: its step is reckoned with what it is, and known better than with a new part."""
    rows = [WORKED[0], ("1.46 uF", 100.0, 6.3, 24.0)]
    new, same = (fan_designs(measured_job(rows, poles=14, run_capacitor="2.5 uF", reading=f', capacitor_tolerance = "measured", regulator_gets = "{gets}"'), PARTS)["ceiling"]
                 for gets in ("a new one", "this one"))
    assert new.drive.capacitors[0] == same.drive.capacitors[0] == pytest.approx(1.5e-6)
    assert new.regulator.branches[0].capacitance == pytest.approx(1.5e-6) and same.regulator.branches[0].capacitance == pytest.approx(1.46e-6, rel=0.01)
    assert same.prediction.spread[0] < 0.5 * new.prediction.spread[0]
    assert same.steps[0].speed == pytest.approx(100.0 * 3.14159 / 30, rel=0.02)


def test_a_part_that_has_no_place_in_the_regulator_is_told():
    rows = [WORKED[0], ("8 uF", 370.0, 60.0, 70.0)]
    told = assumed(measured_job(rows, poles=14, run_capacitor="2.5 uF", reading=', regulator_gets = "this one"'), "measured.readings")
    assert [one.taken for one in told] == ["new capacitors, not the one of 8 uF that was read"]


def test_a_tolerance_that_nobody_knows_is_told():
    told = assumed(measured_job(WORKED, poles=14, run_capacitor="2.5 uF", reading=', capacitor_tolerance = "unknown"'), "measured.readings")
    assert [one.taken for one in told] == ["+/- 10 % for the capacitor of reading 2", "+/- 10 % for the capacitor of reading 3"]
