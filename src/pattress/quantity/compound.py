"""Compound units, "12.1 ohm/km" or "0.2 kV A": read by pint with a registry of our own.

Importing pint costs more than everything else that `pattress check` does before it starts
reckoning, so only a compound unit comes here; plain ones are in the table of `units`.
"""

import re
from functools import cache
from typing import TYPE_CHECKING

from pattress.quantity.units import PREFIXES, SPELLINGS

if TYPE_CHECKING:
    import pint

LONGEST = 40                  # characters of a unit
_BASES = ("m = [length]", "s = [time]", "A = [current]", "K = [temperature]", "g = [mass]", "turn = []")
_RELATIONS = (
    "N = 1000 * g * m / s ** 2", "J = N * m", "W = J / s", "VA = W", "V = W / A", "ohm = V / A",
    "F = A * s / V", "H = V * s / A", "Hz = 1 / s", "rpm = turn / 60 / s", "percent = 0.01",
)
_SHAPE = re.compile(r"[A-Za-z]+(-?[1-4])?( ?[*/ ] ?[A-Za-z]+(-?[1-4])?)*")
_PART = re.compile(r"([*/ ]*)([A-Za-z]+)(-?[1-4])?")


class _NoUnit(Exception):
    """A text that is no product or quotient of units."""


def factor_between(written: str, unit: str) -> float | None:
    """Return the factor from a written unit to `unit`; None when either is no unit or they differ in kind."""
    import pint

    try:
        registry = _registry()
        return float(registry.Quantity(1.0, _spelt_out(written)).m_as(_spelt_out(unit)))
    except (pint.PintError, _NoUnit):
        return None


@cache
def _registry() -> "pint.UnitRegistry[float]":
    """Return a pint registry that knows the units of our table and nothing else."""
    import pint

    registry: pint.UnitRegistry[float] = pint.UnitRegistry(None)
    for prefix, exponent in PREFIXES.items():
        registry.define(f"{prefix}- = 1e{exponent}")
    for line in _BASES + _RELATIONS:
        registry.define(line)
    known = {line.split()[0] for line in _BASES + _RELATIONS}
    for name, unit in SPELLINGS.items():
        if name.isalpha() and unit.base in known and name not in registry:
            registry.define(f"{name} = {unit.factor * 10.0**unit.exponent!r} * {unit.base}")
    return registry


def _spelt_out(written: str) -> str:
    """Return a unit in pint's spelling: "A2 s" is "A**2*s", "W/m2 K" is "W/m**2*K"."""
    plain = written.replace("%", "percent")
    if len(written) > LONGEST or not _SHAPE.fullmatch(plain):
        raise _NoUnit(written)
    spelt = ""
    for mark, symbol, power in _PART.findall(plain):
        joined = "/" if "/" in mark else "*" if spelt else ""
        spelt += f"{joined}{symbol}{'**' + power if power else ''}"
    return spelt
