"""Components in short: parts of two pins, and the pin numbers of those with more."""

from functools import cache
from importlib.resources import files
from tomllib import loads
from typing import Any

from pattress.circuit.model import Component, Kind, Pin, Role
from pattress.finding import Figure

FIVE, THREE, GROUND, EARTH = "+5 V", "+3.3 V", "0 V", "PE"


@cache
def pin_numbers() -> dict[str, dict[str, Any]]:
    """Return the pin numbers by part or kind, and what the pin does."""
    return loads(files(__package__).joinpath("pins.toml").read_text("utf-8"))


def numbers_of(part: str, kind: str) -> dict[str, Any]:
    """Return the pin numbers of a part, those of its kind where it has none of its own."""
    return pin_numbers().get(part) or pin_numbers()[kind]


def resistor(designator: str, ohms: float, one: str, two: str, rating: str = "0.125 W", name: str = "") -> Component:
    """Return a resistor [ohm] between two nets."""
    return Component(designator=designator, kind=Kind.RESISTOR, figure=Figure(ohms, "ohm"), pins=(Pin("1", one), Pin("2", two)), rating=rating, name=name)


def capacitor(designator: str, farads: float, one: str, two: str, rating: str = "", part: str = "", name: str = "", *, polar: bool = False) -> Component:
    """Return a capacitor [F] between two nets; the first is plus where it is `polar`."""
    return Component(designator=designator, kind=Kind.CAPACITOR, figure=Figure(farads, "F"), pins=(Pin("1", one), Pin("2", two)), rating=rating, part=part, name=name, polar=polar)


def diode(designator: str, part: str, *, anode: str, cathode: str, rating: str = "", name: str = "") -> Component:
    """Return a diode."""
    return Component(designator=designator, kind=Kind.DIODE, part=part, pins=(Pin("A", anode), Pin("K", cathode)), rating=rating, name=name)


def bleed(numbers: Any, piece: float, pieces: int, one: str, two: str, between: str, rating: str, name: str = "") -> tuple[tuple[Component, ...], tuple[str, ...]]:
    """Return equal resistors in series between two nets, and the names of the nets between them, after `between`."""
    inner = tuple(between if pieces == 2 else f"{between}.{place}" for place in range(1, pieces))
    ends = (one, *inner, two)
    return tuple(resistor(numbers.next(Kind.RESISTOR), piece, ends[place], ends[place + 1], rating, name) for place in range(pieces)), inner


def sided(number: str, net: str, side: int, role: Role = Role.PASSIVE, name: str = "") -> Pin:
    """Return a pin of a component that has two sides."""
    return Pin(number, net, role, name, side)
