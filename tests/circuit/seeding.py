"""Circuits with a fault put in: pins moved, parts taken out, turned or added."""

from dataclasses import replace

from pattress.circuit.model import Circuit, Component, Net


def changed(circuit: Circuit, change, *more: Component, nets: tuple[Net, ...] = ()) -> Circuit:
    """Return a circuit with each component as `change` returns it, None taking it out, and with more in the first block."""
    blocks = [replace(block, components=tuple(kept for one in block.components if (kept := change(one)) is not None)) for block in circuit.blocks]
    blocks[0] = replace(blocks[0], components=(*blocks[0].components, *more))
    return Circuit((*circuit.nets, *nets), tuple(blocks))


def moved(circuit: Circuit, designator: str, number: str, net: str) -> Circuit:
    """Return a circuit in which one pin lies on another net."""
    assert net in circuit.net_by_name and circuit.by_designator[designator].pin(number).net != net
    return changed(circuit, lambda one: one if one.designator != designator else replace(
        one, pins=tuple(replace(pin, net=net) if pin.number == number else pin for pin in one.pins)))


def turned(circuit: Circuit, designator: str, one: str, two: str) -> Circuit:
    """Return a circuit in which two pins of a component have changed their nets."""
    first, second = (circuit.by_designator[designator].pin(number).net for number in (one, two))
    return moved(moved(circuit, designator, one, second), designator, two, first)


def without(circuit: Circuit, *designators: str) -> Circuit:
    """Return a circuit without some components."""
    assert all(one in circuit.by_designator for one in designators)
    return changed(circuit, lambda one: None if one.designator in designators else one)


def with_part(circuit: Circuit, component: Component, *nets: Net) -> Circuit:
    """Return a circuit with one component more."""
    return changed(circuit, lambda one: one, component, nets=nets)


def altered(circuit: Circuit, designator: str, **fields) -> Circuit:
    """Return a circuit in which a component has other fields."""
    return changed(circuit, lambda one: replace(one, **fields) if one.designator == designator else one)


def renetted(circuit: Circuit, name: str, **fields) -> Circuit:
    """Return a circuit in which a net has other fields."""
    return Circuit(tuple(replace(net, **fields) if net.name == name else net for net in circuit.nets), circuit.blocks)
