"""Whether a relay's contacts can close on, carry, break and outlive a load.

Answers, for each channel: steady current against the rating for what it breaks; the inrush at
switching on against what the contact may close on; years of life at these operations; and
whether the load is large enough to keep the contact clean.

A making current that was tested for longer covers a shorter pulse where the sheet allows it ("20 ms
at most"), and between two tested points the line through both is taken; where a sheet gives
none, its resistive rating is the only current it is known to close on. Left out: arcing at
altitude, contact materials beyond the sheet, wear by inrush.
"""

from dataclasses import dataclass
from functools import partial
from math import exp, log

from pattress.finding import COMMON_PRACTICE, Assumption, Figure, Finding, Input, Sense, Source, Verdict, judge, judge_between
from pattress.job.by_rule import closings_an_operation
from pattress.job.model import UNKNOWN, Channel, Fan, Job, Load
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
COVERED_FROM = 0.25                            # of the time a making current was tested for, where the sheet allows no shorter pulse (our rule)
ELECTROMAGNET_SHARE = 3.0 / 16.0               # of the resistive rating that a contact breaks of an electromagnet
ELECTROMAGNET_SOURCE = Source("Power PCB relay RT1 datasheet, 2014 to 2020", "3 A, AC-15, of a contact of 16 A; the only row of the stock")
YEARS_WANTED = 10.0
WORST_OPERATIONS = 50.0                        # a day, where the job does not know
DAYS_A_YEAR = 365.25


@dataclass(frozen=True, slots=True)
class Bound:
    """What a contact is known to carry or close on [A], and how. `perhaps` [A] is what it may close on, but the sheet does not say so."""

    value: float
    inputs: tuple[Input, ...]
    words: str = ""
    sources: tuple[Source, ...] = ()
    perhaps: float = 0.0


@dataclass(frozen=True, slots=True)
class Making:
    """The current a contact is asked to close on [A]: worst, nominal, and the least credible at the same mains corner; and what it may."""

    worst: float
    nominal: float
    least: float
    formula: str
    bound: Bound


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


def carrying(relay: Part, demand: Demand) -> Bound:
    """Return the steady current a contact may carry and break, for what this load makes it break."""
    rated = relay.value("rated_current")
    if demand.behaviour.breaking == "resistive":
        return Bound(rated, (relay.input("rated_current"),))
    if demand.behaviour.breaking == "motor":
        motor = relay.known("motor_current")
        if motor is not None:
            return Bound(min(motor, rated), (relay.input("motor_current"),))
        rule, source = _motor_rule(demand)
        return Bound(rated / rule, (relay.input("rated_current"), Input("motor rule", Figure(rule, ""), "times steady current")),
                     "The sheet gives no motor figure.", (source,))
    inductive = relay.known("inductive_current")
    if inductive is not None:
        return Bound(min(inductive, rated), (relay.input("inductive_current"),))
    share, source = ((ELECTROMAGNET_SHARE, ELECTROMAGNET_SOURCE) if demand.behaviour.kind == "solenoid" else
                     (LOW_POWER_FACTOR_SHARE, LOW_POWER_FACTOR_SOURCE))
    return Bound(share * rated, (relay.input("rated_current"), Input("low power factor", Figure(share, ""), "share of the rating")),
                 "The sheet gives no inductive figure.", (source,))


def _motor_rule(demand: Demand) -> tuple[float, Source]:
    """Return the multiple of its running current that a motor asks of a resistive rating."""
    acts = demand.behaviour
    if acts.contact_rule is None or acts.rule_source is None:
        return MOTOR_RULE, COMMON_PRACTICE
    return acts.contact_rule, acts.rule_source


def closing(relay: Part, duration: float, *, lamps: bool = False) -> Bound:
    """Return the surge a contact may close on, lasting `duration` [s]; of tungsten `lamps` the figure that is tested with such.

    A figure counts for its own time and for shorter pulses down to a quarter of it, for still
    shorter ones where the sheet allows it. Between the figures for 200 us and 20 ms of one
    contact the straight line on logarithmic axes is taken.
    """
    rated = relay.value("rated_current")
    if lamps and relay.known("making_current") is not None and relay.word("making_with") == "lamps":
        duration = min(duration, CYCLE)
    tested = {time: name for time, name in ((SHORT, "making_current_short"), (CYCLE, "making_current"), (LONG, "making_current_long"))
              if relay.known(name) is not None}
    covering = [name for time, name in tested.items() if duration <= time * (1 + 1e-9)]
    known = [name for name in covering if _covers(relay, name, duration)]
    if SHORT in tested and CYCLE in tested and SHORT < duration < CYCLE:
        short, cycle = relay.value("making_current_short"), relay.value("making_current")
        share = log(duration / SHORT) / log(CYCLE / SHORT)
        between = exp((1.0 - share) * log(short) + share * log(cycle))
        return Bound(max(between, rated), (relay.input("making_current_short"), relay.input("making_current")),
                     f"For {show(duration, 's')} the line between both figures gives {show(between, 'A')}.")
    if known:
        best = max(known, key=relay.value)
        return Bound(max(relay.value(best), rated), (relay.input(best),))
    longer = max((relay.value(name) for name in covering), default=0.0)
    words = ("The sheet gives no making current for so long a surge, so its resistive rating is all it is known to close on."
             if not covering else
             f"The sheet gives {show(longer, 'A')} for a longer surge and does not say whether that holds for a shorter one: ask its maker.")
    return Bound(rated, (relay.input("rated_current"), *(relay.input(name) for name in covering)), words, perhaps=longer)


def _covers(relay: Part, name: str, duration: float) -> bool:
    """Return whether a making current counts for a pulse that is no longer than it was tested for."""
    return name != "making_current" or duration >= COVERED_FROM * CYCLE or relay.word("making_shorter") == "allowed"


def making(relay: Part, demand: Demand) -> Making:
    """Return what a contact is asked to close on, and what it may."""
    surge, acts = demand.inrush, demand.behaviour
    bound = closing(relay, surge.duration, lamps=acts.kind == "tungsten lamp")
    motor = relay.known("motor_current") if acts.breaking == "motor" else None
    if motor is not None:
        rule, source = _motor_rule(demand)
        starting = Bound(rule * motor, (relay.input("motor_current"),), "A motor rating includes starting.", (source,))
        bound = starting if starting.value > bound.value else bound
    return Making(surge.worst, surge.most, surge.best, surge.formula, bound)


def carrying_verdict(relay: Part, demand: Demand) -> Verdict:
    """Return whether a relay carries and breaks the steady current at the worst corner."""
    return judge_between(demand.carried, demand.carried_best, carrying(relay, demand).value, Sense.AT_MOST)


def making_verdict(relay: Part, demand: Demand) -> Verdict:
    """Return whether a relay closes on the load: `unknown` when only the most credible inrush is too much, or the sheet is silent."""
    asked = making(relay, demand)
    bound = asked.bound
    return judge_between(asked.worst, asked.least, bound.value, Sense.AT_MOST, best_limit=max(bound.value, bound.perhaps))


def shortfall(relay: Part, demand: Demand) -> float:
    """Return how many times more than a relay surely bears a load asks, carrying or closing: which of several that do not hold comes nearest."""
    asked = making(relay, demand)
    return max(demand.carried / carrying(relay, demand).value, asked.worst / asked.bound.value)


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
            _endurance(demand, relay, channel, closings_an_operation(job, demand.key)), _least_load(demand, relay, mains),
        )
    return tuple(found)


def _instead(demand: Demand, parts: Parts, relay: Part) -> tuple[str, ...]:
    """Return the relay of the stock that would hold, in words."""
    for other in relays_that_hold(demand, parts):
        if other.designation != relay.designation:
            return (f"{other.designation}, the first of the stock that holds",)
    breaking = demand.behaviour.breaking
    contactor = contactor_for(current=demand.carried, breaking=breaking, parts=parts)
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
        subject=demand.subject, verdict=verdict, value=Figure(demand.carried, "A"), limit=Figure(bound.value, "A"),
        sense=Sense.AT_MOST, nominal=Figure(demand.nominal, "A"), corner=demand.corner, formula=demand.formula,
        inputs=(*demand.inputs, _relay_input(demand, relay), *bound.inputs), sources=bound.sources,
        assumptions=demand.assumptions,
        change=() if verdict in (Verdict.HOLDS, Verdict.TIGHT) else _instead(demand, parts, relay),
        detail=" ".join(filter(None, (f"It breaks {words[demand.behaviour.breaking]}.", bound.words, _plugged_in(demand, relay)))),
        covers_not="a fault current: that is the protective device's to break",
    )


def _plugged_in(demand: Demand, relay: Part) -> str:
    """Return what must not be plugged into a socket, as its label should say."""
    if not demand.is_socket:
        return ""
    motor = relay.known("motor_current")
    most = motor if motor is not None else relay.value("rated_current") / MOTOR_RULE
    return f"A motor of more than {show(min(most, demand.carried), 'A')} is not to be plugged in: say so at the socket."


def _making(demand: Demand, relay: Part, parts: Parts, mains: Mains) -> Finding:
    asked, verdict = making(relay, demand), making_verdict(relay, demand)
    surge = demand.inrush
    risk = {
        Verdict.UNKNOWN: "At risk: the contacts may weld, and the load then stays on.",
        Verdict.FAILS: "The contacts may weld, and the load then stays on.",
    }.get(verdict, "")
    energy = pulse_integral(peak=asked.worst, duration=surge.duration) if surge.duration < CYCLE else None
    energy_words = f"Taken as a rectangle the pulse is {energy:.3g} A²s." if energy else ""
    assumed = f"The inrush is assumed: {surge.assumptions[0].taken}." if surge.assumptions else ""
    return Finding(
        id=f"making.{demand.key}", question=f"Can the relay of {demand.name} close on its inrush without welding?",
        subject=demand.subject, verdict=verdict, value=Figure(asked.worst, "A"), limit=Figure(asked.bound.value, "A"),
        sense=Sense.AT_MOST, nominal=Figure(asked.nominal, "A"), corner=f"{mains.at_high}; all in step, at the crest",
        formula=asked.formula,
        inputs=(*demand.inputs, *surge.inputs, _relay_input(demand, relay), *asked.bound.inputs),
        sources=asked.bound.sources, assumptions=(*demand.assumptions, *surge.assumptions),
        change=() if verdict in (Verdict.HOLDS, Verdict.TIGHT) else _easier(demand, relay, parts, mains, verdict),
        detail=" ".join(filter(None, (risk, assumed, asked.bound.words, energy_words))),
        covers_not="the impedance of the wiring, which lowers the peak" + (
            "; a motor or a transformer of more than the relay's motor current" if demand.is_socket else ""),
    )


def _easier(demand: Demand, relay: Part, parts: Parts, mains: Mains, verdict: Verdict) -> tuple[str, ...]:
    """Return what lets a relay close on a load: a better one, the measurement that settles it, fewer on one channel, less inrush."""
    change = _instead(demand, parts, relay)
    surge, bound = demand.inrush, making(relay, demand).bound
    if verdict is Verdict.UNKNOWN:
        change += tuple(f"or settle it: {assumption.measure}" for assumption in surge.assumptions[:1])
    count = _count_that_holds(demand, bound.value)
    if count:
        change += (f"or at most {count} of them on one channel",)
    if demand.behaviour.multiples is None or (surge.known and surge.duration < CYCLE):
        if relay.known("making_current_short") is None:
            change += ("or a relay whose tungsten contact closes first, with a making current for 200 us in its sheet",)
        limiter = series_resistance(crest=mains.crest, current=bound.value)
        named = such_as(limiter_for(resistance=limiter, current=demand.worst, parts=parts), ("cold_resistance", "ohm"), ("rated_current", "A"))
        change += (f"or a limiter of at least {show(limiter, 'ohm')} cold in series{named and f',{named}'}, with time to cool before it is closed again",
                   "or a part that closes at the zero crossing of the mains, for capacitor inputs only: for a transformer that is the worst moment")
    return change


def _count_that_holds(demand: Demand, most: float) -> int:
    """Return how many of several equal loads a contact may close on that bears `most` [A]; 0 where not even one, or there is only one."""
    return sum(peak <= most for peak in demand.inrush.of_fewer) if demand.inrush.worst > most else 0


def operations_a_day(channel: Channel) -> float:
    """Return how often a day a channel is operated: as the job says, or as often as is taken where it does not know."""
    return WORST_OPERATIONS if channel.operations_per_day == UNKNOWN else channel.operations_per_day


def _endurance(demand: Demand, relay: Part, channel: Load | Fan, closings: int) -> Finding:
    per_day = operations_a_day(channel) * closings
    assumptions: tuple[Assumption, ...] = ()
    if channel.operations_per_day == UNKNOWN:
        assumptions = (Assumption(f"{demand.subject}.operations_per_day", f"{per_day:g} a day", "the job does not say",
                                  "count for a week, or read the controller's own counter later"),)
    name = endurance_that_counts(relay, demand)
    operations = relay.known(name)
    answer = partial(
        Finding, id=f"endurance.{demand.key}", question=f"How long do the contacts of {demand.name} last?", subject=demand.subject,
        sense=Sense.AT_LEAST, formula="operations of the sheet / operations a day / 365.25",
        inputs=(_relay_input(demand, relay), relay.input(name), Input("operations a day", Figure(per_day, ""),
                f"{demand.subject}.operations_per_day{', twice for its warning' if closings > 1 else ''}")),
        assumptions=assumptions, safety=False,
        covers_not="wear by inrush beyond the sheet's own test; worn contacts end by welding or by not closing",
    )
    if operations is None or per_day == 0.0:
        known = operations is not None
        return answer(verdict=Verdict.HOLDS if known else Verdict.UNKNOWN, value=None, limit=None,
                       detail="It is not switched in ordinary use." if known else "The sheet gives no endurance.")
    years = years_of_life(operations=operations, per_day=per_day)
    return answer(
        verdict=judge(years, YEARS_WANTED, Sense.AT_LEAST), value=Figure(years, "years"), limit=Figure(YEARS_WANTED, "years"),
        nominal=Figure(years, "years"), corner="load at the sheet's test current or below", sources=(COMMON_PRACTICE,),
        change=("a relay with a longer electrical endurance, fewer operations, or replacement by plan",))


def endurance_that_counts(relay: Part, demand: Demand) -> str:
    """Return the name of the endurance that a sheet gives for this load: that of lamps only up to the lamp load it was tested with."""
    lamps, light = relay.known("lamp_current"), relay.known("light_current")
    if demand.behaviour.kind == "tungsten lamp" and lamps is not None and demand.carried <= lamps and relay.known("lamp_endurance") is not None:
        return "lamp_endurance"
    return "endurance_light" if light is not None and demand.carried <= light and relay.known("endurance_light") is not None else "endurance"


def _least_load(demand: Demand, relay: Part, mains: Mains) -> Finding:
    least = relay.known("minimum_power")
    apparent = mains.low * demand.least
    answer = partial(
        Finding, id=f"minimum_load.{demand.key}", question=f"Is {demand.name} enough load to keep the contacts clean?",
        subject=demand.subject, sense=Sense.AT_LEAST, corner=mains.at_low, formula="S = U I",
        inputs=(*demand.inputs, _relay_input(demand, relay), relay.input("minimum_power")), safety=False,
        covers_not="contacts that stand idle for months",
    )
    if least is None:
        return answer(verdict=Verdict.UNKNOWN, value=Figure(apparent, "VA"), limit=None,
                       detail="The sheet gives no least load.")
    return answer(verdict=judge(apparent, least, Sense.AT_LEAST), value=Figure(apparent, "VA"), limit=Figure(least, "VA"),
                   nominal=Figure(mains.voltage * demand.nominal, "VA"),
                   change=("a relay with gold-plated or dry-circuit contacts",))
