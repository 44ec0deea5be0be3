"""Cables: what they may carry, what they lose, and whether a terminal takes them.

Answers, for each feed: does its device protect its cable. For each run: does it carry its load,
is it protected, do the terminals take it, does the load get enough volts, and does the cable
survive a short circuit. Two-core copper, PVC. Left out: harmonics in a neutral, insulation in
which a cable is buried beyond its method, and reactance below 16 mm² for the loop.
"""

from collections.abc import Callable
from functools import partial
from math import floor, hypot, sqrt

from pattress.finding import COMMON_PRACTICE, Assumption, Figure, Finding, Input, Sense, Source, Verdict, judge, judge_between
from pattress.job.model import UNKNOWN, Cable, Feed, Job
from pattress.plural import counted
from pattress.quantity import show
from pattress.sizing.chosen import Chosen
from pattress.sizing.demand import Demand, demands
from pattress.sizing.mains import Mains, mains_of
from pattress.sizing.protection import COORDINATION, UNKNOWN_FAULT, WORST_FAULT
from pattress.sizing.ranges import not_negative, positive
from pattress.stock import conductors, devices

CURVES = ("B", "C", "D")
DROP_TIGHT = 0.1                 # share of the allowed loss within which it is tight
SAME = 1.0 - 1e-9                # of two sections written differently
CLEARED_WITHIN = 0.1             # s, at and above the upper end of the magnetic band (IEC 60898-1)
FIXED_LOAD = Source("IEC 60364-4-43, 433.3.1: a load that cannot overload its conductor", read=False)
ADIABATIC = Source("IEC 60364-4-43, 434.5.2: k^2 S^2 >= I^2 t", read=False)


def capacity(*, section: float, method: str, ambient: float, grouped: int = 1) -> float:
    """Return the current [A] a cable may carry continuously: table value x air factor x grouping factor.

    `section` [m2], `method` A1 to C, `ambient` [degC], `grouped` circuits bunched together.

    Source: IEC 60364-5-52 tables B.52.2, B.52.14, B.52.17, as `stock/conductors.toml` says.
    """
    positive(section=section)
    return (conductors.ampacity(section=section, method=method) * conductors.air_factor(ambient)
            * conductors.grouping_factor(grouped))


def voltage_drop(*, current: float, length: float, section: float, power_factor: float = 1.0) -> float:
    """Return the voltage lost along a single-phase cable, out and back [V].

    u = 2 (rho1 L/S cos phi + lambda L sin phi) I, with rho1 = 0.0225 ohm mm²/m, at service
    temperature, and lambda = 0.08 mohm/m. `length` one way [m], `section` [m2].

    Source: IEC 60364-5-52:2009 annex G (rho1 and formula seen in a reprint; lambda from memory).
    IEC 60228 resistances at 70 degC give 3.5 % less for 1.5 mm².
    """
    not_negative(current=current, length=length)
    positive(section=section)
    resistivity, reactance = conductors.drop_constants()
    sine = sqrt(max(0.0, 1.0 - power_factor**2))
    return 2.0 * length * (resistivity / section * power_factor + reactance * sine) * current


def largest_drop(*, current: float, length: float, section: float) -> float:
    """Return the most a cable loses at any power factor [V]: 2 L I hypot(rho1/S, lambda); within 0.1 % of power factor 1 to 10 mm²."""
    not_negative(current=current, length=length)
    positive(section=section)
    resistivity, reactance = conductors.drop_constants()
    return 2.0 * length * current * hypot(resistivity / section, reactance)


def withstand(*, section: float) -> float:
    """Return the energy a PVC-insulated copper conductor survives [A2 s]: k^2 S^2, k = 115 A s^0.5/mm²."""
    positive(section=section)
    return (conductors.adiabatic_constant()[0] * section) ** 2


def section_that(holds: Callable[[float], bool], at_least: float = 0.0) -> float | None:
    """Return the smallest standard section [m2], not below `at_least`, for which `holds(section)` is true."""
    return next((s for s in conductors.sections() if s >= at_least * SAME and holds(s)), None)


def cable_capacity(cable: Cable, ambient: float) -> float:
    """Return what a cable of the job may carry [A]."""
    return capacity(section=cable.section, method=cable.method, ambient=ambient, grouped=cable.grouped)


def overload_curve(feed: Feed) -> str:
    """Return the curve by which the device of a feed answers to an overload: a fuse-link of unknown letters is taken as gG."""
    return "gG" if feed.device.kind == "fuse" else feed.device.curve


def fault_at_controller(job: Job, feed: Feed) -> float:
    """Return the largest fault current behind the cable of a feed [A]; the worst credible one where the job does not know.

    The cable is taken cold and at its least resistance, which lets the most through.
    """
    known = job.supply.fault_current
    fault = WORST_FAULT if known == UNKNOWN else known
    resistance = 2.0 * feed.cable.length * conductors.least_resistance_per_metre(section=feed.cable.section)
    return fault / (1.0 + fault * resistance / job.supply.system.voltage)


def let_through(feed: Feed, fault: float) -> tuple[float, Source] | None:
    """Return the most energy [A2 s] the device of a feed lets through at a fault current [A], and its source.

    By the standard's energy class 3, else by its 0.1 s at the upper end of the band; None where
    neither says anything. Of a breaker of unknown curve the most that any curve lets through; None
    where one of them is not known.
    """
    curve, rating = overload_curve(feed), feed.device.rating
    if curve == UNKNOWN:
        each = [let_through_of(curve=one, rating=rating, fault=fault) for one in CURVES]
        return None if None in each else max((one for one in each if one), key=lambda one: one[0])
    return let_through_of(curve=curve, rating=rating, fault=fault)


def of_let_through(job: Job, feed: str) -> tuple[Assumption, ...]:
    """Return what is assumed where the energy that the device of a feed lets through is reckoned with."""
    found = () if job.supply.fault_current != UNKNOWN else (UNKNOWN_FAULT,)
    if overload_curve(job.feed[feed]) != UNKNOWN:
        return found
    return (*found, Assumption(f"feed.{feed}.device.curve", "the curve that lets most through", "the job does not say",
                               "the letter before the rating on the device"))


def let_through_of(*, curve: str, rating: float, fault: float) -> tuple[float, Source] | None:
    """Return the most energy [A2 s] a device of a curve and rating [A] lets through at a fault current [A], and its source."""
    by_class = devices.let_through(curve=curve, rating=rating, fault_current=fault)
    if by_class is not None or curve not in CURVES:
        return by_class
    band = devices.instantaneous_band(curve)
    return (fault**2 * CLEARED_WITHIN, band.source) if fault >= band.sure * rating else None


def findings(job: Job, chosen: Chosen) -> tuple[Finding, ...]:
    """Return the answers for every feed and every run."""
    mains, asked = mains_of(job), demands(job)
    found = [_protected(key, feed, job) for key, feed in job.feed.items()]
    for key, demand in asked.items():
        feed = job.feed[demand.feed]
        members = [other for other in asked.values() if other.feed == demand.feed]
        found += [
            _run(demand, feed, job), _short_circuit(demand, feed, job), _drop(demand, feed, members, mains),
            _terminal(demand, chosen),
        ]
    return tuple(found)


def _cable_inputs(where: str, cable: Cable, job: Job) -> tuple[Input, ...]:
    air, grouping = conductors.factor_sources()
    return (
        Input("section", Figure(cable.section, "m2"), f"{where}.section"),
        Input("table value", Figure(conductors.ampacity(section=cable.section, method=cable.method), "A"),
              f"method {cable.method}, {where}.method", conductors.ampacity_source(section=cable.section)),
        Input("air factor", Figure(conductors.air_factor(job.site.ambient), ""), "site.ambient", air),
        Input("grouping factor", Figure(conductors.grouping_factor(cable.grouped), ""), f"{where}.grouped", grouping),
    )


def _protected(key: str, feed: Feed, job: Job) -> Finding:
    rating, carries = feed.device.rating, cable_capacity(feed.cable, job.site.ambient)
    where = f"feed.{key}.cable"
    curve = overload_curve(feed)
    most = devices.surely_protected(capacity=carries, curve=curve, rating=rating)
    verdict = judge(rating, most, Sense.AT_MOST, tight=0.0)
    better = section_that(lambda s: rating <= devices.surely_protected(curve=curve, rating=rating, capacity=capacity(
        section=s, method=feed.cable.method, ambient=job.site.ambient, grouped=feed.cable.grouped)), feed.cable.section)
    change = []
    if verdict is Verdict.FAILS:
        smaller = largest_rating(carries, curve)
        change += [f"a device of {show(smaller, 'A')}"] if smaller is not None else []
        change += [f"{show(better, 'm2')} carries {show(capacity(section=better, method=feed.cable.method, ambient=job.site.ambient, grouped=feed.cable.grouped), 'A')}"] if better else []
    sure = devices.conventional_currents(curve=curve, rating=rating)
    return Finding(
        id=f"conductors.{key}", question=f"Does the device of feed {key} protect its cable?", subject=where,
        verdict=verdict, value=Figure(rating, "A"), limit=Figure(most, "A"), sense=Sense.AT_MOST,
        nominal=Figure(rating, "A"), corner=f"{show(job.site.ambient, 'degC')}, {counted(feed.cable.grouped, 'circuit')} together",
        formula="In <= Iz = table value x air factor x grouping factor, and I2 <= 1.45 Iz",
        inputs=(Input("rated current", Figure(rating, "A"), f"feed.{key}.device.rating"), *_cable_inputs(where, feed.cable, job),
                Input("surely trips at", Figure(sure.sure, ""), f"times its rating within the hour, curve {curve}", sure.source)),
        sources=(COORDINATION,), change=tuple(change),
        detail=f"The device surely trips within the hour at {show(sure.sure * rating, 'A')}; 1.45 times the cable is {show(1.45 * carries, 'A')}.",
        covers_not="hot spots along the way: a cable is as good as its worst metre",
    )


def largest_rating(carries: float, curve: str) -> float | None:
    """Return the largest rating [A] of a device of a curve that protects a cable which carries so much [A]; None where none does."""
    return max((one for one in devices.ratings() if one <= devices.surely_protected(capacity=carries, curve=curve, rating=one)), default=None)


def _run(demand: Demand, feed: Feed, job: Job) -> Finding:
    carries, (rating, curve, where) = cable_capacity(demand.run, job.site.ambient), before_run(demand, feed)
    verdict = judge_between(demand.carried, demand.carried_best, carries, Sense.AT_MOST, tight=0.05)
    protected = partial(devices.surely_protected, curve=curve, rating=rating)
    unprotected = rating > protected(capacity=carries)
    if unprotected and demand.is_socket:
        verdict = Verdict.FAILS
    elif unprotected and verdict is Verdict.HOLDS:
        verdict = Verdict.TIGHT
    better = section_that(lambda s: demand.carried <= (carried := capacity(
        section=s, method=demand.run.method, ambient=job.site.ambient, grouped=demand.run.grouped))
        and rating <= protected(capacity=carried), demand.run.section)
    change = []
    if verdict is not Verdict.HOLDS and better:
        change.append(f"{show(better, 'm2')} carries the load and is protected by the device")
    if not change and verdict is Verdict.FAILS:
        change.append("the load split over several runs, each with its own device")
    if unprotected and demand.is_socket:
        fuse = largest_rating(carries, "gG")
        change += [f"or a fuse at the beginning of the run of at most {show(fuse, 'A')}"] if fuse is not None else []
    elif unprotected:
        change.append("or leave it only where the load cannot overload: a fixed lamp, heater or fan, never a socket")
    return Finding(
        id=f"run.{demand.key}", question=f"Does the run to {demand.name} carry its current?", subject=f"{demand.subject}.run",
        verdict=verdict, value=Figure(demand.carried, "A"), limit=Figure(carries, "A"), sense=Sense.AT_MOST,
        nominal=Figure(demand.nominal, "A"), corner=f"{demand.corner}; {show(job.site.ambient, 'degC')}",
        formula="Ib <= Iz = table value x air factor x grouping factor",
        inputs=(*demand.inputs, *_cable_inputs(f"{demand.subject}.run", demand.run, job),
                Input("device", Figure(rating, "A"), where)),
        sources=(FIXED_LOAD,) if unprotected and not demand.is_socket else (COORDINATION,), assumptions=demand.assumptions, change=tuple(change),
        detail=f"The device of {show(rating, 'A')} does not protect this run against overload." if unprotected else "",
        covers_not="extension leads and what is plugged into them",
    )


def before_run(demand: Demand, feed: Feed) -> tuple[float, str, str]:
    """Return the rating [A] and curve of the device that protects a run against overload, and its key: its own fuse, else that of the feed."""
    fuse = demand.run.fuse
    if isinstance(fuse, float) and fuse <= feed.device.rating:
        return fuse, "gG", f"{demand.subject}.run.fuse"
    return feed.device.rating, overload_curve(feed), f"feed.{demand.feed}.device.rating"


def _short_circuit(demand: Demand, feed: Feed, job: Job) -> Finding:
    """The run is the thinnest; the fault is taken at its near end, where it is largest."""
    assumptions = of_let_through(job, demand.feed)
    survives, (_, k_source) = withstand(section=demand.run.section), conductors.adiabatic_constant()
    curve, rating = feed.device.curve, feed.device.rating
    at_run = fault_at_controller(job, feed)
    let = let_through(feed, at_run)
    answer = partial(
        Finding, id=f"short_circuit.{demand.key}", question=f"Does the run to {demand.name} survive a short circuit?",
        subject=f"{demand.subject}.run", limit=Figure(survives, "A2 s"), sense=Sense.AT_MOST,
        corner=f"fault of {show(at_run, 'A')} at the controller", formula="I^2 t let through <= k^2 S^2",
        assumptions=assumptions, covers_not="the sheath and joints, and breakers that are not of energy class 3",
    )
    inputs = (Input("section", Figure(demand.run.section, "m2"), f"{demand.subject}.run.section"),
              Input("k", Figure(115.0, ""), "PVC-insulated copper, A s^0.5 / mm²", k_source))
    if let is None:
        return answer(verdict=Verdict.UNKNOWN, value=None, inputs=inputs, sources=(ADIABATIC,), on_site=True,
                       change=(*(("settle the curve: look at the device",) if curve == UNKNOWN else ()), "the let-through energy from the device's own sheet"),
                       detail="The standard gives no let-through for this device." if curve != UNKNOWN else
                              "The curve is not known, and for one that it may be the standard gives no let-through.")
    better = section_that(lambda s: withstand(section=s) >= let[0], demand.run.section)
    verdict = judge(let[0], survives, Sense.AT_MOST, tight=0.0)
    return answer(
        verdict=Verdict.UNKNOWN if verdict is Verdict.FAILS and assumptions else verdict, value=Figure(let[0], "A2 s"),
        nominal=Figure(let[0], "A2 s"), on_site=True,
        inputs=(*inputs, Input("let-through", Figure(let[0], "A2 s"), f"curve {curve}, {show(rating, 'A')}; class 3, a fuse-link, or cleared within 0.1 s", let[1])),
        sources=(ADIABATIC,), change=(f"{show(better, 'm2')} survives it",) if better and verdict is not Verdict.HOLDS else ())


def _drop(demand: Demand, feed: Feed, members: list[Demand], mains: Mains) -> Finding:
    on_feed = feed.other_current + sum(other.worst for other in members)
    at_best = feed.other_current + sum(other.best for other in members)
    lighting = demand.behaviour.lighting
    allowed = conductors.drop_limit(lighting) * mains.voltage
    before = largest_drop(current=on_feed, length=feed.cable.length, section=feed.cable.section)
    along = largest_drop(current=demand.worst, length=demand.run.length, section=demand.run.section)
    total = before + along
    nominal = _nominal_drop(feed.cable, members, feed.other_current) + _nominal_drop(demand.run, [demand])
    best = (largest_drop(current=at_best, length=feed.cable.length, section=feed.cable.section)
            + largest_drop(current=demand.best, length=demand.run.length, section=demand.run.section))
    verdict = judge_between(total, best, allowed, Sense.AT_MOST, tight=DROP_TIGHT)
    within = allowed if verdict in (Verdict.FAILS, Verdict.UNKNOWN) else (1.0 - DROP_TIGHT) * allowed
    return Finding(
        id=f"drop.{demand.key}", question=f"Do enough volts reach {demand.name}?", subject=f"{demand.subject}.run",
        verdict=verdict, value=Figure(total, "V"), limit=Figure(allowed, "V"), sense=Sense.AT_MOST,
        nominal=Figure(nominal, "V"), corner="everything on the feed running, worst power factor, conductors at full warmth",
        formula="u = 2 (0.0225 L/S cos phi + 0.08e-3 L sin phi) I, at the phi that loses most",
        inputs=(Input("feed length", Figure(feed.cable.length, "m"), f"feed.{demand.feed}.cable.length"),
                Input("feed section", Figure(feed.cable.section, "m2"), f"feed.{demand.feed}.cable.section"),
                Input("current of the feed", Figure(on_feed, "A"), "all loads of the feed"),
                Input("run length", Figure(demand.run.length, "m"), f"{demand.subject}.run.length"),
                Input("run section", Figure(demand.run.section, "m2"), f"{demand.subject}.run.section"),
                Input("current of the run", Figure(demand.worst, "A"), demand.corner)),
        sources=(conductors.drop_source(),), assumptions=tuple(dict.fromkeys(a for other in members for a in other.assumptions)),
        change=() if verdict is Verdict.HOLDS else _drop_changes(demand, feed, on_feed, within),
        detail=f"{show(before, 'V')} along the feed, {show(along, 'V')} along the run; "
               f"{'3 %' if lighting else '5 %'} of {show(mains.voltage, 'V')} is allowed.",
        covers_not="the drop before the board of the home", safety=False,
    )


def _nominal_drop(cable: Cable, members: list[Demand], other: float = 0.0) -> float:
    """Return what a cable loses at nominal mains [V]: each current by its own power factor, `other` current [A] by one of 1."""
    return sum((voltage_drop(current=member.nominal, length=cable.length, section=cable.section, power_factor=member.power_factor) for member in members),
               voltage_drop(current=other, length=cable.length, section=cable.section))


def _drop_changes(demand: Demand, feed: Feed, on_feed: float, allowed: float) -> tuple[str, ...]:
    """Return what brings the loss within `allowed` [V]: the smallest section of the run, its length, the smallest section of the feed.

    Where none of them does alone, the sections of both that take the least copper.
    """
    run = demand.run

    def lost(of_run: float, of_feed: float) -> float:
        return (largest_drop(current=on_feed, length=feed.cable.length, section=of_feed)
                + largest_drop(current=demand.worst, length=run.length, section=of_run))

    change = []
    better = section_that(lambda s: lost(s, feed.cable.section) <= allowed, run.section)
    if better:
        change.append(f"{show(better, 'm2')} for the run loses {show(lost(better, feed.cable.section), 'V')}")
    left = allowed - largest_drop(current=on_feed, length=feed.cable.length, section=feed.cable.section)
    length = shown_length(left / largest_drop(current=demand.worst, length=1.0, section=run.section)) if demand.worst else 0.0
    if length > 0.0:
        change.append(f"keep the run to {show(length, 'm')}")
    wider = section_that(lambda s: lost(run.section, s) <= allowed, feed.cable.section)
    if wider:
        change.append(f"{show(wider, 'm2')} for the feed loses {show(lost(run.section, wider), 'V')}")
    return tuple(change) if better or wider else (*_both_wider(demand, feed, lost, allowed), *change)


def _both_wider(demand: Demand, feed: Feed, lost: Callable[[float, float], float], allowed: float) -> tuple[str, ...]:
    """Return the sections of run and feed that lose at most `allowed` [V] and take the least copper."""
    pairs = [(demand.run.length * of_run + feed.cable.length * of_feed, of_run, of_feed)
             for of_run in conductors.sections() for of_feed in conductors.sections()
             if of_run >= demand.run.section * SAME and of_feed >= feed.cable.section * SAME and lost(of_run, of_feed) <= allowed]
    return tuple(f"{show(of_run, 'm2')} for the run and {show(of_feed, 'm2')} for the feed together lose {show(lost(of_run, of_feed), 'V')}"
                 for _, of_run, of_feed in sorted(pairs)[:1])


def shown_length(length: float) -> float:
    """Return a length [m] as it is shown, rounded down: never more than what was reckoned; 0 below a metre."""
    return 0.0 if length < 1.0 else float(floor(length)) if length >= 100.0 else floor(10.0 * length) / 10.0


def _terminal(demand: Demand, chosen: Chosen) -> Finding:
    terminal = chosen.terminals[demand.key].part
    most, rated = terminal.value("section_most"), terminal.value("rated_current")
    fits = demand.run.section <= most * (1 + 1e-9)
    verdict = judge_between(demand.carried, demand.carried_best, rated, Sense.AT_MOST) if fits else Verdict.FAILS
    return Finding(
        id=f"terminal.{demand.key}", question=f"Does the terminal take the run to {demand.name}?",
        subject=f"{demand.subject}.run", verdict=verdict, value=Figure(demand.carried, "A"), limit=Figure(rated, "A"),
        sense=Sense.AT_MOST, nominal=Figure(demand.nominal, "A"), corner=demand.corner,
        formula="section and current at most those of the terminal",
        inputs=(Input("terminal", terminal.designation, chosen.terminals[demand.key].reason), terminal.input("section_most"),
                terminal.input("rated_current"), Input("section", Figure(demand.run.section, "m2"), f"{demand.subject}.run.section")),
        sources=(COMMON_PRACTICE,), assumptions=demand.assumptions, change=("a terminal for this section and current",),
        detail="" if fits else f"{show(demand.run.section, 'm2')} does not go into {show(most, 'm2')}.",
        covers_not="a screw that was not tightened",
    )
