"""A float in SI units as people write it: "2.2 uF", "1.5 mm²", "6.97 V", "10 %"."""

import re
from math import floor, isfinite, isnan, log10

from pattress.quantity.units import PREFIXES, SPELLINGS

# Prefixes a quantity is shown with, smallest first; "" is the unit alone.
_STEPS = {
    "V": ("m", "", "k"), "A": ("u", "m", "", "k"), "W": ("m", "", "k"), "VA": ("", "k"),
    "ohm": ("m", "", "k", "M"), "F": ("p", "n", "u"), "H": ("u", "m", ""), "Hz": ("", "k", "M"),
    "J": ("m", "", "k"), "N": ("m", "", "k"), "m": ("u", "m", "", "k"),
}
# A space between digits and a unit, and one around the x of "4 x 9 W": no line begins behind it.
_UNIT = r"(?:[pnumckM]?(?:VA|V|A|W|ohm|F|Hz|H|J|N|m|s)|c?m2|c?m\u00b2|mm2|mm\u00b2|min|h|degC|rpm|%)(?![\w\u00b2])"
_WITHIN = re.compile(rf"(?<=\d) (?={_UNIT}|x \d)|(?<=\d x) (?=\d)")
NO_BREAK = "\u00a0"
_LONG_TIME = (("h", 3600.0), ("min", 60.0))
_SHORT_TIME = ("n", "u", "m", "")


def show(value: float, unit: str, figures: int = 3) -> str:
    """Return a value with its unit, to that many figures at least for the digits before the point.

    Parameters
    ----------
    value : float
        In the base unit of `unit`: 1.5e-6 with "mm2" is 1.5 mm².
    unit : str
        A base unit ("F", "m2", "s") gets the fitting prefix; any other ("mm2", "%", "ms") is kept;
        a compound one ("ohm/m") is taken as it is, its value in SI units.
    figures : int
        Figures kept; digits before the point are never rounded away.

    Raises
    ------
    ValueError
        The value is not a number.
    """
    if isnan(value):
        raise ValueError(f"a value in {unit or 'no unit'} must be a number, found {value!r}")
    if not isfinite(value):
        return f"{'minus ' if value < 0 else ''}infinite {unit}".rstrip()
    text, shown = _scaled(value, unit, figures)
    return f"{text} {_printed(shown)}".rstrip()


def in_unit(value: float, unit: str) -> float:
    """Return a value in SI units as a number of `unit`: 1.5e-6 in "mm2" is 1.5. A compound unit is taken as it is."""
    written = SPELLINGS.get(unit)
    return value if written is None else value / written.factor / 10.0**written.exponent


def unbroken(words: str) -> str:
    """Return words in which no line begins between a number and its unit: that space is `NO_BREAK`."""
    return _WITHIN.sub(NO_BREAK, words)


def _scaled(value: float, unit: str, figures: int) -> tuple[str, str]:
    """Return the digits and the unit they are in."""
    if unit == "s":
        for name, factor in _LONG_TIME:
            if abs(value) >= 2 * factor:
                return _digits(value / factor, figures), name
        return _with_prefix(value, unit, _SHORT_TIME, figures)
    if unit == "m2":
        return _scaled(value, "mm2" if 0 < abs(value) < 0.01 else "m²", figures)
    if unit in _STEPS:
        return _with_prefix(value, unit, _STEPS[unit], figures)
    return _digits(in_unit(value, unit), figures), unit


def _with_prefix(value: float, unit: str, prefixes: tuple[str, ...], figures: int) -> tuple[str, str]:
    """Return digits and prefixed unit, the smallest prefix that keeps the rounded number below a thousand."""
    if not value:
        return "0", unit
    for prefix in prefixes:
        digits = _digits(value / 10.0 ** PREFIXES.get(prefix, 0), figures)
        if abs(float(digits)) < 1000:
            break
    return digits, prefix + unit


def _digits(number: float, figures: int) -> str:
    if not number:
        return "0"
    size = floor(log10(abs(number)))
    if not -5 <= size <= 15:
        return f"{number:.{figures - 1}e}"
    decimals = max(0, figures - 1 - size)
    text = f"{number:.{decimals}f}"
    return (text.rstrip("0").rstrip(".") if "." in text else text) or "0"


def _printed(unit: str) -> str:
    return unit[:-1] + "²" if unit in ("m2", "cm2", "mm2") else unit
