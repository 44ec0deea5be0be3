"""Clearance, creepage and insulation resistance as the standards tabulate them (`insulation.toml`)."""

from functools import cache

from pattress.finding import Source
from pattress.quantity import parse
from pattress.stock.between import first_at_least, straight
from pattress.stock.shipped import table

MM = 1e-3


def rated_impulse(*, voltage: float, category: str) -> tuple[float, Source]:
    """Return the rated impulse voltage [V] by line-to-neutral voltage [V r.m.s.] and overvoltage category I to IV."""
    insulation = table("insulation")
    for entry in insulation["impulse"]:
        if voltage <= parse(entry["upto"], "V"):
            return entry["category"][category], insulation.source(entry["source"])
    raise ValueError(f"voltage must be at most 600 V for this table, found {voltage!r}")


@cache
def _clearances() -> dict[float, float]:
    return {float(key): value * MM for key, value in table("insulation")["clearance"]["by_impulse"].items()}


def least_clearance(*, impulse: float, steps_up: int = 0) -> tuple[float, Source]:
    """Return the clearance [m] for a rated impulse voltage [V], or for one `steps_up` rows higher."""
    rows = _clearances()
    index = next((i for i, row in enumerate(rows) if row >= impulse), None)
    if index is None or index + steps_up >= len(rows):
        raise ValueError(f"impulse must be at most 12000 V for this table, found {impulse!r}")
    return list(rows.values())[index + steps_up], table("insulation").source("clearance")


@cache
def _altitudes() -> dict[float, float]:
    return {float(key): value for key, value in table("insulation")["altitude"]["factor"].items()}


def altitude_factor(altitude: float) -> tuple[float, Source]:
    """Return the factor on clearances at that altitude [m], straight between the rows, and its source."""
    return straight(_altitudes(), altitude), table("insulation").source("altitude")


@cache
def _creepages(degree: int, group: str) -> dict[float, float]:
    rows = table("insulation")["creepage"]
    return {float(voltage): value * MM for voltage, value in zip(rows["voltage"], rows[f"PD{degree} {group}"])}


def least_creepage(*, voltage: float, degree: int = 2, group: str = "III") -> tuple[float, Source]:
    """Return the creepage [m] of basic insulation: next row up, by r.m.s. working voltage [V].

    `degree` is the pollution degree (2 or 3), `group` the material group I, II or III.
    """
    found = first_at_least(_creepages(degree, group), voltage)
    if found is None:
        raise ValueError(f"voltage must be at most 400 V for this table, found {voltage!r}")
    return found, table("insulation").source("creepage")


def reinforced_source() -> Source:
    """Return where the rules for reinforced insulation come from."""
    return table("insulation").source("reinforced")


def dead_test(*, voltage: float) -> tuple[float, float, Source]:
    """Return test voltage [V], least insulation resistance [ohm] and source for a circuit of that nominal voltage."""
    insulation = table("insulation")
    for entry in insulation["resistance"]:
        if voltage <= parse(entry["upto"], "V"):
            return parse(entry["test"], "V"), parse(entry["least"], "ohm"), insulation.source(entry["source"])
    raise ValueError(f"voltage must be at most 1000 V for this table, found {voltage!r}")
