"""The motor behind what a person can measure, and how far to trust it.

Answers: which motor would show these readings, what will it do on a step not yet built, and which one further
measurement would tell most? Bayesian least squares: readings and typical values (`priors.toml`) pull together, each
by its own uncertainty, so a fan of which only the nameplate is known gets an estimate too, with a wide band.

Unknowns are logarithms (so bounded to positive values): winding, leakage (X2 = X1, X1a = a^2 X1), magnetising and
rotor values, turns ratio, core loss, load, and the true value of every capacitor. Left out: saturation, unequal
leakages, harmonic torques; `DISCREPANCY` and `REACH` stand for what those do, set on synthetic motors that
have the first two. A real fan has more: trust no band below +-5 % until one has been compared.

Own damped Gauss-Newton rather than a library's: the family model gives the whole Jacobian in one call, and a check
of a job must not wait a second for an import.
"""
from dataclasses import dataclass, replace

import numpy as np

from pattress.fan.motor import Load, Motor, require_number
from pattress.fan.unknowns import (DISCREPANCY, NAMEPLATE_SPEED_SPREAD, NAMEPLATE_SPREAD, NAMES, Nameplate, Reading, absolute,
                                   absolute_spreads, machine, predicted, priors, ratios, targets_of)

REACH = 0.08                 # of the distance to the nearest speed read, as DISCREPANCY; less when that is near
INSTRUMENTS = {              # what a meter tells of one unknown, and its share of uncertainty (common practice)
    "main_resistance": 0.02, "auxiliary_resistance": 0.02, "run_capacitance": 0.01, "regulator_capacitances": 0.01}
COVERAGE = 1.96              # standard deviations to a 95 % band


@dataclass(frozen=True, kw_only=True)
class Parameter:
    """One unknown after the fit. `spread` is one standard deviation as a share."""
    name: str
    value: float
    spread: float
    prior_spread: float

    @property
    def fixed_by(self):
        """"data", "both" or "typical value": what its value rests on."""
        share = self.spread / self.prior_spread
        return "data" if share < 0.4 else "both" if share < 0.85 else "typical value"


@dataclass(frozen=True, kw_only=True)
class Fit:
    """A motor and load with the covariance of their unknowns."""
    motor: Motor
    load: Load
    parameters: tuple                        # of Parameter, in the order of NAMES
    estimate: bool                           # True where no reading of the running fan was used
    misfit: float                            # r.m.s. of the readings' residuals in standard deviations; 0 without any
    nameplate: Nameplate
    read: tuple                              # speeds of the readings, or of full speed without any [rad/s]
    centre: np.ndarray                       # logarithms of unknowns, NAMES then run capacitor then the readings' own
    capacitors: tuple                        # regulator capacitances read [F], unknowns of their own after the run capacitor
    covariance: np.ndarray


@dataclass(frozen=True, kw_only=True)
class Prediction:
    """Speed and power in one state, with the 95 % band of the speed."""
    speed: np.ndarray                        # [rad/s]
    spread: np.ndarray                       # one standard deviation [rad/s]
    power: np.ndarray                        # [W]
    power_spread: np.ndarray                 # [W]

    @property
    def low(self):
        """Of the 95 % band [rad/s]."""
        return np.maximum(self.speed - COVERAGE * self.spread, 0.0)

    @property
    def high(self):
        """Of the 95 % band [rad/s]."""
        return self.speed + COVERAGE * self.spread


def warm_resistance(cold, *, rise, per_kelvin=0.0039):
    """Return the resistance of copper `rise` [K] above that of the measurement; 0.39 %/K (from memory)."""
    require_number("cold", cold, above=0.0)
    return cold * (1.0 + per_kelvin * rise)


def winding_resistances(*, readings, tolerance=0.05):
    """Return (main, auxiliary) from the three ohmmeter readings between the three leads, in any order [ohm].

    The greatest is both windings in series and must be the sum of the others. The lower of those is taken for the
    main winding (common practice, no source; the lead common to both and the run capacitor settles it).
    """
    low, middle, high = sorted(float(value) for value in readings)
    require_number("readings", low, above=0.0)
    if abs(low + middle - high) > tolerance * high:
        raise ValueError(f"readings must have one that is the sum of the others, found {low:g}, {middle:g} and {high:g} ohm")
    return low, middle


def fit_motor(*, nameplate, readings=(), main_resistance=None, auxiliary_resistance=None, resistance_error=0.02,
              run_capacitance_error=0.03):
    """Return the `Fit` to all that is known.

    Parameters
    ----------
    nameplate : Nameplate
    readings : sequence of Reading
        Of the running fan; none gives an estimate from the nameplate alone.
    main_resistance, auxiliary_resistance : float or None
        Measured and corrected to a warm winding [ohm]; `resistance_error` is their share of uncertainty.
    run_capacitance_error : float
        Share: 0.01 measured, 0.03 printed +-5 %.
    """
    readings = tuple(readings)
    for name, value in (("main_resistance", main_resistance), ("auxiliary_resistance", auxiliary_resistance)):
        if value is not None:
            require_number(name, value, above=0.0)
    mean, spread = priors(nameplate)
    measured = [(place, np.log(value)) for place, value in ((0, main_resistance), (1, auxiliary_resistance)) if value is not None]
    capacitors = sorted({reading.capacitance for reading in readings if np.isfinite(reading.capacitance)})
    errors = [max(r.capacitance_error for r in readings if r.capacitance == value) for value in capacitors]
    mean = np.concatenate([mean, np.zeros(1 + len(capacitors))])
    spread = np.concatenate([spread, [run_capacitance_error], errors])
    anchor = [Reading(supply=nameplate.supply, power=nameplate.power, speed=nameplate.speed, power_error=(NAMEPLATE_SPREAD, 0.0),
                      speed_error=NAMEPLATE_SPEED_SPREAD * (nameplate.speed or 1.0))]
    used = list(readings) + ([] if any(np.isinf(r.capacitance) and r.power and r.speed for r in readings) else anchor)
    targets, sigmas, picks = targets_of(used, nameplate)

    def residuals(points):
        shown = predicted(points, used, capacitors, nameplate)[:, picks[0], picks[1]]
        winding = [(points[:, :1] if place == 0 else points[:, :1] + points[:, 1:2]) - value for place, value in measured]
        return np.concatenate([(shown - targets) / sigmas, *[each / resistance_error for each in winding],
                               (points - mean) / spread], axis=1)

    start = mean.copy()
    if main_resistance is not None:
        start[0] = np.log(main_resistance)
        if auxiliary_resistance is not None:
            start[1] = np.log(auxiliary_resistance / main_resistance)
    centre, jacobian = _least(residuals, start)
    covariance = np.linalg.inv(jacobian.T @ jacobian)
    misfit = residuals(centre[None])[0][:len(targets_of(readings, nameplate)[0])]
    motor, load = machine(centre[None], nameplate)
    motor, load = (replace(each, **{key: value[0, 0].item() for key, value in vars(each).items() if np.ndim(value) == 2})
                   for each in (motor, load))
    values = absolute(centre)
    spreads = absolute_spreads(covariance)
    before = absolute_spreads(np.diag(spread ** 2))
    read = tuple(reading.speed for reading in readings if reading.speed) or (
        float(predicted(centre[None], [Reading(supply=nameplate.supply)], [], nameplate)[0, 0, 0]),)
    return Fit(read=read, capacitors=tuple(capacitors), motor=motor, load=load, estimate=not readings, nameplate=nameplate, centre=centre, covariance=covariance,
               misfit=float(np.sqrt(np.mean(misfit ** 2))) if misfit.size else 0.0,
               parameters=tuple(Parameter(name=name, value=float(value), spread=float(after), prior_spread=float(first))
                                for name, value, after, first in zip(NAMES, values, spreads, before)))


def typical_motor(*, power, supply, frequency, poles, run_capacitance, speed=None):
    """Return the `Fit` of a fan of which only the nameplate is known: an estimate, and marked as one."""
    return fit_motor(nameplate=Nameplate(power=power, supply=supply, frequency=frequency, poles=poles,
                                         run_capacitance=run_capacitance, speed=speed))


def predict(fit, *, supply, capacitance=np.inf, series_resistance=0.0, capacitance_error=0.01):
    """Return the `Prediction` for states given by arrays of `supply` [V] and effective regulator `capacitance` [F].

    Uncertainty is carried linearly from the unknowns; `capacitance_error` is that of a regulator capacitor
    that is not among the readings, and what the model leaves out is added. A speed of 0 is a fan that stops: its band
    means little.
    """
    supply, capacitance = np.broadcast_arrays(np.atleast_1d(supply).astype(float), np.atleast_1d(capacitance).astype(float))
    states = [Reading(supply=float(v), capacitance=float(c), series_resistance=series_resistance)
              for v, c in zip(supply, capacitance)]
    values, slopes = _sensitivity(fit, states)
    variance = np.einsum("ijk,kl,ijl->ij", slopes, fit.covariance, slopes)
    share = np.array([0.0 if state.capacitance in fit.capacitors else capacitance_error for state in states])
    step = 1e-3
    moved = [replace(state, capacitance=state.capacitance * (1.0 + step)) for state in states]
    own = (predicted(fit.centre[None], moved, [], fit.nameplate)[0] - values) / step
    variance[:, :2] += (own[:, :2] * share[:, None]) ** 2
    full = _full(fit)
    distance = np.abs(values[:, :1] - np.array(fit.read)).min(axis=1)
    variance[:, 0] += (DISCREPANCY * full) ** 2 + (REACH * distance ** 2 / (distance + 0.2 * full)) ** 2
    return Prediction(speed=values[:, 0], spread=np.sqrt(variance[:, 0]), power=values[:, 1], power_spread=np.sqrt(variance[:, 1]))


def motor_samples(fit, draw, count):
    """Return families (count, 1) of motors and loads drawn from the fit by `draw`, a numpy Generator."""
    points = draw.multivariate_normal(fit.centre, fit.covariance, size=count, method="cholesky")
    return machine(points, fit.nameplate)


def most_useful_measurement(fit, *, candidates, wanted):
    """Rank further measurements by what they would do for the speeds of the `wanted` states.

    `candidates` hold a `Reading` (all three of speed, W and VA taken as read) or a name of `INSTRUMENTS` (an ohmmeter
    or capacitance meter on that part); `wanted` hold `Reading`s. Returns (mean spread now [rad/s], list of (spread
    after [rad/s], candidate), best first).
    """
    for candidate in candidates:
        if not isinstance(candidate, Reading) and candidate not in INSTRUMENTS:
            raise ValueError(f"candidates must be Readings or of {', '.join(INSTRUMENTS)}, found {candidate!r}")
    speeds = _sensitivity(fit, wanted)[1][:, 0, :]
    spread = lambda covariance: float(np.sqrt(np.mean(np.einsum("ik,kl,il->i", speeds, covariance, speeds))))
    ranked = []
    for candidate in candidates:
        slope, noise = _instrument(fit, candidate) if candidate in INSTRUMENTS else _reading(fit, candidate)
        gain = fit.covariance @ slope.T @ np.linalg.inv(slope @ fit.covariance @ slope.T + np.diag(noise))
        ranked.append((spread(fit.covariance - gain @ slope @ fit.covariance), candidate))
    return spread(fit.covariance), sorted(ranked, key=lambda pair: pair[0])


def most_likely_poles(*, nameplate, readings, candidates=(10, 12, 14, 16, 18), **known):
    """Return [(cost, poles, Fit)], best first, when the number of poles is not known; needs speed and power readings."""
    fits = []
    for poles in candidates:
        fastest = max((reading.speed or 0.0) for reading in readings)
        if fastest >= 4.0 * np.pi * nameplate.frequency / poles:
            continue                         # turns faster than this field
        found = fit_motor(nameplate=replace(nameplate, poles=poles), readings=readings, **known)
        mean, spread = priors(found.nameplate)
        pull = np.mean(((found.centre[:len(NAMES)] - mean) / spread) ** 2)
        fits.append((float(found.misfit ** 2 + pull), poles, found))
    return sorted(fits, key=lambda each: each[0])


def _reading(fit, candidate):
    """Derivatives (quantity, unknown) of a reading and the variances of its speed, W and VA."""
    values, slopes = (each[0] for each in _sensitivity(fit, [candidate]))
    noise = [np.hypot(candidate.speed_error, DISCREPANCY * _full(fit)),
             candidate.power_error[0] * values[1] + candidate.power_error[1],
             candidate.apparent_error[0] * values[2] + candidate.apparent_error[1]]
    return slopes, np.square(noise)


def _instrument(fit, name):
    """The same for a meter on one part, in logarithms."""
    size = len(fit.centre)
    if name == "regulator_capacitances":
        rows = np.eye(size)[len(NAMES) + 1:]
    elif name == "run_capacitance":
        rows = np.eye(size)[len(NAMES):len(NAMES) + 1]
    else:
        rows = np.zeros((1, size))
        rows[0, :len(NAMES)] = ratios()[NAMES.index(name)]
    return rows, np.full(len(rows), INSTRUMENTS[name] ** 2)


def _slopes(function, point, step=1e-5):
    """Values at `point` and derivatives by central differences, from one call on a family."""
    shifts = step * np.eye(len(point))
    values = function(np.concatenate([point[None], point + shifts, point - shifts]))
    return values[0], (values[1:len(point) + 1] - values[len(point) + 1:]) / (2.0 * step)


def _sensitivity(fit, states):
    """Predictions (state, quantity) and their derivatives (state, quantity, unknown)."""
    values, slopes = _slopes(lambda points: predicted(points, states, fit.capacitors, fit.nameplate), fit.centre)
    return values, np.moveaxis(slopes, 0, 2)


def _full(fit):
    return float(predicted(fit.centre[None], [Reading(supply=fit.nameplate.supply)], [], fit.nameplate)[0, 0, 0])


def _least(residuals, start, rounds=40):
    """Damped Gauss-Newton (Levenberg-Marquardt). Returns the point of least squares and the Jacobian there."""
    point, damping = start, 1e-3
    values, slopes = _slopes(residuals, point)
    for _ in range(rounds):
        normal = slopes @ slopes.T
        step = np.linalg.solve(normal + damping * np.diag(np.diag(normal)), -slopes @ values)
        step *= min(1.0, 1.0 / np.abs(step).max())
        trial = residuals((point + step)[None])[0]
        if trial @ trial < values @ values:
            settled = values @ values - trial @ trial < 1e-9 * (1.0 + trial @ trial)
            point, damping = point + step, damping / 5.0
            values, slopes = _slopes(residuals, point)
            if settled:
                break
        else:
            damping *= 5.0
            if damping > 1e6:
                break
    return point, slopes.T
