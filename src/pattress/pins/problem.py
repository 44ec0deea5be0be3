"""The assignment as a problem: banks of wires on one side, pins on the other.

Wires of one kind and group are interchangeable, so the solver chooses pins for the whole bank;
inside a bank the wires then follow the job's order along the board's edge. A wire fixed by hand
is a bank of its own with one pin.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from pattress.errors import UseError
from pattress.pins.demands import Demand, Need
from pattress.pins.rules import ABSENT, Weight, objections, rule
from pattress.refusal import advice, as_found, nearest, word_list
from pattress.stock.boards import Board, Pin

NOTHING = MappingProxyType({})


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
    strangers = sorted(gpio for gpio in set(fixed.values()) if board.pin(gpio) is None)
    return Problem(board, wanted, tuple(banks), (*offered, *map(_absent, strangers)))


def _absent(gpio: int) -> Pin:
    """Return a stand-in for a pin the chip does not have, so that a rule can say so."""
    return Pin(gpio, "", "", 0, True, True, True, 0, ABSENT, (), None, "", "", "", "", "", "", NOTHING)
