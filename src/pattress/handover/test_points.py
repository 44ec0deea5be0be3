"""Test points: what a meter reads on each net that a person may measure, and within which band, extra-low voltage and live apart.

Readings are those of a healthy circuit, from the design's own figures. DC at extra-low voltage, against 0 V; AC at mains, against the feed's neutral.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from pattress.circuit.blocks.inlet import FUSED
from pattress.circuit.blocks.outside import neutral_of
from pattress.circuit.model import Circuit, Component, Kind, Pin, Place, Role, mark_of
from pattress.circuit.parts import FIVE, GROUND, THREE, pin_numbers
from pattress.circuit.test_points import marks_of
from pattress.design import Design
from pattress.quantity import show
from pattress.sizing.demand import demands
from pattress.sizing.drive import LOGIC, RAIL, coil_current_most, drop, output_high, rail_high, rail_low
from pattress.sizing.feedback import low_most
from pattress.sizing.mains import mains_of
from pattress.sizing.sensing import high_least
from pattress.sizing.suppression import leakage
from pattress.stock.credible import End

REGULATOR = 0.03             # of a 3.3 V regulator, up and down (usual in data sheets, from memory)
LED = (1.6, 2.4)             # V across a red light-emitting diode that is lit (from memory)
BASE = 0.55                  # V at the least between base and emitter of a transistor that conducts (from memory)
COUPLED = 5.0                # V that a cable beside others leaves on a line with its load connected (common practice, no source)


@dataclass(frozen=True, slots=True)
class Reading:
    """What a net reads in one state of the circuit [V]: healthy, and the band within which nothing is wrong."""

    state: str
    healthy: float
    least: float
    most: float

    @property
    def words(self) -> str:
        """Return the reading as it stands on a sheet."""
        if self.most == 0.0:
            return self.state
        band = f"at most {show(self.most, 'V')}" if self.least == 0.0 else f"{show(self.least, 'V')} to {show(self.most, 'V')}"
        reading = f"{show(self.healthy, 'V')} ({band})" if self.healthy else band
        return f"{self.state}: {reading}" if self.state else reading


@dataclass(frozen=True, slots=True)
class TestPoint:
    """One place to measure: its mark, its net, a pin where a probe reaches it, the net that is the reference, and what to expect."""

    __test__ = False             # no test of pytest's

    mark: str
    net: str
    at: str
    reference: str
    readings: tuple[Reading, ...]
    is_live: bool = False


def points_of(design: Design) -> tuple[TestPoint, ...]:
    """Return every test point, those at extra-low voltage first."""
    marks = marks_of(design.circuit)
    found = {one.net: replace(one, mark=marks[one.net]) for one in (*_rails(design), *_drivers(design), *_inputs(design), *_live(design))}
    return tuple(found[net] for net in marks)


def _rails(design: Design) -> Iterator[TestPoint]:
    supply = design.chosen.supply.part
    yield _point(design.circuit, FIVE, Reading("", RAIL, rail_low(supply), rail_high(supply)))
    yield _point(design.circuit, GROUND, Reading("reference", 0.0, 0.0, 0.0))
    yield _point(design.circuit, THREE, Reading("", LOGIC, LOGIC * (1.0 - REGULATOR), LOGIC * (1.0 + REGULATOR)))
    if design.job.board.status_lamp:
        yield _point(design.circuit, "lamp.status", Reading("lit", sum(LED) / 2.0, *LED))


def _drivers(design: Design) -> Iterator[TestPoint]:
    """Yield gate and coil of every relay."""
    fitted, supply, circuit = design.results["fitted"], design.chosen.supply.part, design.circuit
    driver, marks = fitted.driver, pin_numbers()["relay"]
    parts = design.results["parts"]
    high = output_high(design.board).value * driver.pull_down / (driver.pull_down + driver.input)
    is_base = driver.part.word("arrangement") == "NPN"
    on = Reading("relay in", 0.7, BASE, driver.part.taken("base_voltage", End.MOST).value) if is_base else Reading("relay in", LOGIC, high, LOGIC)
    for relay in circuit.of(Kind.RELAY):
        coil = relay.pin(marks["coil_minus"]).net
        lost = drop(driver.part, coil_current_most(parts[relay.part], rail_high(supply)))
        yield _point(circuit, coil.replace("coil.", "gate."), Reading("relay out", 0.0, 0.0, driver.part.value("off_voltage")), on)
        yield _point(circuit, coil, Reading("relay out", RAIL, rail_low(supply), rail_high(supply)), Reading("relay in", 0.0, 0.0, lost))


def _inputs(design: Design) -> Iterator[TestPoint]:
    """Yield every wire of the board that listens, numbered like the resistor beside it."""
    circuit, fitted = design.circuit, design.results["fitted"]
    high, low = high_least(design.board), low_most(design.board)
    words = {"switch": ("contact open", "closed"), "input": ("contact open", "closed"), "regulator": ("contact open", "closed"), "feedback": ("line dead", "live"), "power_fail": ("mains there", "gone"),
             "infrared": ("nobody presses", ""), "sensor": ("between readings", "")}
    (board,) = circuit.of(Kind.BOARD)
    for pin in (pin for pin in board.pins if pin.role is Role.INPUT or pin.net.startswith("sensor.")):
        up, down = words[pin.net.partition(".")[0]]
        closed = LOGIC * fitted.contact_series / (fitted.contact_series + pull_up) if (pull_up := fitted.pull_ups.get(_thing(pin.net))) and up == "contact open" else 0.0
        readings = (Reading(up, LOGIC, high, LOGIC * (1.0 + REGULATOR)), *((Reading(down, closed, 0.0, low),) if down else ()))
        yield _point(circuit, pin.net, *readings)


def _thing(wire: str) -> str:
    """Return what a wire belongs to: "regulator.wall" for "regulator.wall.3"."""
    return ".".join(wire.split(".")[:2])


def _live(design: Design) -> Iterator[TestPoint]:
    mains, circuit, asked, fitted = mains_of(design.job), design.circuit, demands(design.job), design.results["fitted"]
    if fitted.feed:
        yield _point(circuit, FUSED, Reading("mains on", mains.voltage, mains.low, mains.high), reference=neutral_of(fitted.feed))
    for load in circuit.of(Kind.LOAD, Kind.FAN):
        line = load.pin("L").net
        key = line.partition(".")[2]
        snubber = fitted.snubbers.get(key)
        past = leakage(capacitance=snubber.capacitance, voltage=mains.high, frequency=mains.frequency) / asked[key].least * mains.high if snubber else 0.0
        on = "highest step" if load.kind is Kind.FAN and fitted.relays[key] > 1 else "on"
        yield _point(circuit, line, Reading(on, mains.voltage, mains.low, mains.high),
                     Reading("off, load connected", 0.0, 0.0, max(COUPLED, past)), reference=load.pin("N").net)


def _point(circuit: Circuit, net: str, *readings: Reading, reference: str = GROUND) -> TestPoint:
    """Return a point on a net, whose mark is set when all are known."""
    component, pin = min(circuit.by_net[net], key=_reach)
    return TestPoint("", net, mark_of(component, pin), reference, readings, circuit.net_by_name[net].is_mains)


def _reach(one: tuple[Component, Pin]) -> int:
    """Return how well a probe reaches a pin: terminals first, then parts with leads, then what is outside the box."""
    kind = one[0].kind
    return 9 if one[0].place is not Place.BOX else 0 if kind is Kind.TERMINAL else 1 if kind in (Kind.RESISTOR, Kind.CAPACITOR, Kind.DIODE) else 2
