"""What the spread of parts, mains and motor does to the steps.

Answers: between which speeds will each step lie, and how likely do two steps come too close or a step not start?
Monte Carlo: every sample is a whole fan on a whole regulator; capacitors lie evenly within their tolerance, the
supply evenly within its limits, motor and load by the covariance of a fit or by given spreads. One seed gives one
answer, whatever the number of cores: samples are drawn in blocks of `BLOCK`, each with its own stream.
"""
import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pattress.fan.fit import Fit, motor_samples
from pattress.fan.motor import Load, Motor, RealArray, require_number
from pattress.fan.network import Branch, Regulator
from pattress.fan.operating import settled_speed, starting_torque

BLOCK = 250
QUANTILES = (0.025, 0.5, 0.975)
Block = tuple[RealArray, NDArray[np.bool_], RealArray]      # of some samples: speeds, which start, full speed


@dataclass(frozen=True, kw_only=True)
class Spread:
    """Shares: a supply of 0.10 lies evenly between 0.9 and 1.1; the motor's are one standard deviation of the logarithm."""
    supply: float = 0.10
    run_capacitance: float = 0.05            # evenly within, where no fit is given
    motor: float = 0.10                      # of each machine value, where no fit is given
    load: float = 0.10                       # of square and constant torque, likewise
    breakaway: float = 0.30                  # of breakaway torque, always: it cannot be fitted from running readings

    def __post_init__(self) -> None:
        for name in ("supply", "run_capacitance", "motor", "load", "breakaway"):
            require_number(name, getattr(self, name))
        for name in ("supply", "run_capacitance"):
            if getattr(self, name) >= 1.0:
                raise ValueError(f"{name} must spread by less than 1, found {getattr(self, name)!r}")


@dataclass(frozen=True, kw_only=True)
class StepSpread:
    """One step over all samples. Speeds are those of samples that turn, coming down from full speed."""
    mask: int
    low: float                               # 2.5 % of samples are slower [rad/s]
    median: float
    high: float                              # 2.5 % are faster
    stops: float                             # probability that it stops even when stepped down to
    not_started: float                       # probability that it does not start from rest, at the sampled supply
    too_close: float                         # probability that the next step is less than `distinct` faster; 0 for the last


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """All steps, and the raw samples for drawing."""
    steps: tuple[StepSpread, ...]
    speeds: RealArray                       # (sample, step) [rad/s]
    seed: int


def monte_carlo(motor: Motor, load: Load, regulator: Regulator, masks: Sequence[int], *, supply: float, tolerances: Sequence[float], spread: Spread = Spread(), fit: Fit | None = None, samples: int = 10_000, seed: int = 0,
                distinct: float = 0.05, cores: int | None = None, progress: Callable[[int, int], None] | None = None) -> Outcome:
    """Return the `Outcome` of `samples` fans on the steps of `masks`, slowest first.

    Parameters
    ----------
    tolerances : sequence of float
        Of the capacitor of each branch, as a share.
    fit : Fit or None
        If given, motor and load are drawn from it and `motor`, `load` and their spreads are not used.
    distinct : float
        Steps closer than this share of full speed count as too close.
    progress : callable or None
        Called with (samples done, samples) after each block, from one thread at a time.
    """
    require_number("supply", supply, above=0.0)
    if samples < 1:
        raise ValueError(f"samples must be 1 or more, found {samples!r}")
    if len(tolerances) != len(regulator.branches):
        raise ValueError(f"tolerances must be {len(regulator.branches)}, one per branch, found {len(tolerances)}")
    sizes = [BLOCK] * (samples // BLOCK) + ([samples % BLOCK] if samples % BLOCK else [])
    streams = np.random.SeedSequence(seed).spawn(len(sizes))

    def block(job: tuple[np.random.SeedSequence, int]) -> Block:
        stream, size = job
        return _block(np.random.default_rng(stream), size, motor, load, regulator, masks, supply, tolerances, spread, fit)

    results, done = [], 0
    with ThreadPoolExecutor(cores or os.cpu_count()) as pool:      # the eigenvalues, nearly all the work, release the lock
        for size, result in zip(sizes, pool.map(block, zip(streams, sizes))):
            results.append(result)
            done += size
            if progress:
                progress(done, samples)
    speeds, starts, full = (np.concatenate(parts) for parts in zip(*results))
    return Outcome(steps=tuple(_step(place, mask, speeds, starts, full, distinct) for place, mask in enumerate(masks)),
                   speeds=speeds, seed=seed)


def _block(draw: "np.random.Generator", size: int, motor: Motor, load: Load, regulator: Regulator, masks: Sequence[int], supply: float, tolerances: Sequence[float], spread: Spread, fit: Fit | None) -> Block:
    """(speeds, starts, full speed) of one block of samples."""
    def column(share: float) -> RealArray:
        return np.asarray(np.exp(share * draw.standard_normal((size, 1))))

    if fit is None:
        varied = ("main_resistance", "auxiliary_resistance", "main_reactance", "auxiliary_reactance", "magnetising_reactance",
                  "rotor_resistance", "rotor_reactance", "core_resistance")
        motor = replace(motor, **{name: getattr(motor, name) * column(spread.motor) for name in varied},
                        turns_ratio=motor.turns_ratio * column(0.25 * spread.motor),       # wound to count: far closer
                        run_capacitance=motor.run_capacitance * (1.0 + spread.run_capacitance * draw.uniform(-1.0, 1.0, (size, 1))))
        load = replace(load, square_torque=load.square_torque * column(spread.load),
                       constant_torque=load.constant_torque * column(spread.load))
    else:
        motor, load = motor_samples(fit, draw, size)
    load = replace(load, breakaway_torque=load.breakaway_torque * column(spread.breakaway))
    branches = tuple(branch if branch.is_link else
                     Branch(capacitance=branch.capacitance * (1.0 + share * draw.uniform(-1.0, 1.0, size)),
                            resistance=branch.resistance, bleed=branch.bleed)
                     for branch, share in zip(regulator.branches, tolerances))
    network = Regulator(layout=regulator.layout, branches=branches)
    voltage = supply * (1.0 + spread.supply * draw.uniform(-1.0, 1.0, (size, 1)))
    omega = motor.angular_frequency
    each = [np.broadcast_to(network.series_impedance(mask, omega), (size,)) for mask in masks]
    impedances = np.stack([*each, np.zeros(size, complex)], axis=1)
    coming_from = 0.999 * np.asarray(motor.synchronous_speed)
    speeds = settled_speed(motor, load, supply=voltage, series_impedance=impedances, coming_from=coming_from)
    starts = starting_torque(motor, supply=voltage, series_impedance=impedances[:, :-1]) > load.breakaway
    return speeds[:, :-1], starts, speeds[:, -1]


def _step(place: int, mask: int, speeds: RealArray, starts: NDArray[np.bool_], full: RealArray, distinct: float) -> StepSpread:
    own = speeds[:, place]
    turning = own[own > 0.0]
    low, median, high = np.quantile(turning, QUANTILES) if turning.size else (0.0, 0.0, 0.0)
    close = np.mean(speeds[:, place + 1] - own < distinct * full) if place + 1 < speeds.shape[1] else 0.0
    return StepSpread(mask=mask, low=float(low), median=float(median), high=float(high), stops=float(np.mean(own <= 0.0)),
                      not_started=float(np.mean(~starts[:, place])), too_close=float(close))
