"""Copper conductors: resistance, current-carrying capacity and the factors on it (`conductors.toml`).

Sections are in square metres, as everywhere; the tables are in mm². Sections between those of a
table (wire gauges) are interpolated on logarithmic axes.
"""

from functools import cache

from pattress.finding import Source
from pattress.quantity import parse
from pattress.stock.between import first_at_least, on_logs, straight
from pattress.stock.shipped import table

MM2 = 1e-6
ANNEALED = 58e6                      # S/m of copper at 20 degC
COLDEST = 5.0                        # degC of a conductor in a home
COLDEST_COPPER = 230.0               # degC below which the resistance line of IEC 60228 meets zero, sign reversed


@cache
def _column(name: str, row: str) -> dict[float, float]:
    return {float(key): float(value) for key, value in table("conductors")[name][row].items()}


def sections() -> tuple[float, ...]:
    """Return the standard sections [m2], smallest first."""
    return tuple(section * MM2 for section in _column("resistance", "solid"))


def resistance_per_metre(*, section: float, kind: str = "solid", temperature: float = 20.0) -> float:
    """Return the largest resistance of one conductor [ohm/m].

    `section` [m2]; `kind` "solid" or "flexible"; `temperature` of the conductor [degC], 5 to 100.

    Source: IEC 60228 maximum values at 20 degC; R(t) = R(20) (230 + t)/250 fits its correction factors.
    """
    if not 5.0 <= temperature <= 100.0:
        raise ValueError(f"temperature must be 5 to 100 degC, found {temperature!r}")
    cold = {area: ohms * area for area, ohms in _column("resistance", kind).items()}
    area = section / MM2
    return straight(cold, area) / area * 1e-3 * (COLDEST_COPPER + temperature) / (COLDEST_COPPER + 20.0)


def least_resistance_per_metre(*, section: float) -> float:
    """Return the least resistance of one conductor [ohm/m], which lets the most fault current flow.

    Annealed copper of 58 MS/m on the whole of its nominal section [m2], at 5 degC, the coldest of
    the line of IEC 60228. The standard's own values are the largest allowed: 12.1 against 10.8
    mohm/m for 1.5 mm2.

    Source: IEC 60028, standard annealed copper (from memory).
    """
    return 1.0 / (ANNEALED * section) * (COLDEST_COPPER + COLDEST) / (COLDEST_COPPER + 20.0)


def resistance_source() -> Source:
    """Return where the resistances were read."""
    return table("conductors").source("resistance")


def ampacity(*, section: float, method: str) -> float:
    """Return the current-carrying capacity [A] of two loaded PVC conductors in 30 degC air.

    `section` [m2]; `method` of laying A1 to C. Below 1 mm² the figure for flexible cords holds.
    """
    area = section / MM2
    column = _column("ampacity", method)
    if area < min(column):
        return on_logs(_column("cord", "current"), area)
    return on_logs(column, area)


def ampacity_source(*, section: float) -> Source:
    """Return where the capacity of that section [m2] was read."""
    area = section / MM2
    if area < 1.0:
        return table("conductors").source("cord")
    return table("conductors").source("ampacity" if 1.5 <= area <= 10.0 else "small")


def air_factor(temperature: float) -> float:
    """Return the factor on capacity for air of that temperature [degC]; 0 where PVC may carry nothing."""
    if temperature >= 70.0:
        return 0.0
    factors = _column("air", "factor") | {70.0: 0.0}
    return straight(factors, temperature)


def grouping_factor(circuits: int) -> float:
    """Return the factor on capacity for that many circuits bunched or enclosed together."""
    factors = _column("grouping", "factor")
    return first_at_least(factors, circuits) or min(factors.values())


def factor_sources() -> tuple[Source, Source]:
    """Return where the factors for air temperature and for grouping come from."""
    return table("conductors").source("air"), table("conductors").source("grouping")


@cache
def drop_constants() -> tuple[float, float]:
    """Return resistivity at service temperature [ohm m] and reactance [ohm/m] of IEC 60364-5-52 annex G."""
    drop = table("conductors")["drop"]
    return drop["resistivity"] * MM2, drop["reactance"]


@cache
def drop_limit(lighting: bool) -> float:
    """Return the allowed voltage drop from the origin to a load, as a share of the nominal voltage."""
    return parse(table("conductors")["drop"]["lighting" if lighting else "other"], "")


def drop_source() -> Source:
    """Return where formula and limits of the voltage drop were read."""
    return table("conductors").source("drop")


def adiabatic_constant() -> tuple[float, Source]:
    """Return k of PVC-insulated copper [A s^0.5 / m2] and its source."""
    conductors = table("conductors")
    return conductors["adiabatic"]["k"] / MM2, conductors.source("adiabatic")
