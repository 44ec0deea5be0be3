"""The assignment as a problem: banks of wires on one side, pins on the other.

Wires of one kind and group are interchangeable, so the solver chooses pins for the whole bank;
inside a bank the wires then follow the job's order along the board's edge. A wire fixed by hand
is a bank of its own with one pin.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from pattress.errors import UseError
from pattress.pins.demands import Demand, Need
from pattress.pins.rules import ABSENT, Weight, objections, rule
from pattress.refusal import advice, as_found, nearest, word_list
from pattress.stock.boards import Board, Pin

NOTHING: Mapping[str, Any] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Bank:
    """Interchangeable wires. `fixed` is the GPIO number a person has soldered, else None."""

    group: str
    need: Need
    members: tuple[Demand, ...]
    fixed: int | None = None


@dataclass(frozen=True, slots=True)
class Problem:
    """Wires to place on the pins of a board.

    `wanted` is in the order of the job, `pins` in order along the edges: those brought out, and
    those that a soldered wire names.
    """

    board: Board
    wanted: tuple[Demand, ...]
    banks: tuple[Bank, ...]
    pins: tuple[Pin, ...]

    def against(self, bank: Bank, pin: Pin) -> tuple[str, ...]:
        """Return the rules that keep a bank off a pin.

        For a wire soldered by hand only what the hardware cannot do counts: the rest is reported.
        """
        broken = objections(bank.need, pin)
        if bank.fixed is None:
            return tuple(broken)
        return tuple(name for name in broken if rule(name).weight is Weight.CANNOT)

    def is_short(self) -> bool:
        """Return whether there are more wires than pins that any of them may take: then no solver need be asked for an assignment."""
        return len(self.wanted) > sum(any(bank.fixed in (None, pin.gpio) and not self.against(bank, pin) for bank in self.banks) for pin in self.pins)


def soldered(asked: Problem) -> tuple[tuple[Demand, Pin, dict[str, str]], ...]:
    """Return every wire of a problem that a person has soldered, its pin, and by rule what speaks against it there."""
    found = []
    for bank in asked.banks:
        if bank.fixed is not None:
            wire, pin = bank.members[0], next(pin for pin in asked.pins if pin.gpio == bank.fixed)
            others = [other.members[0].name for other in asked.banks if other.fixed == bank.fixed and other is not bank]
            shared = {"shared": f"holds {', '.join(others)}, too"} if others else {}
            found.append((wire, pin, objections(bank.need, pin) | shared))
    return tuple(found)


def problem(wanted: Iterable[Demand], board: Board, fixed: Mapping[str, int] = NOTHING) -> Problem:
    """Return the problem of placing these wires on a board.

    `fixed` gives the GPIO number of wires already soldered, by name. Raises UseError when it names
    a wire that nobody asks for.
    """
    wanted = tuple(wanted)
    names = [demand.name for demand in wanted]
    for name in fixed:
        if name not in names:
            raise UseError(f"board.pins holds {as_found(name)}, which this job does not ask for"
                           f"{advice(word_list(names), nearest(name, names))}")
    banks: list[Bank] = []
    loose: dict[tuple[str, Need], list[Demand]] = {}
    for demand in wanted:
        if demand.name in fixed:
            banks.append(Bank(demand.group, demand.need, (demand,), fixed[demand.name]))
        else:
            loose.setdefault((demand.group, demand.need), []).append(demand)
    banks += [Bank(group, need, tuple(members)) for (group, need), members in loose.items()]
    offered = [pin for pin in board.pins if pin.edge or pin.gpio in fixed.values()]
    absent = sorted(gpio for gpio in set(fixed.values()) if board.pin(gpio) is None)
    return Problem(board, wanted, tuple(banks), (*offered, *map(_absent, absent)))


def _absent(gpio: int) -> Pin:
    """Return a stand-in for a pin the chip does not have, so that a rule can say so."""
    return Pin(gpio, "", "", 0, True, True, True, 0, ABSENT, (), None, "", "", "", "", "", "", "", NOTHING)
