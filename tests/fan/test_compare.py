"""Four kinds of regulator at one speed: each must really give that speed; phase angle against stepping in time."""
from dataclasses import replace

import numpy as np
import pytest
from scipy.linalg import expm

from pattress.fan.compare import COIL_QUALITY, ON_RESISTANCE, ways
from pattress.fan.motor import RADIANS_PER_SECOND, steady_state
from pattress.fan.network import LINK, Regulator
from pattress.fan.operating import settled_speed
from pattress.fan.transient import Circuit

OMEGA = 2 * np.pi * 50


@pytest.mark.parametrize("rpm, capacitance", [(55.7443, 1.0e-6), (163.2402, 2.2e-6), (246.8657, 3.3e-6), (333.0376, 5.5e-6)])
def test_the_capacitor_way_is_the_worked_fan(example_motor, example_load, rpm, capacitance):
    way = ways(example_motor, example_load, supply=230.0, speed=rpm * RADIANS_PER_SECOND)["capacitor"]
    assert way.value == pytest.approx(capacitance, rel=1e-4) and way.stable


@pytest.mark.parametrize("rpm", [120.0, 250.0, 340.0])
def test_every_value_gives_the_speed_it_is_for(example_motor, example_load, rpm):
    speed = rpm * RADIANS_PER_SECOND
    found = ways(example_motor, example_load, supply=230.0, speed=speed)
    series = {"capacitor": lambda value: -1j / (OMEGA * value), "resistor": lambda value: value,
              "inductor": lambda value: OMEGA * value * (1j + 1 / COIL_QUALITY)}
    for kind, impedance in series.items():
        way = found[kind]
        settled = settled_speed(example_motor, example_load, supply=230.0, series_impedance=impedance(way.value), coming_from=40.0)
        assert float(settled) == pytest.approx(speed, rel=1e-6)
        shaft = float(example_load.torque(speed)) * speed
        assert way.input_power == pytest.approx(way.regulator_loss + way.motor_loss + shaft, rel=1e-6)
    # one motor voltage, so the losses differ only in the regulator
    assert found["capacitor"].regulator_loss < found["inductor"].regulator_loss < found["resistor"].regulator_loss


def test_phase_angle_agrees_with_stepping_in_time(example_motor, example_load):
    """Ten cycles in steps of 5 us: fired at the angle, opened when the current passes zero."""
    speed = 250.0 * RADIANS_PER_SECOND
    way = ways(example_motor, example_load, supply=230.0, speed=speed)["phase angle"]
    circuit = Circuit(motor=example_motor, regulator=Regulator(branches=(LINK,)), supply=230.0, speed=speed, contact=ON_RESISTANCE)
    on, off = circuit.stretch(1), circuit.stretch(0)
    dt, per_half = 5e-6, 2000
    step_on, step_off = expm(on.matrix * dt), expm(off.matrix * dt)
    state = np.concatenate([on.steady(-np.pi / 2)[:-2], [0.0, -1.0]])
    fire = round(way.value / np.pi * per_half)
    conducting, currents, torques = False, [], []
    magnetising = example_motor.magnetising_reactance / OMEGA
    for count in range(24 * per_half):
        if count % per_half == fire:
            conducting, sign = True, np.sign(on.rows["supply"] @ state)
        state = (step_on if conducting else step_off) @ state
        current = on.rows["line"] @ state if conducting else 0.0
        if conducting and current * sign < 0.0:
            conducting = False
        if count >= 20 * per_half:
            currents.append(current)
            torques.append(7 * magnetising * (state[0] * state[3] - state[1] * state[2]))
    assert np.sqrt(np.mean(np.square(currents))) == pytest.approx(way.current, rel=0.01)
    assert np.mean(torques) == pytest.approx(float(example_load.torque(speed)), rel=0.02)
    spectrum = np.abs(np.fft.rfft(currents))[::2]
    assert np.sqrt(np.sum(spectrum[3:40:2] ** 2)) / spectrum[1] == pytest.approx(way.distortion, rel=0.02)


def test_phase_angle_bends_the_current_and_shakes_the_torque_more_than_a_capacitor(example_motor, example_load):
    found = ways(example_motor, example_load, supply=230.0, speed=250.0 * RADIANS_PER_SECOND)
    assert found["capacitor"].distortion == 0.0 < found["phase angle"].distortion
    assert found["phase angle"].ripple[2] > 3 * found["capacitor"].ripple[2]
    assert found["capacitor"].ripple[4] < 1e-9 < found["phase angle"].ripple[4]


def test_one_winding_pulsates_more_than_two(example_motor, example_load):
    """One winding alone pulsates most; and what pulsates must come through the terminals."""
    speed = 200.0 * RADIANS_PER_SECOND
    two = ways(example_motor, example_load, supply=230.0, speed=speed)["capacitor"]
    one = ways(replace(example_motor, auxiliary_open=True), example_load, supply=230.0, speed=speed)["capacitor"]
    assert one.ripple[2] > 3 * two.ripple[2]
    state = steady_state(example_motor, slip=1 - speed / example_motor.synchronous_speed, supply=two.motor_voltage)
    assert two.ripple[2] * example_motor.synchronous_speed < state.apparent_power


def test_what_a_motor_cannot_reach_is_told(example_motor, example_load):
    found = ways(example_motor, example_load, supply=230.0, speed=400.0 * RADIANS_PER_SECOND)
    assert set(found.values()) == {"the motor does not reach 41.89 rad/s on 230 V"}
    with pytest.raises(ValueError, match=r"^speed must be above 0 and below synchronous 44\.88 rad/s, found 50\.0$"):
        ways(example_motor, example_load, supply=230.0, speed=50.0)
