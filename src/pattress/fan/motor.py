"""The permanent-split-capacitor motor at one slip: currents, voltages, torque, losses.

Answers: what does this motor draw and give at this speed, on this supply, through this impedance?
Double revolving field with two unsymmetrical windings in space quadrature. Left out: saturation, harmonic
fields, skin effect, winding temperature (pass warm resistances).

Every number may be a float or a numpy array; arrays broadcast, so one call answers for a family of motors.

Source: Fitzgerald, Kingsley & Umans, *Electric Machinery*, 6th ed. 2003, ch. 9; Veinott, *Theory and Design of
Small Induction Motors*, 1959 (both from memory). All machine values are two-phase values referred to the main
winding; books that draw the single-winding circuit show the halves, 0.5 Zf and 0.5 Zb.
"""
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

RealArray = NDArray[np.floating[Any]]
PhasorArray = NDArray[np.complexfloating[Any, Any]]
Reals = float | RealArray            # a number, or one for each of a family
Phasors = complex | PhasorArray

RADIANS_PER_SECOND = 2.0 * np.pi / 60.0     # of one revolution per minute


@dataclass(frozen=True, kw_only=True)
class Motor:
    """A two-winding single-phase induction motor, referred to its main winding.

    Reactances are at `frequency`. An infinite `run_capacitance` is a winding fed directly; an infinite
    `magnetising_reactance` or `core_resistance` leaves that branch out. `auxiliary_open` cuts the auxiliary
    winding (an open run capacitor, or a single-winding motor).

    Raises ValueError, naming quantity and value, where a value cannot be.
    """
    poles: int
    frequency: Reals                         # of the supply [Hz]
    main_resistance: Reals                   # R1m [ohm]
    main_reactance: Reals                    # X1m, leakage [ohm]
    auxiliary_resistance: Reals              # R1a [ohm]
    auxiliary_reactance: Reals               # X1a, leakage [ohm]
    turns_ratio: Reals                       # a, effective turns auxiliary / main
    magnetising_reactance: Reals             # Xm [ohm]
    rotor_resistance: Reals                  # R2 [ohm]
    rotor_reactance: Reals                   # X2, leakage [ohm]
    run_capacitance: Reals                   # [F]
    run_capacitor_resistance: Reals = 0.0    # in series with the run capacitor [ohm]
    core_resistance: Reals = np.inf          # Rfe, across the terminals [ohm]
    auxiliary_open: bool = False

    def __post_init__(self) -> None:
        if not (np.all(np.asarray(self.poles) >= 2) and np.all(np.asarray(self.poles) % 2 == 0)):
            raise ValueError(f"poles must be even and two or more, found {self.poles!r}")
        for name in ("frequency", "main_resistance", "auxiliary_resistance", "turns_ratio", "rotor_resistance"):
            require_number(name, getattr(self, name), above=0.0)
        for name in ("magnetising_reactance", "run_capacitance", "core_resistance"):
            require_number(name, getattr(self, name), above=0.0, finite=False)
        for name in ("main_reactance", "auxiliary_reactance", "rotor_reactance", "run_capacitor_resistance"):
            require_number(name, getattr(self, name))

    @property
    def angular_frequency(self) -> Reals:
        """Of the supply [rad/s]."""
        return 2.0 * np.pi * self.frequency

    @property
    def synchronous_speed(self) -> Reals:
        """Of the forward field [rad/s, mechanical]."""
        return 4.0 * np.pi * self.frequency / self.poles

    @property
    def main_impedance(self) -> PhasorArray:
        """Z1m [ohm]."""
        return self.main_resistance + 1j * np.asarray(self.main_reactance)

    @property
    def auxiliary_impedance(self) -> tuple[PhasorArray, RealArray]:
        """Of the auxiliary winding and its run capacitor, as numerator and denominator: (Z, 1), or (1, 0) when open."""
        reactance = self.auxiliary_reactance - 1.0 / (self.angular_frequency * np.asarray(self.run_capacitance))
        impedance = self.auxiliary_resistance + self.run_capacitor_resistance + 1j * reactance
        return np.where(self.auxiliary_open, 1.0, impedance), np.where(self.auxiliary_open, 0.0, 1.0)


@dataclass(frozen=True, kw_only=True)
class Load:
    """Blades and bearings: T = constant_torque + square_torque x speed^2, and breakaway_torque at rest."""
    square_torque: Reals                     # k [N m s2/rad2]
    constant_torque: Reals = 0.0             # T0 [N m]
    breakaway_torque: Reals = 0.0            # at rest [N m]; taken as constant_torque where that is more
    inertia: Reals = 0.15                    # [kg m2]; 1200 mm three-blade fan, an estimate, no source

    def __post_init__(self) -> None:
        for name in ("square_torque", "constant_torque", "breakaway_torque"):
            require_number(name, getattr(self, name))
        require_number("inertia", self.inertia, above=0.0)

    @property
    def breakaway(self) -> RealArray:
        """Torque to overcome at rest [N m]."""
        return np.maximum(self.breakaway_torque, self.constant_torque)

    def torque(self, speed: Reals) -> RealArray:
        """While turning at `speed` [rad/s] -> [N m]."""
        return self.constant_torque + self.square_torque * np.asarray(speed) ** 2


@dataclass(frozen=True, kw_only=True)
class SteadyState:
    """Phasors are r.m.s. and complex, the supply voltage along the real axis; the rest is real. SI units."""
    slip: RealArray
    speed: RealArray                        # [rad/s]
    torque: RealArray                       # of the air gap, before friction [N m]
    supply_voltage: RealArray
    line_current: PhasorArray
    main_current: PhasorArray
    auxiliary_current: PhasorArray
    motor_voltage: PhasorArray
    regulator_voltage: PhasorArray            # over the series impedance
    auxiliary_voltage: PhasorArray            # over the auxiliary winding alone
    run_capacitor_voltage: PhasorArray        # over capacitor and its series resistance
    input_power: RealArray                  # [W]
    apparent_power: RealArray               # [VA]
    power_factor: RealArray                 # 0 where no current flows
    regulator_loss: RealArray               # [W], as the other losses
    main_loss: RealArray
    auxiliary_loss: RealArray
    run_capacitor_loss: RealArray
    core_loss: RealArray
    rotor_loss: RealArray
    shaft_power: RealArray                  # torque x speed [W]

    @property
    def losses(self) -> RealArray:
        """All that is not shaft power [W]."""
        return (self.regulator_loss + self.main_loss + self.auxiliary_loss + self.run_capacitor_loss
                + self.core_loss + self.rotor_loss)

    @property
    def rpm(self) -> RealArray:
        """Speed in revolutions per minute."""
        return self.speed / RADIANS_PER_SECOND

    def __getitem__(self, index: int | tuple[int, ...]) -> "SteadyState":
        """The state at one index of a family."""
        return SteadyState(**{field.name: np.broadcast_to(getattr(self, field.name), self.torque.shape)[index]
                              for field in fields(self)})


def field_impedances(motor: Motor, *, slip: Reals) -> tuple[PhasorArray, PhasorArray]:
    """Return (Zf, Zb), the forward and backward field impedances at `slip` [ohm]; two-phase values.

    Written in s/R2 rather than R2/s, so that synchronous speed (slip 0) needs no special case.
    """
    slip = np.asarray(slip, dtype=float)
    magnetising = -1j / np.asarray(motor.magnetising_reactance, dtype=float)
    return tuple(1.0 / (magnetising + each / (motor.rotor_resistance + 1j * each * np.asarray(motor.rotor_reactance)))
                 for each in (slip, 2.0 - slip))


def winding_currents(motor: Motor, *, slip: Reals, main_voltage: Phasors, auxiliary_voltage: Phasors) -> tuple[PhasorArray, PhasorArray]:
    """Return (Im, Ia) for any two voltages at the leads of main winding and auxiliary-with-capacitor [A, r.m.s.]."""
    forward, backward = field_impedances(motor, slip=slip)
    ratio = np.asarray(motor.turns_ratio)
    cross = 0.5j * ratio * (forward - backward)
    main = motor.main_impedance + 0.5 * (forward + backward)
    numerator, present = motor.auxiliary_impedance
    auxiliary = numerator + present * 0.5 * ratio ** 2 * (forward + backward)
    determinant = main * auxiliary + present * cross ** 2
    return ((auxiliary * main_voltage + present * cross * auxiliary_voltage) / determinant,
            present * (main * auxiliary_voltage - cross * main_voltage) / determinant)


def air_gap_powers(motor: Motor, *, slip: Reals, main_current: Phasors, auxiliary_current: Phasors) -> tuple[RealArray, RealArray]:
    """Return the powers crossing the air gap with the forward and the backward field [W]."""
    forward, backward = field_impedances(motor, slip=slip)
    turned = 1j * np.asarray(motor.turns_ratio) * auxiliary_current
    return (0.5 * np.abs(main_current - turned) ** 2 * forward.real,
            0.5 * np.abs(main_current + turned) ** 2 * backward.real)


def steady_state(motor: Motor, *, slip: Reals, supply: Reals, series_impedance: Phasors = 0.0) -> SteadyState:
    """Return the `SteadyState` of `motor` at `slip`, fed from `supply` through `series_impedance`.

    Parameters
    ----------
    slip : float or array
        1 at rest, 0 at synchronous speed; -1 to 2 is sensible.
    supply : float or array
        r.m.s. [V], zero or more.
    series_impedance : complex or array
        Between supply and motor at the supply frequency [ohm]; 0 is straight through.
    """
    require_number("supply", supply)
    if not np.all(np.isfinite(series_impedance)):
        raise ValueError(f"series_impedance must be finite, found {series_impedance!r}")
    slip, supply, series = np.asarray(slip, float), np.asarray(supply, float), np.asarray(series_impedance, complex)
    unit_main, unit_auxiliary = winding_currents(motor, slip=slip, main_voltage=1.0, auxiliary_voltage=1.0)
    admittance = unit_main + unit_auxiliary + 1.0 / np.asarray(motor.core_resistance, float)
    motor_voltage = supply / (1.0 + series * admittance)
    line, main, auxiliary = (motor_voltage * each for each in (admittance, unit_main, unit_auxiliary))
    synchronous = motor.synchronous_speed
    forward, backward = air_gap_powers(motor, slip=slip, main_current=main, auxiliary_current=auxiliary)
    reactance = 1.0 / (motor.angular_frequency * np.asarray(motor.run_capacitance, float))
    numerator, present = motor.auxiliary_impedance
    over_capacitor = np.where(present > 0.0, auxiliary * (motor.run_capacitor_resistance - 1j * reactance), motor_voltage)
    apparent = supply * np.abs(line)
    power = supply * line.real
    speed = synchronous * (1.0 - slip)
    torque = (forward - backward) / synchronous
    return SteadyState(
        slip=slip, speed=speed, torque=torque, supply_voltage=supply, line_current=line, main_current=main,
        auxiliary_current=auxiliary, motor_voltage=motor_voltage, regulator_voltage=series * line,
        auxiliary_voltage=motor_voltage - over_capacitor, run_capacitor_voltage=over_capacitor,
        input_power=power, apparent_power=apparent,
        power_factor=np.divide(power, apparent, out=np.zeros_like(apparent * power), where=apparent > 0.0),
        regulator_loss=series.real * np.abs(line) ** 2, main_loss=motor.main_resistance * np.abs(main) ** 2,
        auxiliary_loss=motor.auxiliary_resistance * np.abs(auxiliary) ** 2,
        run_capacitor_loss=motor.run_capacitor_resistance * np.abs(auxiliary) ** 2,
        core_loss=np.abs(motor_voltage) ** 2 / motor.core_resistance,
        rotor_loss=slip * forward + (2.0 - slip) * backward, shaft_power=torque * speed)


def require_number(name: str, value: Reals, *, above: float | None = None, finite: bool = True) -> None:
    """Raise ValueError unless every `value` is a number above `above` (or zero or more), and finite if asked."""
    number = np.asarray(value)
    if number.dtype.kind not in "iuf":
        raise ValueError(f"{name} must be a number, found {value!r}")
    good = ~np.isnan(number) & ((number > above) if above is not None else (number >= 0.0))
    if finite:
        good = good & np.isfinite(number)
    if not np.all(good):
        worst = number[~good].flat[0].item() if number.ndim else value
        range_ = f"more than {above:g}" if above is not None else "zero or more"
        raise ValueError(f"{name} must be {range_}{' and finite' if finite else ''}, found {worst!r}")
