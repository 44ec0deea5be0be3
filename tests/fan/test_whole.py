"""From what a person knows of a fan to what the control program needs, through every module of the room."""
from dataclasses import replace

import numpy as np

from pattress.fan.cases import fault_cases
from pattress.fan.network import Regulator
from pattress.fan.operating import settled_speed
from pattress.fan.regulator import HIGH_SUPPLY, assess, choose, wanted_speeds
from pattress.fan.switching import bleed_resistor, damping_resistor, dead_time, worst_closing
from pattress.fan.tolerance import monte_carlo
from pattress.fan.transient import Circuit

from .closed_forms import coasting_speed
from .estimates import predict, stock_capacitors, typical_motor

MAKING = 30.0        # of an invented relay, capacitive, peak [A]


def test_from_a_nameplate_to_masks_kicks_and_dead_time():
    fit = typical_motor(power=70.0, supply=230.0, frequency=50.0, poles=14, run_capacitance=2.5e-6)
    motor, load = fit.motor, fit.load
    full = float(settled_speed(motor, load, supply=230.0))
    choice = choose(motor, load, stock_capacitors(), supply=230.0, wanted=wanted_speeds(full_speed=full, steps=4))
    assert choice.refusals == ()

    voltage = max(volt for step in choice.steps for volt in step.voltages.values())
    current = max(ampere for step in choice.steps for ampere in step.currents.values())
    assert voltage <= min(part.rated_voltage for part in choice.capacitors)
    damping = damping_resistor(capacitances=[part.capacitance for part in choice.capacitors], voltage=voltage,
                               making_current=MAKING, running_current=current)
    bleeds = [bleed_resistor(capacitance=part.capacitance, voltage=voltage) for part in choice.capacitors]
    parts = [replace(branch, resistance=damping.resistance, bleed=bleed.resistance)
             for branch, bleed in zip(choice.regulator.branches, bleeds)]
    regulator = Regulator(branches=(*parts, choice.regulator.branches[-1]))
    steps = assess(motor, load, regulator, choice.masks[1:], supply=230.0, wanted=[step.wanted for step in choice.steps])
    assert all(abs(after.speed - before.speed) < 0.02 * full for after, before in zip(steps, choice.steps))

    dead = dead_time(regulator=regulator, voltage=voltage, making_current=MAKING, release_time=0.015, frequency=50.0)
    assert 0.03 < dead.total < 1.0
    assert coasting_speed(load, speed=full, time=dead.total) > 0.5 * full

    # the worst that the relays can still do after that dead time, on the exact network at the highest mains
    circuit = Circuit(motor=motor, regulator=regulator, supply=HIGH_SUPPLY * 230.0, speed=steps[0].speed)
    for before, residuals in ((1, [0.0, -dead.residual, 0.0]), (2, [-dead.residual, 0.0, 0.0])):
        closing = worst_closing(circuit, before=before, after=3, residuals=residuals)
        assert 0.3 * MAKING < max(peak for peak, _ in closing.peaks.values()) <= MAKING

    outcome = monte_carlo(None, None, regulator, choice.masks[1:], supply=230.0, tolerances=(0.05, 0.05, 0.0), fit=fit, samples=500)
    band = predict(fit, supply=230.0, capacitance=sum(part.capacitance for part in choice.capacitors))
    assert outcome.steps[2].low < band.speed[0] < outcome.steps[2].high
    assert np.isclose(outcome.steps[2].high - outcome.steps[2].low, float((band.high - band.low)[0]), rtol=0.6)
    assert {case.fault for case in fault_cases(motor, load, regulator, choice.masks[1:], supply=230.0)} >= {
        "sound", "run capacitor open", "regulator capacitor shorted", "relay welded"}
