"""Refusing numbers that no such quantity can have, in one form of words."""

from math import isfinite


def not_negative(**quantities: float) -> None:
    """Raise ValueError naming the first quantity that is negative or not finite."""
    for name, value in quantities.items():
        if not (isfinite(value) and value >= 0.0):
            raise ValueError(f"{name} must be zero or more and finite, found {value!r}")


def positive(**quantities: float) -> None:
    """Raise ValueError naming the first quantity that is not above zero or not finite."""
    for name, value in quantities.items():
        if not (isfinite(value) and value > 0.0):
            raise ValueError(f"{name} must be above zero and finite, found {value!r}")


def share(**quantities: float) -> None:
    """Raise ValueError naming the first quantity that is not above zero and at most one."""
    for name, value in quantities.items():
        if not 0.0 < value <= 1.0:
            raise ValueError(f"{name} must be above 0 and at most 1, found {value!r}")
