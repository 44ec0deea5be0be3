"""What many household-years say: means with their confidence, endurance used up, energy, nuisances.

A figure is reckoned for each household; printed are the mean over households and its confidence
interval. Operations are cycles, closed and opened again, as sizing counts them (`years_of_life`),
so the closings of a relay are its operations.
"""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from math import inf

from pattress.rehearsal.confidence import Mean, mean
from pattress.rehearsal.habits import DAYS_A_YEAR
from pattress.rehearsal.year import Year

TENTH = 0.1
SHAPES = (1.0, 4.0)     # of a Weibull distribution: failures at random, and wear alone (from memory)
FINE = 200              # halvings of the bracket of a life
HOUR_MS = 3.6e6


def per_year(years: Sequence[Year], count: Callable[[Year], float]) -> Mean:
    """Return a count of each household, for a year of 365 days; no count is below nought, nor is its interval."""
    found = mean([count(year) * DAYS_A_YEAR / year.days for year in years])
    return found if found.low is None else Mean(found.value, max(0.0, found.low), found.high)


def years_until(endurance: float, a_year: Mean) -> Mean:
    """Return how many years an endurance lasts at so many a year; the ends of the interval change places."""
    def over(count: float) -> float:
        return endurance / count if count > 0 else inf

    low, high = (None if count is None else over(count) for count in (a_year.high, a_year.low))
    return Mean(over(a_year.value), low, high)


def years_to_b10(endurance: float, a_year: Sequence[float], *, shape: float) -> float:
    """Return the years until one relay in ten of all these homes has failed; infinite when none is ever switched.

    `endurance` is taken as B10, the cycles by which one in ten has failed under the same use, and
    life as Weibull distributed over cycles with this shape. Homes differ: those that switch most
    fail first, so it is less than the endurance over the mean. Raises ValueError on a shape or endurance of nought.

    Source: IEC 61810-2:2011, scope, read in its publisher's summary: relays wear, so cycles to failure are
    typically Weibull distributed. That the sheet's endurance is B10 is common practice, no source.
    """
    if not (endurance > 0 and shape > 0):
        raise ValueError(f"endurance and shape must be above 0, found {endurance!r} and {shape!r}")
    if not any(a_year):
        return inf

    def failed(years: float) -> float:
        return float(sum(1 - (1 - TENTH) ** ((count * years / endurance) ** shape) for count in a_year) / len(a_year))

    low, high = 0.0, endurance / max(a_year)
    while failed(high) < TENTH:
        low, high = high, 2 * high
        if high > endurance * 1e6:
            return inf          # fewer than one home in ten ever switches it
    for _ in range(FINE):
        middle = (low + high) / 2
        low, high = (middle, high) if failed(middle) < TENTH else (low, middle)
    return high


def energy(years: Sequence[Year], channel: int, power: float) -> Mean:
    """Return the energy that a channel's load takes in a year of 365 days [kWh], at its power whenever it is on [W]."""
    return per_year(years, lambda year: year.time_on[channel] / HOUR_MS * power / 1000)


def percentile(responses: Mapping[int, int], share: float) -> int | None:
    """Return the response that this share of the operations kept [ms], by nearest rank; None if there were none."""
    rank, seen = -int(-share * sum(responses.values()) // 1), 0
    for response, count in sorted(responses.items()):
        seen += count
        if seen >= max(rank, 1):
            return response
    return None


def response(years: Sequence[Year], share: float) -> Mean | None:
    """Return the percentile of each household's wall switches [ms]; None when nobody used one."""
    found = [percentile(year.responses, share) for year in years]
    return mean([value for value in found if value is not None]) if any(value is not None for value in found) else None


def outcomes(years: Sequence[Year]) -> dict[str, Mean]:
    """Return how often a year user actions ended in each way, the most frequent first."""
    total: Counter[str] = Counter()
    for year in years:
        total.update(year.outcomes)
    return {name: per_year(years, partial(_times, name)) for name, _ in total.most_common()}


def _times(outcome: str, year: Year) -> int:
    return year.outcomes.get(outcome, 0)
