"""Operating points: the worked fan, none missed against a dense scan, and the difference a start makes."""
from dataclasses import replace

import numpy as np
import pytest

from pattress.fan.motor import RADIANS_PER_SECOND, Load, Motor, steady_state
from pattress.fan.operating import operating_points, run_up_time, running, settled_speed, starting_torque, torque_fractions

# docs/sources.md, F01: the worked fan, computed apart from this code by a scan of the whole speed range.
# capacitance, r/min, W, VA, power factor, line A, main A, auxiliary A, motor V, regulator V, run capacitor V, mN m
WORKED = [
    (1.0e-6, 55.7, 2.79, 16.53, 0.169, 0.0719, 0.0586, 0.0375, 38.8, 228.8, 47.7, 21.4),
    (2.2e-6, 163.2, 12.42, 34.54, 0.360, 0.1502, 0.1117, 0.0809, 82.7, 217.3, 103.0, 95.2),
    (3.3e-6, 246.9, 23.97, 47.07, 0.509, 0.2047, 0.1336, 0.1205, 117.1, 197.4, 153.4, 188.1),
    (5.5e-6, 333.0, 42.63, 60.08, 0.710, 0.2612, 0.1316, 0.1926, 163.6, 151.2, 245.2, 370.2),
    (np.inf, 382.5, 75.37, 75.82, 0.994, 0.3297, 0.1439, 0.3104, 230.0, 0.0, 395.3, 751.7),
]


def behind(capacitance, frequency=50.0):
    return -1j / (2 * np.pi * frequency * np.asarray(capacitance))


@pytest.mark.parametrize("row", WORKED)
def test_the_worked_fan(example_motor, example_load, row):
    capacitance, rpm, watt, voltampere, factor, line, main, auxiliary, motor, regulator, run, start = row
    state = running(example_motor, example_load, supply=230.0, series_impedance=behind(capacitance))
    assert state.rpm == pytest.approx(rpm, abs=0.06)
    assert state.input_power == pytest.approx(watt, abs=0.006)
    assert state.apparent_power == pytest.approx(voltampere, abs=0.006)
    assert state.power_factor == pytest.approx(factor, abs=0.0006)
    for found, printed in ((state.line_current, line), (state.main_current, main), (state.auxiliary_current, auxiliary)):
        assert abs(found) == pytest.approx(printed, abs=0.00006)
    for found, printed in ((state.motor_voltage, motor), (state.regulator_voltage, regulator),
                           (state.run_capacitor_voltage, run)):
        assert abs(found) == pytest.approx(printed, abs=0.06)
    torque = starting_torque(example_motor, supply=230.0, series_impedance=behind(capacitance))
    assert 1000 * torque == pytest.approx(start, abs=0.06)


# docs/sources.md, F02.
def test_the_worked_fan_on_a_variable_transformer(example_motor, example_load):
    state = running(example_motor, example_load, supply=np.array([115.0, 150.0, 180.0]))
    assert state.rpm == pytest.approx([242, 313, 351], abs=0.6)
    assert state.input_power == pytest.approx([23.2, 36.9, 49.9], abs=0.06)


# docs/sources.md, F03.
def test_a_low_step_keeps_turning_what_it_cannot_start(example_motor, example_load):
    step = dict(supply=230.0, series_impedance=behind(0.9e-6))
    assert settled_speed(example_motor, example_load, **step) == 0.0
    stepped_down = settled_speed(example_motor, example_load, **step, coming_from=24.0)
    assert stepped_down / RADIANS_PER_SECOND == pytest.approx(45.0, abs=0.5)


def test_the_torque_fraction_is_the_torque_of_the_phasors(random_family):
    motor, _, series = random_family(1, 300)
    for slip in (0.0, 0.03, 0.4, 1.0):
        phasors = steady_state(motor, slip=slip, supply=100.0, series_impedance=series).torque
        fraction = 1e4 * torque_fractions(motor, series_impedance=series).torque(1.0 - slip)
        assert fraction == pytest.approx(phasors, rel=1e-9, abs=1e-9 * np.abs(phasors).max())


@pytest.mark.parametrize("seed", range(3))
def test_no_root_is_missed_against_a_dense_scan(random_family, seed):
    """200 motors of a far wider spread than fans, 10,001 speeds each: every change of sign holds one of our roots."""
    motor, load, series = random_family(seed, 200)
    supply = np.random.default_rng(seed).uniform(30.0, 300.0, 200)
    found = operating_points(motor, load, supply=supply, series_impedance=series)
    grid = np.linspace(0.0, 1.0, 10001)
    column = lambda thing: replace(thing, **{name: value[:, None] for name, value in vars(thing).items()
                                             if np.ndim(value) == 1})
    wide, wide_load = column(motor), column(load)
    torque = steady_state(wide, slip=1.0 - grid, supply=supply[:, None], series_impedance=series[:, None]).torque
    sign = np.sign(torque - wide_load.torque(grid * wide.synchronous_speed))
    several = 0
    for row in range(200):
        crossings = np.flatnonzero(sign[row, :-1] * sign[row, 1:] < 0)
        ours = found.speed[row][~np.isnan(found.speed[row])] / motor.synchronous_speed[row]
        stable = found.stable[row][:ours.size]
        several += crossings.size > 1
        assert ours.size == crossings.size or np.min(np.diff(ours)) < 2 / 10000     # twins closer than the scan
        if ours.size == crossings.size:
            assert np.all((ours >= grid[crossings] - 1e-9) & (ours <= grid[crossings + 1] + 1e-9))
            assert np.array_equal(stable, sign[row, crossings] > 0)
    assert several > 5                       # the family does hold motors with more than one balance


def test_without_square_torque_the_balance_is_still_found(example_motor):
    load = Load(square_torque=0.0, constant_torque=0.05)
    points = operating_points(example_motor, load, supply=230.0)
    speed = points.speed[points.stable]
    assert speed.size == 1
    balance = steady_state(example_motor, slip=1 - speed[0] / example_motor.synchronous_speed, supply=230.0).torque
    assert balance == pytest.approx(0.05, rel=1e-9)


def test_an_unstable_balance_divides_stopping_from_running():
    """Single winding: no torque at rest, so below the unstable speed it stops, above it runs up."""
    motor = Motor(poles=4, frequency=60.0, main_resistance=2.02, main_reactance=2.79, auxiliary_resistance=1.0,
                  auxiliary_reactance=1.0, turns_ratio=1.0, magnetising_reactance=66.8, rotor_resistance=4.12,
                  rotor_reactance=2.12, run_capacitance=1e-6, auxiliary_open=True)
    load = Load(square_torque=1e-5, constant_torque=0.2)
    points = operating_points(motor, load, supply=110.0)
    speeds, stable = points.speed[~np.isnan(points.speed)], points.stable[~np.isnan(points.speed)]
    assert list(stable) == [False, True]
    assert settled_speed(motor, load, supply=110.0) == 0.0
    assert settled_speed(motor, load, supply=110.0, coming_from=0.99 * speeds[0]) == 0.0
    assert settled_speed(motor, load, supply=110.0, coming_from=1.01 * speeds[0]) == pytest.approx(speeds[1])


def test_run_up_time_agrees_with_a_fixed_torque_worked_on_paper(example_motor, example_load):
    """Almost constant net torque near rest: J x speed / T. At 230 V direct T is 0.7517 N m at rest."""
    time = run_up_time(example_motor, replace(example_load, constant_torque=0.0, breakaway_torque=0.0, inertia=0.1),
                       supply=230.0, to_speed=0.1)
    assert time == pytest.approx(0.1 * 0.1 / 0.7517, rel=0.01)
    assert run_up_time(example_motor, example_load, supply=230.0, to_speed=44.0) == np.inf
    assert run_up_time(example_motor, example_load, supply=20.0, to_speed=1.0) == np.inf
    with pytest.raises(ValueError, match=r"^to_speed must be from_speed or more, found 1\.0 from 2\.0$"):
        run_up_time(example_motor, example_load, supply=230.0, to_speed=1.0, from_speed=2.0)
