"""Fan bank: relays with a capacitor each, its damping resistor and its bleed; the last relay goes straight through and carries the snubber."""

from collections.abc import Callable, Sequence

from pattress.circuit.blocks.channel import Driven, across, drive
from pattress.circuit.designators import Numbers
from pattress.circuit.fitted import Branch, Driver, Snubber
from pattress.circuit.model import Block, Component, Kind, Net, NetKind
from pattress.circuit.parts import bleed, capacitor, resistor


def fan_bank(
    given: Driver, key: str, relays: Sequence[Driven], branches: Sequence[Branch], numbers: Callable[[int], Numbers], *,
    rail: float, logic: float, line: Net, snubber: Snubber | None,
) -> Block:
    """Return the channel of a fan: `line` is what its branches meet in. `relays` of branches join to the net `step.KEY.N`."""
    parts: list[Component] = []
    nets: list[Net] = []
    for place, one in enumerate(relays):
        group = numbers(one.number)
        driving, inner = drive(given, one, group, rail=rail, logic=logic)
        parts += driving
        nets += inner
        if place < len(branches):
            more, others = _branch(branches[place], one, group, line, f"{key}.{place + 1}")
            parts += more
            nets += others
        elif snubber:
            snub = Net(f"snub.{key}", NetKind.SWITCHED, line.voltage, line.current, line.feed)
            nets.append(snub)
            parts += across(snubber, group, one.common, one.make, inner=snub)
    return Block(f"fan {key}", tuple(parts), (*nets, line), (f"contacts.{key}", f"drive.{key}"))


def step_net(key: str, place: int) -> str:
    """Return the net between the contact of a branch, counted from 0, and what follows it."""
    return f"step.{key}.{place + 1}"


def _branch(branch: Branch, one: Driven, numbers: Numbers, line: Net, name: str) -> tuple[list[Component], list[Net]]:
    def inner(word: str) -> Net:
        return Net(f"{word}.{name}", NetKind.SWITCHED, line.voltage, line.current, line.feed)

    nets, parts, at = [inner("step")], [], one.make
    if branch.damping is not None:
        nets.append(inner("cap"))
        at = nets[-1].name
        parts.append(resistor(numbers.next(Kind.RESISTOR), branch.damping, one.make, at, branch.damping_rating, "damping"))
    if branch.bleed:
        pieces, between = bleed(numbers, branch.bleed.piece, branch.bleed.pieces, at, line.name, f"bleed.{name}", branch.bleed.rating, "bleed")
        parts += pieces
        nets += [Net(one_net, NetKind.SWITCHED, line.voltage, 0.0, line.feed) for one_net in between]
    parts.append(capacitor(numbers.next(Kind.CAPACITOR), branch.capacitance, at, line.name, branch.rating, branch.part, "motor run"))
    return parts, nets
