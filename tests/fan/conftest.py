"""Motors that several fan tests share. All are invented; none is a product."""
import importlib.util
from pathlib import Path

import numpy as np
import pytest

from pattress.fan.motor import Load, Motor
from pattress.fan.network import LINK, Branch, Regulator


@pytest.fixture
def example_motor():
    """A 1200 mm, 14-pole, 75 W ceiling-fan motor, invented in the typical range."""
    return Motor(poles=14, frequency=50.0, main_resistance=300.0, main_reactance=200.0, auxiliary_resistance=315.0,
                 auxiliary_reactance=200.0, turns_ratio=1.0, magnetising_reactance=1000.0, rotor_resistance=300.0,
                 rotor_reactance=150.0, run_capacitance=2.5e-6, core_resistance=9000.0)


@pytest.fixture
def example_load():
    """Its blades and bearings."""
    return Load(square_torque=4.0e-4, constant_torque=0.010, breakaway_torque=0.020)


@pytest.fixture(scope="session")
def random_family():
    """A maker of families of invented motors and loads, spread far wider than fans are."""
    def make(seed, count):
        draw = np.random.default_rng(seed)
        spread = lambda low, high: np.exp(draw.uniform(np.log(low), np.log(high), count))
        main = spread(50.0, 1000.0)
        motor = Motor(
            poles=draw.choice([4, 8, 12, 14, 16, 18], count), frequency=50.0, main_resistance=main,
            main_reactance=main * spread(0.1, 3.0), auxiliary_resistance=main * spread(0.5, 3.0),
            auxiliary_reactance=main * spread(0.1, 3.0), turns_ratio=spread(0.6, 1.8),
            magnetising_reactance=main * spread(1.0, 30.0), rotor_resistance=main * spread(0.05, 3.0),
            rotor_reactance=main * spread(0.05, 2.0), run_capacitance=spread(0.2e-6, 20e-6),
            run_capacitor_resistance=spread(0.1, 30.0), core_resistance=spread(2e3, 1e6))
        square = 20.0 / np.asarray(motor.synchronous_speed) ** 3
        load = Load(square_torque=square * spread(0.01, 5.0), constant_torque=spread(1e-4, 0.1),
                    breakaway_torque=spread(1e-4, 0.2))
        series = spread(0.1, 5000.0) * np.exp(1j * draw.uniform(-np.pi / 2, np.pi / 2, count))
        return motor, load, series
    return make


def beside(name):
    """The module in the file of this name beside the tests (tests are not a package)."""
    spec = importlib.util.spec_from_file_location(f"fan_{name}", Path(__file__).with_name(f"{name}.py"))
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def spice():
    """Writes and runs the same network in a circuit simulator."""
    return beside("spice")


@pytest.fixture(scope="session")
def worlds():
    """Synthetic fans outside the fitted family."""
    return beside("worlds")


@pytest.fixture
def two_capacitors():
    """A parallel regulator of 2.2 and 3.3 uF, 4.7 ohm and 470 kohm each, and a straight link."""
    return Regulator(branches=(Branch(capacitance=2.2e-6, resistance=4.7, bleed=470e3),
                               Branch(capacitance=3.3e-6, resistance=4.7, bleed=470e3), LINK))
