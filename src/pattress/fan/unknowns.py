"""The unknowns of a fan as logarithms: typical values, the machine they make, and what it would show.

Logarithms keep every unknown positive. Winding and machine values are ratios to the main winding's resistance where
`priors.toml` says so, for those are what fans have in common. One reading's regulator capacitor may be off too, so
each measured capacitor is an unknown of its own, after the run capacitor's.
"""
from dataclasses import dataclass
from functools import cache
from pathlib import Path
import tomllib

import numpy as np

from pattress.fan.motor import Load, Motor, require_number
from pattress.fan.operating import running

NAMES = ("main_resistance", "auxiliary_resistance", "leakage_reactance", "magnetising_reactance", "rotor_resistance",
         "turns_ratio", "core_resistance", "square_torque", "constant_torque")
DISCREPANCY = 0.001          # of full speed: what the simple model misses, one standard deviation
POWER_DISCREPANCY = 0.005    # of W and VA, likewise
NAMEPLATE_SPREAD = 0.10      # of printed power (common practice, no source)
NAMEPLATE_SPEED_SPREAD = 0.03    # of printed speed, likewise


@dataclass(frozen=True, kw_only=True)
class Nameplate:
    """What is printed on the fan. Speed may be unknown (None)."""
    power: float                             # input at full speed [W]
    supply: float                            # [V]
    frequency: float                         # [Hz]
    poles: int
    run_capacitance: float                   # [F]
    speed: float | None = None               # [rad/s]

    def __post_init__(self):
        for name in ("power", "supply", "frequency", "run_capacitance"):
            require_number(name, getattr(self, name), above=0.0)
        if self.power > 500.0:
            raise ValueError(f"power must be 500 W or less for a ceiling fan, found {self.power!r}")
        if self.poles < 2 or self.poles % 2:
            raise ValueError(f"poles must be even and two or more, found {self.poles!r}")
        synchronous = 4.0 * np.pi * self.frequency / self.poles
        if self.speed is not None and not 0.0 < self.speed < synchronous:
            raise ValueError(f"speed must be above 0 and below synchronous {synchronous:.2f} rad/s, found {self.speed!r}")


@dataclass(frozen=True, kw_only=True)
class Reading:
    """One state of the running fan as measured; what was not read is None. Infinite capacitance: straight through."""
    supply: float                            # [V]
    capacitance: float = np.inf              # effective, of the regulator [F]
    series_resistance: float = 0.0           # damping with it [ohm]
    speed: float | None = None               # [rad/s]
    power: float | None = None               # [W]
    apparent_power: float | None = None      # [VA]
    speed_error: float = 0.105               # one standard deviation: 1 r/min [rad/s]
    power_error: tuple = (0.01, 0.2)         # share, and [W]
    apparent_error: tuple = (0.01, 0.3)      # share, and [VA]
    capacitance_error: float = 0.01          # share; 0.03 for a printed +-5 %

    def __post_init__(self):
        require_number("supply", self.supply, above=0.0)
        require_number("capacitance", self.capacitance, above=0.0, finite=False)
        for name in ("speed", "power", "apparent_power"):
            if getattr(self, name) is not None:
                require_number(name, getattr(self, name), above=0.0)
        if self.power is not None and self.apparent_power is not None and self.power > 1.05 * self.apparent_power:
            raise ValueError(f"power must not exceed apparent_power {self.apparent_power!r} VA, found {self.power!r} W")


@cache
def priors_table():
    return tomllib.loads(Path(__file__).with_name("priors.toml").read_text(encoding="utf-8"))["priors"]


def priors(nameplate):
    """Means and spreads of the unknowns' logarithms, in the order of NAMES: ratios to R1m where the table says so."""
    base = {"base": nameplate.supply ** 2 / nameplate.power}
    table = priors_table()
    means = [table[name]["value"] * base.get(table[name]["of"], 1.0) for name in NAMES]
    return np.log(means), np.array([table[name]["spread"] for name in NAMES])


def absolute(centre):
    """Values of the unknowns with the ratios to R1m multiplied out."""
    return np.exp(ratios() @ centre[:len(NAMES)])


def absolute_spreads(covariance):
    rows = ratios()
    return np.sqrt(np.einsum("ij,jk,ik->i", rows, covariance[:len(NAMES), :len(NAMES)], rows))


def ratios():
    matrix = np.eye(len(NAMES))
    for place, name in enumerate(NAMES):
        if priors_table()[name]["of"] == "main_resistance":
            matrix[place, 0] = 1.0
    return matrix


def machine(points, nameplate):
    """Families of motors and loads, one per row of `points`, shaped to broadcast against states along the last axis."""
    values = np.exp(points[:, :len(NAMES)] @ ratios().T)[:, :, None]
    main, auxiliary, leakage, magnetising, rotor, ratio, core, square, constant = (values[:, place] for place in range(len(NAMES)))
    motor = Motor(poles=nameplate.poles, frequency=nameplate.frequency, main_resistance=main, main_reactance=leakage,
                  auxiliary_resistance=auxiliary, auxiliary_reactance=ratio ** 2 * leakage, turns_ratio=ratio,
                  magnetising_reactance=magnetising, rotor_resistance=rotor, rotor_reactance=leakage, core_resistance=core,
                  run_capacitance=nameplate.run_capacitance * np.exp(points[:, len(NAMES), None]))
    return motor, Load(square_torque=square, constant_torque=constant, breakaway_torque=priors_table()["breakaway_torque"]["value"])


def predicted(points, states, capacitors, nameplate):
    """Speed, W and VA: axes point, state, quantity. Each known capacitor's own logarithm follows the run capacitor's."""
    motor, load = machine(points, nameplate)
    first = len(NAMES) + 1
    omega = 2.0 * np.pi * nameplate.frequency
    columns = []
    for state in states:
        shift = points[:, first + capacitors.index(state.capacitance)] if state.capacitance in capacitors else 0.0
        columns.append(state.series_resistance - 1j / (omega * state.capacitance * np.exp(shift)) + np.zeros(len(points)))
    supply = np.array([state.supply for state in states])
    state = running(motor, load, supply=supply, series_impedance=np.stack(columns, axis=1),
                    coming_from=0.999 * motor.synchronous_speed)
    return np.stack([state.speed, state.input_power, state.apparent_power], axis=2)


def targets_of(readings, nameplate):
    targets, sigmas, rows, columns = [], [], [], []
    slack = DISCREPANCY * 4.0 * np.pi * nameplate.frequency / nameplate.poles
    for row, reading in enumerate(readings):
        for column, (value, sigma) in enumerate((
                (reading.speed, np.hypot(reading.speed_error, slack)),
                (reading.power, _slack(reading.power, reading.power_error)),
                (reading.apparent_power, _slack(reading.apparent_power, reading.apparent_error)))):
            if value is not None:
                targets.append(value), sigmas.append(sigma), rows.append(row), columns.append(column)
    return np.array(targets), np.array(sigmas), (np.array(rows, int), np.array(columns, int))


def _slack(value, error):
    """Standard deviation of a power reading: of the meter, and of the model."""
    return np.hypot(error[0] * (value or 0.0) + error[1], POWER_DISCREPANCY * (value or 0.0))
