"""What belongs to one channel: its relays with their drivers and branches, its load, and what senses its line, found by their nets."""

from collections.abc import Iterator
from dataclasses import dataclass

from pattress.circuit.model import Block, Circuit, Component, Kind, Role
from pattress.circuit.parts import GROUND


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One relay: what drives its coil, and what follows its contact. `into` is the net that the row ends in."""

    relay: Component
    driver: Component | None
    series: Component | None
    pull_down: Component | None
    diode: Component | None
    gate: str
    wire: str
    first_of_array: bool
    snubber: tuple[Component, ...]
    damping: Component | None
    capacitor: Component | None
    bleeds: tuple[Component, ...]
    into: str

    @property
    def coil(self) -> str:
        """Return the net between coil and driver."""
        return self.relay.pins[1].net

    @property
    def common(self) -> str:
        """Return the net that the contact takes from."""
        return self.relay.pins[2].net

    @property
    def make(self) -> str:
        """Return the net that the contact closes to."""
        return self.relay.pins[3].net

    @property
    def node(self) -> str:
        """Return the net at the capacitor's first pin: behind the damping resistor where there is one."""
        return self.damping.pins[1].net if self.damping else self.make


@dataclass(frozen=True, slots=True)
class Channel:
    """A load or fan with its relays; `sense` are the seven parts of its line sense, or none."""

    line: str
    feed: str
    rows: tuple[Row, ...]
    load: Component | None
    sense: tuple[Component, ...]


def channels_of(circuit: Circuit) -> tuple[Channel, ...]:
    """Return the channels in the order of their relays."""
    loads = {pin.net: one for one in circuit.of(Kind.LOAD, Kind.FAN) for pin in one.pins if pin.number == "L"}
    senses = {block.components[0].pins[0].net: block.components for block in circuit.blocks if any(one.kind is Kind.OPTOCOUPLER for one in block.components)}
    found = []
    for block in circuit.blocks:
        rows = tuple(_rows(circuit, block))
        if rows:
            line = rows[-1].into
            net = circuit.net_by_name[line]
            found.append(Channel(line, net.feed or circuit.net_by_name[rows[0].common].feed, rows, loads.get(line), senses.get(line, ())))
    return tuple(found)


def _rows(circuit: Circuit, block: Block) -> Iterator[Row]:
    seen: set[str] = set()
    for relay in (one for one in block.components if one.kind is Kind.RELAY):
        coil, common, make = relay.pins[1].net, relay.pins[2].net, relay.pins[3].net
        driver = next((one for one, pin in circuit.by_net[coil] if pin.role is Role.SINK), None)
        gate = _gate(driver, coil) if driver else ""
        at_gate = [one for one, _ in circuit.by_net.get(gate, ()) if one.kind is Kind.RESISTOR]
        series = next((one for one in at_gate if one.pins[1].net == gate), None)
        node, damping = make, None
        for one in block.components:
            if one.kind is Kind.RESISTOR and one.name == "damping" and one.pins[0].net == make:
                node, damping = one.pins[1].net, one
        capacitor = next((one for one in block.components if one.kind is Kind.CAPACITOR and one.name == "motor run" and one.pins[0].net == node), None)
        yield Row(
            relay=relay, driver=driver, series=series, pull_down=next((one for one in at_gate if one.pins[1].net == GROUND), None),
            diode=next((one for one, _ in circuit.by_net[coil] if one.kind is Kind.DIODE), None), gate=gate, wire=series.pins[0].net if series else gate,
            first_of_array=driver is not None and driver.kind is Kind.DRIVER_ARRAY and _is_first(driver, coil), damping=damping,
            snubber=tuple(_snubber(block, common, make)) if capacitor is None and make not in seen else (), capacitor=capacitor, bleeds=tuple(_chain(block, "bleed", node)) if capacitor else (),
            into=capacitor.pins[1].net if capacitor else make)
        seen.add(make)


def _gate(driver: Component, coil: str) -> str:
    """Return the net that drives a coil: of an array, the input that stands before the output."""
    place = next(place for place, pin in enumerate(driver.pins) if pin.net == coil)
    return driver.pins[place - 1].net if driver.kind is Kind.DRIVER_ARRAY else next(pin.net for pin in driver.pins if pin.role is Role.GATE)


def _is_first(driver: Component, coil: str) -> bool:
    return next(pin.net for pin in driver.pins if pin.role is Role.SINK) == coil


def _snubber(block: Block, common: str, make: str) -> Iterator[Component]:
    for one in block.components:
        if one.kind is Kind.RESISTOR and one.name == "snubber" and one.pins[0].net == common:
            other = next((two for two in block.components if two.kind is Kind.CAPACITOR and two.pins[0].net == one.pins[1].net and two.pins[1].net == make), None)
            yield from (one, other) if other else ()


def _chain(block: Block, name: str, start: str) -> Iterator[Component]:
    """Yield resistors in series from a net on."""
    left = [one for one in block.components if one.kind is Kind.RESISTOR and one.name == name]
    while found := next((one for one in left if one.pins[0].net == start), None):
        left.remove(found)
        yield found
        start = found.pins[1].net

