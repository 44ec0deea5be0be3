"""Preferred values: the E-series in which resistors and capacitors are made.

E3 to E24 are given to two figures, E48 to E192 to three; the values are 10^(i/n) rounded, with
the historical departures that the standard keeps.

Source: IEC 60063 (list from memory; departures from plain rounding worked out from it).
"""

from bisect import bisect_left, bisect_right
from functools import cache
from math import floor, isfinite, log10

SERIES = (3, 6, 12, 24, 48, 96, 192)
_DEPARTURES = {26: 27, 29: 30, 32: 33, 35: 36, 38: 39, 42: 43, 46: 47, 83: 82, 919: 920}


@cache
def decade(series: int) -> tuple[int, ...]:
    """Return the values of one decade as whole numbers: 10 to 91 for E24, 100 to 988 for E192.

    Raises ValueError when there is no such series.
    """
    if series not in SERIES:
        raise ValueError(f"series must be one of {', '.join(map(str, SERIES))}, found {series!r}")
    digits = 10 if series <= 24 else 100
    rounded = (round(digits * 10 ** (i / series)) for i in range(series))
    return tuple(_DEPARTURES.get(value, value) for value in rounded)


def value_below(value: float, series: int = 24) -> float:
    """Return the largest preferred value that is at most `value`. Raises ValueError unless it is above zero."""
    around = _around(value, series)
    return around[bisect_right(around, value * (1 + 1e-9)) - 1]


def value_above(value: float, series: int = 24) -> float:
    """Return the smallest preferred value that is at least `value`. Raises ValueError unless it is above zero."""
    around = _around(value, series)
    return around[bisect_left(around, value * (1 - 1e-9))]


def nearest_value(value: float, series: int = 24) -> float:
    """Return the preferred value nearest to `value` in proportion. Raises ValueError unless it is above zero."""
    below, above = value_below(value, series), value_above(value, series)
    return below if value / below <= above / value else above


def _around(value: float, series: int) -> list[float]:
    """Return the preferred values of the decade of `value` and of its neighbours, ascending."""
    if not (isfinite(value) and value > 0):
        raise ValueError(f"value must be above zero and finite, found {value!r}")
    figures = 1 if series <= 24 else 2
    power = floor(log10(value)) - figures
    return [float(f"{number}e{power + step}") for step in (-1, 0, 1) for number in decade(series)]
