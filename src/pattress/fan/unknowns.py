"""The unknowns of a fan as logarithms: typical values, the machine they make, and what it would show.

Logarithms keep every unknown positive. Winding and machine values are ratios to the main winding's resistance where
`priors.toml` says so, for those are what fans have in common. One reading's regulator capacitor may be off too, so
each measured capacitor is an unknown of its own, after the run capacitor's. What is asked about later is a `Position`
of the regulator to be built: its capacitors are other ones, though they bear the same value, unless it says so.
"""
import tomllib
from collections.abc import Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from functools import cache
from math import sqrt
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pattress.fan.motor import Load, Motor, Phasors, RealArray, Reals, require_number
from pattress.fan.network import Branch, Regulator
from pattress.fan.operating import running

NAMES = ("main_resistance", "auxiliary_resistance", "leakage_reactance", "magnetising_reactance", "rotor_resistance",
         "turns_ratio", "core_resistance", "square_torque", "constant_torque")
DISCREPANCY = 0.002          # of full speed: what the simple model misses, one standard deviation
POWER_DISCREPANCY = 0.01     # of W and VA, likewise
NAMEPLATE_SPREAD = 0.10      # of printed power (common practice, no source)
NAMEPLATE_SPEED_SPREAD = 0.03    # of printed speed, likewise
QUANTITIES = ("speed", "power", "apparent_power")    # what a reading may hold, in the order of its columns
MOST_FACTOR = 1.05           # W over VA: above one by no more than two meters disagree
SHIFT = 1e-3                 # of a capacitance, for its derivative


def deviation_of_limits(limit: float) -> float:
    """Return one standard deviation of a figure known to lie evenly within +- `limit`, such as a printed tolerance.

    limit / sqrt(3): the rectangular distribution of JCGM 100:2008 (GUM), 4.3.7 (from memory).
    """
    require_number("limit", limit)
    return limit / sqrt(3.0)


@dataclass(frozen=True, kw_only=True)
class Nameplate:
    """What is printed on the fan. Speed may be unknown (None)."""
    power: float                             # input at full speed [W]
    supply: float                            # [V]
    frequency: float                         # [Hz]
    poles: int
    run_capacitance: float                   # [F]
    speed: float | None = None               # [rad/s]

    def __post_init__(self) -> None:
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
    speed: float | None = None               # [rad/s]
    power: float | None = None               # [W]
    apparent_power: float | None = None      # [VA]
    speed_error: float = 0.105               # one standard deviation: 1 r/min [rad/s]
    power_error: tuple[float, float] = (0.01, 0.2)         # share, and [W]
    apparent_error: tuple[float, float] = (0.01, 0.3)      # share, and [VA]
    capacitance_error: float = 0.01          # one standard deviation, as a share; see `deviation_of_limits`

    def __post_init__(self) -> None:
        require_number("supply", self.supply, above=0.0)
        require_number("capacitance", self.capacitance, above=0.0, finite=False)
        for name in ("speed", "power", "apparent_power"):
            if getattr(self, name) is not None:
                require_number(name, getattr(self, name), above=0.0)
        if self.power is not None and self.apparent_power is not None and self.power > MOST_FACTOR * self.apparent_power:
            raise ValueError(f"power must not exceed apparent_power {self.apparent_power!r} VA, found {self.power!r} W")

    @property
    def parts(self) -> tuple[float, ...]:
        """Values of the regulator's capacitors [F]."""
        return (self.capacitance,) if np.isfinite(self.capacitance) else ()

    def series_impedance(self, omega: float, shifts: Sequence[Reals]) -> Phasors:
        """Before the fan [ohm]. `shifts` are those of the logarithms of `parts`."""
        if not shifts:
            return 0j
        found: Phasors = 0.0 - 1j / (omega * self.capacitance * np.exp(shifts[0]))
        return found

    def nudged(self, known: Sequence[float]) -> list[tuple["Reading", float]]:
        """The same with each of its capacitors that is not `known` larger by the share SHIFT, and that one's standard deviation."""
        return [(replace(self, capacitance=part * (1.0 + SHIFT)), self.capacitance_error) for part in self.parts if part not in known]


@dataclass(frozen=True, kw_only=True)
class Position:
    """One position of a regulator as built, damping, bleed and all: what a prediction is asked for."""
    supply: float                            # [V]
    regulator: Regulator
    mask: int
    errors: tuple[float, ...]                            # of each branch's capacitor: one standard deviation, as a share
    read: tuple[float | None, ...] = ()                         # of each branch: the value under which this very part was read, or None; () for none

    def __post_init__(self) -> None:
        require_number("supply", self.supply, above=0.0)
        for name, given in (("errors", self.errors), ("read", self.read)):
            if len(given) != len(self.regulator.branches) and (name == "errors" or given):
                raise ValueError(f"{name} must be {len(self.regulator.branches)}, one per branch, found {len(given)}")

    @property
    def capacitance(self) -> float:
        """Of the capacitors in circuit together, side by side; infinite straight through [F]."""
        return sum(float(self.regulator.branches[place].capacitance) for place in self.regulator.carrying(self.mask))

    @property
    def parts(self) -> tuple[float | None, ...]:
        """Of each branch: the value under which its very part was read, or None."""
        return self.read if self.read else (None,) * len(self.regulator.branches)

    def series_impedance(self, omega: float, shifts: Sequence[Reals]) -> Phasors:
        """Before the fan [ohm]. `shifts` are those of the logarithms of `parts`."""
        return replace(self.regulator, branches=tuple(
            branch if branch.is_link else
            Branch(capacitance=branch.capacitance * np.exp(shift), resistance=branch.resistance, bleed=branch.bleed)
            for branch, shift in zip(self.regulator.branches, shifts))).series_impedance(self.mask, omega)

    def nudged(self, known: Sequence[float]) -> list[tuple["Position", float]]:
        """The same with each capacitor in circuit that is not `known` larger by the share SHIFT, and that one's standard deviation."""
        branches = self.regulator.branches
        return [
            (replace(self, regulator=replace(self.regulator, branches=tuple(
                replace(branch, capacitance=branch.capacitance * (1.0 + SHIFT)) if index == place else branch
                for index, branch in enumerate(branches)))), self.errors[place])
            for place in self.regulator.carrying(self.mask) if not branches[place].is_link and self.parts[place] not in known]


State = Reading | Position


@cache
def priors_table() -> dict[str, Any]:
    table: dict[str, Any] = tomllib.loads(Path(__file__).with_name("priors.toml").read_text(encoding="utf-8"))["priors"]
    return table


def priors(nameplate: Nameplate) -> tuple[RealArray, RealArray]:
    """Means and spreads of the unknowns' logarithms, in the order of NAMES: ratios to R1m where the table says so."""
    base = nameplate.supply ** 2 / nameplate.power
    table = priors_table()
    means = [table[name]["value"] * (base if table[name]["of"] == "base" else 1.0) for name in NAMES]
    return np.log(means), np.array([table[name]["spread"] for name in NAMES])


def absolute(centre: RealArray) -> RealArray:
    """Values of the unknowns with the ratios to R1m multiplied out."""
    return np.exp(ratios() @ centre[:len(NAMES)])


def absolute_spreads(covariance: RealArray) -> RealArray:
    rows = ratios()
    spreads: RealArray = np.sqrt(np.einsum("ij,jk,ik->i", rows, covariance[:len(NAMES), :len(NAMES)], rows))
    return spreads


def ratios() -> RealArray:
    matrix = np.eye(len(NAMES))
    for place, name in enumerate(NAMES):
        if priors_table()[name]["of"] == "main_resistance":
            matrix[place, 0] = 1.0
    return matrix


def machine(points: RealArray, nameplate: Nameplate) -> tuple[Motor, Load]:
    """Families of motors and loads, one per row of `points`, shaped to broadcast against states along the last axis."""
    values = np.exp(points[:, :len(NAMES)] @ ratios().T)[:, :, None]
    main, auxiliary, leakage, magnetising, rotor, ratio, core, square, constant = (values[:, place] for place in range(len(NAMES)))
    motor = Motor(poles=nameplate.poles, frequency=nameplate.frequency, main_resistance=main, main_reactance=leakage,
                  auxiliary_resistance=auxiliary, auxiliary_reactance=ratio ** 2 * leakage, turns_ratio=ratio,
                  magnetising_reactance=magnetising, rotor_resistance=rotor, rotor_reactance=leakage, core_resistance=core,
                  run_capacitance=nameplate.run_capacitance * np.exp(points[:, len(NAMES), None]))
    return motor, Load(square_torque=square, constant_torque=constant, breakaway_torque=priors_table()["breakaway_torque"]["value"])


def predicted(points: RealArray, states: Sequence[State], capacitors: Sequence[float], nameplate: Nameplate) -> RealArray:
    """Speed, W and VA of `Reading`s or `Position`s: axes point, state, quantity.

    The logarithm of each of `capacitors`, those read, follows the run capacitor's.
    """
    motor, load = machine(points, nameplate)
    first = len(NAMES) + 1
    omega = 2.0 * np.pi * nameplate.frequency
    columns = []
    for state in states:
        shifts = [points[:, first + capacitors.index(part)] if part in capacitors else 0.0 for part in state.parts]
        columns.append(state.series_impedance(omega, shifts) + np.zeros(len(points)))
    supply = np.array([state.supply for state in states])
    shown = running(motor, load, supply=supply, series_impedance=np.stack(columns, axis=1),
                    coming_from=0.999 * motor.synchronous_speed)
    return np.stack([shown.speed, shown.input_power, shown.apparent_power], axis=2)


def targets_of(readings: Sequence[Reading], nameplate: Nameplate, left_out: AbstractSet[tuple[int, int]] = frozenset()) -> tuple[RealArray, RealArray, tuple[NDArray[np.int64], NDArray[np.int64]]]:
    """Return what was read, its standard deviations, and (rows, columns) of it, without the (row, column) `left_out`."""
    targets, sigmas, rows, columns = [], [], [], []
    slack = DISCREPANCY * 4.0 * np.pi * nameplate.frequency / nameplate.poles
    for row, reading in enumerate(readings):
        for column, name in enumerate(QUANTITIES):
            value = getattr(reading, name)
            if value is not None and (row, column) not in left_out:
                targets.append(value)
                sigmas.append(_deviation(reading, column, value, slack))
                rows.append(row)
                columns.append(column)
    return np.array(targets), np.array(sigmas), (np.array(rows, int), np.array(columns, int))


def _deviation(reading: Reading, column: int, value: float, slack: float) -> float:
    """Standard deviation of one figure of a reading: of the meter, and of what the model leaves out."""
    if column == 0:
        return float(np.hypot(reading.speed_error, slack))
    share, least = (reading.power_error, reading.apparent_error)[column - 1]
    return float(np.hypot(share * value + least, POWER_DISCREPANCY * value))
