"""Relay channel: driver, coil with its diode, contact, and the snubber across it. The bank of a fan stands in `fan_bank`."""

from collections.abc import Sequence
from dataclasses import dataclass

from pattress.circuit.designators import Numbers
from pattress.circuit.fitted import Driver, Snubber
from pattress.circuit.model import Block, Component, Kind, Net, NetKind, Pin, Role
from pattress.circuit.parts import FIVE, GROUND, capacitor, diode, numbers_of, pin_numbers, resistor, sided
from pattress.quantity import show
from pattress.stock.parts import Part

ARRAY = "Darlington array"
LETTERS = {"NPN": ("B", "C", "E")}      # of the pins input, output, ground of a transistor
FIELD_EFFECT = ("G", "D", "S")
SMALL = 1e-3                 # A: what a signal carries at most, but for coils


@dataclass(frozen=True, kw_only=True)
class Driven:
    """One relay and how it is driven: its number from 1, the wire of its pin, and the nets its contact joins."""

    number: int
    wire: str                # "relay.pendant", "relay.ceiling.1"
    relay: Part
    common: str
    make: str

    @property
    def key(self) -> str:
        """Return the wire's name without its kind: "pendant", "ceiling.1"."""
        return self.wire.partition(".")[2]


def drive(given: Driver, one: Driven, numbers: Numbers, *, rail: float, logic: float) -> tuple[list[Component], list[Net]]:
    """Return the components and inner nets of one relay with its driver; an array's own block brings the driver itself."""
    marks, gate, coil = pin_numbers()["relay"], f"gate.{one.key}", f"coil.{one.key}"
    figure = one.relay.value("coil_resistance")
    parts = [resistor(numbers.next(Kind.RESISTOR), given.input, one.wire, gate, name="before a driver"),
             resistor(numbers.next(Kind.RESISTOR), given.pull_down, gate, GROUND, name="pull-down of a driver")]
    if given.part.word("arrangement") != ARRAY:
        pins, letters = numbers_of(given.part.designation, "transistor"), LETTERS.get(given.part.word("arrangement"), FIELD_EFFECT)
        parts.append(Component(designator=numbers.only(Kind.TRANSISTOR), kind=Kind.TRANSISTOR, part=given.part.designation, pins=(
            Pin(pins["input"], gate, Role.GATE, letters[0]), Pin(pins["output"], coil, Role.SINK, letters[1]), Pin(pins["ground"], GROUND, Role.FED, letters[2]))))
    parts.append(Component(
        designator=numbers.only(Kind.RELAY), kind=Kind.RELAY, part=one.relay.designation, insulation=one.relay.word("insulation"),
        rating=f"coil {one.relay.value('coil_voltage'):g} V, {figure:g} ohm", pins=(
            sided(marks["coil_plus"], FIVE, 0), sided(marks["coil_minus"], coil, 0), sided(marks["common"], one.common, 1), sided(marks["make"], one.make, 1))))
    if given.diode:
        parts.append(diode(numbers.next(Kind.DIODE), given.diode.designation, anode=coil, cathode=FIVE, rating=f"at least {show(given.coil_current, 'A')}", name="across a coil"))
    return parts, [Net(one.wire, NetKind.SIGNAL, logic, SMALL), Net(gate, NetKind.SIGNAL, logic, SMALL),
                   Net(coil, NetKind.SIGNAL, rail, rail / figure)]


def across(given: Snubber, numbers: Numbers, one: str, two: str, *, inner: Net) -> list[Component]:
    """Return a snubber across a contact, from net `one` over `inner` to net `two`."""
    return [resistor(numbers.next(Kind.RESISTOR), given.resistance, one, inner.name, "0.5 W, pulse-proof", "snubber"),
            capacitor(numbers.next(Kind.CAPACITOR), given.capacitance, inner.name, two, given.rating, given.part, "snubber")]


def relay_channel(given: Driver, one: Driven, numbers: Numbers, *, rail: float, logic: float, line: Net, snubber: Snubber | None) -> Block:
    """Return a load's channel; `line` is the switched line that its contact feeds."""
    parts, nets = drive(given, one, numbers, rail=rail, logic=logic)
    answers = [f"contacts.{one.key}", f"drive.{one.key}"]
    if snubber:
        inner = Net(f"snub.{one.key}", NetKind.SWITCHED, line.voltage, line.current, line.feed)
        nets.append(inner)
        parts += across(snubber, numbers, one.common, one.make, inner=inner)
        answers.append(f"suppression.{one.key}")
    return Block(f"channel {one.key}", tuple(parts), (*nets, line), tuple(answers))


def driver_arrays(given: Driver, driven: Sequence[Driven]) -> Block:
    """Return the packages of a driver array, seven relays each; the diodes in them end at 5 V."""
    marks, packages = pin_numbers()["array"], []
    size = len(marks["inputs"])
    for first in range(0, len(driven), size):
        pins = [pin for place, one in enumerate(driven[first:first + size]) for pin in (
            Pin(marks["inputs"][place], f"gate.{one.key}", Role.GATE), Pin(marks["outputs"][place], f"coil.{one.key}", Role.SINK))]
        packages.append(Component(
            designator=f"Q{1 + first // size}", kind=Kind.DRIVER_ARRAY, part=given.part.designation,
            pins=(*pins, Pin(marks["ground"], GROUND, Role.FED), Pin(marks["common"], FIVE))))
    return Block("driver arrays", tuple(packages))
