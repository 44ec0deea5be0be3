"""The deck itself: chosen blocks of a circuit, what the caller adds, and the comments that say what the models leave out."""

from collections.abc import Collection, Iterable, Iterator, Sequence
from math import isfinite
from re import fullmatch

from pattress.circuit.model import Block, Circuit, Component, Kind
from pattress.circuit.parts import GROUND
from pattress.circuit.spice.models import OPENED, SCALED, Conditions, Model, contacts_of, model_of
from pattress.circuit.spice.node_names import node_of
from pattress.circuit.spice.stimulus import Capacitance, CurrentSource, Line, Resistance, Start, Stimulus, VoltageSource
from pattress.refusal import Refusal, as_found, nearest, word_list
from pattress.stock.parts import Parts

SHUNT = 1e12                     # ohm from every node to 0 V, so that what floats has a level
DIRECT = {Kind.RESISTOR: ("R", "ohm"), Kind.CAPACITOR: ("C", "F")}      # elements of the simulator itself; all others are subcircuits


def deck(circuit: Circuit, blocks: Collection[str], parts: Parts, stimuli: Sequence[Stimulus] = (), conditions: Conditions = Conditions()) -> str:
    """Return the deck of one or several blocks of a circuit, for a simulator that reads SPICE3 with behavioural sources.

    Parameters
    ----------
    circuit : Circuit
        Of a job; the deck is written from its components and nets alone.
    blocks : collection of str
        Names as in `circuit.blocks`: "channel pendant", "fan ceiling", "mains inlet".
    parts : Parts
        The stock, for the figures of what has a designation.
    stimuli : sequence of Stimulus
        Added as they stand. Nothing is supplied, loaded or analysed without one.
    conditions : Conditions, optional
        Contacts held and values scaled.

    A resistor R11 is the element `RR11`, a capacitor C1 `CC1`; every other component is one call of a subcircuit, `XK1`.
    The coil's current of relay K1 is `i(v.xk1.v1)`.

    Raises
    ------
    Refusal
        There is no such block, net or component; the text gives the nearest.
    ValueError
        A component has no value, or a stimulus none that can be; two stimuli have one name.
    StockError
        A part is not in stock, or its record lacks a figure that its model needs.
    """
    chosen = _chosen(circuit, blocks)
    components = [component for block in chosen for component in block.components]
    _refuse_conditions(components, conditions)
    shared: dict[Model, str] = {}
    elements: list[str] = []
    for block in chosen:
        elements.append(f"* {block.name}")
        elements += [_element(component, parts, conditions, shared) for component in block.components]
    added = _added(circuit, stimuli)
    nets = sorted({pin.net for component in components for pin in component.pins})
    lines = [f"* {', '.join(block.name for block in chosen)}", "* Node 0 is the net 0 V. Leads, tracks and cables have no resistance but what is added.",
             f"* Every node has {SHUNT:g} ohm to node 0, so that what floats has a level.",
             *(f"* {node_of(net)} is {net}" for net in nets), *_definitions(shared), *elements, *added, f".options rshunt={SHUNT:g}", ".end"]
    return "\n".join(lines) + "\n"


def _chosen(circuit: Circuit, names: Collection[str]) -> list[Block]:
    if isinstance(names, str) or not names:
        raise Refusal(as_found(names) if names else "no block", "a collection of names of blocks")
    _refuse_unknown("block", names, [block.name for block in circuit.blocks])
    return [block for block in circuit.blocks if block.name in names]


def _refuse_conditions(components: Sequence[Component], conditions: Conditions) -> None:
    _refuse_unknown("contact to close", conditions.closed, contacts_of(components))
    _refuse_unknown("component to open", conditions.opened, [one.designator for one in components if one.kind in OPENED])
    _refuse_unknown("component to scale", conditions.scale, [one.designator for one in components if one.kind in SCALED])
    if both := sorted(conditions.closed & conditions.opened):
        raise ValueError(f"{both[0]} must be closed or opened, found both")
    _positive("coil_time", conditions.coil_time)
    for name, factor in conditions.scale.items():
        _positive(f"scale of {name}", factor)


def _refuse_unknown(kind: str, found: Iterable[str], allowed: Sequence[str]) -> None:
    for name in sorted(set(found).difference(allowed)):
        raise Refusal(f"{kind} {as_found(name)}", word_list(allowed) or "none: there is nothing of the kind in these blocks", nearest(name, allowed))


def _element(component: Component, parts: Parts, conditions: Conditions, shared: dict[Model, str]) -> str:
    nodes = " ".join(node_of(pin.net) for pin in component.pins)
    name = component.designator.replace(":", "_")
    if component.kind in DIRECT:
        letter, unit = DIRECT[component.kind]
        return f"{letter}{name} {nodes} {_value(component, unit) * conditions.scale.get(component.designator, 1.0):.9g}"
    model = model_of(component, parts, conditions)
    kind = shared.setdefault(model, f"{component.kind.replace(' ', '_').replace('-', '_')}_{len(shared) + 1}")
    return f"X{name} {nodes} {kind}"


def _value(component: Component, unit: str) -> float:
    """Return the value of a resistor [ohm] or a capacitor [F]. Raises ValueError where it has none of that unit above zero."""
    figure = component.figure
    if figure is None or figure.unit != unit or not figure.value > 0.0:
        found = "none" if figure is None else f"{figure.value:g} {figure.unit}"
        raise ValueError(f"{component.designator} ({component.kind}) must have a value above zero in {unit}, found {found}")
    return figure.value


def _definitions(shared: dict[Model, str]) -> Iterator[str]:
    for model, name in shared.items():
        yield f"* {name} leaves out {model.leaves_out}."
        yield f".subckt {name} {' '.join(f'p{place}' for place in range(1, model.pins + 1))}"
        yield from model.lines
        yield ".ends"


def _added(circuit: Circuit, stimuli: Sequence[Stimulus]) -> list[str]:
    names = [one.name for one in stimuli if not isinstance(one, Start | Line)]
    for name in names:
        if not fullmatch("[a-z][a-z0-9_]*", name):
            raise ValueError(f"name of a stimulus must be small letters, digits and underscores, found {name!r}")
        if names.count(name) > 1:
            raise ValueError(f"name of a stimulus must be given once, found {name!r} {names.count(name)} times")
    return ["* added by the caller", *(_line(circuit, one) for one in stimuli)]


def _line(circuit: Circuit, one: Stimulus) -> str:
    def nodes(*nets: str) -> str:
        _refuse_unknown("net", nets, sorted(circuit.by_net))
        return " ".join(node_of(net) for net in nets)

    match one:
        case VoltageSource():
            return f"VS_{one.name} {nodes(one.plus, one.minus)} {one.wave}"
        case CurrentSource():
            return f"IS_{one.name} {nodes(one.plus, one.minus)} {one.wave}"
        case Resistance():
            return f"RS_{one.name} {nodes(one.one, one.two)} {_positive(one.name, one.ohms)}"
        case Capacitance():
            return f"CS_{one.name} {nodes(one.one, one.two)} {_positive(one.name, one.farads)}"
        case Start():
            if one.net == GROUND:
                raise ValueError(f"start must be of another net than {GROUND}, which is always 0 V")
            if not isfinite(one.volts):
                raise ValueError(f"start of {one.net} must be finite, found {one.volts!r}")
            return f".ic v({nodes(one.net)})={one.volts:.9g}"
        case Line():
            if not one.text.startswith(".") or "\n" in one.text or one.text.split()[0].lower() == ".end":
                raise ValueError(f"line must be one that begins with a dot, and not .end, found {one.text!r}")
            return one.text


def _positive(name: str, value: float) -> str:
    if not (isfinite(value) and value > 0.0):
        raise ValueError(f"{name} must be above zero and finite, found {value!r}")
    return f"{value:.9g}"
