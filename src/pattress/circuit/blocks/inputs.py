"""Inputs at extra-low voltage: wall switch or other contact, wall regulator, infra-red receiver with its filter, sensor with its pull-up."""

from collections.abc import Sequence

from pattress.circuit.designators import Numbers
from pattress.circuit.model import Block, Component, Kind, Net, NetKind, Pin, Place, Role
from pattress.circuit.parts import GROUND, THREE, capacitor, resistor
from pattress.plural import counted

FILTER_RESISTOR, FILTER_CAPACITOR = 100.0, 4.7e-6     # before a receiver module: usual in their data sheets (from memory)
SENSOR_CAPACITOR = 100e-9                             # across the supply of a sensor, at the sensor (its sheet)


def contact(wire: str, outside: str, numbers: Numbers, *, series: float, pull_up: float, logic: float) -> tuple[list[Component], list[Net]]:
    """Return what stands between a contact's net `outside` and the board's wire: a resistor in series, and a pull-up at the pin's side."""
    current = logic / (series + pull_up)
    return [resistor(numbers.next(Kind.RESISTOR), series, outside, wire, name="in series"),
            resistor(numbers.next(Kind.RESISTOR), pull_up, THREE, wire, name="pull-up")], [
        Net(wire, NetKind.SIGNAL, logic, current), Net(outside, NetKind.SIGNAL, logic, current)]


def outside_of(section: str, key: str) -> str:
    """Return the net between the cable of a wall switch or another contact, and its resistor in series."""
    return f"contact.{key}" if section == "switch" else f"contact.{section}.{key}"


def single_contact(section: str, key: str, name: str, part: str, designator: str, numbers: Numbers, *, series: float, pull_up: float, logic: float) -> Block:
    """Return one contact in the home, of a wall switch or another, which pulls the wire `SECTION.KEY` to 0 V."""
    wire, outside = f"{section}.{key}", outside_of(section, key)
    parts, nets = contact(wire, outside, numbers, series=series, pull_up=pull_up, logic=logic)
    device = Component(designator=designator, kind=Kind.SWITCH if section == "switch" else Kind.CONTACT, part=part, name=name, place=Place.FIELD, pins=(Pin("1", outside, Role.SINK), Pin("2", GROUND, Role.FED)))
    return Block(wire, (*parts, device), tuple(nets), (f"sensing.{section}_{key}", f"wetting.{section}_{key}"))


def wall_regulator(key: str, name: str, designator: str, numbers: Sequence[Numbers], *, series: float, pull_up: float, logic: float) -> Block:
    """Return a wall regulator, each of whose contacts, one for each of the `numbers`, pulls a wire of its own to 0 V."""
    parts, nets, pins = [], [], []
    for place, group in enumerate(numbers, 1):
        outside = f"contact.{key}.{place}"
        more, others = contact(f"regulator.{key}.{place}", outside, group, series=series, pull_up=pull_up, logic=logic)
        parts += more
        nets += others
        pins.append(Pin(str(place), outside, Role.SINK))
    device = Component(designator=designator, kind=Kind.REGULATOR, part=f"wall regulator, {counted(len(numbers), 'contact')}", name=name, place=Place.FIELD, pins=(*pins, Pin("C", GROUND, Role.FED)))
    return Block(f"regulator.{key}", (*parts, device), tuple(nets), (f"sensing.regulator_{key}", f"wetting.regulator_{key}"))


def infrared_receiver(numbers: Numbers, *, logic: float) -> Block:
    """Return the receiver, which has its own pull-up, behind the filter of its supply."""
    wire, fed = "infrared", "supply.infrared"
    filter_parts = (resistor(numbers.next(Kind.RESISTOR), FILTER_RESISTOR, THREE, fed, name="filter of the receiver"),
                    capacitor(numbers.next(Kind.CAPACITOR), FILTER_CAPACITOR, fed, GROUND, "6.3 V or more", name="filter of the receiver"))
    receiver = Component(designator="B1", kind=Kind.RECEIVER, part="infra-red receiver module", name="infra-red receiver", rating="with its own pull-up, 3.3 V; 38 kHz usual, see the remotes", place=Place.FIELD, pins=(
        Pin("1", wire, Role.OUTPUT, "OUT"), Pin("2", GROUND, Role.FED, "GND"), Pin("3", fed, Role.FED, "VS")))
    return Block(wire, (*filter_parts, receiver), (Net(wire, NetKind.SIGNAL, logic, 1e-3), Net(fed, NetKind.SUPPLY, logic, logic / FILTER_RESISTOR)),
                 (), tuple(part.designator for part in filter_parts))


def sensor(key: str, name: str, kind: str, designator: str, numbers: Numbers, *, pull_up: float, logic: float) -> Block:
    """Return a sensor on one wire that both ends pull low, with a pull-up in the box."""
    wire = f"sensor.{key}"
    pull = resistor(numbers.next(Kind.RESISTOR), pull_up, THREE, wire, name="pull-up")
    decoupling = Component(designator=numbers.next(Kind.CAPACITOR), kind=Kind.CAPACITOR, figure=capacitor("", SENSOR_CAPACITOR, "", "").figure,
                           pins=(Pin("1", THREE), Pin("2", GROUND)), rating="6.3 V or more", name="at the sensor", place=Place.FIELD)
    device = Component(designator=designator, kind=Kind.SENSOR, part=f"sensor, {kind}", name=name, place=Place.FIELD, pins=(
        Pin("1", THREE, Role.FED, "VDD"), Pin("2", wire, Role.SINK, "DATA"), Pin("4", GROUND, Role.FED, "GND")))
    return Block(wire, (pull, decoupling, device), (Net(wire, NetKind.SIGNAL, logic, logic / pull_up),), (f"sensor_line.{key}", f"sensor_supply.{key}"), (decoupling.designator,))
