"""How long a capacitor across the mains stays charged after the mains is gone.

Answers: does the interference capacitor at the controller's supply need a bleeder, and which.
The regulator capacitors of a fan have bleeders of their own. Left out: what else discharges it,
and what one of the two resistors in series bears alone when the other is bridged.
"""

from functools import partial
from math import exp, log

from pattress.finding import Figure, Finding, Input, Sense, Source, Verdict
from pattress.job.model import Job
from pattress.quantity import show
from pattress.sizing.mains import Mains, mains_of
from pattress.sizing.ranges import not_negative, positive
from pattress.stock.parts import Part, Parts
from pattress.stock.preferred import value_below

TOUCH_VOLTAGE, TOUCH_TIME = 34.0, 1.0      # V after s
EXEMPT = 0.1e-6                            # F
PIECES = 2                                 # in series, so that each bears half of the voltage (common practice, no source)
RULE = Source("IEC 60335-1, 22.5, Japanese summary of clause 22", "34 V after 1 s; up to 0.1 uF exempt")
CAPACITOR_TOLERANCE, BLEEDER_TOLERANCE = 0.20, 0.05


def largest_bleeder(*, capacitance: float, crest: float, left: float = TOUCH_VOLTAGE, time: float = TOUCH_TIME,
                    capacitor_tolerance: float = 0.0, bleeder_tolerance: float = 0.0) -> float:
    """Return the largest nominal bleeder [ohm] that brings a capacitor from `crest` to `left` [V] in `time` [s].

    R = t / (C ln(V0 / V)), with both parts at their upper tolerance. Raises ValueError when a
    quantity is not above zero or `left` not below `crest`.
    """
    positive(capacitance=capacitance, crest=crest, left=left, time=time)
    not_negative(capacitor_tolerance=capacitor_tolerance, bleeder_tolerance=bleeder_tolerance)
    if left >= crest:
        raise ValueError(f"left must be below crest, found {left!r}")
    return time / (capacitance * (1.0 + capacitor_tolerance) * log(crest / left)) / (1.0 + bleeder_tolerance)


def voltage_left(*, start: float, time: float, resistance: float, capacitance: float) -> float:
    """Return the voltage on a capacitor [V] after bleeding for a time [s]."""
    not_negative(start=start, time=time)
    positive(resistance=resistance, capacitance=capacitance)
    return start * exp(-time / (resistance * capacitance))


def bleeder_loss(*, voltage: float, resistance: float) -> float:
    """Return what a bleeder across the mains loses for ever [W]."""
    not_negative(voltage=voltage)
    positive(resistance=resistance)
    return voltage**2 / resistance


def interference_capacitor(parts: Parts) -> Part | None:
    """Return the capacitor across the mains at the supply: the largest X2 of the stock, None without any."""
    return max((part for part in parts.of("capacitor") if part.word("class") == "X2"), key=lambda part: part.value("capacitance"), default=None)


def bleeder_piece(capacitance: float, mains: Mains) -> float:
    """Return each of the `PIECES` equal resistors in series [ohm], from E24, that empty a capacitor [F] in time."""
    return value_below(largest_bleeder(capacitance=capacitance, crest=mains.crest, capacitor_tolerance=CAPACITOR_TOLERANCE,
                                       bleeder_tolerance=BLEEDER_TOLERANCE) / PIECES, 24)


def findings(job: Job, parts: Parts) -> tuple[Finding, ...]:
    """Return whether the interference capacitor at the supply needs a bleeder."""
    mains = mains_of(job)
    part = interference_capacitor(parts)
    answer = partial(
        Finding, id="discharge.controller", question="Is the capacitor at the supply empty soon after the mains is gone?", subject="board",
        sense=Sense.AT_MOST, corner=f"{mains.at_high}, cut at the crest; capacitor 20 % and bleeder 5 % high",
        formula="R = t / (C ln(V0 / 34 V))", sources=(RULE,), covers_not="capacitors inside the supply module: its maker bled them",
    )
    if part is None:
        return (answer(verdict=Verdict.HOLDS, value=None, limit=None, detail="No interference capacitor is in stock."),)
    capacitance = part.value("capacitance")
    piece = bleeder_piece(capacitance, mains)
    bleeder = PIECES * piece
    left = voltage_left(start=mains.crest, time=TOUCH_TIME, resistance=bleeder * (1.0 + BLEEDER_TOLERANCE),
                        capacitance=capacitance * (1.0 + CAPACITOR_TOLERANCE))
    exempt = capacitance <= EXEMPT * (1 + 1e-9)
    return (answer(
        verdict=Verdict.HOLDS, value=Figure(left, "V"), limit=Figure(TOUCH_VOLTAGE, "V"),
        nominal=Figure(voltage_left(start=mains.voltage * 2**0.5, time=TOUCH_TIME, resistance=bleeder, capacitance=capacitance), "V"),
        inputs=(part.input("capacitance"), Input("bleeder", Figure(bleeder, "ohm"), f"{PIECES} x {show(piece, 'ohm')} of E24, the next below"), *mains.inputs),
        detail=(f"{part.designation} is exempt, being {show(EXEMPT, 'F')} or less; with " if exempt else "With ")
               + f"{PIECES} x {show(piece, 'ohm')} in series across it, it loses {show(bleeder_loss(voltage=mains.high, resistance=bleeder), 'W')}."),)
