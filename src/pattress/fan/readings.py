"""Whether the readings of a running fan agree with one another, and which figure does not.

Answers: is there a slip of pen or meter among these readings, in which one, and what would agree? Every figure is
compared with what the fit to all else foretells (`fit.Compared`). The one that lies furthest off, beyond `limit`, is
left out, the motor is fitted anew, and so on; what agrees after all is taken in again. A figure that cannot be,
whatever the motor, is named and left out from the start.

Source: data snooping (W. Baarda, 1968), as the page "Data-snooping" of the manual of the survey program Gemini Terrain
describes it: one figure a round, the largest standardised residual first, then the figures left out tried again.
"""
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf, log, sqrt
from statistics import NormalDist
from typing import Any

from pattress.fan.fit import Compared, Fit, fit_motor
from pattress.fan.motor import RADIANS_PER_SECOND
from pattress.fan.unknowns import MOST_FACTOR, Reading, deviation_of_limits
from pattress.job.model import MEASURED, UNKNOWN, Fan, FanMeasured, FanReading
from pattress.quantity import show

FALSE_ALARM = 0.001          # of fans whose every figure is right, the share in which one is named all the same: Baarda's (from memory)
MOST_LEFT_OUT = 3            # one figure in so many may be left out before nothing is known about which are right
WIDEST_TOLERANCE = 0.10      # of a capacitor of which nobody knows: letter K, cheap parts (common practice, no source)
LEAST_ERROR = 1e-4           # of a capacitance, as a share: no meter shows more
UNITS = {"speed": "rpm", "power": "W", "apparent_power": "VA"}


@dataclass(frozen=True, kw_only=True)
class Disagreement:
    """One reading that does not agree, in words: what was read, and what would."""

    reading: int                             # place among the readings, from 0
    quantity: str                            # of it that disagrees
    words: str
    beside: int | None = None                # the reading that it is at odds with, where it is one


@dataclass(frozen=True, kw_only=True)
class Judged:
    """The motor that agrees with most figures, and what disagrees with it."""

    readings: tuple[Reading, ...]
    fit: Fit
    disagreements: tuple[Disagreement, ...]
    furthest: float                          # largest deviation of any figure from what all else foretells [standard deviations]
    limit: float                             # from which on a figure disagrees


def limit(count: int) -> float:
    """Return how many standard deviations one of `count` figures may lie off before it disagrees.

    Two-sided, so that of fans whose every figure is right the share `FALSE_ALARM` has one named:
    1 - (1 - p)^count = FALSE_ALARM for the p of one figure (Sidak, from memory). 3.3 for one figure, 4.0 for fifteen.
    """
    one = 1.0 - (1.0 - FALSE_ALARM) ** (1.0 / count)
    return NormalDist().inv_cdf(1.0 - one / 2.0)


def readings_of(fan: Fan) -> tuple[Reading, ...]:
    """Return what was measured at the running fan; power and apparent power that cannot both be are left out."""
    return tuple(_reading(reading, fan.measured) for reading in fan.measured.readings)


def _reading(reading: FanReading, measured: FanMeasured) -> Reading:
    apart = _more_than_all(reading)
    power, apparent = (None if apart or read == UNKNOWN else read for read in (reading.power, reading.apparent_power))
    tolerance = reading.capacitor_tolerance
    limits = measured.capacitance_meter if tolerance == MEASURED else WIDEST_TOLERANCE if tolerance == UNKNOWN else tolerance
    return Reading(
        supply=reading.mains, capacitance=inf if reading.capacitor == "none" else reading.capacitor,
        capacitance_error=max(deviation_of_limits(limits), LEAST_ERROR), power=power, apparent_power=apparent,
        speed=None if reading.speed == UNKNOWN else reading.speed * RADIANS_PER_SECOND,
    )


def judge_readings(*, readings: Sequence[Reading], **known: Any) -> Judged:
    """Return the fit to the `readings` that agree; `known` is what else `fit_motor` takes."""
    readings = tuple(readings)

    def fit_without(left_out: frozenset[tuple[int, str]]) -> Fit:
        return fit_motor(readings=readings, left_out=left_out, **known)

    fit = fit_without(frozenset())
    if not fit.compared:
        return Judged(readings=readings, fit=fit, disagreements=(), furthest=0.0, limit=inf)
    most, allowed = max(1, len(fit.compared) // MOST_LEFT_OUT), limit(len(fit.compared))
    left_out: frozenset[tuple[int, str]] = frozenset()
    while abs(_furthest(fit).deviation) > allowed and len(left_out) < most:
        left_out |= {_place(_furthest(fit))}
        fit = fit_without(left_out)
    for compared in sorted(_apart(fit), key=lambda one: abs(one.deviation)):
        if len(left_out) == 1:           # the last one is what disagrees
            break
        trial = fit_without(left_out - {_place(compared)})
        if abs(_furthest(trial).deviation) <= allowed:
            fit, left_out = trial, left_out - {_place(compared)}
    exchanged = _exchanged(fit, readings, known)
    if exchanged:
        left_out = frozenset(exchanged)
        fit = fit_without(left_out)
    if abs(_furthest(fit).deviation) > allowed:      # still: nothing tells which are right, so all are trusted less
        fit = replace(fit, covariance=fit.covariance * max(1.0, fit.misfit ** 2))
    named = [one for one in fit.compared if not one.used or abs(one.deviation) > allowed]
    return Judged(readings=readings, fit=fit, limit=allowed, furthest=max(abs(one.deviation) for one in fit.compared),
                  disagreements=tuple(Disagreement(reading=one.reading, quantity=one.quantity, words=_words(one, readings, exchanged)) for one in named))


def impossible(fan: Fan, synchronous: float) -> tuple[Disagreement, ...]:
    """Return the readings that cannot be, whatever the motor; `synchronous` is the speed of its field [rad/s]."""
    found = []
    for place, reading in enumerate(fan.measured.readings):
        name = called(place, reading.capacitor)
        power, apparent = reading.power, reading.apparent_power
        if power != UNKNOWN and apparent != UNKNOWN and _more_than_all(reading):
            found.append(Disagreement(reading=place, quantity="power", words=f"{name} has {show(power, 'W')}, more than its "
                                      f"{show(apparent, 'VA')}: one of the two is wrong, neither is used"))
        if reading.speed != UNKNOWN and reading.speed * RADIANS_PER_SECOND >= synchronous:
            found.append(Disagreement(reading=place, quantity="speed", words=f"{name} has {show(reading.speed, 'rpm')}, but the field turns at "
                                      f"{synchronous / RADIANS_PER_SECOND:.1f} rpm and the motor stays below"))
    return tuple(found)


def too_fast(fan: Fan) -> tuple[Disagreement, ...]:
    """Return the readings behind a capacitor that are faster than one straight through on mains no lower.

    A sound fan is slower behind any capacitor (see `network`); two readings of the same speed may differ by the
    counting of turns, one revolution a minute each.
    """
    found = []
    slack = limit(1) * sqrt(2.0)             # rpm
    direct = [(place, each.mains, each.speed) for place, each in enumerate(fan.measured.readings) if each.capacitor == "none" and each.speed != UNKNOWN]
    for place, reading in enumerate(fan.measured.readings):
        speed = reading.speed
        if reading.capacitor == "none" or speed == UNKNOWN:
            continue
        for other, mains, full in direct:
            if mains >= reading.mains and speed > full + slack:
                found.append(Disagreement(
                    reading=place, quantity="speed", beside=other, words=f"{called(place, reading.capacitor)} is faster than reading {other + 1}, "
                    f"straight through: {show(speed, 'rpm')} and {show(full, 'rpm')}"))
    return tuple(found)


def called(place: int, capacitor: float | str) -> str:
    """Return what a reading is called: its number from 1, and what stood before the fan."""
    before = "straight through" if isinstance(capacitor, str) or capacitor == inf else f"behind {show(capacitor, 'F')}"
    return f"reading {place + 1} ({before})"


def shown(quantity: str, value: float) -> str:
    """Return a figure of a reading with its unit."""
    return show(value / RADIANS_PER_SECOND if quantity == "speed" else value, UNITS[quantity])


def _more_than_all(reading: FanReading) -> bool:
    power, apparent = reading.power, reading.apparent_power
    return power != UNKNOWN and apparent != UNKNOWN and power > MOST_FACTOR * apparent


def _place(compared: Compared) -> tuple[int, str]:
    return compared.reading, compared.quantity


def _apart(fit: Fit) -> list[Compared]:
    return [one for one in fit.compared if not one.used]


def _furthest(fit: Fit) -> Compared:
    return max((one for one in fit.compared if one.used), key=lambda one: abs(one.deviation))


def _exchanged(fit: Fit, readings: tuple[Reading, ...], known: Mapping[str, Any]) -> dict[tuple[int, str], int]:
    """Return a pair of figures with which all agrees once they change places, each with the other's reading; {} if there is none.

    All agrees when the fit to all figures, these two exchanged, costs no more than the fit without those left out and two
    figures more may: chi-square of two degrees of freedom, exceeded in a share p beyond -2 ln p (closed form). Speed, W and VA rise with the capacitor, so only an exchange that brings them nearer to that order is tried.
    """
    for one in _apart(fit):
        for other in fit.compared:
            if one.quantity == other.quantity and one.reading != other.reading:
                try:
                    changed = _with(_with(readings, one, other.read), other, one.read)
                except ValueError:               # more W than VA: these two were not exchanged
                    continue
                if _out_of_order(changed, one.quantity) >= _out_of_order(readings, one.quantity):
                    continue
                if fit_motor(readings=changed, **known).cost <= fit.cost - 2.0 * log(FALSE_ALARM):
                    return {_place(one): other.reading, _place(other): one.reading}
    return {}


def _with(readings: tuple[Reading, ...], place: Compared, value: float) -> tuple[Reading, ...]:
    """Return the readings with another value in one place."""
    changed: dict[str, Any] = {place.quantity: value}
    return tuple(replace(reading, **changed) if number == place.reading else reading for number, reading in enumerate(readings))


def _out_of_order(readings: tuple[Reading, ...], quantity: str) -> int:
    """Return how many pairs of readings have more of a quantity behind the smaller capacitor."""
    known = [(reading.capacitance, value) for reading in readings if (value := getattr(reading, quantity)) is not None]
    return sum(small < large and more > less for small, more in known for large, less in known)


def _words(compared: Compared, readings: tuple[Reading, ...], exchanged: dict[tuple[int, str], int]) -> str:
    reading = readings[compared.reading]
    read, fitted = (shown(compared.quantity, value) for value in (compared.read, compared.fitted))
    gives = f"where the rest gives {fitted}" if compared.fitted > 0.0 else "where by the rest it stands still"
    words = f"{called(compared.reading, reading.capacitance)} has {read} {gives}"
    other = exchanged.get(_place(compared))
    return words if other is None else f"{words}, as reading {other + 1} has: they look exchanged"
