"""How each kind of component behaves in a deck: simple models, whose parameters come from the stock's records.

Every model says in words what it leaves out; the deck carries these words as comments. What no record gives is a
constant here with its source. Resistances [ohm], times [s], voltages [V].
"""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from math import exp, log, sqrt

from pattress.circuit.blocks.status_lamp import LAMP_DROP
from pattress.circuit.model import Component, Kind, Role
from pattress.circuit.parts import numbers_of, pin_numbers
from pattress.quantity import parse
from pattress.stock.credible import End
from pattress.stock.parts import Part, Parts

OPEN, NOTHING, CLOSED = 1e10, 1e12, 10e-3    # ohm of an open contact; of what joins nothing; of a fuse or protective device that has not opened (from memory)
WALL_CONTACT = 50e-3             # ohm of a closed wall switch (from memory)
RELAY_CONTACT = 100e-3           # ohm where the record gives none: the most that sheets allow when new (from memory)
COIL_TIME = 4e-3                 # s, inductance over resistance of a coil of 5 V and 0.2 to 0.5 W: 2 to 8 ms (from memory)
RELEASE_SHARE = 0.1              # of the coil's voltage, where the record gives no release voltage (from memory: 5 to 10 %)
EMISSION = 1.9                   # emission coefficient of small diodes and light-emitting diodes: 1.7 to 2.1 (from memory)
THERMAL_VOLTAGE = 25.865e-3      # V at 27 degC, k T / q, the temperature at which a simulator computes
USUAL_GAIN = 100.0               # of a transistor whose record gives none (from memory)
LED_CURRENT = 5e-3               # A at which an optocoupler's figures hold where its record does not say (from memory)
LAMP_CURRENT = 5e-3              # A at which the status lamp drops LAMP_DROP (from memory)
STEEP = 0.8                      # emission coefficient of a drop that hardly depends on the current: a mathematical aid, of no part
LEAST_LEAK = 1e-27               # A of a junction: below 1e-28 a simulator takes that instead (seen in ngspice 39)
SLOPE = 0.1                      # ohm of a saturated transistor beside its saturation voltage (from memory)
DARLINGTON_ON = 4.0              # times the voltage at which it is surely off: 2.4 V over 0.6 V (from memory)
VARISTOR_POWER = 30.0            # of a metal oxide varistor's current over its voltage: 25 to 50 (from memory)
VARISTOR_AT = 1e-3               # A at which its voltage is given
MAINS_GONE = 0.5                 # of the crest of the least input voltage, below which a supply gives nothing (from memory)
MAINS_KEPT = 20e-3               # s by which a supply averages the crests of its input (from memory)


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """At which corner, and with which contacts held, a circuit is looked at.

    `closed` and `opened` name relays ("K1"), whose contact then stays so whatever the coil does; `closed` also wall switches and
    regulators ("S1", one pin of a regulator "S51.2"), which are open otherwise, `opened` also fuses and protective devices,
    which are closed otherwise. `scale` multiplies by designator:
    the value of a resistor or capacitor, the coil resistance of a relay, the transfer ratio of an optocoupler, the on-resistance or
    saturation voltage of a driver, the output voltage of a supply, the voltage of a varistor or diode. `coil_time` is the
    inductance of every coil over its resistance [s].
    """

    closed: frozenset[str] = frozenset()
    opened: frozenset[str] = frozenset()
    scale: Mapping[str, float] = field(default_factory=dict)
    coil_time: float = COIL_TIME


@dataclass(frozen=True, slots=True)
class Model:
    """Element lines, in which `p1`, `p2` ... are the pins of the component in their order; and in words what they leave out."""

    lines: tuple[str, ...]
    leaves_out: str
    pins: int = 2


@dataclass(frozen=True, slots=True)
class Asked:
    """One component that a model is wanted of, with its stock and conditions."""

    component: Component
    parts: Parts
    conditions: Conditions

    @property
    def part(self) -> Part:
        """Return its record. Raises StockError where the stock has none."""
        return self.parts[self.component.part]

    @property
    def times(self) -> float:
        """Return the factor of its value."""
        return self.conditions.scale.get(self.component.designator, 1.0)

    def port(self, number: str) -> str:
        """Return the port of a pin. Raises KeyError where there is none of that number."""
        return f"p{1 + self.component.pins.index(self.component.pin(number))}"

    def ports(self, role: Role) -> list[str]:
        """Return the ports of all pins of a role."""
        return [f"p{place}" for place, pin in enumerate(self.component.pins, 1) if pin.role is role]


def model_of(component: Component, parts: Parts, conditions: Conditions) -> Model:
    """Return how a component behaves that is no element of the simulator itself. Raises StockError where its record lacks what the model needs."""
    return replace(MODELS[component.kind](Asked(component, parts, conditions)), pins=len(component.pins))


def _fuse(asked: Asked) -> Model:
    ohms = OPEN if asked.component.designator in asked.conditions.opened else CLOSED
    return Model((f"R1 p1 p2 {_text(ohms)}",), "that it opens by itself, and its resistance when warm")


def _nothing(leaves_out: str) -> Callable[[Asked], Model]:
    """Return a model that joins nothing: a resistance from each pin to 0 V that counts for nothing."""
    return lambda asked: Model(tuple(f"R{place} p{place} 0 {_text(NOTHING)}" for place in range(1, len(asked.component.pins) + 1)), leaves_out)


def _relay(asked: Asked) -> Model:
    part, marks, conditions, name = asked.part, pin_numbers()["relay"], asked.conditions, asked.component.designator
    plus, minus, common, make = (asked.port(marks[what]) for what in ("coil_plus", "coil_minus", "common", "make"))
    ohms = part.value("coil_resistance")
    released = part.known("release_voltage")
    if released is None:
        released = RELEASE_SHARE * part.value("coil_voltage")
    contact = part.known("contact_resistance")
    on = RELAY_CONTACT if contact is None else contact
    pulls, lets_go = part.value("operate_voltage") / ohms, released / ohms
    joined: tuple[str, ...]
    if name in conditions.closed or name in conditions.opened:
        joined = (f"R2 {common} {make} {_text(on if name in conditions.closed else OPEN)}",)
    else:
        joined = (f"W1 {common} {make} V1 contact", f".model contact csw(it={_text((pulls + lets_go) / 2.0)} ih={_text((pulls - lets_go) / 2.0)} ron={_text(on)} roff={_text(OPEN)})")
    return Model((f"R1 {plus} a {_text(ohms * asked.times)}", f"L1 a b {_text(conditions.coil_time * ohms)}", f"V1 b {minus} 0", *joined),
                 f"the time the armature takes, bounce, the arc, and that the coil's inductance grows as it pulls in; {conditions.coil_time * 1e3:g} ms of inductance over resistance, from memory")


def _transistor(asked: Asked) -> Model:
    part = asked.part
    (gate,), (out,), (ground,) = asked.ports(Role.GATE), asked.ports(Role.SINK), asked.ports(Role.FED)
    if part.word("arrangement") == "NPN":
        gain = part.known("gain_least")
        lines = (*_diode_lines("1", gate, "b", part.taken("base_voltage", End.MOST).value, _stated(part, "base_voltage", "A", part.value("current_most")) / 20.0),
                 f"V1 b {ground} 0",
                 _saturating("1", out, ground, f"{_text(USUAL_GAIN if gain is None else gain)}*i(V1)", part.taken("saturation_voltage", End.MOST).value * asked.times))
        return Model(lines, "storage and capacitances; the least gain of its record, a fixed saturation voltage")
    opens, closes, draws = part.taken("gate_voltage", End.MOST).value, part.value("off_voltage"), part.taken("input_current", End.MOST).value
    takes = (f"R1 {gate} {ground} {_text(_stated(part, 'input_current', 'V', opens) / draws)}",) if draws > 0.0 else ()
    on = part.taken("on_resistance", End.MOST).value * asked.times
    return Model((f"S1 {out} {ground} {gate} {ground} channel", f".model channel sw(vt={_text((opens + closes) / 2.0)} vh={_text((opens - closes) / 2.0)} ron={_text(on)} roff={_text(OPEN)})", *takes),
                 "its capacitances and the diode in it; it opens at the gate voltage of its record and closes below what surely keeps it off")


def _array(asked: Asked) -> Model:
    """Return each channel that is used as a switch with a saturation voltage, and its diode to the common pin."""
    part, marks = asked.part, pin_numbers()["array"]
    ground, common = asked.port(marks["ground"]), asked.port(marks["common"])
    on = DARLINGTON_ON * part.value("off_voltage")
    voltage, stated = part.taken("saturation_voltage", End.MOST).value * asked.times, _stated(part, "saturation_voltage", "A", part.value("current_most"))
    takes = _stated(part, "input_current", "V", on) / part.taken("input_current", End.MOST).value
    lines: list[str] = []
    for number, (gate, out) in enumerate(zip(asked.ports(Role.GATE), asked.ports(Role.SINK)), 1):
        lines += [f"R{number} {gate} {ground} {_text(takes)}", f"S{number} {out} on{number} {gate} {ground} channel",
                  f"D{number} on{number} {ground} saturated", f"Dc{number} {out} {common} clamp"]
    lines += [f".model channel sw(vt={_text(on * 0.625)} vh={_text(on * 0.375)} ron={_text(SLOPE)} roff={_text(OPEN)})", _junction("saturated", voltage, stated, STEEP), _junction("clamp", 1.0, 0.1)]
    return Model(tuple(lines), "storage and the gain; a saturation voltage that hardly depends on the current; its diodes drop 1 V at 0.1 A (from memory)")


def _diode(asked: Asked) -> Model:
    part = asked.part
    voltage = part.known("forward_voltage_most")
    drop = 1.0 if voltage is None else voltage
    return Model(_diode_lines("1", "p1", "p2", drop * asked.times, _stated(part, "forward_voltage_most", "A", part.value("forward_current"))),
                 f"recovery, capacitance and breakdown; the largest forward voltage of its record, emission coefficient {EMISSION:g} from memory")


def _lamp(asked: Asked) -> Model:
    return Model(_diode_lines("1", "p1", "p2", LAMP_DROP * asked.times, LAMP_CURRENT), f"breakdown; {LAMP_DROP:g} V at {LAMP_CURRENT * 1e3:g} mA from memory")


def _optocoupler(asked: Asked) -> Model:
    part, marks = asked.part, pin_numbers()["optocoupler"]
    anode, cathode, collector, emitter = (asked.port(marks[what]) for what in ("anode", "cathode", "collector", "emitter"))
    dark = part.known("dark_current")
    tested = part.known("test_current")
    passed = f"{_text(part.value('transfer_least') * asked.times)}*i(V1)" + ("" if dark is None else f"+{_text(dark)}")
    return Model((*_diode_lines("1", anode, "k", part.value("forward_voltage"), _stated(part, "forward_voltage", "A", LED_CURRENT if tested is None else tested)),
                  f"V1 k {cathode} 0", _saturating("1", collector, emitter, passed, part.taken("saturation_voltage", End.MOST).value)),
                 "its delays, and that the transfer ratio falls at small currents, with age and with warmth: scale it; the least ratio of its record")


def _varistor(asked: Asked) -> Model:
    voltage = _text(asked.part.value("varistor_voltage") * asked.times)
    return Model((f"B1 p1 p2 I={_text(VARISTOR_AT)}*sgn(v(p1,p2))*pow(min(abs(v(p1,p2))/{voltage},1.6),{_text(VARISTOR_POWER)})",),
                 f"its capacitance, and its resistance at large currents; current as the {VARISTOR_POWER:g}th power of voltage, from memory")


def _contacts(asked: Asked) -> Model:
    """Return a wall switch, a regulator or another contact: each contact to the common pin, open unless the conditions close it."""
    component, closed = asked.component, asked.conditions.closed
    *pins, _ = component.pins
    return Model(tuple(f"R{place} p{place} p{len(component.pins)} {_text(WALL_CONTACT if closed & {component.designator, f'{component.designator}.{pin.number}'} else OPEN)}"
                       for place, pin in enumerate(pins, 1)), "bounce, and the resistance of a dirty contact")


def _supply(asked: Asked) -> Model:
    part = asked.part
    marks = numbers_of(part.designation, "supply")
    line, neutral, plus, minus = (asked.port(marks[what]) for what in ("line", "neutral", "plus", "minus"))
    least = part.known("input_least")
    gone = MAINS_GONE * sqrt(2.0) * (85.0 if least is None else least)
    lines: tuple[str, ...] = (
        f"B1 {minus} crest I=max(0,abs(v({line},{neutral}))-v(crest,{minus}))*1m", f"C1 crest {minus} 1u", f"R1 crest {minus} {_text(MAINS_KEPT / 1e-6)}",
        f"V1 made {minus} {_text(part.value('output_voltage') * asked.times)}", f"S1 made {plus} crest {minus} gives",
        f".model gives sw(vt={_text(gone)} vh={_text(gone / 10.0)} ron=10m roff={_text(OPEN)})")
    warned = [asked.port(pin.number) for pin in asked.component.pins if pin.number == marks["warning"]]
    if warned:
        lines += (f"S2 {warned[0]} {minus} {minus} crest warns", f".model warns sw(vt={_text(-gone)} vh={_text(gone / 10.0)} ron=100 roff={_text(OPEN)})")
    return Model(lines, "the current it takes from the mains, its own hold-up, its limit of current and how fast it reacts; it gives its voltage while the crests of its input, "
                 f"averaged over {MAINS_KEPT * 1e3:g} ms, are above half of those of its least input (from memory)")


def _diode_lines(number: str, anode: str, cathode: str, voltage: float, current: float) -> tuple[str, str]:
    """Return a diode that drops `voltage` [V] at `current` [A]."""
    return f"D{number} {anode} {cathode} junction{number}", _junction(f"junction{number}", voltage, current)


def _junction(name: str, voltage: float, current: float, emission: float = EMISSION) -> str:
    """Return the model of a junction; a high drop widens the emission coefficient, since a simulator takes no leakage below 1e-28 A."""
    takes = max(emission, voltage / (THERMAL_VOLTAGE * log(current / LEAST_LEAK)))
    leak = current / (exp(voltage / (takes * THERMAL_VOLTAGE)) - 1.0)
    return f".model {name} d(is={_text(leak)} n={_text(takes)})"


def _saturating(number: str, collector: str, emitter: str, passed: str, voltage: float) -> str:
    """Return a transistor's way from collector to emitter: what it passes, and less where only its saturation voltage is left."""
    return f"B{number} {collector} {emitter} I=max(0,min({passed},(v({collector},{emitter})-{_text(voltage)})/{_text(SLOPE)}))"


def _stated(part: Part, name: str, unit: str, otherwise: float) -> float:
    """Return the first quantity of a unit in a figure's condition ("20 mA, typical"), else what is given."""
    found = re.search(rf"\d+(\.\d+)? [mun]?{unit}\b", part.rating(name).at)
    return parse(found[0], unit) if found else otherwise


def _text(value: float) -> str:
    return f"{value:.9g}"


NOT_CARRIED = "what it is made of: it joins nothing here"
MODELS: Mapping[Kind, Callable[[Asked], Model]] = {
    Kind.RELAY: _relay, Kind.TRANSISTOR: _transistor,
    Kind.DRIVER_ARRAY: _array, Kind.DIODE: _diode, Kind.LAMP: _lamp, Kind.OPTOCOUPLER: _optocoupler, Kind.VARISTOR: _varistor,
    Kind.SWITCH: _contacts, Kind.CONTACT: _contacts, Kind.REGULATOR: _contacts, Kind.SUPPLY: _supply,
    Kind.FUSE: _fuse, Kind.PROTECTIVE_DEVICE: _fuse,
    Kind.BOARD: _nothing("all it does: levels of its pins, pulls and supply current are stimuli"),
    Kind.LOAD: _nothing("its impedance: add it as a stimulus"), Kind.FAN: _nothing("its motor: add it as a stimulus"),
    Kind.RECEIVER: _nothing("all it does: its pull-up and supply current are stimuli"), Kind.SENSOR: _nothing("all it does: its levels and supply current are stimuli"),
    Kind.TERMINAL: _nothing(NOT_CARRIED), Kind.STUD: _nothing(NOT_CARRIED), Kind.TEST_POINT: _nothing(NOT_CARRIED),
}


OPENED = frozenset((Kind.RELAY, Kind.FUSE, Kind.PROTECTIVE_DEVICE))
SCALED = frozenset((Kind.RESISTOR, Kind.CAPACITOR, Kind.RELAY, Kind.TRANSISTOR, Kind.DRIVER_ARRAY, Kind.DIODE, Kind.LAMP, Kind.OPTOCOUPLER, Kind.VARISTOR, Kind.SUPPLY))


def contacts_of(components: Iterable[Component]) -> list[str]:
    """Return what `Conditions.closed` can name of these components."""
    return [name for one in components if one.kind in (Kind.RELAY, Kind.SWITCH, Kind.CONTACT, Kind.REGULATOR) for name in (
        one.designator, *(f"{one.designator}.{pin.number}" for pin in one.pins if one.kind is Kind.REGULATOR and pin.role is Role.SINK))]
