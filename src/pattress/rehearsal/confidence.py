"""A mean over households with the interval that holds it, by Student's t.

Good for a handful of households as for hundreds: with few the interval is wide, as it must be.
Counts of a year are skewed to the right; how often the interval then holds the true mean is
checked on synthetic households in the tests.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from math import atan, cos, pi, sin, sqrt

CONFIDENCE = 0.95
FINE = 80               # halvings of the bracket of the quantile, to the last bit of a float
WIDEST = 1e6            # the quantile of one degree of freedom at 99.99994 %


@dataclass(frozen=True, slots=True)
class Mean:
    """A mean over households with its confidence interval; `low` and `high` are None for one household."""

    value: float
    low: float | None
    high: float | None


def mean(values: Sequence[float]) -> Mean:
    """Return the mean of values and the interval that holds it with 95 % confidence. Raises ValueError on none."""
    count = len(values)
    if not count:
        raise ValueError("values must be at least one household, found none")
    middle = sum(values) / count
    if count == 1:
        return Mean(middle, None, None)
    spread = sqrt(sum((value - middle) ** 2 for value in values) / (count - 1) / count)
    reach = student_quantile(count - 1, CONFIDENCE) * spread
    return Mean(middle, middle - reach, middle + reach)


@cache
def student_quantile(freedom: int, share: float) -> float:
    """Return t such that this share of Student's distribution lies between -t and t.

    Source: Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.3 and 26.7.4 (from memory).
    """
    low, high = 0.0, WIDEST
    for _ in range(FINE):
        middle = (low + high) / 2
        low, high = (middle, high) if _within(middle, freedom) < share else (low, middle)
    return (low + high) / 2


def _within(reach: float, freedom: int) -> float:
    """Return the share of Student's distribution between -reach and reach: a finite sum for whole degrees of freedom."""
    angle = atan(reach / sqrt(freedom))
    square, term, total = cos(angle) ** 2, 1.0, 0.0
    odd = freedom % 2
    if odd:
        term = cos(angle)
    for step in range(freedom // 2):
        total += term
        term *= square * (2 * step + 1 + odd) / (2 * step + 2 + odd)
    return (2 / pi) * (angle + sin(angle) * total) if odd else sin(angle) * total
