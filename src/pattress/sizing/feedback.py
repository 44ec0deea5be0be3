"""Sensing whether a switched line is live: two resistors and an optocoupler between the line and its neutral.

Answers, for each load or fan with feedback: is its live line seen, at the lowest mains; does the
input keep still between two crests; is a dead line seen before the program believes that it is
live; is an open contact read as dead though a little current gets past it; do the resistors stay
cool. The optocoupler sees every other half cycle; a diode across its light-emitting diode takes
the rest. A capacitor at the input holds from crest to crest.
Left out: what a motor that runs down feeds back into its dead line, which only delays the reading.
"""

from dataclasses import dataclass
from functools import partial
from math import log, pi, sqrt

from pattress.finding import COMMON_PRACTICE, Assumption, Figure, Finding, Input, Sense, Source, Verdict, judge
from pattress.job.model import Fan, Job, Load
from pattress.quantity import show
from pattress.sizing.chosen import Chosen
from pattress.sizing.demand import Demand, demands
from pattress.sizing.drive import LOGIC
from pattress.sizing.mains import Mains, mains_of
from pattress.sizing.ranges import not_negative, positive
from pattress.sizing.sensing import (
    AGEING,
    COUPLING,
    COUPLING_SOURCE,
    WARMTH,
    collector_current,
    coupled_voltage,
    detection_gap,
    least_collector_pull_up,
    mains_sensing_power,
    rise_time,
)
from pattress.sizing.suppression import needs_snubber, snubber_part
from pattress.stock.boards import Board
from pattress.stock.credible import End, Known, assumed
from pattress.stock.parts import Part, Parts
from pattress.stock.preferred import value_above, value_below

SETTLE = 1.0                     # s a line must disagree with its relays to be believed: contacts, sensing, motors that run down (common practice, no source)
WANTED = 1.0e-3                  # A through the diode, mean over a cycle, at the lowest mains (common practice, no source)
PULL_UP = 47e3                   # ohm at the input; the wire is short, nothing couples into it
BLEED = 4.7e3                    # ohm across the diode: what gets past an open contact flows here
LOW_CURRENT = 0.5                # share of the transfer ratio left at 1 mA of a sheet's 5 mA (from memory)
WAKES = 0.9                      # V at which the diode begins to conduct (from memory)
HOLD_SPARE, CAPACITOR_LEAST = 1.25, 0.8      # over the time to hold; share of its value that a capacitor surely has
RELAY = 20e-3                    # s in which any relay of this size has moved (from memory)
RESISTOR_MOST = 0.5              # W that a resistor of 1 W takes in a warm box (common practice, no source)
PASSES_CURRENT = ("resistive heater", "tungsten lamp", "motor", "compressor", "solenoid")    # at any voltage, while connected
MEMORY = Source("transfer ratio against diode current, typical curve", "half at 1 mA of that at 5 mA", read=False)


def mean_half_wave(*, voltage: float, resistance: float) -> float:
    """Return the mean over whole cycles [A] of a half-wave rectified current through `resistance` [ohm]: sqrt2 U / (pi R)."""
    not_negative(voltage=voltage)
    positive(resistance=resistance)
    return sqrt(2.0) * voltage / (pi * resistance)


def taken(resistance: float, led: float) -> float:
    """Return what the mean current lacks [A] for a light-emitting diode of `led` [V] behind `resistance` [ohm]: its own voltage, and what the bleed takes.

    Both for half of the cycle: VF / (2 R) + VF / (2 RB); the little time below VF is counted with them, which is a little too much.
    """
    return led / 2.0 * (1.0 / resistance + 1.0 / BLEED)


def led_current(voltage: float, resistance: float, led: float) -> float:
    """Return the mean current [A] of the light-emitting diode at a mains voltage [V r.m.s.]; zero where it does not conduct."""
    return max(0.0, mean_half_wave(voltage=voltage, resistance=resistance) - taken(resistance, led))


def series_resistor(mains: Mains) -> float:
    """Return each of the two equal resistors in series [ohm], from E24: `WANTED` flows at the lowest mains."""
    return value_below(sqrt(2.0) * mains.low / (pi * WANTED) / 2.0, 24)


def hold_capacitor(board: Board, mains: Mains, saturation: float) -> float:
    """Return the capacitor at the input [F], from E12: it holds the input low from one crest to the next, with something to spare."""
    needed = HOLD_SPARE * detection_gap(mains.frequency) / CAPACITOR_LEAST
    return value_above(needed / PULL_UP / log((LOGIC - saturation) / (LOGIC - low_most(board))), 12)


def low_most(board: Board) -> float:
    """Return the highest level that is surely read as low [V]."""
    return board.taken("input_low_most", End.LEAST).value


def optocoupler(parts: Parts) -> Part | None:
    """Return the optocoupler of the stock with the highest least transfer ratio."""
    return max(parts.of("optocoupler"), key=lambda part: part.value("transfer_least"), default=None)


def diode_for(parts: Parts, *, crest: float, voltage: float) -> Part | None:
    """Return the smallest diode of the stock that carries a crest of current [A] and blocks a voltage [V], each twice over."""
    fit = [part for part in parts.of("diode") if part.value("forward_current") >= 2.0 * crest and part.value("reverse_voltage") >= 2.0 * voltage]
    return min(fit, key=lambda part: (part.value("forward_current"), part.designation), default=None)


@dataclass(frozen=True, slots=True)
class Circuit:
    """The sensing circuit of one line. Resistances [ohm], capacitor [F]."""

    part: Part
    diode: Part                  # across the input of the optocoupler, against its light-emitting diode
    resistor: float              # two of them in series
    capacitor: float

    @property
    def series(self) -> float:
        """Return both resistors together [ohm]."""
        return 2.0 * self.resistor


def circuit(parts: Parts, board: Board, mains: Mains) -> Circuit | None:
    """Return the circuit that senses a line of these mains for this board; None when the stock lacks an optocoupler or a diode for it.

    The diode takes the crest of the other half cycle, and blocks what the light-emitting diode takes in its own.
    """
    part, resistor = optocoupler(parts), series_resistor(mains)
    if part is None:
        return None
    diode = diode_for(parts, crest=mains.crest / (2.0 * resistor), voltage=part.taken("forward_voltage_most", End.MOST).value)
    return None if diode is None else Circuit(part, diode, resistor, hold_capacitor(board, mains, saturation(part).value))


def saturation(part: Part) -> Known:
    """Return what an optocoupler's transistor keeps when it pulls low [V]."""
    return part.taken("saturation_voltage", End.MOST)


def findings(job: Job, parts: Parts, chosen: Chosen) -> tuple[Finding, ...]:
    """Return the answers for every load and fan with feedback."""
    mains, found = mains_of(job), []
    sensing = circuit(parts, chosen.board, mains)
    for key, demand in demands(job).items():
        thing = job.fan.get(key) or job.load[key]
        if thing.feedback == "none":
            continue
        if sensing is None:
            found.append(Finding(id=f"feedback.{key}", question=_LIVE.format(thing.name), subject=demand.subject, verdict=Verdict.UNKNOWN,
                                 value=None, limit=None, sense=Sense.AT_LEAST, change=("an optocoupler, and a diode for its input, in the parts file",), safety=False))
            continue
        found += [_live(demand, thing, sensing, mains), _holds(demand, thing, sensing, chosen.board, mains),
                  _dead(demand, thing, sensing, chosen.board), _leak(demand, thing, sensing, parts, mains), _heat(demand, thing, sensing, mains)]
    return tuple(found)


_LIVE = "Is the live line of {} seen at the lowest mains?"


def _live(demand: Demand, thing: Load | Fan, sensing: Circuit, mains: Mains) -> Finding:
    part, led = sensing.part, sensing.part.value("forward_voltage")
    transfer = part.value("transfer_least") * LOW_CURRENT
    given = collector_current(led_current=led_current(mains.low, sensing.series, led), transfer=transfer)
    kept = part.taken("saturation_voltage", End.LEAST)          # the less it keeps, the more it must pull
    needed = (LOGIC - kept.value) / PULL_UP
    least = (needed / (transfer * AGEING * WARMTH) + taken(sensing.series, led)) * pi * sensing.series / sqrt(2.0)
    answer = partial(
        Finding, id=f"feedback.{demand.key}", question=_LIVE.format(thing.name), subject=f"{demand.subject}.feedback", limit=Figure(needed, "A"),
        sense=Sense.AT_LEAST, formula="CTR x 0.5 x ageing x warmth (sqrt2 U / (pi R) - VF / (2 R) - VF / (2 RB)) >= (3.3 V - VCEsat) / RP",
        inputs=(Input("series resistors", Figure(sensing.series, "ohm"), "two of E24"), Input("bleed", Figure(BLEED, "ohm"), "across the diode"),
                Input("pull-up", Figure(PULL_UP, "ohm"), "to 3.3 V"), part.input("transfer_least"), part.input("forward_voltage"), kept.input,
                Input("diode", sensing.diode.designation, "across the input, the other way"), sensing.diode.input("forward_current"),
                sensing.diode.input("reverse_voltage"),
                Input("at 1 mA", Figure(LOW_CURRENT, ""), "of the ratio at 5 mA", MEMORY), *mains.inputs),
        sources=(COMMON_PRACTICE,), safety=False, covers_not="an optocoupler worn beyond half of its transfer ratio",
        detail=f"{part.designation}, 2 x {show(sensing.resistor, 'ohm')} in series, {show(BLEED, 'ohm')} and a {sensing.diode.designation} across its input. "
               f"A line is seen from {show(least, 'V')}.")
    if isinstance(thing, Fan) and thing.steps > 1:
        return answer(
            verdict=Verdict.UNKNOWN, value=None, corner="the lowest step, the lowest mains",
            assumptions=(Assumption(f"{demand.subject}.feedback", "nothing", "a capacitor in series takes part of the voltage, and the motor says how much",
                                    f"the voltage at the fan on step 1: it must be {show(least, 'V')} or more"),),
            change=("a larger lowest step, or no feedback",))
    return answer(
        verdict=judge(given, needed, Sense.AT_LEAST), value=Figure(given, "A"), assumptions=assumed(kept), corner=f"{mains.at_low}; optocoupler aged and warm",
        nominal=Figure(led_current(mains.voltage, sensing.series, led) * transfer, "A"),
        change=(f"an optocoupler of rank A or better; its output can pull {show(least_collector_pull_up(supply=LOGIC, saturation=saturation(part).value, current=max(given, 1e-9)), 'ohm')}",))


def _holds(demand: Demand, thing: Load | Fan, sensing: Circuit, board: Board, mains: Mains) -> Finding:
    gap, low, kept = detection_gap(mains.frequency), board.taken("input_low_most", End.LEAST), saturation(sensing.part)
    holds = PULL_UP * CAPACITOR_LEAST * sensing.capacitor * log((LOGIC - kept.value) / (LOGIC - low.value))
    return Finding(
        id=f"feedback_hold.{demand.key}", question=f"Does the input of {thing.name} keep still between two crests?", subject=f"{demand.subject}.feedback",
        verdict=judge(holds, gap, Sense.AT_LEAST), value=Figure(holds, "s"), limit=Figure(gap, "s"), sense=Sense.AT_LEAST,
        nominal=Figure(holds / CAPACITOR_LEAST, "s"), corner="capacitor 20 % low", formula="RP C ln((V - VCEsat) / (V - VIL)) >= 1 / f",
        inputs=(Input("capacitor", Figure(sensing.capacitor, "F"), "from E12"), Input("pull-up", Figure(PULL_UP, "ohm"), "to 3.3 V"),
                low.input, kept.input),
        sources=(COMMON_PRACTICE,), assumptions=assumed(low, kept), change=("the next larger capacitor",), safety=False,
        covers_not="the first cycles after the line became live, in which the capacitor is still being emptied")


def _dead(demand: Demand, thing: Load | Fan, sensing: Circuit, board: Board) -> Finding:
    threshold = board.taken("input_high_least", End.MOST)
    high = threshold.value
    takes = RELAY + rise_time(resistance=PULL_UP, capacitance=sensing.capacitor * (2.0 - CAPACITOR_LEAST), supply=LOGIC, level=high)
    return Finding(
        id=f"feedback_dead.{demand.key}", question=f"Is it seen in time that the line of {thing.name} is dead?", subject=f"{demand.subject}.feedback",
        verdict=judge(takes, SETTLE, Sense.AT_MOST), value=Figure(takes, "s"), limit=Figure(SETTLE, "s"), sense=Sense.AT_MOST,
        nominal=Figure(RELAY + rise_time(resistance=PULL_UP, capacitance=sensing.capacitor, supply=LOGIC, level=high), "s"),
        corner="capacitor 20 % high, the highest input threshold", formula="relay + RP C ln(V / (V - VIH)) <= settling time",
        inputs=(Input("capacitor", Figure(sensing.capacitor, "F"), "from E12"), Input("pull-up", Figure(PULL_UP, "ohm"), "to 3.3 V"),
                Input("relay", Figure(RELAY, "s"), "common practice", COMMON_PRACTICE),
                threshold.input),
        sources=(COMMON_PRACTICE,), assumptions=assumed(threshold), change=("a smaller capacitor or pull-up",), safety=False,
        detail="A fan with feedback pauses so long when its step changes: no step closes while its line is live." if isinstance(thing, Fan) else "",
        covers_not="the voltage of a motor that runs down, which keeps its own line live a little longer")


def _leak(demand: Demand, thing: Load | Fan, sensing: Circuit, parts: Parts, mains: Mains) -> Finding:
    snubber = snubber_part(demand, parts) if needs_snubber(demand) else None
    tolerance = (snubber.taken("tolerance", End.MOST),) if snubber else ()
    made = snubber.value("capacitance") if snubber else 0.0
    across = made * (1.0 + sum(known.value for known in tolerance))
    is_bridged = isinstance(thing, Fan) or thing.kind in PASSES_CURRENT
    to_neutral = sensing.series + BLEED
    if is_bridged:
        load = mains.voltage / demand.least
        to_neutral = load * to_neutral / (load + to_neutral)
    diode, usually = (
        sqrt(2.0) * BLEED / (sensing.series + BLEED) * coupled_voltage(
            voltage=voltage, frequency=mains.frequency, capacitance=capacitance + COUPLING * thing.run.length, resistance=to_neutral)
        for voltage, capacitance in ((mains.high, across), (mains.voltage, made)))
    return Finding(
        id=f"feedback_leak.{demand.key}", question=f"Is the open contact of {thing.name} read as dead?", subject=f"{demand.subject}.feedback",
        verdict=judge(diode, WAKES, Sense.AT_MOST), value=Figure(diode, "V"), limit=Figure(WAKES, "V"), sense=Sense.AT_MOST,
        nominal=Figure(usually, "V"), corner=f"{mains.at_high}, the capacitors at their most, {'the load connected' if is_bridged else 'no load connected'}",
        formula="sqrt2 U x / sqrt(1 + x^2) RB / (R + RB), x = 2 pi f C Z",
        inputs=(Input("across the contact", Figure(across, "F"), snubber.designation if snubber else "no snubber"),
                Input("along the cable", Figure(COUPLING * thing.run.length, "F"), "100 pF/m", COUPLING_SOURCE),
                Input("line to neutral", Figure(to_neutral, "ohm"), "load and sensing circuit" if is_bridged else "sensing circuit alone"),
                Input("bleed", Figure(BLEED, "ohm"), "across the diode"), *mains.inputs),
        sources=(COMMON_PRACTICE,), assumptions=(*(demand.assumptions if is_bridged else ()), *assumed(*tolerance)), change=("a varistor instead of the snubber: it leaks nothing", "a smaller bleed"), safety=False,
        covers_not="a load that is unplugged or burnt out while a snubber lies across its contact: its line then reads live, and the channel stuck closed")


def _heat(demand: Demand, thing: Load | Fan, sensing: Circuit, mains: Mains) -> Finding:
    power = mains_sensing_power(voltage=mains.high, resistance=sensing.series) / 2.0
    return Finding(
        id=f"feedback_heat.{demand.key}", question=f"Do the resistors that sense the line of {thing.name} stay cool?", subject=f"{demand.subject}.feedback",
        verdict=judge(power, RESISTOR_MOST, Sense.AT_MOST), value=Figure(power, "W"), limit=Figure(RESISTOR_MOST, "W"), sense=Sense.AT_MOST,
        nominal=Figure(mains_sensing_power(voltage=mains.voltage, resistance=sensing.series) / 2.0, "W"), corner=mains.at_high,
        formula="U^2 / R / 2", inputs=(Input("series resistors", Figure(sensing.series, "ohm"), "two of E24"), *mains.inputs),
        sources=(COMMON_PRACTICE,), change=("three resistors in series", "resistors of 2 W"),
        detail=f"Each is one of 1 W, made for at least {show(mains.crest / 2.0, 'V')}: two, so that one that fails short leaves the other.",
        covers_not="surges, and a resistor of a kind that fails short")
