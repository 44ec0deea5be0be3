"""Quenching what inductive loads do to a contact, and what the quench lets through when the contact is open.

Answers, for each motor, solenoid and ballast: the snubber by Bates, its leakage against the
load; for the controller: a varistor that bears the highest mains and still clamps. Left out:
radio disturbance, and the life of a varistor under surges.
"""

from functools import partial
from math import pi, sqrt

from pattress.finding import COMMON_PRACTICE, Figure, Finding, Input, Sense, Source, Verdict, judge, judge_between
from pattress.job.model import Job
from pattress.quantity import show
from pattress.sizing.chosen import Chosen
from pattress.sizing.contacts import closing
from pattress.sizing.demand import Demand, demands
from pattress.sizing.mains import Mains, mains_of
from pattress.sizing.ranges import not_negative, positive
from pattress.stock.credible import End, assumed
from pattress.stock.parts import Part, Parts
from pattress.stock.preferred import nearest_value, value_above

BATES = Source("C. C. Bates, as printed in the Terranova 907 manual p. 30 (citing a Paktron note) and a web page")
LEAK_SHARE = 0.10                # of the load's own current that may leak past the open contact (common practice)
LEAST_RESISTOR = 33.0            # ohm in series with the capacitor, so that the closing contact sees little (common practice)
ENOUGH = 1.0 / 3.0               # of what Bates asks: less quenches only in part
GLOW = 0.5e-3                    # A that some LED lamps begin to glow or blink at (from memory)
MICRO = 1e-6


def snubber_capacitance(current: float) -> float:
    """Return the capacitance [F] across a contact that opens `current` [A]: C = I^2 / 10 in microfarads (Bates)."""
    not_negative(current=current)
    return current**2 / 10.0 * MICRO


def snubber_resistance(*, voltage: float, current: float) -> float:
    """Return the series resistance [ohm]: R = E / (10 I (1 + 50/E)) (Bates). `voltage` [V] of the source, r.m.s. for AC."""
    positive(voltage=voltage, current=current)
    return voltage / (10.0 * current * (1.0 + 50.0 / voltage))


def leakage(*, capacitance: float, voltage: float, frequency: float) -> float:
    """Return the r.m.s. current [A] past an open contact: 2 pi f C U."""
    not_negative(capacitance=capacitance, voltage=voltage)
    positive(frequency=frequency)
    return 2.0 * pi * frequency * capacitance * voltage


def closing_discharge(*, voltage: float, resistance: float) -> float:
    """Return the peak [A] a snubber sends into its closing contact at the crest: sqrt2 U / R."""
    not_negative(voltage=voltage)
    positive(resistance=resistance)
    return sqrt(2.0) * voltage / resistance


def lowest_varistor_voltage(*, varistor_voltage: float, tolerance: float) -> float:
    """Return the lowest voltage [V] at which a varistor of that type conducts 1 mA."""
    positive(varistor_voltage=varistor_voltage)
    not_negative(tolerance=tolerance)
    return varistor_voltage * (1.0 - tolerance)


def needs_snubber(demand: Demand) -> bool:
    """Return whether a load kicks back when it is switched off."""
    return demand.behaviour.breaking in ("inductive", "motor")


def snubber_part(demand: Demand, parts: Parts) -> Part | None:
    """Return the smallest X2 capacitor of the stock that is at least what Bates asks; the largest there is otherwise."""
    stock = sorted((p for p in parts.of("capacitor") if p.word("class") == "X2"), key=lambda p: p.value("capacitance"))
    wanted = snubber_capacitance(demand.nominal)
    return next((p for p in stock if p.value("capacitance") >= wanted), stock[-1] if stock else None)


def snubber_resistor(demand: Demand, relay: Part, mains: Mains) -> float:
    """Return the resistor in series with a snubber's capacitor [ohm]: as Bates asks, or more where the closing contact could not bear the discharge."""
    least = max(LEAST_RESISTOR, closing_discharge(voltage=mains.high, resistance=1.0) / closing(relay, 200e-6).value)
    wished = snubber_resistance(voltage=mains.voltage, current=max(demand.nominal, 0.1))
    return nearest_value(wished) if wished >= least else value_above(least)


def varistor_for(parts: Parts, mains: Mains) -> Part | None:
    """Return the varistor with the least rated voltage that bears the highest mains; the highest of the stock where none does."""
    stock = sorted(parts.of("varistor"), key=lambda part: part.value("rated_voltage"))
    return next((p for p in stock if p.value("rated_voltage") >= mains.high), stock[-1] if stock else None)


def findings(job: Job, parts: Parts, chosen: Chosen) -> tuple[Finding, ...]:
    """Return the snubber of every inductive channel, and the varistor of the controller."""
    mains = mains_of(job)
    found = [_snubber(demand, parts, chosen.relays[key].part, mains)
             for key, demand in demands(job).items() if needs_snubber(demand)]
    return (*found, _varistor(parts, mains))


def _snubber(demand: Demand, parts: Parts, relay: Part, mains: Mains) -> Finding:
    part = snubber_part(demand, parts)
    answer = partial(
        Finding, id=f"suppression.{demand.key}", question=f"Does a snubber on {demand.name} quench without keeping the load awake?",
        subject=demand.subject, sense=Sense.AT_MOST, corner=mains.at_high,
        formula="C = I^2/10 uF, R = E / (10 I (1 + 50/E)), leak = 2 pi f C U", sources=(BATES,), safety=False,
        covers_not="a very small load in parallel, such as an indicator lamp, which may glow",
    )
    if part is None:
        return answer(verdict=Verdict.UNKNOWN, value=None, limit=None, change=("an X2 capacitor in the parts file",))
    capacitance = part.value("capacitance")
    bears = closing(relay, 200e-6).value
    resistance = snubber_resistor(demand, relay, mains)
    tolerance = part.taken("tolerance", End.MOST)
    leak = leakage(capacitance=capacitance * (1.0 + tolerance.value), voltage=mains.high, frequency=mains.frequency)
    peak = closing_discharge(voltage=mains.high, resistance=resistance)
    limit = LEAK_SHARE * demand.least
    verdict = max(judge(leak, limit, Sense.AT_MOST), judge(peak, bears, Sense.AT_MOST), key=lambda v: v.severity)
    wanted = snubber_capacitance(demand.nominal)
    in_part = capacitance < ENOUGH * wanted
    if in_part and verdict is Verdict.HOLDS:
        verdict = Verdict.TIGHT
    return answer(
        verdict=verdict, value=Figure(leak, "A"), limit=Figure(limit, "A"),
        nominal=Figure(leakage(capacitance=capacitance, voltage=mains.voltage, frequency=mains.frequency), "A"),
        inputs=(Input("current at opening", Figure(demand.nominal, "A"), demand.subject), *mains.inputs,
                Input("capacitance wanted", Figure(wanted, "F"), "Bates", BATES), part.input("capacitance"), tolerance.input, part.input("voltage"),
                Input("resistor", Figure(resistance, "ohm"), "nearest E24, pulse-proof"),
                Input("discharge into the contact", Figure(peak, "A"), "sqrt2 U / R"), Input("it may close on", Figure(bears, "A"), relay.designation)),
        assumptions=(*demand.assumptions, *assumed(tolerance)),
        change=("a varistor across the load as well: it leaks nothing",),
        detail=f"{part.designation} and {show(resistance, 'ohm')} in series across the contact"
               + (f"; Bates asks {show(wanted, 'F')}, so it quenches only in part." if in_part else ".") +
               f" It discharges {show(peak, 'A')} into the closing contact. LED lamps want none: {show(GLOW, 'A')} can make one glow.")


def _varistor(parts: Parts, mains: Mains) -> Finding:
    part = varistor_for(parts, mains)
    answer = partial(
        Finding, id="varistor.controller", question="Does the varistor at the supply bear the highest mains?", subject="supply.system",
        sense=Sense.AT_LEAST, corner=f"{mains.at_high}; varistor at the low end of its tolerance",
        formula="V(1 mA) (1 - tolerance) >= sqrt2 U (1 + tolerance)", sources=(COMMON_PRACTICE,),
        covers_not="surges: fuse it, expect it to age, and take it out before an insulation test",
    )
    if part is None:
        return answer(verdict=Verdict.UNKNOWN, value=None, limit=None, change=("a varistor in the parts file",))
    tolerance = part.taken("tolerance", End.MOST)
    lowest, at_best = (lowest_varistor_voltage(varistor_voltage=part.value("varistor_voltage"), tolerance=part.taken("tolerance", End.MOST, best=best).value)
                       for best in (False, True))
    return answer(
        verdict=judge_between(lowest, at_best, mains.crest, Sense.AT_LEAST, tight=0.03), value=Figure(lowest, "V"), limit=Figure(mains.crest, "V"),
        assumptions=assumed(tolerance),
        nominal=Figure(part.value("varistor_voltage"), "V"),
        inputs=(Input("varistor", part.designation, "the first rated for the highest mains"), part.input("rated_voltage"),
                part.input("varistor_voltage"), tolerance.input, *mains.inputs),
        change=("the next higher voltage rating",))
