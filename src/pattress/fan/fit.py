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
from collections.abc import Callable, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from pattress.fan.motor import Load, Motor, RealArray, require_number
from pattress.fan.unknowns import (
    DISCREPANCY,
    NAMEPLATE_SPEED_SPREAD,
    NAMEPLATE_SPREAD,
    NAMES,
    QUANTITIES,
    SHIFT,
    Nameplate,
    Position,
    Reading,
    State,
    absolute,
    absolute_spreads,
    machine,
    predicted,
    priors,
    ratios,
    targets_of,
)

REACH = 0.08                 # of the distance to the nearest speed read, as DISCREPANCY; less when that is near
COVERAGE = 1.96              # standard deviations to a 95 % band
PER_KELVIN = 0.0039          # of the resistance of copper, see `warm_resistance`
RISE, RISE_SPREAD = 50.0, 15.0   # K, and one standard deviation: of a winding that runs (common practice, no source; insulation bears 75 K or more)
OHMMETER = 0.02              # share of uncertainty of an ohmmeter with its leads (common practice)
WARMED_ERROR = float(np.hypot(OHMMETER, PER_KELVIN * RISE_SPREAD / (1.0 + PER_KELVIN * RISE)))    # of a resistance read cold and reckoned warm
INSTRUMENTS = {              # what a meter tells of one unknown, and its share of uncertainty (common practice)
    "main_resistance": WARMED_ERROR, "auxiliary_resistance": WARMED_ERROR, "run_capacitance": 0.01, "regulator_capacitances": 0.01}


@dataclass(frozen=True, kw_only=True)
class Parameter:
    """One unknown after the fit. `spread` is one standard deviation as a share."""
    name: str
    value: float
    spread: float
    prior_spread: float

    @property
    def fixed_by(self) -> str:
        """"data", "both" or "typical value": what its value rests on."""
        share = self.spread / self.prior_spread
        return "data" if share < 0.4 else "both" if share < 0.85 else "typical value"


@dataclass(frozen=True, kw_only=True)
class Compared:
    """One figure of a reading beside the fit. `deviation` is what it lies off what all else foretells, in standard deviations of that.

    The residual over its own standard deviation, sqrt(1 - h) of the reading's, with h from the fit's covariance; for a
    figure left out of the fit sqrt(1 + h): a standard normal either way when model, priors and meters are as supposed.
    """
    reading: int                             # place among the readings, from 0
    quantity: str                            # of QUANTITIES
    read: float                              # SI
    fitted: float
    deviation: float
    used: bool                               # False where it was left out of the fit


@dataclass(frozen=True, kw_only=True)
class Fit:
    """A motor and load with the covariance of their unknowns."""
    motor: Motor
    load: Load
    parameters: tuple[Parameter, ...]                        # of Parameter, in the order of NAMES
    estimate: bool                           # True where no reading of the running fan was used
    misfit: float                            # r.m.s. of the readings' residuals in standard deviations; 0 without any
    cost: float                              # sum of all squared residuals, those of the typical values among them
    compared: tuple[Compared, ...]                          # of Compared, every figure of every reading
    nameplate: Nameplate
    read: tuple[float, ...]                              # speeds of the readings, or of full speed without any [rad/s]
    centre: RealArray                       # logarithms of unknowns, NAMES then run capacitor then the readings' own
    capacitors: tuple[float, ...]                        # regulator capacitances read [F], unknowns of their own after the run capacitor
    covariance: RealArray

    def fitted_capacitance(self, value: float) -> float:
        """What the regulator capacitor read as `value` is after the fit [F]."""
        return value * float(np.exp(self.centre[len(NAMES) + 1 + self.capacitors.index(value)]))


@dataclass(frozen=True, kw_only=True)
class Prediction:
    """Speed and power in one state, with the 95 % band of the speed."""
    speed: RealArray                        # [rad/s]
    spread: RealArray                       # one standard deviation [rad/s]
    power: RealArray                        # [W]
    power_spread: RealArray                 # [W]

    @property
    def low(self) -> RealArray:
        """Of the 95 % band [rad/s]."""
        return np.maximum(self.speed - COVERAGE * self.spread, 0.0)

    @property
    def high(self) -> RealArray:
        """Of the 95 % band [rad/s]."""
        return self.speed + COVERAGE * self.spread


def warm_resistance(cold: float, *, rise: float, per_kelvin: float = PER_KELVIN) -> float:
    """Return the resistance of copper `rise` [K] above that of the measurement.

    0.39 %/K: copper has 0.393 %/K from 20 degC, 1 / (234.5 + 20), read in the page "Temperature rise" of
    electrical-engineering-portal.com; from a warm room it is a little less.
    """
    require_number("cold", cold, above=0.0)
    require_number("rise", rise)
    return cold * (1.0 + per_kelvin * rise)


def winding_resistances(*, readings: Sequence[float], tolerance: float = 0.05) -> tuple[float, float]:
    """Return (main, auxiliary) from the three ohmmeter readings between the three leads, in any order [ohm].

    The greatest is both windings in series and must be the sum of the others. The lower of those is taken for the
    main winding (common practice, no source; the lead common to both and the run capacitor settles it).
    """
    low, middle, high = sorted(float(value) for value in readings)
    require_number("readings", low, above=0.0)
    if abs(low + middle - high) > tolerance * high:
        raise ValueError(f"readings must have one that is the sum of the others, found {low:g}, {middle:g} and {high:g} ohm")
    return low, middle


def fit_motor(*, nameplate: Nameplate, readings: Sequence[Reading] = (), main_resistance: float | None = None, auxiliary_resistance: float | None = None, resistance_error: float = OHMMETER,
              run_capacitance_error: float = 0.03, left_out: AbstractSet[tuple[int, str]] = frozenset()) -> Fit:
    """Return the `Fit` to all that is known.

    Parameters
    ----------
    nameplate : Nameplate
    readings : sequence of Reading
        Of the running fan; none gives an estimate from the nameplate alone.
    main_resistance, auxiliary_resistance : float or None
        Measured and corrected to a warm winding [ohm], see `warm_resistance`; `resistance_error` is their share of uncertainty.
    run_capacitance_error : float
        Share, one standard deviation: 0.01 measured, 0.03 printed +-5 %.
    left_out : set of (place of the reading, quantity)
        Figures that are compared with the fit and have no part in it.
    """
    readings = tuple(readings)
    for name, value in (("main_resistance", main_resistance), ("auxiliary_resistance", auxiliary_resistance)):
        if value is not None:
            require_number(name, value, above=0.0)
    apart = {(place, QUANTITIES.index(quantity)) for place, quantity in left_out}
    mean, spread = priors(nameplate)
    measured = [(place, np.log(value)) for place, value in ((0, main_resistance), (1, auxiliary_resistance)) if value is not None]
    capacitors = sorted({reading.capacitance for reading in readings if np.isfinite(reading.capacitance)})
    errors = [max(r.capacitance_error for r in readings if r.capacitance == value) for value in capacitors]
    mean = np.concatenate([mean, np.zeros(1 + len(capacitors))])
    spread = np.concatenate([spread, [run_capacitance_error], errors])
    used = list(readings) + ([] if _is_full_read(readings, left_out) else [_printed(nameplate)])
    targets, sigmas, picks = targets_of(used, nameplate, apart)

    def residuals(points: RealArray) -> RealArray:
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
    covariance: RealArray = np.linalg.inv(jacobian.T @ jacobian)
    final = residuals(centre[None])[0]
    compared = _compared(centre, covariance, readings, capacitors, nameplate, apart)
    own = np.array([row < len(readings) for row in picks[0]], bool)
    misfit = final[:len(targets)][own]
    motors, loads = machine(centre[None], nameplate)
    motor, load = replace(motors, **_only(motors)), replace(loads, **_only(loads))
    values = absolute(centre)
    spreads = absolute_spreads(covariance)
    before = absolute_spreads(np.diag(spread ** 2))
    read = tuple(each.read for each in compared if each.quantity == "speed" and each.used)
    if not read:
        read = (float(predicted(centre[None], [Reading(supply=nameplate.supply)], [], nameplate)[0, 0, 0]),)
    return Fit(read=read, capacitors=tuple(capacitors), motor=motor, load=load, estimate=not any(each.used for each in compared),
               nameplate=nameplate, centre=centre, covariance=covariance, cost=float(final @ final), compared=compared,
               misfit=float(np.sqrt(np.mean(misfit ** 2))) if misfit.size else 0.0,
               parameters=tuple(Parameter(name=name, value=float(value), spread=float(after), prior_spread=float(first))
                                for name, value, after, first in zip(NAMES, values, spreads, before)))


def _only(family: Motor | Load) -> dict[str, Any]:
    """Return the fields of a family of one that are arrays, as numbers."""
    return {key: value[0, 0].item() for key, value in vars(family).items() if np.ndim(value) == 2}


def _is_full_read(readings: Sequence[Reading], left_out: AbstractSet[tuple[int, str]]) -> bool:
    """Whether speed and W straight through were read, so that what is printed adds nothing."""
    return any(np.isinf(reading.capacitance) and reading.power is not None and reading.speed is not None
               and not {(place, "power"), (place, "speed")} & set(left_out) for place, reading in enumerate(readings))


def _printed(nameplate: Nameplate) -> Reading:
    """What is printed on the fan, as a reading at full speed; its speed only where it is printed."""
    reading = Reading(supply=nameplate.supply, power=nameplate.power, power_error=(NAMEPLATE_SPREAD, 0.0))
    if nameplate.speed is None:
        return reading
    return replace(reading, speed=nameplate.speed, speed_error=NAMEPLATE_SPEED_SPREAD * nameplate.speed)


def _compared(centre: RealArray, covariance: RealArray, readings: Sequence[Reading], capacitors: Sequence[float], nameplate: Nameplate, apart: AbstractSet[tuple[int, int]]) -> tuple[Compared, ...]:
    """Every figure of every reading beside the fit."""
    if not readings:
        return ()
    targets, sigmas, (rows, columns) = targets_of(readings, nameplate)
    values, slopes = _slopes(lambda points: predicted(points, readings, capacitors, nameplate), centre)
    values, slopes = values[rows, columns], slopes[:, rows, columns]
    taken = np.einsum("ki,kl,li->i", slopes, covariance, slopes) / sigmas ** 2
    found = []
    for place, (row, column) in enumerate(zip(rows, columns)):
        used = (int(row), int(column)) not in apart
        own = max(1.0 - taken[place], 1e-9) if used else 1.0 + taken[place]      # a figure that alone fixes an unknown agrees with itself
        found.append(Compared(reading=int(row), quantity=QUANTITIES[column], read=float(targets[place]), fitted=float(values[place]),
                              deviation=float((targets[place] - values[place]) / sigmas[place] / np.sqrt(own)), used=used))
    return tuple(found)


def predict_positions(fit: Fit, positions: Sequence[Position]) -> Prediction:
    """Return the `Prediction` for `Position`s of a regulator, each with its own impedance and its own capacitors.

    Uncertainty is carried linearly from the unknowns; the spread of capacitors that no reading knew and what the model
    leaves out are added. A speed of 0 is a fan that stops: its band means little.
    """
    states, known = list(positions), fit.capacitors
    values, slopes = _sensitivity(fit, states, known)
    variance = np.einsum("ijk,kl,ijl->ij", slopes, fit.covariance, slopes)[:, :2]
    variance += _own_variance(fit, states, known, values)
    variance[:, 0] += _unexplained(fit, values[:, 0], fit.read)
    return Prediction(speed=values[:, 0], spread=np.sqrt(variance[:, 0]), power=values[:, 1], power_spread=np.sqrt(variance[:, 1]))


def _own_variance(fit: Fit, states: Sequence[State], known: Sequence[float], values: RealArray) -> RealArray:
    """Variance of speed and W by the capacitors of the states themselves, each varying alone."""
    nudged = [(place, moved, error) for place, state in enumerate(states) for moved, error in state.nudged(known)]
    variance = np.zeros((len(states), 2))
    if nudged:
        moved = predicted(fit.centre[None], [state for _, state, _ in nudged], known, fit.nameplate)[0]
        for (place, _, error), shown in zip(nudged, moved):
            variance[place] += ((shown[:2] - values[place, :2]) / SHIFT * error) ** 2
    return variance


def _unexplained(fit: Fit, speeds: RealArray, read: Sequence[float]) -> RealArray:
    """Variance of speeds by what the model leaves out: the more, the further from the nearest speed read."""
    full = _full(fit)
    distance = np.abs(speeds[:, None] - np.array(read)).min(axis=1)
    variance: RealArray = (DISCREPANCY * full) ** 2 + (REACH * distance ** 2 / (distance + 0.2 * full)) ** 2
    return variance


def motor_samples(fit: Fit, draw: "np.random.Generator", count: int) -> tuple[Motor, Load]:
    """Return families (count, 1) of motors and loads drawn from the fit by `draw`, a numpy Generator."""
    points = draw.multivariate_normal(fit.centre, fit.covariance, size=count, method="cholesky")
    return machine(points, fit.nameplate)


def most_useful_measurement(fit: Fit, *, candidates: Sequence[Reading | str], wanted: Sequence[State]) -> tuple[float, list[tuple[float, Reading | str]]]:
    """Rank further measurements by what they would do for the speeds of the `wanted` states.

    `candidates` hold a `Reading` (all three of speed, W and VA taken as read) or a name of `INSTRUMENTS` (an ohmmeter
    or capacitance meter on that part); `wanted` hold `Position`s or `Reading`s, of new capacitors. Returns (mean spread
    now [rad/s], list of (spread after [rad/s], candidate), best first). The spread is that of `predict_positions`, with what no
    measurement at the fan takes away: the tolerance of the new capacitors.
    """
    for candidate in candidates:
        if not isinstance(candidate, Reading) and candidate not in INSTRUMENTS:
            raise ValueError(f"candidates must be Readings or of {', '.join(INSTRUMENTS)}, found {candidate!r}")
    known = () if any(isinstance(state, Reading) for state in wanted) else fit.capacitors
    values, slopes = _sensitivity(fit, wanted, known)
    speeds = slopes[:, 0, :]
    own = _own_variance(fit, wanted, known, values)[:, 0]

    def spread(covariance: RealArray, read: Sequence[float]) -> float:
        return float(np.sqrt(np.mean(np.einsum("ik,kl,il->i", speeds, covariance, speeds) + own + _unexplained(fit, values[:, 0], read))))

    ranked = []
    for candidate in candidates:
        slope, noise, read = (*_instrument(fit, candidate), fit.read) if isinstance(candidate, str) else _reading(fit, candidate)
        gain = fit.covariance @ slope.T @ np.linalg.inv(slope @ fit.covariance @ slope.T + np.diag(noise))
        ranked.append((spread(fit.covariance - gain @ slope @ fit.covariance, read), candidate))
    return spread(fit.covariance, fit.read), sorted(ranked, key=lambda pair: pair[0])


def most_likely_poles(*, nameplate: Nameplate, readings: Sequence[Reading], candidates: Sequence[int] = (10, 12, 14, 16, 18), **known: Any) -> list[tuple[float, int, Fit]]:
    """Return [(cost, poles, Fit)], best first, when the number of poles is not known; needs speed and power readings.

    The cost is the fit's sum of squared residuals, so two of them differ by twice the logarithm of their odds.
    """
    speeds = [reading.speed for reading in readings if reading.speed is not None]
    if nameplate.speed is not None:
        speeds.append(nameplate.speed)
    fits = []
    for poles in candidates:
        if any(speed >= 4.0 * np.pi * nameplate.frequency / poles for speed in speeds):
            continue                         # turns faster than this field
        found = fit_motor(nameplate=replace(nameplate, poles=poles), readings=readings, **known)
        fits.append((found.cost, poles, found))
    return sorted(fits, key=lambda each: each[0])


def _reading(fit: Fit, candidate: Reading) -> tuple[RealArray, RealArray, tuple[float, ...]]:
    """Derivatives (quantity, unknown) of a reading, the variances of its speed, W and VA, and all speeds read with it."""
    values, slopes = (each[0] for each in _sensitivity(fit, [candidate], fit.capacitors))
    noise = [np.hypot(candidate.speed_error, DISCREPANCY * _full(fit)),
             candidate.power_error[0] * values[1] + candidate.power_error[1],
             candidate.apparent_error[0] * values[2] + candidate.apparent_error[1]]
    return slopes, np.square(noise), (*fit.read, float(values[0]))


def _instrument(fit: Fit, name: str) -> tuple[RealArray, RealArray]:
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


def _slopes(function: Callable[[RealArray], RealArray], point: RealArray, step: float = 1e-5, central: bool = True) -> tuple[RealArray, RealArray]:
    """Values at `point` and derivatives by central differences, or by forward ones at half the price, from one call on a family."""
    shifts = step * np.eye(len(point))
    if not central:
        values = function(np.concatenate([point[None], point + shifts]))
        return values[0], (values[1:] - values[:1]) / step
    values = function(np.concatenate([point[None], point + shifts, point - shifts]))
    return values[0], (values[1:len(point) + 1] - values[len(point) + 1:]) / (2.0 * step)


def _sensitivity(fit: Fit, states: Sequence[State], known: Sequence[float]) -> tuple[RealArray, RealArray]:
    """Predictions (state, quantity) and their derivatives (state, quantity, unknown); `known` capacitors are those of the readings."""
    values, slopes = _slopes(lambda points: predicted(points, states, known, fit.nameplate), fit.centre)
    return values, np.moveaxis(slopes, 0, 2)


def _full(fit: Fit) -> float:
    return float(predicted(fit.centre[None], [Reading(supply=fit.nameplate.supply)], [], fit.nameplate)[0, 0, 0])


def _least(residuals: Callable[[RealArray], RealArray], start: RealArray, rounds: int = 40) -> tuple[RealArray, RealArray]:
    """Damped Gauss-Newton (Levenberg-Marquardt), on forward differences. Returns the point of least squares and the Jacobian there."""
    point, damping = start, 1e-3
    values, slopes = _slopes(residuals, point, central=False)
    for _ in range(rounds):
        normal = slopes @ slopes.T
        step = np.linalg.solve(normal + damping * np.diag(np.diag(normal)), -slopes @ values)
        step *= min(1.0, 1.0 / np.abs(step).max())
        trial = residuals((point + step)[None])[0]
        if trial @ trial < values @ values:
            settled = values @ values - trial @ trial < 1e-8 * (1.0 + trial @ trial)
            point, damping = point + step, damping / 5.0
            if settled:
                break
            values, slopes = _slopes(residuals, point, central=False)
        else:
            damping *= 5.0
            if damping > 1e6:
                break
    return point, _slopes(residuals, point)[1].T
