"""What each channel asks of contacts, cables and protective devices: its currents, steady and at switching on.

Where the job says "unknown" the worst credible figure of `stock/loads.toml` is taken and named.
Harmonics beyond what a power factor says, and the wear of a load in its life, are left out.
"""

from dataclasses import dataclass
from functools import lru_cache
from math import sqrt

from pattress.finding import Assumption, Figure, Input
from pattress.job.model import UNKNOWN, Fan, Job, Load, Run
from pattress.quantity import show
from pattress.sizing.mains import Mains, mains_of
from pattress.sizing.ranges import not_negative, positive, share
from pattress.stock.loads import SOCKET, Behaviour, behaviour

INRUSH_LINE = ("the line \"inrush current\" of the data sheet: its peak, and its width at half height, often called T50; "
               "or a current clamp with peak hold over ten switchings")


@dataclass(frozen=True, slots=True)
class Inrush:
    """Current at switching on of everything behind a channel: crest or r.m.s. of the surge [A], and how long [s].

    `least` and `most` are the least and most credible where the job does not know, equal where
    it does; `worst` and `best` are the same at the upper mains corner. `of_fewer` are the worst of one,
    two and more of the loads, up to all.
    """

    least: float
    most: float
    worst: float
    best: float
    of_fewer: tuple[float, ...]
    duration: float
    known: bool
    formula: str
    inputs: tuple[Input, ...]
    assumptions: tuple[Assumption, ...]


@dataclass(frozen=True, slots=True)
class Demand:
    """One channel as the wiring sees it. `key` is its name, `subject` its key in the job file.

    `worst` is its steady current at the worse mains corner, `best` the same with the best credible
    power factor. `carried` is what contact, terminal, run and track must bear: the same, and for a
    socket what the devices before it let pass, whatever is plugged in.
    """

    key: str
    subject: str
    name: str
    feed: str
    run: Run
    count: int
    behaviour: Behaviour
    power_factor: float
    nominal: float
    worst: float
    best: float
    carried: float
    carried_best: float
    corner: str
    formula: str
    inrush: Inrush
    inputs: tuple[Input, ...]
    assumptions: tuple[Assumption, ...]

    @property
    def least(self) -> float:
        """Return the steady current at nominal mains with the best credible power factor [A]."""
        return self.nominal * self.best / self.worst if self.worst else 0.0

    @property
    def is_socket(self) -> bool:
        """Return whether anything may be plugged in."""
        return self.behaviour.kind == SOCKET


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


def together(*, peak: float, count: int, impedance: float, crest: float) -> float:
    """Return the peak [A] of `count` equal loads of `peak` [A] each behind a mains impedance [ohm]: n I / (1 + (n - 1) Z I / U).

    `peak` is that of one on a stiff mains, `crest` the crest of the mains [V]. Worked out from
    U / (Z + r / n) with the inductance left out, so it is an upper bound.
    """
    not_negative(peak=peak, count=count, impedance=impedance)
    positive(crest=crest)
    return count * peak / (1.0 + max(0, count - 1) * impedance * peak / crest)


def least_impedance(job: Job) -> float:
    """Return the least mains impedance before the devices [ohm] that a job is sure of; 0 where nobody measured it."""
    fault, loop = job.supply.fault_current, job.supply.loop_impedance
    known = [*([job.supply.system.voltage / fault] if fault != UNKNOWN else []), *([loop] if loop != UNKNOWN else [])]
    return min(known, default=0.0)


def demands(job: Job) -> dict[str, Demand]:
    """Return what every channel asks, by key: loads first, then fans, as everywhere."""
    mains, impedance = mains_of(job), least_impedance(job)
    return {key: _demand(f"load.{key}", key, load, mains, impedance, _let_pass(job, key, load)) for key, load in job.load.items()} | {
        key: _demand(f"fan.{key}", key, fan, mains, impedance, None) for key, fan in job.fan.items()
    }


def _let_pass(job: Job, key: str, load: Load) -> tuple[float, str] | None:
    """Return the current [A] that the devices before a socket let pass for ever, and which of them says so; None for other loads."""
    if load.kind != SOCKET:
        return None
    before = [(job.feed[load.feed].device.rating, f"feed.{load.feed}.device.rating")] if load.feed in job.feed else []
    before += [(load.run.fuse, f"load.{key}.run.fuse")] if isinstance(load.run.fuse, float) else []
    before += [(load.plug_fuse, f"load.{key}.plug_fuse")] if isinstance(load.plug_fuse, float) else []
    return min(before, default=None)


@lru_cache(maxsize=1024)     # two dozen questions ask for the demands of one job
def _demand(subject: str, key: str, channel: Load | Fan, mains: Mains, impedance: float, let_pass: tuple[float, str] | None) -> Demand:
    kind = channel.kind if isinstance(channel, Load) else channel.motor
    count = channel.count if isinstance(channel, Load) else 1
    acts = behaviour(kind)
    power_factor, inputs, assumptions = _power_factor(subject, channel, acts)
    nominal = steady_current(power=channel.power, count=count, voltage=mains.voltage, power_factor=power_factor)
    factor = corner_factor(follows=acts.follows, tolerance=mains.tolerance)
    best = factor * nominal * (power_factor if assumptions else 1.0)
    inputs = (Input("power of one", Figure(channel.power, "W"), f"{subject}.power"),
              Input("count", Figure(count, ""), f"{subject}.count"), *inputs, *mains.inputs)
    corner = mains.at_high if acts.follows == "up" else mains.at_low
    formula = "I = n P / (U cos phi), times " + ("1 + tolerance" if acts.follows == "up" else "1 / (1 - tolerance)")
    carried, carried_best = nominal * factor, best
    if let_pass is not None:
        carried = carried_best = let_pass[0]
        inputs = (Input("let pass", Figure(carried, "A"), let_pass[1]), *inputs)
        corner, formula = "whatever is plugged in", "I = the least of feed device, fuse of the run and plug fuse"
    return Demand(
        key=key, subject=subject, name=channel.name, feed=channel.feed, run=channel.run, count=count, behaviour=acts,
        power_factor=power_factor, nominal=nominal, worst=nominal * factor, best=best, carried=carried, carried_best=carried_best,
        corner=corner, formula=formula,
        inrush=_inrush(subject, channel, acts, count, nominal, mains, impedance), inputs=inputs, assumptions=assumptions,
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
    subject: str, channel: Load | Fan, acts: Behaviour, count: int, nominal: float, mains: Mains, impedance: float
) -> Inrush:
    given = channel.inrush if isinstance(channel, Load) else UNKNOWN
    rise, crest = 1.0 + mains.tolerance, sqrt(2.0) * mains.voltage
    limited = impedance > 0.0 and count > 1
    formula = "n I / (1 + (n - 1) Z I / U), times 1 + tolerance" if limited else "sum of the inrush of each, times 1 + tolerance"
    behind = (Input("mains impedance", Figure(impedance, "ohm"), "supply.fault_current, supply.loop_impedance: the lesser"),) if limited else ()

    def of_some(peak: float, number: int) -> float:
        return together(peak=peak, count=number, impedance=impedance, crest=crest)

    def of_fewer(peak: float) -> tuple[float, ...]:
        return tuple(rise * of_some(peak, number) for number in range(1, count + 1))

    if given != UNKNOWN:
        total = of_some(given.peak, count)
        inputs = (Input("inrush of one", Figure(given.peak, "A"), f"{subject}.inrush.peak"),
                  Input("duration", Figure(given.duration, "s"), f"{subject}.inrush.duration"), *behind)
        return Inrush(total, total, total * rise, total * rise, of_fewer(given.peak), given.duration, True, formula, inputs, ())
    one = acts.surge(power=channel.power, current=nominal / count, voltage=mains.voltage)
    least, most = of_some(one.least, count), of_some(one.most, count)
    inputs = (Input("inrush of one", Figure(one.most, "A"), f"worst credible, {acts.kind}: {one.rule}", acts.making_source),
              Input("duration", Figure(one.duration, "s"), f"worst credible, {acts.kind}", acts.making_source), *behind)
    spread = () if one.least == one.most else (Assumption(
        f"{subject}.inrush",
        f"{show(one.most, 'A')} of one, {one.rule}, for {show(one.duration, 's')}",
        "the job does not say; " + (f"the kind {acts.kind} draws {acts.multiples.least:g} to {acts.multiples.most:g} times" if acts.multiples else
                                    f"published ones lie between {show(one.least, 'A')} and that"),
        INRUSH_LINE,
    ),)
    return Inrush(least, most, most * rise, least * rise, of_fewer(one.most), one.duration, False, formula, inputs, spread)
