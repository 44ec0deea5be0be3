"""The overcurrent device of each feed: its current, its breaking capacity, and whether it trips.

Answers, for each feed: may all loads run together; can the device break the fault that can
arise; and does a short at the far end of a run still trip at
once. The device must break the largest fault there can be, and trip at the least: a job states the
first as a current, the second as a loop impedance, both where the devices sit. Left out: selectivity
with devices before it, ageing, and ambient of the device.
"""

from functools import partial
from math import inf

from pattress.finding import Assumption, Figure, Finding, Input, Sense, Source, Verdict, judge, judge_between
from pattress.job.model import UNKNOWN, Feed, Job
from pattress.quantity import show
from pattress.sizing.demand import Demand, demands
from pattress.sizing.mains import Mains, mains_of
from pattress.sizing.ranges import not_negative, positive
from pattress.stock import devices
from pattress.stock.conductors import resistance_per_metre, resistance_source

WORST_FAULT = 6000.0             # A: what a home's board is usually expected to see at most
UNKNOWN_FAULT = Assumption("supply.fault_current", show(WORST_FAULT, "A"), "the job does not say",
                           "a loop tester at the board, by an electrician, or the figure of the network operator")
LEAST_CAPACITY = 3000.0          # A of an old household breaker that says nothing
COORDINATION = Source("IEC 60364-4-43, 433.1: Ib <= In <= Iz, I2 <= 1.45 Iz", read=False)
LOOP = Source("BS 7671, Zs = Cmin U0 / Ia with Cmin 0.95", read=False)
CAPACITY = Source("IEC 60898-1, rated short-circuit capacity; household boards up to 6 kA", read=False)
FAULT_LEAST_FACTOR = 0.95
SUPPLY_LOOP = 0.8                # ohm before the devices where nobody measured it
SUPPLY_SOURCE = Source("tmuk.org, maximum Ze of a TN-S supply in the UK", "as network operators declare it")
NO_LOOP_TESTER = 130.0           # V: below it loop testers are rare, and so are figures of operators (from memory)
COLD_READING = 0.8               # of the largest loop impedance, for what conductors gain in warmth (BS 7671, from memory)
IN_TIME = ((120.0, 0.8), (inf, 0.4))      # V to earth at most, s in which a final circuit is to be disconnected
DISCONNECTION = Source("IEC 60364-4-41, table 41.1, TN: 0.8 s to 120 V, 0.4 s above", read=False)
MAY_MELT = 4.0                   # times its rating: below it a gG fuse-link may take 5 s (gates of IEC 60269-1, from memory)
TRIP_TIGHT = 0.05                # over the current that trips, within which it is tight
LATEST_CURVE, SOONEST_CURVE = "D", "B"    # of a breaker whose curve is unknown: trips at the largest, at the least current
HEATER = "resistive heater"
CONTINUOUS_SPARE = 0.25          # of a load that runs for three hours or more, kept free in the device where codes ask for it
CONTINUOUS_SOURCE = Source("NEC 210.20(A): 125 % of a continuous load", read=False)
HOT = 70.0                       # degC of a conductor at full load


def largest_cold_reading(*, voltage: float, needed: float) -> float:
    """Return the largest loop impedance [ohm] that a tester may read on cold conductors so that `needed` [A] flow through warm ones.

    0.8 Cmin U0 / Ia. Source: the 0.8 of BS 7671, appendix 3 (from memory).
    """
    positive(voltage=voltage, needed=needed)
    return COLD_READING * FAULT_LEAST_FACTOR * voltage / needed


def fault_current(*, voltage: float, outside: float, resistance: float) -> float:
    """Return the current of a dead short [A] behind an outside loop impedance and the resistance of the run, out and back [ohm]."""
    positive(voltage=voltage)
    not_negative(outside=outside, resistance=resistance)
    return voltage / (outside + resistance)


def findings(job: Job) -> tuple[Finding, ...]:
    """Return the answers for every feed, and for every run whether a short at its end trips at once."""
    mains, asked = mains_of(job), demands(job)
    found: list[Finding] = []
    for key, feed in job.feed.items():
        members = [demand for demand in asked.values() if demand.feed == key]
        found += [_load(key, feed, members, mains), _capacity(key, feed, job)]
        found += [_trips(key, feed, demand, job, mains) for demand in members]
    return tuple(found)


def next_rating(current: float) -> float | None:
    """Return the smallest standard rating [A] at or above a current."""
    return next((rating for rating in devices.ratings() if rating >= current), None)


def _load(key: str, feed: Feed, members: list[Demand], mains: Mains) -> Finding:
    heaters = [demand for demand in members if demand.behaviour.kind == HEATER] if mains.voltage < NO_LOOP_TESTER else []
    spare = CONTINUOUS_SPARE * sum(demand.worst for demand in heaters)
    worst, at_best = (feed.other_current + spare + sum(currents) for currents in ([d.worst for d in members], [d.best for d in members]))
    nominal = feed.other_current + sum(demand.nominal for demand in members)
    rating = feed.device.rating
    verdict = judge_between(worst, at_best, rating, Sense.AT_MOST, tight=0.05)
    better = next_rating(worst)
    heaviest = max(members, key=lambda demand: demand.worst, default=None)
    change = []
    if verdict in (Verdict.FAILS, Verdict.UNKNOWN):
        if heaviest is not None:
            change.append(f"another feed for {heaviest.name} ({show(heaviest.worst, 'A')})")
        if better is not None:
            change.append(f"a device of {show(better, 'A')}, only where the cable allows it: see conductors.{key}")
    return Finding(
        id=f"protection.{key}", question=f"Can everything on feed {key} run at once?", subject=f"feed.{key}.device.rating",
        verdict=verdict, value=Figure(worst, "A"), limit=Figure(rating, "A"), sense=Sense.AT_MOST,
        nominal=Figure(nominal, "A"), corner="every load at its worse mains corner, all on",
        formula="Ib <= In, Ib = sum of the steady currents" + ", a quarter more for what heats for hours" * bool(heaters),
        inputs=(*(Input(demand.name, Figure(demand.worst, "A"), f"{demand.subject}: " + (
                    "what is usually plugged in" if demand.is_socket else demand.corner)) for demand in members),
                Input("other current", Figure(feed.other_current, "A"), f"feed.{key}.other_current"),
                *((Input("continuous loads", Figure(spare, "A"), "a quarter of the heaters", CONTINUOUS_SOURCE),) if heaters else ()),
                Input("rated current", Figure(rating, "A"), f"feed.{key}.device.rating")),
        sources=(COORDINATION,), assumptions=tuple(a for demand in members for a in demand.assumptions),
        change=tuple(change), covers_not="loads on this feed that the job does not name" + (
            ", and what else is plugged into a socket: then the device trips, as it should" if any(demand.is_socket for demand in members) else ""),
    )


def _capacity(key: str, feed: Feed, job: Job) -> Finding:
    fault, capacity = job.supply.fault_current, feed.device.breaking_capacity
    assumptions = []
    if fault == UNKNOWN:
        assumptions.append(UNKNOWN_FAULT)
    if capacity == UNKNOWN:
        assumptions.append(Assumption(f"feed.{key}.device.breaking_capacity", show(LEAST_CAPACITY, "A"), "the job does not say",
                                      "the number in the box printed on the device, such as 6000"))
    asked = WORST_FAULT if fault == UNKNOWN else fault
    there = LEAST_CAPACITY if capacity == UNKNOWN else capacity
    verdict = judge(asked, there, Sense.AT_MOST, tight=0.0)
    if assumptions and verdict is Verdict.FAILS:
        verdict = Verdict.UNKNOWN
    return Finding(
        id=f"fault.{key}", question=f"Can the device of feed {key} break the largest fault?", subject=f"feed.{key}.device",
        verdict=verdict, value=Figure(asked, "A"), limit=Figure(there, "A"), sense=Sense.AT_MOST, nominal=Figure(asked, "A"),
        corner="a dead short right behind the device", formula="prospective fault current <= breaking capacity",
        inputs=(Input("prospective fault current", Figure(asked, "A"), "supply.fault_current"),
                Input("breaking capacity", Figure(there, "A"), f"feed.{key}.device.breaking_capacity")),
        sources=(CAPACITY,), assumptions=tuple(assumptions),
        change=("settle the figures above", "a device of at least that breaking capacity") if assumptions else
               (f"a device that breaks at least {show(asked, 'A')}",),
        covers_not="backup by a device before it", on_site=True,
    )


def loop_resistance(feed: Feed, demand: Demand) -> float:
    """Return the resistance of feed and run, out and back, hot [ohm]."""
    return sum(
        2.0 * cable.length * resistance_per_metre(section=cable.section, kind=cable.kind, temperature=HOT)
        for cable in (feed.cable, demand.run)
    )


def loop_before_devices(job: Job, voltage: float) -> tuple[float, float]:
    """Return the least and the largest loop impedance before the devices [ohm] that a job allows at `voltage` [V].

    Where the job does not state its largest one, it is the worst credible, but no less than the largest
    fault current leaves; the least is what that current leaves, nothing where it is unknown too.
    """
    stated, fault = job.supply.loop_impedance, job.supply.fault_current
    if stated != UNKNOWN:
        return stated, stated
    least = 0.0 if fault == UNKNOWN else voltage / fault
    return least, max(least, SUPPLY_LOOP)


def current_that_trips(*, curve: str, rating: float) -> tuple[float, str, Source]:
    """Return the current at which a device surely trips within 0.1 s [A], in words what it is, and its source."""
    if curve == "gG":
        needed, source = devices.melts_at_once(rating)
        return needed, "melts a gG fuse-link within 0.1 s", source
    band = devices.instantaneous_band(curve)
    return band.sure * rating, f"the upper end of curve {curve}", band.source


def _least_that_trips(curve: str, is_fuse: bool, rating: float) -> float:
    """Return the current [A] of the soonest device it may be; nothing is known of a fuse-link of unknown letters."""
    if curve == UNKNOWN:
        return rating if is_fuse else current_that_trips(curve=SOONEST_CURVE, rating=rating)[0]
    return current_that_trips(curve=curve, rating=rating)[0]


def _trips(key: str, feed: Feed, demand: Demand, job: Job, mains: Mains) -> Finding:
    known = job.supply.loop_impedance != UNKNOWN
    least_loop, outside = loop_before_devices(job, mains.voltage)
    inside = loop_resistance(feed, demand)
    short = partial(fault_current, voltage=FAULT_LEAST_FACTOR * mains.voltage, resistance=inside)
    least, most = short(outside=outside), short(outside=least_loop) if least_loop + inside else inf
    stated, is_fuse, rating = feed.device.curve, feed.device.kind == "fuse", feed.device.rating
    curve = stated if stated != UNKNOWN else "gG" if is_fuse else LATEST_CURVE
    needed, words, source = current_that_trips(curve=curve, rating=rating)
    assumptions = [] if known else [_unknown_loop(job, outside)]
    if stated == UNKNOWN:
        assumptions.append(Assumption(
            f"feed.{key}.device.curve", f"curve {curve}", "the job does not say" if is_fuse else "the job does not say; B or C needs less",
            "the letters on the fuse-link" if is_fuse else "the letter before the rating on the device"))
    verdict = judge(least, needed, Sense.AT_LEAST, tight=TRIP_TIGHT)
    settling: tuple[str, ...] = ()
    if verdict is Verdict.FAILS and most >= _least_that_trips(stated, is_fuse, rating):
        verdict, settling = Verdict.UNKNOWN, (_settling(FAULT_LEAST_FACTOR * mains.voltage / needed / (1.0 + TRIP_TIGHT) - inside),)
    elif verdict is Verdict.FAILS and curve == "gG" and least >= MAY_MELT * rating:
        verdict, settling = Verdict.UNKNOWN, (_own_curve(least, mains.voltage),)
    return Finding(
        id=f"trip.{demand.key}", question=f"Does a short circuit at {demand.name} trip feed {key} at once?",
        subject=demand.subject, verdict=verdict,
        value=Figure(least, "A"), limit=Figure(needed, "A"), sense=Sense.AT_LEAST,
        nominal=Figure(least / FAULT_LEAST_FACTOR, "A"),
        corner=f"conductors at {show(HOT, 'degC')}, 0.95 of the mains voltage",
        formula="0.95 U / (Z + 2 sum of L R), Z the loop before the device",
        inputs=(Input("loop before the device", Figure(outside, "ohm"), "supply.loop_impedance" if known else "worst credible",
                      SUPPLY_SOURCE if not known and outside == SUPPLY_LOOP else None),
                Input("feed and run, out and back", Figure(inside, "ohm"), f"feed.{key}.cable, {demand.subject}.run", resistance_source()),
                Input("trips at", Figure(needed, "A"), words, source)),
        sources=(LOOP, DISCONNECTION) if curve == "gG" else (LOOP,), assumptions=tuple(assumptions), on_site=True,
        change=() if verdict is Verdict.HOLDS else (*settling, *_trip_changes(least, rating, curve)),
        covers_not=f"a fault to earth, which with TT only the residual-current device disconnects: see residual.{key}"
                   if job.supply.earthing == "TT" else "a fault to earth with a thinner protective conductor: its loop must be measured",
    )


def _own_curve(current: float, voltage: float) -> str:
    """Return what the sheet of a fuse-link must show at a fault current [A] for it to disconnect in time, at a mains voltage [V]."""
    allowed = next(time for most, time in IN_TIME if voltage <= most)
    return f"look at the fuse-link's own curve: where it melts within {allowed:g} s at {show(current, 'A')} it disconnects in time"


def _unknown_loop(job: Job, taken: float) -> Assumption:
    """Return what was taken for a loop impedance that is not known [ohm], and the measurement that settles it."""
    is_low, between = job.supply.system.voltage < NO_LOOP_TESTER, "line to neutral" if job.supply.earthing == "TT" else "line to earth and line to neutral"
    measure = f"a loop tester where the devices sit, {between}, by an electrician"
    if is_low:
        measure += "; or the volts that are lost there while a heater runs, over its amperes"
    if taken != SUPPLY_LOOP:
        return Assumption("supply.loop_impedance", f"{show(taken, 'ohm')} before the device", "the largest fault current leaves no less", measure)
    return Assumption("supply.loop_impedance", f"{show(taken, 'ohm')} before the device" + ", as of a supply of 230 V" * is_low,
                      "it is the most that operators in the UK declare" + f", and no figure for {show(job.supply.system.voltage, 'V')} is known here" * is_low, measure)


def _settling(loop: float) -> str:
    """Return what a measurement of the loop before the device must show [ohm] for the device that was taken; nothing where none would do."""
    return "settle the figures above" + (f": a loop of at most {show(loop, 'ohm')} before the device lets it trip" if loop > 0.0 else "")


def _trip_changes(least: float, rating: float, curve: str) -> tuple[str, ...]:
    """Return the curve that trips at the fault current there is, mildest change first."""
    gentler = [
        f"a device of curve {other}, which surely trips at {show(devices.instantaneous_band(other).sure * rating, 'A')}: see inrush"
        for other in "CB"
        if other < curve <= "D" and devices.instantaneous_band(other).sure * rating <= least
    ]
    return (*gentler[:1], "a larger section or a shorter way")
