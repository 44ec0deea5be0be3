"""Closed forms worked on paper and against the exact network; damping, bleed, dead time."""
from dataclasses import replace
from math import inf, log, sqrt

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from pattress.fan.motor import RADIANS_PER_SECOND, Load
from pattress.fan.network import Branch, Regulator
from pattress.fan.switching import bleed_resistor, bounced, damping_resistor, dead_time, worst_closing
from pattress.fan.transient import Circuit

from .closed_forms import capacitors_meeting, coasting_speed


def test_two_capacitors_meeting_worked_on_paper():
    """docs/sources.md, F07: 2.2 uF at 303 V, 3.3 uF empty, 4.7 ohm in each."""
    meeting = capacitors_meeting(first_capacitance=2.2e-6, first_voltage=303.0, second_capacitance=3.3e-6,
                                 second_voltage=0.0, resistance=9.4)
    assert meeting.peak_current == pytest.approx(32.2, abs=0.05)
    assert meeting.time_constant == pytest.approx(12.4e-6, abs=0.05e-6)
    assert meeting.final_voltage == pytest.approx(121.0, abs=0.5)
    assert meeting.energy == pytest.approx(61e-3, abs=0.5e-3)
    assert meeting.square_integral == pytest.approx(meeting.peak_current ** 2 * meeting.time_constant / 2)


@pytest.mark.parametrize("resistor, printed", [(2.2, 81), (4.7, 38), (10.0, 18)])
def test_peak_of_a_step_of_358_volts(resistor, printed):      # 358/(2 r), worked on paper
    meeting = capacitors_meeting(first_capacitance=2.2e-6, first_voltage=358.0, second_capacitance=3.3e-6,
                                 second_voltage=0.0, resistance=2 * resistor)
    assert meeting.peak_current == pytest.approx(printed, abs=0.5)


@pytest.mark.parametrize("resistance", [0.05, 1.0, 2 * sqrt(1e-6 / 1.32e-6), 5.0, 50.0])
def test_a_loop_with_inductance_agrees_with_integration(resistance):
    inductance, series, step = 1e-6, 1.32e-6, 300.0
    meeting = capacitors_meeting(first_capacitance=2.2e-6, first_voltage=step, second_capacitance=3.3e-6,
                                 second_voltage=0.0, resistance=resistance, inductance=inductance)
    span = max(8 * meeting.time_constant, 1e-5)
    run = solve_ivp(lambda _, y: [(y[1] - resistance * y[0]) / inductance, -y[0] / series], (0, span), [0.0, step],
                    method="DOP853", rtol=1e-9, atol=1e-9, max_step=span / 4000)
    assert meeting.peak_current == pytest.approx(run.y[0].max(), rel=1e-3)
    assert run.t[run.y[0].argmax()] == pytest.approx(meeting.peak_time, abs=2 * span / 4000)


def test_a_link_that_closes_on_a_charged_capacitor_takes_it_all():
    meeting = capacitors_meeting(first_capacitance=2.2e-6, first_voltage=325.0, second_capacitance=inf, second_voltage=0.0,
                                 resistance=4.7)
    assert meeting.peak_current == pytest.approx(325 / 4.7)
    assert meeting.energy == pytest.approx(0.5 * 2.2e-6 * 325 ** 2) and meeting.final_voltage == 0.0


def test_the_worst_closing_of_the_network_is_the_closed_form(example_motor, two_capacitors):
    """From the second capacitor alone, the first empty: crest over both resistors and both contacts."""
    circuit = Circuit(motor=example_motor, regulator=two_capacitors, supply=230.0, speed=247 * RADIANS_PER_SECOND)
    closing = worst_closing(circuit, before=2, after=3)
    crest = max(abs(circuit.stretch(2).steady(phase)[6]) for phase in np.linspace(0, np.pi, 721))
    meeting = capacitors_meeting(first_capacitance=3.3e-6, first_voltage=crest, second_capacitance=2.2e-6,
                                 second_voltage=0.0, resistance=9.42)
    assert closing.peaks["contact 0"][0] == pytest.approx(meeting.peak_current, rel=0.02)
    assert closing.square_integrals["contact 0"] == pytest.approx(meeting.square_integral, rel=0.25)   # and 40 ms of running
    charged = worst_closing(circuit, before=2, after=3, residuals=[-50.0, 0.0, 0.0])
    assert charged.peaks["contact 0"][0] == pytest.approx((crest + 50.0) / 9.42, rel=0.02)


def test_a_line_closing_puts_crest_plus_residual_on_the_motor(example_motor, two_capacitors):
    circuit = Circuit(motor=example_motor, regulator=two_capacitors, supply=230.0)
    empty = worst_closing(circuit, before=0, after=1)
    charged = worst_closing(circuit, before=0, after=1, residuals=[300.0, 0.0, 0.0])
    assert empty.motor_voltage == pytest.approx(sqrt(2) * 230, rel=0.02)
    assert charged.motor_voltage == pytest.approx(sqrt(2) * 230 + 300, rel=0.02)
    assert charged.peaks["contact 0"][0] < 1.5         # the motor sets it: well under that of two capacitors


def test_bounce_makes_the_closing_no_milder(example_motor, two_capacitors):
    circuit = Circuit(motor=example_motor, regulator=two_capacitors, supply=230.0, speed=247 * RADIANS_PER_SECOND)
    times, masks = zip(*bounced(before=1, after=3, bounces=(5e-4, 3e-4)))
    assert times == pytest.approx((0.0, 5e-4, 8e-4)) and masks == (3, 1, 3)
    plain = worst_closing(circuit, before=1, after=3)
    bouncing = worst_closing(circuit, before=1, after=3, bounces=(5e-4, 4e-4, 3e-4, 2e-4))
    assert bouncing.peaks["contact 1"][0] >= 0.999 * plain.peaks["contact 1"][0]


def test_damping_is_the_smallest_value_that_serves():
    asked = dict(capacitances=[2.2e-6, 3.3e-6], voltage=253.0, running_current=0.2)
    damping = damping_resistor(**asked, making_current=40.0)
    step = sqrt(2) * 253 + 34
    assert damping.peak_current == pytest.approx(step / (2 * 0.95 * damping.resistance)) and damping.peak_current <= 40.0
    assert damping.resistance == 5.6 and step / (2 * 0.95 * 4.7) > 40.0
    assert damping.pulse_energy == pytest.approx(0.5 * 1.32e-6 * step ** 2 / 2)
    assert damping.running_loss == pytest.approx(0.04 * 5.6)
    assert damping_resistor(**asked, making_current=80.0).resistance < 5.6
    assert damping_resistor(**asked, making_current=40.0, layout="series").resistance > 2 * 5
    assert damping_resistor(**asked | {"capacitances": [2.2e-6]}, making_current=5.0).resistance == 1.0
    with pytest.raises(ValueError, match=r"^making_current must be 4\.4 A or more with 47 ohm, found 2\.0$"):
        damping_resistor(**asked, making_current=2.0)


def test_bleed_of_470_kilohm_worked_on_paper():
    """2.2 uF from 325 V: 124 V after 1 s, 34 V after 2.33 s."""
    decay = lambda time: 325 * np.exp(-time / (470e3 * 2.2e-6))
    assert decay(1.0) == pytest.approx(124, abs=0.6) and decay(2.334) == pytest.approx(34, abs=0.1)
    bleed = bleed_resistor(capacitance=2.2e-6, voltage=325 / sqrt(2), within=2.34 * 1.05 ** 2, pieces=1)
    assert bleed.resistance == 470e3
    assert bleed.time == pytest.approx(470e3 * 2.2e-6 * 1.05 ** 2 * log(325 / 34))


def test_bleed_empties_a_capacitor_within_a_second():
    bleed = bleed_resistor(capacitance=3.3e-6, voltage=253.0)
    assert bleed.time <= 1.0 and bleed.pieces == 2
    assert sqrt(2) * 253 * np.exp(-1.0 / (bleed.resistance * 1.05 * 3.3e-6 * 1.05)) <= 34.0
    assert bleed.piece_loss * bleed.pieces == pytest.approx(253 ** 2 / bleed.resistance)
    with pytest.raises(ValueError, match=r"^target must be below the crest 14 V, found 34\.0$"):
        bleed_resistor(capacitance=3.3e-6, voltage=10.0)
    with pytest.raises(ValueError, match=r"^pieces must be 1 to 4, found 0$"):
        bleed_resistor(capacitance=3.3e-6, voltage=230.0, pieces=0)


def test_dead_time_lets_the_capacitors_bleed_to_what_damping_can_take(two_capacitors):
    asked = dict(voltage=253.0, making_current=45.0, release_time=0.01, frequency=50.0)
    dead = dead_time(regulator=two_capacitors, **asked)
    crest = sqrt(2) * 253
    room = 45 * 9.4 * 0.95 - crest
    assert dead.residual == pytest.approx(room)
    assert dead.bleed == pytest.approx(470e3 * 3.3e-6 * 1.05 ** 2 * log(crest / room))
    assert dead.total == pytest.approx(0.01 + 0.02 + dead.bleed)
    # and it serves: after that time at the wrong sign, the worst meeting is within the making current
    left = crest * np.exp(-dead.bleed / (470e3 * 3.3e-6 * 1.05 ** 2))
    worst = capacitors_meeting(first_capacitance=2.2e-6, first_voltage=crest, second_capacitance=3.3e-6,
                               second_voltage=-left, resistance=9.4 * 0.95)
    assert worst.peak_current == pytest.approx(45.0)
    assert dead_time(regulator=two_capacitors, **asked | {"making_current": 100.0}).bleed == 0.0


def test_dead_time_is_refused_where_no_waiting_helps(two_capacitors):
    asked = dict(voltage=253.0, release_time=0.01, frequency=50.0)
    with pytest.raises(ValueError, match=r"^making_current must be 40\.1 A or more with this damping, found 40\.0$"):
        dead_time(regulator=two_capacitors, making_current=40.0, **asked)
    unbled = Regulator(branches=tuple(replace(branch, bleed=inf) for branch in two_capacitors.branches))
    with pytest.raises(ValueError, match=r"^bleed must be finite where capacitors meet, found inf$"):
        dead_time(regulator=unbled, making_current=45.0, **asked)


def test_a_lone_capacitor_needs_no_bleed_wait():
    lone = Regulator(branches=(Branch(capacitance=2.2e-6, resistance=1.0),))
    assert dead_time(regulator=lone, voltage=253.0, making_current=10.0, release_time=0.01, frequency=50.0).total == 0.03


@pytest.mark.parametrize("load", [Load(square_torque=4e-4, constant_torque=0.01), Load(square_torque=4e-4),
                                  Load(square_torque=0.0, constant_torque=0.02)])
def test_coasting_agrees_with_integration(load):
    run = solve_ivp(lambda _, w: -load.torque(w) / load.inertia, (0, 0.5), [40.0], rtol=1e-9, atol=1e-9)
    assert coasting_speed(load, speed=40.0, time=0.5) == pytest.approx(run.y[0, -1], rel=1e-6)


def test_coasting_stops():
    assert coasting_speed(Load(square_torque=4e-4, constant_torque=0.01), speed=10.0, time=1e4) == 0.0
