"""Which nets a component joins, and what is reached from a net. Plain graph questions about a circuit."""

from collections.abc import Callable, Iterator, Mapping

from pattress.circuit.model import Circuit, Component, Kind


def joined(circuit: Circuit, through: Callable[[Component], bool]) -> Mapping[str, frozenset[str]]:
    """Return, for each net, all nets that it is joined to through the components taken; a component joins the pins of one side."""
    root = {name: name for name in circuit.by_net}

    def find(name: str) -> str:
        while root[name] != name:
            root[name] = root[root[name]]
            name = root[name]
        return name

    for component in circuit.components:
        if through(component):
            for first, *others in sides(component):
                for other in others:
                    root[find(other)] = find(first)
    groups: dict[str, set[str]] = {}
    for name in root:
        groups.setdefault(find(name), set()).add(name)
    frozen = {name: frozenset(group) for name, group in groups.items()}
    return {name: frozen[find(name)] for name in root}


def sides(component: Component) -> Iterator[list[str]]:
    """Yield the nets on each side of a component."""
    for side in sorted({pin.side for pin in component.pins}):
        yield list(dict.fromkeys(pin.net for pin in component.pins if pin.side == side))


def through_resistors(circuit: Circuit, start: str, stop: Callable[[str], bool]) -> frozenset[str]:
    """Return the nets reached from one through resistors, itself among them; nets where `stop` says so are reached and not passed."""
    reached, waiting = {start}, [start]
    while waiting:
        net = waiting.pop()
        if net != start and stop(net):
            continue
        for component, _ in circuit.by_net[net]:
            if component.kind is Kind.RESISTOR:
                fresh = {pin.net for pin in component.pins} - reached
                reached |= fresh
                waiting += fresh
    return frozenset(reached)


def across(circuit: Circuit, kind: Kind, one: str, two: str) -> Iterator[Component]:
    """Yield the components of a kind that lie between two nets."""
    for component, _ in circuit.by_net[one]:
        if component.kind is kind and {pin.net for pin in component.pins} == {one, two}:
            yield component
