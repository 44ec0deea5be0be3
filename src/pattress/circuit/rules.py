"""The rules of a circuit: what must hold of any, whatever it is of. Each rule yields a sentence for each fault it finds.

They read the netlist alone and know nothing of how it was built, so they find what a block, a variant or a hand broke.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from pattress.circuit.blocks.outside import BEFORE
from pattress.circuit.model import EXTRA_LOW, Circuit, Component, Kind, NetKind, Pin, Role, mark_of
from pattress.circuit.parts import EARTH, FIVE, GROUND, pin_numbers
from pattress.circuit.paths import across, joined, through_resistors
from pattress.finding import COMMON_PRACTICE, Source

EXEMPT = 0.1e-6              # F at mains that need no bleed (IEC 60335-1, 22.5; see sizing/discharge)
LEAD_OUT = (Kind.TERMINAL, Kind.PROTECTIVE_DEVICE)
OF_LOADS = (Kind.LOAD, Kind.FAN)


@dataclass(frozen=True)
class Facts:
    """What the rules must know beside the netlist: the most a pin of the board bears [V], and whether the box is metal or may be."""

    input_most: float
    metal: bool


@dataclass(frozen=True)
class Rule:
    """One rule: its name, what it asks, and what finds its faults. Where one does not hold, `safety` stops what is built from the circuit."""

    name: str
    question: str
    find: Callable[[Circuit, Facts], Iterator[str]]
    safety: bool = True
    source: Source = COMMON_PRACTICE


def ends(circuit: Circuit, facts: Facts) -> Iterator[str]:
    """A net has two pins or more unless it leads out of the box, and each pin lies on a net that there is."""
    for name, pins in circuit.by_net.items():
        if name not in circuit.net_by_name:
            yield f"{_at(pins[0])} lies on {name}, and there is no such net"
        elif len(pins) < 2 and not (pins and pins[0][0].kind in LEAD_OUT):
            yield f"{name} ends at {_at(pins[0])}" if pins else f"nothing lies on {name}"


def drivers(circuit: Circuit, facts: Facts) -> Iterator[str]:
    """No net has two drivers, no pin that pulls to 0 V lies on a supply, and whatever listens is driven."""
    for name, pins in circuit.by_net.items():
        driving = [one for one in pins if one[1].role in (Role.SOURCE, Role.OUTPUT)]
        if len(driving) > 1:
            yield f"{name} is driven by {' and by '.join(map(_at, driving))}"
        if _kind(circuit, name) is NetKind.SUPPLY and any(pin.role is Role.SINK for _, pin in pins):
            yield f"{_at(next(one for one in pins if one[1].role is Role.SINK))} pulls {name} to 0 V"
        for listening in (one for one in pins if one[1].role in (Role.INPUT, Role.GATE)):
            reached = through_resistors(circuit, name, lambda net: _kind(circuit, net) is NetKind.SUPPLY)
            if not any(pin.role in (Role.OUTPUT, Role.SINK) for net in reached for _, pin in circuit.by_net[net]):
                yield f"nothing drives {_at(listening)} on {name}"
    for component in circuit.components:
        if any(pin.role is Role.SINK for pin in component.pins) and not any(pin.net == GROUND and pin.role is Role.FED for pin in component.pins) and component.kind is not Kind.SUPPLY and component.kind is not Kind.SENSOR:
            yield f"{component.designator} pulls to nothing: no pin of it lies on {GROUND} as it must"


def held(circuit: Circuit, facts: Facts) -> Iterator[str]:
    """While the board starts, its pins drive nothing: each gate is held at 0 V and each input at a level by a resistor or by its own pull."""
    for name, pins in circuit.by_net.items():
        direct = {pin.net for component, _ in pins if component.kind is Kind.RESISTOR for pin in component.pins} - {name}
        for listening in pins:
            pin = listening[1]
            if pin.role is Role.GATE and GROUND not in direct:
                yield f"no resistor holds {_at(listening)} off while the board starts"
            if pin.role is Role.INPUT and not pin.pulled and not any(_is_supply(circuit, net) for net in direct) and not any(
                    other.role is Role.OUTPUT for component, other in pins if component is not listening[0]):
                yield f"nothing holds {_at(listening)} on {name} when its contact is open"


def supplied(circuit: Circuit, facts: Facts) -> Iterator[str]:
    """Whatever takes a supply lies on a net that a source feeds, and has a capacitor from there to 0 V where it is a module."""
    for component in circuit.components:
        for pin in (pin for pin in component.pins if pin.role is Role.FED):
            if _kind(circuit, pin.net) is not NetKind.SUPPLY:
                yield f"{component.designator}:{pin.number} takes its supply from {pin.net}, which is none"
                continue
            fed = through_resistors(circuit, pin.net, lambda net: net == GROUND)
            if not any(other.role is Role.SOURCE for net in fed if net != GROUND or pin.net == GROUND for _, other in circuit.by_net[net]):
                yield f"nothing feeds {component.designator}:{pin.number} on {pin.net}"
            if pin.net != GROUND and component.kind in (Kind.BOARD, Kind.RECEIVER, Kind.SENSOR) and not any(across(circuit, Kind.CAPACITOR, pin.net, GROUND)):
                yield f"no capacitor from {pin.net} to {GROUND} for {component.designator}"
        if component.kind in (Kind.BOARD, Kind.RECEIVER, Kind.SENSOR) and not any(pin.net == GROUND for pin in component.pins):
            yield f"{component.designator} has no pin on {GROUND}"
    for relay in circuit.of(Kind.RELAY):
        if not _is_supply(circuit, relay.pin(pin_numbers()["relay"]["coil_plus"]).net):
            yield f"the coil of {relay.designator} hangs on no supply"


def separation(circuit: Circuit, facts: Facts) -> Iterator[str]:
    """Nothing conducts between mains, extra-low voltage and the protective conductor; what lies on both has two sides."""
    groups = joined(circuit, lambda component: component.kind not in OF_LOADS)
    seen: set[frozenset[str]] = set()
    for group in groups.values():
        if group in seen:
            continue
        seen.add(group)
        kinds = {_kind(circuit, name): name for name in sorted(group)}
        low, live = ([kinds[kind] for kind in NetKind if kind in kinds and (kind in EXTRA_LOW) is is_low and kind is not NetKind.PROTECTIVE] for is_low in (True, False))
        if low and live:
            yield f"{live[0]} is joined to {low[0]} at extra-low voltage"
        if NetKind.PROTECTIVE in kinds and (low or live):
            yield f"{kinds[NetKind.PROTECTIVE]} is joined to {(live or low)[0]}"
    for component in circuit.of(Kind.OPTOCOUPLER):
        if component.insulation != "reinforced":
            yield f"{component.designator} crosses from mains to extra-low voltage, and its insulation is {component.insulation or 'not told'}, not reinforced"


def neutrals(circuit: Circuit, facts: Facts) -> Iterator[str]:
    """What lies on the mains side of one component belongs to one feed: no neutral is borrowed, and neutrals of two feeds never meet."""
    for component in circuit.components:
        for side in {pin.side for pin in component.pins}:
            nets = [pin.net for pin in component.pins if pin.side == side]
            feeds = sorted({net.feed for name in nets if (net := circuit.net_by_name.get(name)) and net.feed})
            if len(feeds) > 1:
                yield f"{component.designator} lies on feeds {' and '.join(feeds)} at once"
        if component.kind in OF_LOADS and _kind(circuit, component.pin("N").net) is not NetKind.NEUTRAL:
            yield f"the neutral of {component.designator} is {component.pin('N').net}"


def protected(circuit: Circuit, facts: Facts) -> Iterator[str]:
    """Every line in the box comes through a protective device, the supply module through its fuse as well."""
    beyond = joined(circuit, lambda component: component.kind is not Kind.PROTECTIVE_DEVICE)[BEFORE] - {BEFORE}
    if beyond:
        yield f"{', '.join(sorted(beyond)[:3])}: reached from the mains without a protective device"
    behind = {pin.net for device in circuit.of(Kind.PROTECTIVE_DEVICE) for pin in device.pins}
    for name in (name for name, net in circuit.net_by_name.items() if net.kind is NetKind.LINE and name != BEFORE):
        reached = joined(circuit, lambda component: component.kind in (Kind.FUSE, Kind.RESISTOR, Kind.CAPACITOR))[name]
        if not reached & behind:
            yield f"{name} comes from no protective device"
    for supply in circuit.of(Kind.SUPPLY):
        line = supply.pin(pin_numbers()["supply"]["line"]).net
        if line in behind or not any(component.kind is Kind.FUSE for component, _ in circuit.by_net[line]):
            yield f"{supply.designator} takes its line from {line} without a fuse of its own"


def switched(circuit: Circuit, facts: Facts) -> Iterator[str]:
    """Every load hangs behind a contact: its line is a switched one, and a relay joins the feed's line to it."""
    marks = pin_numbers()["relay"]
    for relay in circuit.of(Kind.RELAY):
        common, make = relay.pin(marks["common"]).net, relay.pin(marks["make"]).net
        if _kind(circuit, common) is not NetKind.LINE or _kind(circuit, make) is not NetKind.SWITCHED:
            yield f"the contact of {relay.designator} lies between {common} and {make}, not between a line and a switched line"
        if not any(component.kind in (Kind.TRANSISTOR, Kind.DRIVER_ARRAY) and pin.role is Role.SINK for component, pin in circuit.by_net[relay.pin(marks["coil_minus"]).net]):
            yield f"no driver pulls the coil of {relay.designator}"
    made = {relay.pin(marks["make"]).net for relay in circuit.of(Kind.RELAY)}
    reached = joined(circuit, lambda component: component.kind in (Kind.RESISTOR, Kind.CAPACITOR) and any(_kind(circuit, pin.net) is NetKind.SWITCHED for pin in component.pins)
                     and all(_kind(circuit, pin.net) is NetKind.SWITCHED for pin in component.pins))
    for load in circuit.of(*OF_LOADS):
        line = load.pin("L").net
        if _kind(circuit, line) is not NetKind.SWITCHED or not reached[line] & made:
            yield f"{load.designator} hangs on {line}, which no contact switches"


def earthed(circuit: Circuit, facts: Facts) -> Iterator[str]:
    """Every load has its protective conductor, so has a box that is metal; nothing else lies on it."""
    for load in circuit.of(*OF_LOADS):
        if load.pin("PE").net != EARTH:
            yield f"{load.designator} has no protective conductor"
    if facts.metal and not any(pin.net == EARTH for stud in circuit.of(Kind.STUD) for pin in stud.pins):
        yield "the box may be metal and is bonded nowhere"
    if not any(component.kind is Kind.TERMINAL for component, _ in circuit.by_net.get(EARTH, ())):
        yield "no terminal brings the protective conductor in"
    for component, pin in circuit.by_net.get(EARTH, ()):
        if component.kind not in (Kind.TERMINAL, Kind.STUD, *OF_LOADS) or component.kind in OF_LOADS and pin.number != "PE":
            yield f"{component.designator}:{pin.number} lies on {EARTH}"


def levels(circuit: Circuit, facts: Facts) -> Iterator[str]:
    """No pin of the board sees more than it bears, be it from a supply through resistors or from another part's output."""
    for board in circuit.of(Kind.BOARD):
        for pin in (pin for pin in board.pins if pin.role in (Role.INPUT, Role.OUTPUT)):
            reached = through_resistors(circuit, pin.net, lambda net: _kind(circuit, net) is NetKind.SUPPLY)
            most = max((_level(circuit, net, board) for net in reached), default=0.0)
            if most > facts.input_most:
                yield f"{board.designator}:{pin.number} ({pin.net}) sees {most:g} V and bears {facts.input_most:g} V"


def polarity(circuit: Circuit, facts: Facts) -> Iterator[str]:
    """Diodes, lamps and polar capacitors lie the right way round."""
    sources = {coil.pin(pin_numbers()["relay"]["coil_minus"]).net for coil in circuit.of(Kind.RELAY)}
    for component in circuit.of(Kind.DIODE, Kind.LAMP):
        anode, cathode = component.pin("A").net, component.pin("K").net
        if component.kind is Kind.LAMP and cathode != GROUND or cathode in sources:
            yield f"{component.designator} lies the wrong way round, its cathode on {cathode}"
        for other in circuit.of(Kind.OPTOCOUPLER):
            marks = pin_numbers()["optocoupler"]
            if {anode, cathode} == {other.pin(marks["anode"]).net, other.pin(marks["cathode"]).net} and anode == other.pin(marks["anode"]).net:
                yield f"{component.designator} lies the same way round as the diode of {other.designator}"
    for capacitor in (one for one in circuit.of(Kind.CAPACITOR) if one.polar):
        plus, minus = (circuit.net_by_name[pin.net].voltage for pin in capacitor.pins)
        if plus <= minus:
            yield f"{capacitor.designator} lies the wrong way round, its plus on {capacitor.pins[0].net}"


def quenched(circuit: Circuit, facts: Facts) -> Iterator[str]:
    """A diode lies across every coil, or in the array that drives it; every capacitor above 0.1 uF at mains is bled."""
    marks = pin_numbers()["relay"]
    for relay in circuit.of(Kind.RELAY):
        plus, minus = relay.pin(marks["coil_plus"]).net, relay.pin(marks["coil_minus"]).net
        in_array = any(component.kind is Kind.DRIVER_ARRAY and any(pin.net == FIVE for pin in component.pins) for component, _ in circuit.by_net[minus])
        if not in_array and not any(across(circuit, Kind.DIODE, plus, minus)):
            yield f"no diode lies across the coil of {relay.designator}"
    bled = joined(circuit, lambda component: component.kind is Kind.RESISTOR)
    for capacitor in circuit.of(Kind.CAPACITOR):
        one, two = (pin.net for pin in capacitor.pins)
        if _is_mains(circuit, one) and capacitor.figure and capacitor.figure.value > EXEMPT * (1 + 1e-9) and two not in bled[one] and not _is_undesigned(circuit, capacitor):
            yield f"no resistor empties {capacitor.designator}"


RULES = (
    Rule("ends", "Does every wire of the circuit end at two pins or more?", ends, safety=False),
    Rule("drivers", "Is every net of the circuit driven, and by one driver?", drivers, safety=False),
    Rule("held", "Is every gate and input held at a level while the board starts?", held),
    Rule("supplied", "Is everything in the circuit supplied and decoupled?", supplied, safety=False),
    Rule("separation", "Does nothing conduct between mains and extra-low voltage?", separation, source=Source("IEC 60364-4-41, 414: SELV", read=False)),
    Rule("neutrals", "Does every feed keep its own neutral?", neutrals, source=Source("BS 7671, 314.4: the wiring of each final circuit is separate", read=False)),
    Rule("protected", "Does every line come through a protective device?", protected, source=Source("IEC 60364-4-43, 430.3", read=False)),
    Rule("switched", "Does every load hang behind a contact?", switched),
    Rule("earthed", "Is everything bonded that must be, and nothing else?", earthed, source=Source("IEC 60364-4-41, 411.3.1.1", read=False)),
    Rule("levels", "Does no pin of the board see more than it bears?", levels, safety=False),
    Rule("polarity", "Does everything that has a plus lie the right way round?", polarity, safety=False),
    Rule("quenched", "Has every coil its diode, and every capacitor at mains its bleed?", quenched),
)


def faults(circuit: Circuit, facts: Facts) -> Mapping[str, tuple[str, ...]]:
    """Return what each rule finds wrong, by its name; rules that find nothing are left out."""
    found = {rule.name: tuple(rule.find(circuit, facts)) for rule in RULES}
    return {name: words for name, words in found.items() if words}


def _at(one: tuple[Component, Pin]) -> str:
    return mark_of(*one)


def _kind(circuit: Circuit, name: str) -> NetKind | None:
    net = circuit.net_by_name.get(name)
    return net.kind if net else None


def _is_mains(circuit: Circuit, name: str) -> bool:
    net = circuit.net_by_name.get(name)
    return bool(net and net.is_mains)


def _is_supply(circuit: Circuit, name: str) -> bool:
    net = circuit.net_by_name.get(name)
    return bool(net and net.kind is NetKind.SUPPLY and net.voltage > 0.0)


def _level(circuit: Circuit, name: str, board: Component) -> float:
    """Return the highest level [V] that a net is brought to by a supply, or by the output of a part other than the board."""
    supply = circuit.net_by_name[name].voltage if _is_supply(circuit, name) else 0.0
    driven = (circuit.net_by_name[fed.net].voltage for component, pin in circuit.by_net[name] if pin.role is Role.OUTPUT and component is not board
              for fed in component.pins if fed.role is Role.FED)
    return max(supply, *driven, 0.0)


def _is_undesigned(circuit: Circuit, capacitor: Component) -> bool:
    """Return whether a capacitor belongs to a fan whose regulator could not be designed: then nothing stands around it yet, and the fan's own findings say why."""
    block = next(block for block in circuit.blocks if capacitor in block.components)
    return capacitor.name == "motor run" and not any(component.name in ("damping", "bleed") for component in block.components)
