"""What a person wrote as a quantity, read into a float.

Errors, all with what was found, what is allowed and the nearest::

    Refusal
      QuantityError        the text is no quantity of the wanted kind
        NotAQuantity       no number, no unit, or a number that can be read two ways
        WrongUnit          a unit that does not exist or measures something else
        OutOfRange         a quantity of the right kind outside its bounds
"""

import re
from functools import cache
from math import isfinite

from pattress.quantity.showing import show
from pattress.quantity.units import PREFIXES, SPELLINGS, Unit, kind_of
from pattress.refusal import Refusal, as_found

LONGEST = 60                                   # characters; no quantity needs more
TRADE_LETTERS = {"F": "pnum", "H": "num", "ohm": "RmkM", "V": "V"}   # in place of the decimal point: "2u2", "4k7", "3V3"

_SAME = str.maketrans({
    "µ": "u", "μ": "u", "Ω": "ohm", "\u2126": "ohm", "²": "2", "³": "3", "⁻": "-", "¹": "1", "℃": "degC", "−": "-", "·": "*", "×": "*",
    "\u00a0": " ", "\u2009": " ", "\u202f": " ",
})
_NUMBER = r"[+-]?(?:[0-9]{1,3}(?: [0-9]{3})+|[0-9]+)(?:[.,][0-9]+)?|[+-]?[.,][0-9]+"
_QUANTITY = re.compile(rf"({_NUMBER})(?:[eE]([+-]?[0-9]{{1,3}}))?\s*(.*)")
_TRADE = re.compile(r"([0-9]+)([pnumkMRV])([0-9]*)")
_POWER_MARK = re.compile(r"(?:\^|\*\*)(?=[0-9])")
_GAUGE = re.compile(r"(?:AWG ?#?([0-9]{1,2})|#?([0-9]{1,2}) ?AWG)", re.IGNORECASE)
_TWO_WAYS = re.compile(r"[+-]?[1-9][0-9]{0,2}(?:,[0-9]{3}|\.[0-9]{2}0)")     # "1.500 W" is 1500 W to half of Europe


class QuantityError(Refusal):
    """A text is no quantity of the wanted kind. Usual cause: a missing or mistyped unit."""


class NotAQuantity(QuantityError):
    """There is no number, no unit, or the number can be read two ways."""


class WrongUnit(QuantityError):
    """The unit does not exist or measures something else. Usual cause: two fields swapped."""


class OutOfRange(QuantityError):
    """The quantity is outside what the field takes. Usual cause: a wrong prefix, "75 kW" for "75 W"."""


def parse(
    found: object,
    unit: str,
    *,
    above: float | None = None,
    least: float | None = None,
    most: float | None = None,
) -> float:
    """Return what was written as a float in the base unit of `unit`.

    Parameters
    ----------
    found : object
        Text such as "75 W", "2u2", "2.2 µF", "0,75 mm²", "4k7", "3 min", "10 %", "14 AWG". A share
        (unit "") may also be a plain number.
    unit : str
        The unit of the field: "V", "A", "m2", "s", "degC", "rpm", "" ... or a compound one, "ohm/m".
        "mm2" and "m2" both give square metres.
    above, least, most : float, optional
        Bounds in the base unit: greater than, at least, at most.

    Raises
    ------
    QuantityError
        It is no such quantity, or outside the bounds; the text says what was found and allowed.
    """
    allowed = allowed_words(unit, above=above, least=least, most=most)
    value = _value(found, unit, allowed)
    if not isfinite(value):
        raise OutOfRange(f"{as_found(found)}, more than can be reckoned with", allowed)
    too_low = (above is not None and value <= above) or (least is not None and value < least)
    if too_low or (most is not None and value > most):
        raise OutOfRange(as_found(found), allowed)
    return value


@cache
def allowed_words(
    unit: str, *, above: float | None = None, least: float | None = None, most: float | None = None
) -> str:
    """Return in words what `parse` takes: 'a power such as "75 W", above 0 W, at most 20 kW'; the example is a small one where the usual is too much."""
    kind = kind_of(unit)
    bounds = "".join(
        f", {word} {show(bound, _shown(unit))}"
        for word, bound in (("above", above), ("at least", least), ("at most", most))
        if bound is not None
    )
    too_much = most is not None and kind.small and parse(kind.example, unit) > most
    return f'{kind.name} such as "{kind.small if too_much else kind.example}"{bounds}'


def _shown(unit: str) -> str:
    return unit or "%"


def _value(found: object, unit: str, allowed: str) -> float:
    if isinstance(found, (int, float)) and not isinstance(found, bool):
        if not unit:
            return _as_float(found, allowed)
        raise NotAQuantity(f"{as_found(found)}, a number without a unit", allowed)
    if not isinstance(found, str):
        raise NotAQuantity(as_found(found), allowed)
    text = found.translate(_SAME).strip()
    if len(text) > LONGEST:
        raise NotAQuantity(as_found(found), allowed)
    base = SPELLINGS[unit].base if unit in SPELLINGS else unit
    if (value := _trade(text, base)) is not None:
        return value
    if base == "m2" and (gauge := _GAUGE.fullmatch(text)):
        return _gauge_section(int(gauge[1] or gauge[2]))
    match = _QUANTITY.fullmatch(text)
    if match is None:
        raise NotAQuantity(as_found(found), allowed)
    number, power, written = match[1].replace(" ", ""), int(match[2] or 0), match[3].strip()
    if not written and base:
        raise NotAQuantity(f"{as_found(found)}, a number without a unit", allowed)
    readings = _readings(number, f"e{power}" if power else "")
    measured = _unit(readings, written, base, as_found(found), allowed)
    if len(readings) > 1:
        mark = "comma" if "," in number else "point"
        raise NotAQuantity(f"{as_found(found)}, where the {mark} may mark thousands or decimals", allowed, _either(readings, (written,)))
    return float(f"{number.replace(',', '.')}e{power + measured.exponent}") * measured.factor


def _readings(number: str, power: str) -> tuple[str, ...]:
    """Return the number as it is written, or the two that it may be: with a mark of thousands, and of decimals."""
    if not _TWO_WAYS.fullmatch(number):
        return (number + power,)
    return re.sub("[,.]", "", number) + power, f"{float(number.replace(',', '.')):g}{power}"


def _either(numbers: tuple[str, ...], units: tuple[str, ...]) -> str:
    """Return every quantity that may be meant, "1500 W or 1.5 W"; "" where no unit may."""
    return " or ".join(f"{number} {unit}".rstrip() for unit in units for number in numbers)


def _as_float(number: int | float, allowed: str) -> float:
    try:
        return float(number)
    except OverflowError:
        raise OutOfRange(as_found(number), allowed) from None


def _trade(text: str, base: str) -> float | None:
    """Return the value of "2u2", "4k7", "R47", "100n", "3V3" with or without the unit; else None.

    Source: IEC 60062, letter and digit code for resistance and capacitance values (from memory).
    """
    short = text.removesuffix(base).rstrip()
    match = _TRADE.fullmatch(f"0{short}" if short.startswith("R") else short)
    if match is None or match[2] not in TRADE_LETTERS.get(base, ""):
        return None
    return float(f"{match[1]}.{match[3] or 0}e{PREFIXES.get(match[2], 0)}")


def _gauge_section(gauge: int) -> float:
    """Return the copper section of an American wire gauge [m2].

    Source: ASTM B258, diameter 0.127 mm x 92^((36 - gauge) / 39) (from memory).
    """
    diameter: float = 0.127e-3 * 92.0 ** ((36 - gauge) / 39)
    return 3.141592653589793 / 4 * diameter**2


def _unit(readings: tuple[str, ...], written: str, base: str, found: str, allowed: str) -> Unit:
    """Return the unit that `written` names, which must measure what `base` measures; `readings` are the number before it."""
    spelt = " ".join(_POWER_MARK.sub("", written.replace("°", "deg")).split())
    if base in ("degC", "K") and spelt in ("C", "deg C", "degrees C"):
        spelt = "degC"
    if base == "degC" and spelt == "degF":
        raise WrongUnit(f"{found}, in Fahrenheit", allowed)
    unit = SPELLINGS.get(spelt) if spelt else Unit("")
    if unit is None:
        same = [name for name, other in SPELLINGS.items() if other.base == base and name.casefold() == spelt.casefold()]
        unit = SPELLINGS[same[0]] if len(same) == 1 else _compound(spelt, base)
    if unit is None:
        from pattress.quantity.slips import meant

        raise WrongUnit(f"{found}, whose unit is not known here", allowed, _either(readings, meant(spelt, base)))
    if unit.base == "degC" and base == "K":
        return Unit("K")
    if unit.base != base:
        raise WrongUnit(f"{found}, {kind_of(unit.base).name if unit.base else 'without a unit'}", allowed)
    return unit


def _compound(spelt: str, base: str) -> Unit | None:
    """Return a product or quotient of units ("ohm/km") that measures what `base` measures."""
    if not re.search(r"[ */0-9]", spelt):
        return None
    from pattress.quantity.compound import factor_between

    factor = factor_between(spelt, base)
    return None if factor is None else Unit(base, 0, factor)
