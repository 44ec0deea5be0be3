"""Choosing capacitors: against trying everything, start check, kick, refusals and their words."""
from dataclasses import replace
from itertools import combinations, combinations_with_replacement

import numpy as np
import pytest

from pattress.fan.motor import RADIANS_PER_SECOND
from pattress.fan.network import LINK, Branch, Capacitor, Regulator
from pattress.fan.operating import settled_speed, starting_torque, torque_fractions
from pattress.fan.regulator import assess, choose, wanted_speeds

from .estimates import stock_capacitors

FULL = 382.518 * RADIANS_PER_SECOND      # of the worked fan


def one_step(capacitance):
    return Regulator(branches=(Branch(capacitance=capacitance, resistance=4.7, bleed=470e3), LINK))


@pytest.mark.parametrize("layout", ["parallel", "series"])
def test_no_other_set_of_the_stock_is_better(example_motor, example_load, layout):
    """Every set and every pattern tried one by one, with each capacitor at its limits."""
    stock = [Capacitor(capacitance=value * 1e-6, tolerance=share)
             for value, share in ((1.2, 0.05), (1.5, 0.1), (2.2, 0.05), (3.3, 0.05), (4.7, 0.02))]
    wanted = wanted_speeds(full_speed=FULL, shares=[0.3, 0.55, 0.8, 1.0])
    choice = choose(example_motor, example_load, stock, supply=230.0, wanted=wanted, layout=layout)
    omega, least = example_motor.angular_frequency, np.inf
    for parts in combinations_with_replacement(stock, 2):
        speeds = []
        for shift in (-1.0, 0.0, 1.0):
            branches = tuple(Branch(capacitance=part.capacitance * (1 + shift * part.tolerance), resistance=4.7, bleed=470e3)
                             for part in parts)
            regulator = Regulator(branches=branches + ((LINK,) if layout == "parallel" else ()), layout=layout)
            impedances = [regulator.series_impedance(mask, omega) for mask in regulator.masks]
            speeds.append(settled_speed(example_motor, example_load, supply=230.0, coming_from=FULL,
                                        series_impedance=np.array(impedances)))
        speeds = np.sort(np.array(speeds), axis=1)
        for subset in combinations(range(4), 4):
            least = min(least, np.sqrt(np.mean((speeds[:, subset] - np.array(wanted)) ** 2)) / FULL)
    assert choice.refusals == ()
    assert choice.error == pytest.approx(least, rel=1e-3)
    assert [step.speed for step in choice.steps] == sorted(step.speed for step in choice.steps)


def test_evenly_spaced_steps_come_out_evenly_spaced(example_motor, example_load):
    wanted = wanted_speeds(full_speed=FULL, steps=4)
    choice = choose(example_motor, example_load, stock_capacitors(), supply=230.0, wanted=wanted)
    assert np.diff([step.speed for step in choice.steps]) == pytest.approx(FULL / 4, rel=0.20)
    assert choice.error < 0.03
    assert choice.masks == (0, 0b001, 0b010, 0b011, 0b100)
    assert [step.kick_time for step in choice.steps] == [0.0, 0.0, 0.0, 0.0]
    for step in choice.steps[:-1]:
        for place, voltage in step.voltages.items():
            assert 200.0 < voltage < 260.0 < choice.capacitors[place].rated_voltage


def test_start_is_checked_at_85_percent_with_the_capacitor_low(example_motor, example_load):
    """1.0 uF starts at 230 V with 7 % margin (worked fan), so at 0.85 V and -5 % it has 1.07 x 0.7225 x 0.9 = 0.70."""
    step, direct = assess(example_motor, example_load, one_step(1.0e-6), (1, 2), supply=230.0)
    assert step.start_ratio == pytest.approx(21.37 / 20 * 0.85 ** 2 * 0.95 ** 2, rel=0.02)
    assert step.start == "kick" and direct.start == "starts"
    assert direct.start_ratio == pytest.approx(751.7 / 20 * 0.85 ** 2, rel=1e-3)


def test_a_kick_is_long_enough_to_pass_the_speed_of_its_step(example_motor, example_load):
    """Small steps in time with the torque of the motor: it ends faster than the step wants, not twice as fast."""
    step, _ = assess(example_motor, example_load, one_step(1.0e-6), (1, 2), supply=230.0)
    speed, time, dt = 0.0, 0.0, 1e-3
    fractions = torque_fractions(example_motor)
    while time < step.kick_time:
        torque = (0.85 * 230) ** 2 * fractions.torque(speed / example_motor.synchronous_speed)
        speed += dt * (torque - float(example_load.torque(speed))) / example_load.inertia
        time += dt
    assert starting_torque(example_motor, supply=0.85 * 230) > example_load.breakaway
    assert step.speed < speed < 2.0 * step.speed
    heavier = assess(example_motor, replace(example_load, inertia=0.30), one_step(1.0e-6), (1, 2), supply=230.0)[0]
    assert heavier.kick_time == pytest.approx(2.0 * step.kick_time)


def test_a_step_that_neither_starts_nor_keeps_turning_is_refused(example_motor, example_load):
    step = assess(example_motor, example_load, one_step(0.5e-6), (1, 2), supply=230.0)[0]
    assert step.start == "refused" and step.kick_time == 0.0
    assert step.reason == ("step 1 may not start: at 196 V it has 0.18 of the breakaway torque, 1.2 is allowed, "
                           "and it does not keep turning after a kick")


def test_the_fastest_step_cannot_be_kicked(example_motor, example_load):
    only = Regulator(branches=(Branch(capacitance=1.0e-6),))
    step = assess(example_motor, example_load, only, (1,), supply=230.0)[0]
    assert step.start == "refused"
    assert step.reason == ("step 1 may not start: at 196 V it has 0.70 of the breakaway torque, 1.2 is allowed, "
                           "and no faster step can kick it")


def test_a_kick_may_be_forbidden(example_motor, example_load):
    wanted = wanted_speeds(full_speed=FULL, shares=[0.15, 1.0])
    stock = [Capacitor(capacitance=1.0e-6)]
    kicked = choose(example_motor, example_load, stock, supply=230.0, wanted=wanted, relays=2)
    assert kicked.refusals == () and kicked.steps[0].start == "kick"
    strict = choose(example_motor, example_load, stock, supply=230.0, wanted=wanted, relays=2, allow_kick=False)
    assert strict.refusals == (f"step 1 needs a start kick of {kicked.steps[0].kick_time:.1f} s and none is allowed",)


def test_weak_parts_are_refused_with_their_figures(example_motor, example_load):
    wanted = wanted_speeds(full_speed=FULL, shares=[0.5, 1.0])
    stock = [Capacitor(capacitance=2.5e-6, rated_voltage=275.0, ripple_current=0.1)]
    choice = choose(example_motor, example_load, stock, supply=230.0, wanted=wanted, relays=2)
    assert choice.refusals == ("step 1 sends 0.19 A through a capacitor rated 0.10 A",)
    with pytest.raises(ValueError, match=r"^stock must hold capacitors of 253 V AC or more, found at most 250 V$"):
        choose(example_motor, example_load, [Capacitor(capacitance=1e-6, rated_voltage=250.0)], supply=230.0,
               wanted=wanted, relays=2)


def test_an_open_run_capacitor_would_put_more_than_the_supply_on_the_regulator(example_motor, example_load):
    """docs/sources.md, F04: up to 280 V at rest on a supply of 230 V, by the linear model."""
    opened = replace(example_motor, auxiliary_open=True)
    worst = max(assess(opened, example_load, one_step(c), (1, 2), supply=230.0 / 1.1)[0].voltages[0]
                for c in np.arange(2.0, 6.0, 0.25) * 1e-6)
    assert worst > 275.0


@pytest.mark.parametrize("act, words", [
    (lambda: wanted_speeds(full_speed=40.0), "give steps or shares, found steps None and shares None"),
    (lambda: wanted_speeds(full_speed=40.0, steps=0), "steps must be 1 to 8, found 0"),
    (lambda: wanted_speeds(full_speed=40.0, shares=[0.5, 0.4]),
     "shares must rise from above 0 to at most 1, found [0.5, 0.4]"),
])
def test_what_cannot_be_is_refused_by_name_and_value(act, words):
    with pytest.raises(ValueError) as caught:
        act()
    assert str(caught.value) == words


@pytest.mark.parametrize("change, words", [
    ({"relays": 5}, "relays must be 2 to 4, found 5"),
    ({"wanted": (10.0, 20.0, 30.0, 35.0, 40.0)}, "3 relays give at most 4 speeds, found 5 wanted"),
    ({"wanted": (10.0, 50.0)}, "wanted speeds must rise and stay within full speed 40.06 rad/s, found [10.0, 50.0]"),
])
def test_a_wish_that_cannot_be_is_refused(example_motor, example_load, change, words):
    with pytest.raises(ValueError) as caught:
        choose(example_motor, example_load, stock_capacitors(), **dict(supply=230.0, wanted=(10.0, 40.0)) | change)
    assert str(caught.value) == words


@pytest.mark.parametrize("layout", ["parallel", "series"])
def test_the_curve_ranks_the_sets_as_the_full_computation_does(example_motor, example_load, layout):
    """The set that the curve puts first is within 5 % of the least error of all 171 sets computed in full."""
    asked = dict(supply=230.0, wanted=wanted_speeds(full_speed=FULL, steps=4), layout=layout)
    first = choose(example_motor, example_load, stock_capacitors(), **asked, looked_at=1)
    every = choose(example_motor, example_load, stock_capacitors(), **asked, looked_at=171)
    assert every.error <= first.error <= 1.05 * every.error
