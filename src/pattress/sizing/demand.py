"""What each channel asks of contacts, cables and protective devices: its currents, steady and at switching on.

Where the job says "unknown" the worst credible figure of `stock/loads.toml` is taken and named.
Harmonics beyond what a power factor says, and the wear of a load in its life, are left out.
"""

from dataclasses import dataclass
from functools import lru_cache

from pattress.finding import Assumption, Figure, Input
from pattress.job.model import UNKNOWN, Cable, Fan, Job, Load
from pattress.quantity import show
from pattress.sizing.mains import Mains, mains_of
from pattress.sizing.ranges import not_negative, positive, share
from pattress.stock.loads import Behaviour, behaviour


@dataclass(frozen=True, slots=True)
class Inrush:
    """Current at switching on of everything behind a channel: crest or r.m.s. of the surge [A], and how long [s].

    `least` and `most` are the least and most credible where the job does not know, equal where
    it does; `worst` is `most` at the upper mains corner.
    """

    least: float
    most: float
    worst: float
    duration: float
    known: bool
    inputs: tuple[Input, ...]
    assumptions: tuple[Assumption, ...]


@dataclass(frozen=True, slots=True)
class Demand:
    """One channel as the wiring sees it. `key` is its name, `subject` its key in the job file."""

    key: str
    subject: str
    name: str
    feed: str
    run: Cable
    behaviour: Behaviour
    power_factor: float
    nominal: float
    worst: float
    corner: str
    formula: str
    inrush: Inrush
    inputs: tuple[Input, ...]
    assumptions: tuple[Assumption, ...]


def steady_current(*, power: float, count: int = 1, voltage: float, power_factor: float = 1.0) -> float:
    """Return the r.m.s. current of `count` loads of active `power` [W] each at `voltage` [V].

    Raises ValueError when a quantity is negative, not finite, or the power factor not in 0 to 1.
    """
    not_negative(power=power, count=count)
    positive(voltage=voltage)
    share(power_factor=power_factor)
    return count * power / (voltage * power_factor)


def corner_factor(*, follows: str, tolerance: float) -> float:
    """Return by how much the current at the worse mains corner exceeds the nominal one.

    A load that `follows` "up" draws in proportion to the voltage (a heater; for a lamp this is
    more than it does). One that follows "down" holds its power, so it draws most at the lower corner.
    """
    not_negative(tolerance=tolerance)
    return 1.0 + tolerance if follows == "up" else 1.0 / (1.0 - tolerance)


def demands(job: Job) -> dict[str, Demand]:
    """Return what every channel asks, by key: loads first, then fans, as everywhere."""
    mains = mains_of(job)
    return {key: _demand(f"load.{key}", key, load, mains) for key, load in job.load.items()} | {
        key: _demand(f"fan.{key}", key, fan, mains) for key, fan in job.fan.items()
    }


@lru_cache(maxsize=1024)     # two dozen questions ask for the demands of one job
def _demand(subject: str, key: str, channel: Load | Fan, mains: Mains) -> Demand:
    kind = channel.kind if isinstance(channel, Load) else channel.motor
    count = channel.count if isinstance(channel, Load) else 1
    acts = behaviour(kind)
    power_factor, inputs, assumptions = _power_factor(subject, channel, acts)
    nominal = steady_current(power=channel.power, count=count, voltage=mains.voltage, power_factor=power_factor)
    factor = corner_factor(follows=acts.follows, tolerance=mains.tolerance)
    inputs = (Input("power of one", Figure(channel.power, "W"), f"{subject}.power"),
              Input("count", Figure(count, ""), f"{subject}.count"), *inputs, *mains.inputs)
    return Demand(
        key=key, subject=subject, name=channel.name, feed=channel.feed, run=channel.run, behaviour=acts,
        power_factor=power_factor, nominal=nominal, worst=nominal * factor,
        corner=mains.at_high if acts.follows == "up" else mains.at_low,
        formula="I = n P / (U cos phi), times " + ("1 + tolerance" if acts.follows == "up" else "1 / (1 - tolerance)"),
        inrush=_inrush(subject, channel, acts, count, nominal, mains), inputs=inputs, assumptions=assumptions,
    )


def _power_factor(
    subject: str, channel: Load | Fan, acts: Behaviour
) -> tuple[float, tuple[Input, ...], tuple[Assumption, ...]]:
    key = f"{subject}.power_factor"
    if channel.power_factor != UNKNOWN:
        return channel.power_factor, (Input("power factor", Figure(channel.power_factor, ""), key),), ()
    taken = Input("power factor", Figure(acts.power_factor, ""), f"worst credible, {acts.kind}", acts.power_factor_source)
    if acts.power_factor == 1.0:
        return 1.0, (taken,), ()
    return acts.power_factor, (taken,), (Assumption(
        key, f"{acts.power_factor:g}", f"the job does not say; of the kind {acts.kind} some are as low",
        "watts and volt-amperes with a plug-in meter, or the type plate",
    ),)


def _inrush(
    subject: str, channel: Load | Fan, acts: Behaviour, count: int, nominal: float, mains: Mains
) -> Inrush:
    given = channel.inrush if isinstance(channel, Load) else UNKNOWN
    rise = 1.0 + mains.tolerance
    if given != UNKNOWN:
        total = count * given.peak
        inputs = (Input("inrush of one", Figure(given.peak, "A"), f"{subject}.inrush.peak"),
                  Input("duration", Figure(given.duration, "s"), f"{subject}.inrush.duration"))
        return Inrush(total, total, total * rise, given.duration, True, inputs, ())
    least, most = nominal * acts.making_least, nominal * acts.making_most
    inputs = (Input("inrush over steady current", Figure(acts.making_most, ""), f"most credible, {acts.kind}",
                    acts.making_source),)
    spread = () if acts.making_least == acts.making_most else (Assumption(
        f"{subject}.inrush",
        f"{acts.making_most:g} times the steady current, {show(most, 'A')} for {show(acts.making_duration, 's')}",
        f"the job does not say; the kind {acts.kind} draws {acts.making_least:g} to {acts.making_most:g} times",
        "the inrush figure on the data sheet, or a current clamp with peak hold over ten switchings",
    ),)
    return Inrush(least, most, most * rise, acts.making_duration, False, inputs, spread)
