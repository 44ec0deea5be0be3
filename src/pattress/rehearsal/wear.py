"""What many household-years say: means with their confidence, and years until rated endurance is used up.

Method: a figure is reckoned for each household; printed are the mean over households and the 95 %
confidence interval of that mean by Student's t, none for a single household. Years of a relay are
the operations of its data sheet over the mean closings a year, and as a range over the ends of
the interval: a straight division, which says nothing of how many of such relays fail by then.
"""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import inf, sqrt

from pattress.rehearsal.habits import DAYS_A_YEAR
from pattress.rehearsal.year import Year

CONFIDENCE = 0.95


@dataclass(frozen=True, slots=True)
class Mean:
    """A mean over households with its confidence interval; `low` and `high` are None for one household."""

    value: float
    low: float | None
    high: float | None


def mean(values: Sequence[float]) -> Mean:
    """Return the mean of values and the interval that holds it with 95 % confidence (Student's t). Raises ValueError on none."""
    count = len(values)
    if not count:
        raise ValueError("values must be at least one household, found none")
    middle = sum(values) / count
    if count == 1:
        return Mean(middle, None, None)
    from scipy.special import stdtrit

    spread = sqrt(sum((value - middle) ** 2 for value in values) / (count - 1) / count)
    reach = float(stdtrit(count - 1, (1 + CONFIDENCE) / 2)) * spread
    return Mean(middle, middle - reach, middle + reach)


def per_year(years: Sequence[Year], count: Callable[[Year], float]) -> Mean:
    """Return a count of each household, for a year of 365 days; no count is below nought, nor is its interval."""
    found = mean([count(year) * DAYS_A_YEAR / year.days for year in years])
    return found if found.low is None else Mean(found.value, max(0.0, found.low), found.high)


def years_until(endurance: float, a_year: Mean) -> Mean:
    """Return how many years an endurance lasts at so many a year; the ends of the interval change places."""
    def over(count: float | None) -> float | None:
        return None if count is None else endurance / count if count > 0 else inf

    return Mean(over(a_year.value), over(a_year.high), over(a_year.low))


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
    """Return how often a year deeds ended in each way, the most frequent first."""
    total = Counter()
    for year in years:
        total.update(year.outcomes)
    return {name: per_year(years, lambda year, name=name: year.outcomes.get(name, 0)) for name, _ in total.most_common()}
