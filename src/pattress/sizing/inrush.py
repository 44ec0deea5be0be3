"""What closes at once after a power cut, against the protective device of its feed.

Answers, for each feed: do all channels that come back together stay below what the device
surely bears; and what delays make it so. The delays go into the plan.

The magnetic release answers to current squared over time, so a surge shorter than a half cycle
counts as the half-cycle current of the same integral of i^2 dt, on top of the steady current; a
longer one counts in full. Both are added as if all loads were in step. Left out: the impedance of the wiring, and the
spread of closing times of relays asked at once.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from math import sqrt

from pattress.finding import Assumption, Figure, Finding, Input, Sense, Source, Verdict, judge_between
from pattress.job.by_rule import puts_on
from pattress.job.model import UNKNOWN, Feed, Job
from pattress.quantity import show
from pattress.sizing.contacts import pulse_integral
from pattress.sizing.demand import Demand, demands
from pattress.sizing.mains import Mains, mains_of
from pattress.sizing.ranges import not_negative, positive
from pattress.stock import devices

EQUAL_ENERGY = Source("worked out here: equal integral of i^2 dt over one half cycle", "conservative beside makers' driver counts")
SPARE = 0.10                 # of the device's limit, kept free when channels are put together
LEAST_GAP = 0.2              # s between two groups: relay closing, bounce, and a surge of some cycles
MELTING_TIME = 10e-3         # s that the least melting integral of a fuse-link is given for
WORST_CURVE, BEST_CURVE = "B", "D"
TIGHT = 0.05                 # of what a device bears


@dataclass(frozen=True, slots=True)
class Limit:
    """What a device bears at switching on [A r.m.s.], what it bears at best where its curve is unknown, what it surely trips at, and whence."""

    bears: float
    at_best: float
    trips: float | None
    inputs: tuple[Input, ...]
    assumptions: tuple[Assumption, ...] = ()


def half_cycle_equivalent(*, peak: float, duration: float, half_cycle: float) -> float:
    """Return the r.m.s. current over one half cycle [A] with the same integral of i^2 dt as a surge.

    A surge of a half cycle or longer counts in full. `peak` [A], taken as a rectangle; `duration`,
    `half_cycle` [s].
    """
    not_negative(peak=peak, duration=duration)
    positive(half_cycle=half_cycle)
    if duration >= half_cycle:
        return peak
    return sqrt(pulse_integral(peak=peak, duration=duration) / half_cycle)


def device_limit(feed_key: str, feed: Feed) -> Limit:
    """Return what the device of a feed bears without tripping or melting."""
    device, rating = feed.device, feed.device.rating
    rated = Input("rated current", Figure(rating, "A"), f"feed.{feed_key}.device.rating")
    if device.curve == "gG":
        integral, source = devices.least_melting_integral(rating)
        bears = sqrt(integral / MELTING_TIME)
        return Limit(bears, bears, None, (rated, Input(
            "least melting integral", Figure(integral, "A2 s"), "gG fuse-link at 10 ms", source)))
    curve: str = device.curve
    best: str = device.curve
    assumptions: tuple[Assumption, ...] = ()
    if curve == UNKNOWN:
        curve, best = WORST_CURVE, BEST_CURVE
        assumptions = (Assumption(f"feed.{feed_key}.device.curve", f"curve {WORST_CURVE}", "it trips first",
                                  "the letter before the rating on the device"),)
    band = devices.instantaneous_band(curve)
    return Limit(band.none * rating, devices.instantaneous_band(best).none * rating, band.sure * rating, (rated, Input(
        "magnetic band", f"{band.none:g} to {band.sure:g} times, curve {curve}", f"feed.{feed_key}.device.curve", band.source)),
        assumptions)


class Corner(StrEnum):
    """At which mains, and at which end of what the job does not know, currents are taken."""

    WORST = "worst"              # the worse mains corner, the worst credible figures
    BEST = "best"                # the worse mains corner, the best credible figures
    NOMINAL = "nominal"          # nominal mains, the worst credible figures


def steady(demand: Demand, corner: Corner = Corner.WORST) -> float:
    """Return the steady current of a channel [A]."""
    return {Corner.WORST: demand.worst, Corner.BEST: demand.best, Corner.NOMINAL: demand.nominal}[corner]


def surge(demand: Demand, mains: Mains, corner: Corner = Corner.WORST) -> float:
    """Return what a channel counts for at switching on [A r.m.s.].

    A short pulse comes on top of the steady current; a longer surge has it in itself.
    """
    peak = {Corner.WORST: demand.inrush.worst, Corner.BEST: demand.inrush.best, Corner.NOMINAL: demand.inrush.most}[corner]
    counts = half_cycle_equivalent(peak=peak, duration=demand.inrush.duration, half_cycle=mains.half_cycle)
    running = steady(demand, corner)
    return counts + running if demand.inrush.duration < mains.half_cycle else max(counts, running)


def returns(job: Job, key: str) -> bool:
    """Return whether a channel may be on right after a power cut."""
    return (job.load.get(key) or job.fan[key]).restore != "off" or bool(puts_on(job, key))


def stagger(job: Job) -> dict[str, float]:
    """Return the delay of every channel after a power cut [s].

    On each feed, channels with short surges come first; as many close together as the device
    bears with a tenth to spare, the next ones after the surge before has passed. Channels that
    stay off have no delay.
    """
    mains, asked = mains_of(job), demands(job)
    delays = dict.fromkeys(asked, 0.0)
    for feed_key, feed in job.feed.items():
        coming = [demand for key, demand in asked.items() if demand.feed == feed_key and returns(job, key)]
        bears = device_limit(feed_key, feed).bears
        for group, at in _groups(coming, bears, feed.other_current, mains):
            delays |= {demand.key: at for demand in group}
    return delays


def _groups(
    coming: Iterable[Demand], bears: float, running: float, mains: Mains
) -> list[tuple[list[Demand], float]]:
    """Return which channels close together and when [s]."""
    groups: list[tuple[list[Demand], float]] = []
    group: list[Demand] = []
    at, taken = 0.0, running
    for demand in sorted(coming, key=lambda demand: (demand.inrush.duration, surge(demand, mains))):
        if group and taken + surge(demand, mains) > bears * (1.0 - SPARE):
            groups.append((group, at))
            at += LEAST_GAP + max(member.inrush.duration for member in group)
            running += sum(member.worst for member in group)
            group, taken = [], running
        group.append(demand)
        taken += surge(demand, mains)
    if group:
        groups.append((group, at))
    return groups


def worst_moment(
    members: Iterable[Demand], delays: Mapping[str, float], running: float, mains: Mains, corner: Corner = Corner.WORST
) -> float:
    """Return the largest current of a feed while its channels come back [A r.m.s.].

    Those of one moment surge together on top of the steady current of those before.
    """
    not_negative(running=running)
    most = running
    by_time: dict[float, list[Demand]] = {}
    for demand in members:
        by_time.setdefault(delays.get(demand.key, 0.0), []).append(demand)
    for at in sorted(by_time):
        most = max(most, running + sum(surge(demand, mains, corner) for demand in by_time[at]))
        running += sum(steady(demand, corner) for demand in by_time[at])
    return most


def findings(job: Job, stagger: Mapping[str, float]) -> tuple[Finding, ...]:
    """Return, for every feed, whether its device bears the return of the mains with these delays."""
    mains, asked = mains_of(job), demands(job)
    found = []
    for feed_key, feed in job.feed.items():
        members = [demand for demand in asked.values() if demand.feed == feed_key]
        if members:
            found += [_restore(feed_key, feed, members, job, stagger, mains), _one_at_a_time(feed_key, feed, members, mains)]
    return tuple(found)


def _restore(
    feed_key: str, feed: Feed, members: list[Demand], job: Job, delays: Mapping[str, float], mains: Mains
) -> Finding:
    coming = [demand for demand in members if returns(job, demand.key)]
    limit = device_limit(feed_key, feed)
    at_once = worst_moment(coming, {}, feed.other_current, mains)
    staggered, at_best = (worst_moment(coming, delays, feed.other_current, mains, corner) for corner in (Corner.WORST, Corner.BEST))
    if not coming:
        words = "Nothing on this feed comes back by itself."
    elif len({delays.get(demand.key, 0.0) for demand in coming}) == 1:
        words = "All may close at once."
    else:
        moments = "; ".join(
            f"{show(at, 's')}: {', '.join(demand.name for demand in coming if delays.get(demand.key, 0.0) == at)}"
            for at in sorted({delays.get(demand.key, 0.0) for demand in coming})
        )
        words = f"At once it would be {show(at_once, 'A')}. With the delays: {moments}."
    return Finding(
        id=f"inrush.{feed_key}", question=f"Does the device of feed {feed_key} bear the return of the mains?",
        subject=f"feed.{feed_key}", verdict=_judged(staggered, at_best, limit),
        value=Figure(staggered, "A"), limit=Figure(limit.bears, "A"), sense=Sense.AT_MOST,
        nominal=Figure(worst_moment(coming, delays, feed.other_current, mains, Corner.NOMINAL), "A"), corner=f"{mains.at_high}; all in step",
        formula="sum of I + sqrt(Ip^2 t / half cycle) of those of one moment, plus the steady current of those before",
        inputs=(*limit.inputs, *_surge_inputs(coming, mains),
                Input("other current", Figure(feed.other_current, "A"), f"feed.{feed_key}.other_current")),
        sources=(EQUAL_ENERGY,), assumptions=(*limit.assumptions, *(a for d in coming for a in d.inrush.assumptions)),
        change=(*_slower_curve(feed, staggered), "fewer loads on this feed, or off after a power cut"),
        detail=words, covers_not="other circuits of the home, which come back at the same moment", safety=False,
    )


def _judged(worst: float, best: float, limit: Limit) -> Verdict:
    """Return the verdict on a surge [A r.m.s.]: unknown where only what the job does not know makes it trip."""
    return judge_between(worst, best, limit.bears, Sense.AT_MOST, best_limit=limit.at_best, tight=TIGHT)


def _slower_curve(feed: Feed, most: float) -> tuple[str, ...]:
    """Return the next curve that bears this surge [A r.m.s.]; nothing where none does."""
    curve = WORST_CURVE if feed.device.curve == UNKNOWN else feed.device.curve
    slower = {"B": "CD", "C": "D"}.get(curve, "")
    return tuple(
        f"a device of curve {other}, where the fault loop allows it" for other in slower
        if most <= devices.instantaneous_band(other).none * feed.device.rating
    )[:1]


def _one_at_a_time(feed_key: str, feed: Feed, members: list[Demand], mains: Mains) -> Finding:
    limit = device_limit(feed_key, feed)
    heaviest = max(members, key=lambda demand: surge(demand, mains))
    others = sum(demand.worst for demand in members if demand is not heaviest)
    most = surge(heaviest, mains) + others + feed.other_current
    all_steady = sum(steady(demand, Corner.BEST) for demand in members) + feed.other_current
    least = max(surge(one, mains, Corner.BEST) - steady(one, Corner.BEST) for one in members) + all_steady
    verdict = _judged(most, least, limit)
    sure = verdict is Verdict.FAILS and limit.trips is not None and most > limit.trips
    words = "It trips." if sure else "It may trip, or may not: it is inside the band." if most > limit.bears else ""
    alike = int((limit.bears - feed.other_current) // surge(heaviest, mains)) if surge(heaviest, mains) else 0
    return Finding(
        id=f"inrush_single.{feed_key}",
        question=f"Does the device of feed {feed_key} bear {heaviest.name} being switched on while all else runs?",
        subject=heaviest.subject, verdict=verdict,
        value=Figure(most, "A"), limit=Figure(limit.bears, "A"), sense=Sense.AT_MOST,
        nominal=Figure(surge(heaviest, mains, Corner.NOMINAL) + feed.other_current
                       + sum(demand.nominal for demand in members if demand is not heaviest), "A"), corner=f"{mains.at_high}; at the crest",
        formula="I + sqrt(Ip^2 t / half cycle) of the heaviest, plus the steady current of the others",
        inputs=(*limit.inputs, *_surge_inputs([heaviest], mains), Input("others running", Figure(others, "A"), "worst corner")),
        sources=(EQUAL_ENERGY,), assumptions=(*limit.assumptions, *heaviest.inrush.assumptions),
        change=(*_slower_curve(feed, most),
                f"a limiter in series with {heaviest.name}, or the load split over two channels"),
        detail=" ".join(filter(None, (words, f"{alike} such loads could be switched on together." if alike > 1 else "No second such load could be switched on with it." if alike else ""))),
        covers_not="the impedance of the wiring, which lowers the surge", safety=False,
    )


def _surge_inputs(members: Iterable[Demand], mains: Mains) -> tuple[Input, ...]:
    return tuple(
        Input(demand.name, Figure(surge(demand, mains), "A"),
              f"{demand.subject}: {show(demand.inrush.worst, 'A')} for {show(demand.inrush.duration, 's')}")
        for demand in members
    )
