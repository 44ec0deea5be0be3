"""Parts that stray further from what is printed on them, or less: for asking what hangs on that."""

from dataclasses import replace
from math import isfinite

from pattress.stock.parts import Part, Parts

TOLERANCES = ("tolerance", "coil_tolerance", "output_tolerance")      # shares of what is printed


def straying(parts: Parts, times: float) -> Parts:
    """Return the parts with every tolerance of theirs so many times as large; an unknown one stays unknown.

    Raises ValueError where `times` is negative or not finite.
    """
    if not (isfinite(times) and times >= 0.0):
        raise ValueError(f"times must be zero or more and finite, found {times!r}")
    return Parts({name: _straying(part, times) for name, part in parts.by_designation.items()})


def _straying(part: Part, times: float) -> Part:
    figures = {name: replace(rating, value=rating.number * times, at=f"{rating.at}, taken {times:g} times".lstrip(", "))
               for name, rating in part.figures.items() if name in TOLERANCES and rating.number is not None}
    return replace(part, figures={**part.figures, **figures}) if figures else part
