"""Monte Carlo against cases with an exact answer, and the same answer whatever the cores."""
import time
from dataclasses import replace

import numpy as np
import pytest

from pattress.fan.motor import Load
from pattress.fan.network import LINK, Branch, Regulator
from pattress.fan.operating import settled_speed, starting_torque
from pattress.fan.tolerance import Spread, monte_carlo

from .estimates import typical_motor

STILL = Spread(supply=0.0, run_capacitance=0.0, motor=0.0, load=0.0, breakaway=0.0)


def only(capacitance):
    return Regulator(branches=(Branch(capacitance=capacitance, resistance=4.7), LINK))


def behind(capacitance):
    return 4.7 - 1j / (2 * np.pi * 50 * capacitance)


def test_an_even_capacitor_gives_the_quantiles_of_its_curve(example_motor, example_load):
    """Speed rises with capacitance, so its quantiles are the speeds at the quantiles of an even spread of +-10 %."""
    low_friction = Load(square_torque=4e-4)
    outcome = monte_carlo(example_motor, low_friction, only(3.3e-6), (1, 2), supply=230.0, tolerances=(0.10, 0.0), spread=STILL,
                          samples=4000, seed=5)
    step = outcome.steps[0]
    for found, quantile in ((step.low, 0.025), (step.median, 0.5), (step.high, 0.975)):
        value = 3.3e-6 * (0.9 + 0.2 * quantile)
        exact = settled_speed(example_motor, low_friction, supply=230.0, series_impedance=behind(value), coming_from=45.0)
        assert found == pytest.approx(float(exact), rel=0.004)
    assert np.ptp(outcome.speeds[:, 1]) == pytest.approx(0.0, abs=1e-9)        # straight through nothing varies


def test_the_share_that_does_not_start_is_that_of_the_low_supplies(example_motor, example_load):
    """Starting torque goes as the supply squared: the share is that of supplies below the one that just starts."""
    torque = float(starting_torque(example_motor, supply=230.0, series_impedance=behind(1.5e-6)))
    load = Load(square_torque=4e-4, breakaway_torque=torque * 0.95 ** 2)
    outcome = monte_carlo(example_motor, load, only(1.5e-6), (1, 2), supply=230.0, tolerances=(0.0, 0.0),
                          spread=replace(STILL, supply=0.10), samples=4000, seed=6)
    assert outcome.steps[0].not_started == pytest.approx(0.25, abs=0.03)       # 0.90 to 0.95 of an even 0.90 to 1.10
    assert outcome.steps[1].not_started == 0.0


def test_steps_of_nearly_equal_capacitors_come_too_close(example_motor, example_load):
    regulator = Regulator(branches=(Branch(capacitance=3.0e-6), Branch(capacitance=3.3e-6), LINK))
    outcome = monte_carlo(example_motor, example_load, regulator, (1, 2, 4), supply=230.0, tolerances=(0.1, 0.1, 0.0),
                          samples=500)
    assert outcome.steps[0].too_close > 0.3
    assert outcome.steps[1].too_close < 0.01
    assert outcome.steps[-1].too_close == 0.0


def test_one_seed_gives_one_answer_on_any_number_of_cores(example_motor, example_load):
    asked = dict(supply=230.0, tolerances=(0.05, 0.0), samples=1100)
    one, three = (monte_carlo(example_motor, example_load, only(2.2e-6), (1, 2), seed=9, cores=cores, **asked) for cores in (1, 3))
    assert np.array_equal(one.speeds, three.speeds) and one.steps == three.steps
    other = monte_carlo(example_motor, example_load, only(2.2e-6), (1, 2), seed=10, **asked)
    assert not np.array_equal(one.speeds, other.speeds)


def test_progress_is_told_to_the_end(example_motor, example_load):
    told = []
    monte_carlo(example_motor, example_load, only(2.2e-6), (1, 2), supply=230.0, tolerances=(0.05, 0.0), samples=600,
                progress=lambda done, samples: told.append((done, samples)))
    assert told == [(250, 600), (500, 600), (600, 600)]


def test_a_fan_known_by_its_nameplate_spreads_more_than_a_measured_one(example_motor, example_load):
    fit = typical_motor(power=75.0, supply=230.0, frequency=50.0, poles=14, run_capacitance=2.5e-6)
    asked = dict(supply=230.0, tolerances=(0.05, 0.0), samples=600)
    known = monte_carlo(example_motor, example_load, only(2.2e-6), (1, 2), **asked).steps[0]
    guessed = monte_carlo(None, None, only(2.2e-6), (1, 2), fit=fit, **asked).steps[0]
    assert guessed.high - guessed.low > 1.5 * (known.high - known.low)
    assert guessed.low < known.median < guessed.high


def test_ten_thousand_samples_of_four_steps_take_less_than_ten_seconds(example_motor, example_load, two_capacitors):
    begun = time.perf_counter()
    outcome = monte_carlo(example_motor, example_load, two_capacitors, (1, 2, 3, 4), supply=230.0, tolerances=(0.05, 0.05, 0.0))
    assert outcome.speeds.shape == (10_000, 4)
    assert time.perf_counter() - begun < 10.0


@pytest.mark.parametrize("change, words", [
    ({"samples": 0}, "samples must be 1 or more, found 0"),
    ({"tolerances": (0.05,)}, "tolerances must be 2, one per branch, found 1"),
    ({"supply": 0.0}, "supply must be more than 0 and finite, found 0.0"),
])
def test_what_cannot_be_is_refused_by_name_and_value(example_motor, example_load, change, words):
    asked = dict(supply=230.0, tolerances=(0.05, 0.0), samples=10) | change
    with pytest.raises(ValueError) as caught:
        monte_carlo(example_motor, example_load, only(2.2e-6), (1, 2), **asked)
    assert str(caught.value) == words
    with pytest.raises(ValueError, match=r"^supply must spread by less than 1, found 1\.5$"):
        Spread(supply=1.5)
