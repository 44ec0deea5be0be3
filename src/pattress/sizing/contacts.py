"""Whether a relay's contacts can close on, carry, break and outlive a load.

Answers, for each channel: steady current against the rating for what it breaks; the inrush at
switching on against what the contact may close on; years of life at these operations; and
whether the load is large enough to keep the contact clean.

A rating tested for longer than a pulse lasts covers the pulse; where a sheet gives no making
current, its resistive rating is the only current it is known to close on. Left out: arcing at
altitude, contact materials beyond the sheet, wear by inrush between the sheet's points.
"""

from dataclasses import dataclass
from math import sqrt

from pattress.finding import COMMON_PRACTICE, Assumption, Figure, Finding, Input, Sense, Source, Verdict, judge
from pattress.job.model import UNKNOWN, Fan, Job, Load
from pattress.quantity import show
from pattress.sizing.chosen import Chosen
from pattress.sizing.demand import Demand, demands
from pattress.sizing.instead import contactor_for, limiter_for, such_as
from pattress.sizing.mains import Mains, mains_of
from pattress.sizing.ranges import not_negative, positive
from pattress.stock.parts import Part, Parts

LOW_POWER_FACTOR_SHARE = 0.4
LOW_POWER_FACTOR_SOURCE = Source("Handouk, meaning of contact ratings, 2010", "10 A x cos phi 0.4; the smaller of two makers' figures")
SHORT, CYCLE, LONG = 200e-6, 20e-3, 4.0        # s: what the making figures of a relay are tested for
MOTOR_RULE = 6.0                               # starting over running current that a motor rating is tested with
YEARS_WANTED = 10.0
WORST_OPERATIONS = 50.0                        # a day, where the job does not know
DAYS_A_YEAR = 365.25


@dataclass(frozen=True, slots=True)
class Bound:
    """What a contact may carry or close on [A], and how that is known."""

    value: float
    inputs: tuple[Input, ...]
    words: str = ""
    sources: tuple[Source, ...] = ()


@dataclass(frozen=True, slots=True)
class Making:
    """The current a contact is asked to close on [A]: worst, nominal, and the least credible at the same mains corner.

    `surges` is whether it is the inrush itself, which is worst at the highest mains, and not a rule of multiples.
    """

    worst: float
    nominal: float
    least: float
    formula: str
    bound: Bound
    surges: bool = False


def rule_current(*, steady: float, multiple: float) -> float:
    """Return the current [A] that must stay below a purely resistive contact rating: multiple x steady.

    Source: Omron Components, Load Types & Ratings: lamp 10, motor 6, heater 1.
    """
    not_negative(steady=steady, multiple=multiple)
    return multiple * steady


def pulse_integral(*, peak: float, duration: float, shape: str = "rectangle") -> float:
    """Return the integral of i^2 dt of one pulse [A2 s].

    `shape`: "rectangle" Ip^2 t, "half-sine" /2, "triangle" /3, "decay" Ip^2 tau / 2 with the
    time constant as `duration` (whole tail).

    Source: Littelfuse Fuseology guide p. 12 (2017).
    """
    not_negative(peak=peak, duration=duration)
    parts = {"rectangle": 1.0, "half-sine": 2.0, "triangle": 3.0, "decay": 2.0}
    if shape not in parts:
        raise ValueError(f"shape must be one of {', '.join(parts)}, found {shape!r}")
    return peak**2 * duration / parts[shape]


def years_of_life(*, operations: float, per_day: float) -> float:
    """Return how long a contact lasts [years of 365.25 days]. Raises ValueError when `per_day` is not above zero.

    An operation is a cycle, closed and opened again, as the life of a relay is counted: here, in the
    job file and in the rehearsal of a year. Source: IEC 61810-2:2011, scope, read in its publisher's summary.
    """
    not_negative(operations=operations)
    positive(per_day=per_day)
    return operations / per_day / DAYS_A_YEAR


def series_resistance(*, crest: float, current: float) -> float:
    """Return the cold resistance [ohm] in series that keeps a capacitor's charging peak at `current` [A]: crest / I."""
    not_negative(crest=crest)
    positive(current=current)
    return crest / current


def largest_resistive_load(*, rating: float, voltage: float, multiple: float) -> float:
    """Return the largest load [W] at unity power factor that the rule of multiples allows on a contact: I U / m."""
    positive(rating=rating, voltage=voltage, multiple=multiple)
    return rating * voltage / multiple


def crest_inrush(*, voltage: float, loop_resistance: float) -> float:
    """Return the first peak [A] when an empty capacitor meets the crest through a loop resistance: sqrt2 U / R."""
    positive(voltage=voltage, loop_resistance=loop_resistance)
    return sqrt(2.0) * voltage / loop_resistance


def carrying(relay: Part, demand: Demand) -> Bound:
    """Return the steady current a contact may carry and break, for what this load makes it break."""
    rated = relay.value("rated_current")
    if demand.behaviour.breaking == "resistive":
        return Bound(rated, (relay.input("rated_current"),))
    if demand.behaviour.breaking == "motor":
        motor = relay.known("motor_current")
        if motor is not None:
            return Bound(min(motor, rated), (relay.input("motor_current"),))
        rule = demand.behaviour.contact_rule or MOTOR_RULE
        return Bound(rated / rule, (relay.input("rated_current"), Input("motor rule", Figure(rule, ""), "times steady current")),
                     "The sheet gives no motor figure.", (demand.behaviour.rule_source or COMMON_PRACTICE,))
    inductive = relay.known("inductive_current")
    if inductive is not None:
        return Bound(min(inductive, rated), (relay.input("inductive_current"),))
    return Bound(LOW_POWER_FACTOR_SHARE * rated,
                 (relay.input("rated_current"), Input("low power factor", Figure(LOW_POWER_FACTOR_SHARE, ""), "share of the rating")),
                 "The sheet gives no inductive figure.", (LOW_POWER_FACTOR_SOURCE,))


def closing(relay: Part, duration: float) -> Bound:
    """Return the surge a contact may close on, lasting `duration` [s]: the largest rating tested for at least as long."""
    tested = ((SHORT, "making_current_short"), (CYCLE, "making_current"), (LONG, "making_current_long"))
    known = [name for time, name in tested if duration <= time * (1 + 1e-9) and relay.known(name) is not None]
    if known:
        best = max(known, key=relay.value)
        return Bound(max(relay.value(best), relay.value("rated_current")), (relay.input(best),))
    return Bound(relay.value("rated_current"), (relay.input("rated_current"),),
                 "The sheet gives no making current for so long a surge, so its resistive rating is all it is known to close on.")


def making(relay: Part, demand: Demand) -> Making:
    """Return what a contact is asked to close on, and what it may."""
    surge, acts = demand.inrush, demand.behaviour
    motor = relay.known("motor_current") if acts.breaking == "motor" else None
    starting = None if motor is None else Bound(
        (acts.contact_rule or MOTOR_RULE) * motor, (relay.input("motor_current"),), "A motor rating includes starting.")
    if surge.known:
        bound = closing(relay, surge.duration)
        if starting is not None and starting.value > bound.value:
            bound = starting
        return Making(surge.worst, surge.most, surge.worst, "sum of the inrush of each, times 1 + tolerance", bound, True)
    lamp = acts.kind == "tungsten lamp" and relay.known("making_current") is not None
    if acts.contact_rule is None or lamp:
        bound = closing(relay, min(surge.duration, CYCLE) if lamp else surge.duration)
        least = surge.least * surge.worst / surge.most if surge.most else 0.0
        return Making(surge.worst, surge.most, least, "inrush multiple x steady current, times 1 + tolerance", bound, True)
    rule = acts.contact_rule
    worst = rule_current(steady=demand.worst, multiple=rule)
    nominal = rule_current(steady=demand.nominal, multiple=rule)
    formula = f"{rule:g} x steady current against the resistive rating"
    if starting is not None:
        return Making(worst, nominal, worst, f"{rule:g} x steady current against {rule:g} x the motor rating", starting)
    return Making(worst, nominal, worst, formula,
                  Bound(relay.value("rated_current"), (relay.input("rated_current"),), sources=(acts.rule_source,)))


def carrying_verdict(relay: Part, demand: Demand) -> Verdict:
    """Return whether a relay carries and breaks the steady current at the worst corner."""
    return judge(demand.worst, carrying(relay, demand).value, Sense.AT_MOST)


def making_verdict(relay: Part, demand: Demand) -> Verdict:
    """Return whether a relay closes on the load: `unknown` when only the most credible inrush is too much."""
    asked = making(relay, demand)
    verdict = judge(asked.worst, asked.bound.value, Sense.AT_MOST)
    return Verdict.UNKNOWN if verdict is Verdict.FAILS and asked.least <= asked.bound.value else verdict


def relays_that_hold(demand: Demand, parts: Parts) -> tuple[Part, ...]:
    """Return the relays of the stock that carry and close on the load, in order of preference."""
    good = (Verdict.HOLDS, Verdict.TIGHT)
    return tuple(
        relay for relay in parts.of("relay")
        if carrying_verdict(relay, demand) in good and making_verdict(relay, demand) in good
    )


def findings(job: Job, parts: Parts, chosen: Chosen) -> tuple[Finding, ...]:
    """Return the four answers for every channel."""
    mains = mains_of(job)
    found: list[Finding] = []
    for key, demand in demands(job).items():
        relay = chosen.relays[key].part
        channel = job.load.get(key) or job.fan[key]
        found += (
            _carrying(demand, relay, parts), _making(demand, relay, parts, mains),
            _endurance(demand, relay, channel), _least_load(demand, relay, mains),
        )
    return tuple(found)


def _instead(demand: Demand, parts: Parts, relay: Part) -> tuple[str, ...]:
    """Return the relay of the stock that would hold, in words."""
    for other in relays_that_hold(demand, parts):
        if other.designation != relay.designation:
            return (f"{other.designation}, the first of the stock that holds",)
    breaking = demand.behaviour.breaking
    contactor = contactor_for(current=demand.worst, breaking=breaking, parts=parts)
    rating = ("resistive_current" if breaking == "resistive" else "motor_current", "A")
    return (f"no relay of the stock holds: a contactor{such_as(contactor, rating)} for this load, its coil switched by the relay",)


def _relay_input(demand: Demand, relay: Part) -> Input:
    return Input("relay", relay.designation, f"{demand.subject}.relay")


def _carrying(demand: Demand, relay: Part, parts: Parts) -> Finding:
    bound = carrying(relay, demand)
    verdict = carrying_verdict(relay, demand)
    words = {"resistive": "a resistive circuit", "inductive": "an inductive circuit", "motor": "a running motor"}
    return Finding(
        id=f"contacts.{demand.key}", question=f"Can the relay of {demand.name} carry and break its current?",
        subject=demand.subject, verdict=verdict, value=Figure(demand.worst, "A"), limit=Figure(bound.value, "A"),
        sense=Sense.AT_MOST, nominal=Figure(demand.nominal, "A"), corner=demand.corner, formula=demand.formula,
        inputs=(*demand.inputs, _relay_input(demand, relay), *bound.inputs), sources=bound.sources,
        assumptions=demand.assumptions,
        change=() if verdict in (Verdict.HOLDS, Verdict.TIGHT) else _instead(demand, parts, relay),
        detail=" ".join(filter(None, (f"It breaks {words[demand.behaviour.breaking]}.", bound.words))),
        covers_not="a fault current: that is the protective device's to break",
    )


def _making(demand: Demand, relay: Part, parts: Parts, mains: Mains) -> Finding:
    asked, verdict = making(relay, demand), making_verdict(relay, demand)
    surge = demand.inrush
    change: tuple[str, ...] = ()
    if verdict not in (Verdict.HOLDS, Verdict.TIGHT):
        change = _instead(demand, parts, relay)
        if demand.behaviour.making_duration < CYCLE and demand.behaviour.contact_rule is None:
            limiter = series_resistance(crest=mains.crest, current=asked.bound.value)
            named = such_as(limiter_for(resistance=limiter, current=demand.worst, parts=parts), ("cold_resistance", "ohm"), ("rated_current", "A"))
            change += (f"or a limiter of at least {show(limiter, 'ohm')} cold in series{named and f',{named}'}, with time to cool before it is closed again",)
        if verdict is Verdict.UNKNOWN:
            change += tuple(f"or settle it: {assumption.measure}" for assumption in surge.assumptions[:1])
    risk = {
        Verdict.UNKNOWN: "At risk: the contacts may weld, and the load then stays on.",
        Verdict.FAILS: "The contacts may weld, and the load then stays on.",
    }.get(verdict, "")
    energy = pulse_integral(peak=asked.worst, duration=surge.duration) if surge.duration < CYCLE else None
    energy_words = f"Taken as a rectangle the pulse is {energy:.3g} A²s." if energy else ""
    return Finding(
        id=f"making.{demand.key}", question=f"Can the relay of {demand.name} close on its inrush without welding?",
        subject=demand.subject, verdict=verdict, value=Figure(asked.worst, "A"), limit=Figure(asked.bound.value, "A"),
        sense=Sense.AT_MOST, nominal=Figure(asked.nominal, "A"), corner=f"{mains.at_high}; all in step, at the crest" if asked.surges else demand.corner,
        formula=asked.formula,
        inputs=(*demand.inputs, *surge.inputs, _relay_input(demand, relay), *asked.bound.inputs),
        sources=asked.bound.sources, assumptions=(*demand.assumptions, *_that_matter(surge.assumptions, demand, relay)),
        change=change, detail=" ".join(filter(None, (risk, asked.bound.words, energy_words))),
        covers_not="the impedance of the wiring, which lowers the peak",
    )


def _that_matter(assumptions: tuple[Assumption, ...], demand: Demand, relay: Part) -> tuple[Assumption, ...]:
    """Return the assumed inrush only where it was used: a rule of multiples does not use it."""
    rule_used = demand.behaviour.contact_rule is not None and not (
        demand.behaviour.kind == "tungsten lamp" and relay.known("making_current") is not None
    )
    return () if rule_used else assumptions


def _endurance(demand: Demand, relay: Part, channel: Load | Fan) -> Finding:
    per_day, assumptions = channel.operations_per_day, ()
    if per_day == UNKNOWN:
        per_day = WORST_OPERATIONS
        assumptions = (Assumption(f"{demand.subject}.operations_per_day", f"{per_day:g} a day", "the job does not say",
                                  "count for a week, or read the controller's own counter later"),)
    name = "endurance"
    if demand.behaviour.kind == "tungsten lamp" and relay.known("lamp_endurance"):
        name = "lamp_endurance"
    elif relay.known("light_current") and demand.worst <= relay.value("light_current"):
        name = "endurance_light"
    operations = relay.known(name)
    common = dict(
        id=f"endurance.{demand.key}", question=f"How long do the contacts of {demand.name} last?", subject=demand.subject,
        sense=Sense.AT_LEAST, formula="operations of the sheet / operations a day / 365.25",
        inputs=(_relay_input(demand, relay), relay.input(name), Input("operations a day", Figure(per_day, ""),
                f"{demand.subject}.operations_per_day")),
        assumptions=assumptions, safety=False,
        covers_not="wear by inrush beyond the sheet's own test; worn contacts end by welding or by not closing",
    )
    if operations is None or per_day == 0.0:
        known = operations is not None
        return Finding(verdict=Verdict.HOLDS if known else Verdict.UNKNOWN, value=None, limit=None,
                       detail="It is not switched in ordinary use." if known else "The sheet gives no endurance.", **common)
    years = years_of_life(operations=operations, per_day=per_day)
    return Finding(
        verdict=judge(years, YEARS_WANTED, Sense.AT_LEAST), value=Figure(years, "years"), limit=Figure(YEARS_WANTED, "years"),
        nominal=Figure(years, "years"), corner="load at the sheet's test current or below", sources=(COMMON_PRACTICE,),
        change=("a relay with a longer electrical endurance, fewer operations, or replacement by plan",), **common,
    )


def _least_load(demand: Demand, relay: Part, mains: Mains) -> Finding:
    least = relay.known("minimum_power")
    apparent = mains.low * demand.nominal
    common = dict(
        id=f"minimum_load.{demand.key}", question=f"Is {demand.name} enough load to keep the contacts clean?",
        subject=demand.subject, sense=Sense.AT_LEAST, corner=mains.at_low, formula="S = U I",
        inputs=(*demand.inputs, _relay_input(demand, relay), relay.input("minimum_power")), safety=False,
        covers_not="contacts that stand idle for months",
    )
    if least is None:
        return Finding(verdict=Verdict.UNKNOWN, value=Figure(apparent, "VA"), limit=None,
                       detail="The sheet gives no least load.", **common)
    return Finding(verdict=judge(apparent, least, Sense.AT_LEAST), value=Figure(apparent, "VA"), limit=Figure(least, "VA"),
                   nominal=Figure(mains.voltage * demand.nominal, "VA"),
                   change=("a relay with gold-plated or dry-circuit contacts",), **common)
