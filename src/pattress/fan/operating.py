"""Where motor torque and load torque balance: every operating speed, and which one the fan ends at.

Answers: at which speeds can this fan run on this step, and which of them does it reach - from rest, or coming
down from a faster step? The two differ: a low step may keep turning a fan that it cannot start.

Both field impedances are fractions of first order in speed, so torque is one cubic over one quartic, and with a
load of T0 + k speed^2 the balance is a polynomial of degree six. All its roots come from one companion matrix:
none can be missed between the points of a scan. Speeds are forward only (0 to synchronous), where a fan runs.

Source: the equations of `motor`; the polynomial is worked out here.
"""
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pattress.fan.motor import Load, Motor, Phasors, RealArray, Reals, SteadyState, require_number, steady_state

DEGREE = 6


@dataclass(frozen=True, kw_only=True)
class OperatingPoints:
    """All speeds at which the torques balance: last axis of six, ascending, filled up with nan."""
    speed: RealArray                        # [rad/s]
    stable: NDArray[np.bool_]                       # True where net torque falls with speed


@dataclass(frozen=True, kw_only=True)
class TorqueFractions:
    """Air-gap torque at one volt as numerator/denominator, coefficients ascending in speed / synchronous speed."""
    numerator: RealArray                    # last axis 4 [N m/V2]
    denominator: RealArray                  # last axis 5

    def torque(self, fraction: Reals) -> RealArray:
        """At `fraction` of synchronous speed [N m/V2]."""
        return _value(self.numerator, fraction) / _value(self.denominator, fraction)


def torque_fractions(motor: Motor, *, series_impedance: Phasors = 0.0) -> TorqueFractions:
    """Return `TorqueFractions` of the motor behind `series_impedance` [ohm]."""
    rotor, leakage = _column(motor.rotor_resistance), _column(motor.rotor_reactance)
    inverse = 1.0 / _column(motor.magnetising_reactance)
    ratio, series = _column(motor.turns_ratio), _column(series_impedance)
    main, core = _column(motor.main_impedance), 1.0 / _column(motor.core_resistance)
    auxiliary, present = (_column(part) for part in motor.auxiliary_impedance)
    forward_slip, backward_slip = np.array([1.0, -1.0]), np.array([1.0, 1.0])       # 1 - n and 1 + n
    one = np.array([1.0, 0.0])
    # Zf = u/d, with Re Zf = R2 s/|d|^2; the same with 2 - s for the backward field
    (uf, df), (ub, db) = ((1j * rotor * one - leakage * slip, inverse * rotor * one + 1j * (1.0 + inverse * leakage) * slip)
                          for slip in (forward_slip, backward_slip))
    both, mixed = _times(df, db), 0.5 * (_times(uf, db) + _times(ub, df))
    determinant = (main * auxiliary * both + (ratio ** 2 * main * present + auxiliary) * mixed
                   + present * ratio ** 2 * _times(uf, ub))
    admittance = (main * present + auxiliary) * both + (1.0 + ratio ** 2) * present * mixed
    whole = determinant * (1.0 + series * core) + series * admittance
    forward = (auxiliary - 1j * ratio * main * present) * db + (ratio ** 2 - 1j * ratio) * present * ub
    backward = (auxiliary + 1j * ratio * main * present) * df + (ratio ** 2 + 1j * ratio) * present * uf
    scale = _column(motor.rotor_resistance / (2.0 * np.asarray(motor.synchronous_speed)))
    return TorqueFractions(
        numerator=scale * (_times(_square(forward), forward_slip) - _times(_square(backward), backward_slip)),
        denominator=_square(whole))


def operating_points(motor: Motor, load: Load, *, supply: Reals, series_impedance: Phasors = 0.0) -> OperatingPoints:
    """Return every balance of motor and load torque from rest to synchronous speed.

    `supply` [V r.m.s.] and `series_impedance` [ohm] broadcast with the fields of motor and load. Rest itself is a
    point only where the motor torque there equals `constant_torque` exactly; see `settled_speed` for standing still.
    """
    require_number("supply", supply)
    fractions = torque_fractions(motor, series_impedance=series_impedance)
    synchronous = np.asarray(motor.synchronous_speed)
    square = np.asarray(load.square_torque) * synchronous ** 2
    wanted = np.stack(np.broadcast_arrays(load.constant_torque, 0.0, square), axis=-1)
    driving = np.asarray(supply, float)[..., None] ** 2 * fractions.numerator
    needed = _times(wanted, fractions.denominator)
    shape = np.broadcast_shapes(driving.shape[:-1], needed.shape[:-1])
    net = np.zeros(shape + (DEGREE + 1,))
    net[..., :driving.shape[-1]] += driving
    net -= needed
    roots, slopes = _real_roots(net)
    return OperatingPoints(speed=roots * synchronous[..., None], stable=slopes < 0.0)


def starting_torque(motor: Motor, *, supply: Reals, series_impedance: Phasors = 0.0) -> RealArray:
    """Return the torque at rest [N m]."""
    return np.asarray(supply) ** 2 * torque_fractions(motor, series_impedance=series_impedance).torque(0.0)


def settled_speed(motor: Motor, load: Load, *, supply: Reals, series_impedance: Phasors = 0.0, coming_from: Reals = 0.0, points: OperatingPoints | None = None) -> RealArray:
    """Return the speed at which the fan ends [rad/s]; 0 where it stands still.

    From rest (`coming_from` 0) it starts only if the starting torque exceeds the breakaway torque. While turning it
    follows the sign of the net torque to the next balance; a balance below which it slows to a stop is not one.
    `points` may pass an `OperatingPoints` of the same motor and supply that is already known.
    """
    if points is None:
        points = operating_points(motor, load, supply=supply, series_impedance=series_impedance)
    present = np.asarray(coming_from, float)
    driving = np.asarray(supply) ** 2 * torque_fractions(motor, series_impedance=series_impedance).torque(
        present / motor.synchronous_speed)
    rises = driving > np.where(present > 0.0, load.torque(present), load.breakaway)
    candidates = np.where(points.stable, points.speed, np.nan)
    above = np.where(candidates >= present[..., None], candidates, np.inf).min(axis=-1)
    below = np.where(candidates <= present[..., None], candidates, 0.0).max(axis=-1)
    return np.where(rises, np.where(np.isfinite(above), above, 0.0), below)


def running(motor: Motor, load: Load, *, supply: Reals, series_impedance: Phasors = 0.0, coming_from: Reals = 0.0) -> SteadyState:
    """Return the `SteadyState` at the speed at which the fan ends; slip 1 where it stands still."""
    speed = settled_speed(motor, load, supply=supply, series_impedance=series_impedance, coming_from=coming_from)
    return steady_state(motor, slip=1.0 - speed / motor.synchronous_speed, supply=supply,
                        series_impedance=series_impedance)


def run_up_time(motor: Motor, load: Load, *, supply: float, to_speed: float, series_impedance: Phasors = 0.0, from_speed: float = 0.0, intervals: int = 200) -> float:
    """Return the time from `from_speed` to `to_speed` [s], quasi-steady; infinite if the torque fails on the way.

    Simpson's rule on J d(speed)/(T - Tload); electrical transients (some 20 ms) are left out.
    """
    if not 0.0 <= from_speed <= to_speed:
        raise ValueError(f"to_speed must be from_speed or more, found {to_speed!r} from {from_speed!r}")
    speeds = np.linspace(from_speed, to_speed, 2 * intervals + 1)
    fractions = torque_fractions(motor, series_impedance=series_impedance)
    net = supply ** 2 * fractions.torque(speeds / motor.synchronous_speed) - load.torque(speeds)
    if np.any(net <= 0.0) or (from_speed == 0.0 and net[0] + load.constant_torque <= load.breakaway):
        return np.inf
    weights = np.ones_like(speeds)
    weights[1:-1:2], weights[2:-1:2] = 4.0, 2.0
    return float(load.inertia * np.sum(weights / net) * (to_speed - from_speed) / (6.0 * intervals))


def _column(value: Reals | Phasors) -> NDArray[Any]:
    """With a last axis for the coefficients."""
    return np.asarray(value)[..., None]


def _times(left: NDArray[Any], right: NDArray[Any]) -> NDArray[Any]:
    """Product of polynomials along the last axis, ascending coefficients."""
    left, right = np.asarray(left), np.asarray(right)
    shape = np.broadcast_shapes(left.shape[:-1], right.shape[:-1])
    product = np.zeros(shape + (left.shape[-1] + right.shape[-1] - 1,), dtype=np.result_type(left, right))
    for power in range(left.shape[-1]):
        product[..., power:power + right.shape[-1]] += left[..., power:power + 1] * right
    return product


def _square(polynomial: NDArray[Any]) -> RealArray:
    """|p|^2 for a real variable."""
    return _times(polynomial, np.conj(polynomial)).real


def _value(coefficients: RealArray, at: Reals) -> RealArray:
    total = coefficients[..., -1]
    for power in range(coefficients.shape[-1] - 2, -1, -1):
        total = total * at + coefficients[..., power]
    return total


def _real_roots(net: RealArray) -> tuple[RealArray, RealArray]:
    """Roots of degree-six polynomials in 0 to 1, ascending and filled with nan, and the slopes there.

    A leading coefficient lost in rounding (no square torque) is replaced by one of 1e-14 of the largest: that adds
    roots far outside 0 to 1 and moves those inside by less than rounding does.
    """
    largest = np.abs(net).max(axis=-1, keepdims=True)
    net = net / np.where(largest > 0.0, largest, 1.0)
    lead = np.where(np.abs(net[..., -1]) < 1e-14, 1e-14, net[..., -1])
    companion = np.zeros(net.shape[:-1] + (DEGREE, DEGREE))
    companion[..., 1:, :-1] = np.eye(DEGREE - 1)
    companion[..., :, -1] = -net[..., :-1] / lead[..., None]
    roots = np.linalg.eigvals(companion)
    real = np.where((np.abs(roots.imag) < 1e-7) & (roots.real > -1e-9) & (roots.real < 1.0 + 1e-9), roots.real, np.nan)
    slope = net[..., 1:] * np.arange(1, DEGREE + 1)
    for _ in range(2):                       # Newton: the eigenvalue error is 1e-12, one step is enough away from twins
        steep = _value(slope[..., None, :], real)
        step = _value(net[..., None, :], real) / np.where(np.abs(steep) > 1e-9, steep, np.inf)
        real = real - step
    real = np.sort(np.clip(real, 0.0, 1.0), axis=-1)
    return real, _value(slope[..., None, :], real)
