"""The band beside a step's speed: of the step's own circuit, with its own capacitors, and it holds the truth as often as it says."""
import numpy as np
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from pattress.fan.design import fan_designs, known_of
from pattress.fan.fit import Nameplate, Reading, fit_motor, predict_positions
from pattress.fan.network import LINK, Branch, Regulator
from pattress.fan.readings import judge_readings, readings_of
from pattress.fan.unknowns import Position, deviation_of_limits
from pattress.job.model import Fan
from pattress.stock.parts import load_parts
from tests.sizing.invented import fan_text, make_job

from .estimates import predict

PARTS = load_parts()
OMEGA = 2 * np.pi * 50.0
PLATE = Nameplate(power=75.0, supply=230.0, frequency=50.0, poles=14, run_capacitance=2.5e-6)
READ = (np.inf, 1.5e-6, 2.2e-6, 3.3e-6, 4.7e-6)
BUILT = (1.8e-6, 2.7e-6)             # of the regulator: neither is among the readings
SETS = (BUILT, (2.2e-6, 3.3e-6), (1.5e-6, 3.9e-6))       # other regulators; the values of two were read, behind other parts
MASKS = (1, 2, 3, 4)
# of the worked fan "example-75" (computed; invented parameters): what stood before it, rpm, W, VA
WORKED = [("none", 382.5, 75.37, 75.82), ("1.0 uF", 55.7, 2.79, 16.53), ("2.2 uF", 163.2, 12.42, 34.54), ("3.3 uF", 246.9, 23.97, 47.07)]


def two_branches(first, second, damping=4.7, bleed=220e3):
    return Regulator(branches=(Branch(capacitance=first, resistance=damping, bleed=bleed), Branch(capacitance=second, resistance=damping, bleed=bleed), LINK))


def positions(regulator, errors=(0.03, 0.03, 0.0), read=()):
    return [Position(supply=230.0, regulator=regulator, mask=mask, errors=errors, read=read) for mask in MASKS]


def worked_readings(**more):
    return [Reading(supply=230.0, capacitance=np.inf if capacitor == "none" else float(capacitor.split()[0]) * 1e-6,
                    speed=speed * np.pi / 30, power=power, apparent_power=apparent, **more) for capacitor, speed, power, apparent in WORKED]


@settings(max_examples=10, deadline=None, suppress_health_check=list(HealthCheck), phases=(Phase.explicit, Phase.reuse, Phase.generate))   # a fan takes long to shrink
@given(power=st.integers(25, 120), steps=st.integers(2, 5), read=st.integers(0, 4), gets=st.sampled_from(("a new one", "this one")),
       tolerance=st.sampled_from(("5 %", "10 %", "measured", "unknown")), scale=st.floats(0.9, 1.1))
def test_the_value_always_lies_in_its_band(power, steps, read, gets, tolerance, scale):
    """Speed and W of every step, whatever is known of the fan; straight through has no impedance at all."""
    rows = ", ".join(f'{{ mains = "230 V", capacitor = "{capacitor}", power = "{watt * scale:.2f} W", speed = "{speed:.1f} rpm", '
                     f'capacitor_tolerance = "{tolerance}", regulator_gets = "{gets}" }}' for capacitor, speed, watt, _ in WORKED[:read])
    job = make_job(fan_text(power=f"{power if not read else 75} W", steps=steps) + f"measured = {{ readings = [{rows}] }}\n")
    design = fan_designs(job, PARTS)["ceiling"]
    assert len(design.steps) == steps
    for step, speed, low, high, watt in zip(design.steps, design.prediction.speed, design.prediction.low, design.prediction.high, design.prediction.power):
        assert low <= step.speed <= high
        assert speed == pytest.approx(step.speed, rel=1e-6) and watt == pytest.approx(float(step.state.input_power), rel=1e-6)


def test_sixty_fans_outside_the_family_lie_in_the_band_as_often_as_it_says(worlds):
    """Printed +-5 % capacitors entered as such, before the fan and in the regulator; windings read cold, of a motor that runs 50 K warmer, give or take 15."""
    world = worlds.World(2026, 60)
    plates, readings, windings = world.nameplates(), world.readings(READ, 0.05, printed=True), world.resistances()
    rises = world.draw.normal(50.0, 15.0, world.count)
    series = []
    for pair in SETS:
        regulator = two_branches(*(nominal * (1.0 + world.draw.uniform(-0.05, 0.05, world.count)) for nominal in pair))
        series += [np.broadcast_to(regulator.series_impedance(mask, OMEGA), (world.count,)) for mask in MASKS]
    truth = world.state_behind(np.stack(series, axis=1)).speed
    errors = (deviation_of_limits(0.05), deviation_of_limits(0.05), 0.0)
    asked = [position for pair in SETS for position in positions(two_branches(*pair), errors=errors)]
    covered, named = [], 0
    for plate, rows, pair, rise, speeds in zip(plates, readings, windings, rises, truth):
        main, auxiliary = (warm / (1.0 + 0.0039 * rise) for warm in pair)
        fan = Fan.model_validate({
            "name": "ceiling", "feed": "lights", "run": {"section": "1.5 mm2", "length": "5 m"}, "motor": "permanent split capacitor",
            "power": f"{plate.power} W", "poles": 14, "run_capacitor": "2.5 uF", "steps": 4, "measured": {
                "main_winding": f"{main} ohm", "auxiliary_winding": f"{auxiliary} ohm", "readings": [{
                    "mains": "230 V", "capacitor": "none" if np.isinf(row.capacitance) else f"{row.capacitance * 1e6} uF", "capacitor_tolerance": "5 %",
                    "speed": f"{row.speed * 30 / np.pi} rpm", "power": f"{row.power} W", "apparent_power": f"{row.apparent_power} VA"} for row in rows]}})
        judged = judge_readings(nameplate=plate, readings=readings_of(fan), **known_of(fan))
        named += bool(judged.disagreements)
        known = predict_positions(judged.fit, asked)
        covered.append((known.low <= speeds) & (speeds <= known.high))
    assert 0.90 <= np.mean(covered) <= 0.98
    assert named <= 0.05 * world.count       # sound readings of fans that the model cannot show are seldom called wrong


def test_straight_through_has_neither_damping_nor_bleed():
    fit = fit_motor(nameplate=PLATE, readings=worked_readings())
    direct = predict(fit, supply=230.0)
    harsh = predict_positions(fit, positions(two_branches(*BUILT, damping=47.0, bleed=50e3)))
    assert harsh.speed[-1] == pytest.approx(direct.speed[0], rel=1e-9) and harsh.spread[-1] == pytest.approx(direct.spread[0], rel=1e-6)
    assert harsh.speed[0] != pytest.approx(predict(fit, supply=230.0, capacitance=BUILT[0]).speed[0], rel=1e-3)


def test_two_capacitors_in_circuit_vary_each_by_itself():
    """One alone, the other alone, and both: the variances add."""
    fit, regulator = fit_motor(nameplate=PLATE, readings=worked_readings()), two_branches(*BUILT)
    none, first, second, both = (predict_positions(fit, positions(regulator, errors=errors)).spread[2] ** 2
                                 for errors in ((0.0,) * 3, (0.03, 0.0, 0.0), (0.0, 0.03, 0.0), (0.03, 0.03, 0.0)))
    assert first > none and second > none
    assert both - none == pytest.approx((first - none) + (second - none), rel=1e-6)


def test_a_new_capacitor_of_the_same_value_is_not_the_one_that_was_read():
    """The one read is 4 % small, and the fit finds that; another one of the same value has nothing to do with it."""
    readings = [reading if reading.capacitance != 2.2e-6 else Reading(
        supply=230.0, capacitance=2.2e-6 / 0.96, speed=reading.speed, power=reading.power, apparent_power=reading.apparent_power,
        capacitance_error=deviation_of_limits(0.05)) for reading in worked_readings(capacitance_error=0.001)]
    fit = fit_motor(nameplate=PLATE, readings=readings)
    value, error = 2.2e-6 / 0.96, deviation_of_limits(0.05)
    assert fit.fitted_capacitance(value) == pytest.approx(2.2e-6, rel=0.01)
    regulator = two_branches(value, 4.7e-6)
    new = predict_positions(fit, positions(regulator, errors=(error, error, 0.0)))
    same = predict_positions(fit, positions(regulator, errors=(error, error, 0.0), read=(value, None, None)))
    assert same.speed[0] == pytest.approx(163.2 * np.pi / 30, rel=0.01)
    assert new.speed[0] > 1.03 * same.speed[0] and new.spread[0] > 3.0 * same.spread[0]
    assert predict(fit, supply=230.0, capacitance=value, capacitance_error=error).spread[0] > 3.0 * predict(
        fit, supply=230.0, capacitance=value, same_parts=True).spread[0]


def test_what_cannot_be_is_refused_by_name_and_value():
    with pytest.raises(ValueError, match=r"^errors must be 3, one per branch, found 1$"):
        Position(supply=230.0, regulator=two_branches(*BUILT), mask=1, errors=(0.1,))
    with pytest.raises(ValueError, match=r"^read must be 3, one per branch, found 2$"):
        Position(supply=230.0, regulator=two_branches(*BUILT), mask=1, errors=(0.1, 0.1, 0.0), read=(None, None))
