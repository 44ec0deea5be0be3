"""The best assignment of a problem, or the proof that there is none.

Hard rules keep wires off pins; what is left is chosen for the least cost:

- each reluctance of a wire on a pin (a strapping pin, a weak pull-up ...), by its price;
- each run of neighbouring pins that a bank of wires is spread over: few runs mean that wires
  which belong together sit side by side;
- at equal cost, earlier banks sit earlier along the edges, so that the answer does not depend
  on the solver's version.

A run is one variable of the model: "this bank takes the pins from here to there". One variable
for each pin and neighbour says the same, and takes the solver a hundred times longer.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from pattress.pins.demands import Demand, Need
from pattress.pins.problem import Problem, soldered
from pattress.pins.rules import objections, reluctances, rule
from pattress.pins.solver import Model
from pattress.quantity import show
from pattress.stock.boards import Pin

RUN = 4                      # price of a run of a bank of several wires


@dataclass(frozen=True, slots=True)
class Placement:
    """A wire on its pin. `reason` says why there; `broken` holds what speaks against it, by rule."""

    demand: Demand
    pin: Pin
    fixed: bool
    reason: str
    broken: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Assignment:
    """A pin for every wire, in the order of the demands. `cost` is the least there is."""

    pins: tuple[Placement, ...]
    cost: int

    def by_name(self) -> dict[str, int]:
        """Return the GPIO number of every wire, as [board.pins] of a job file holds them."""
        return {placement.demand.name: placement.pin.gpio for placement in self.pins}


@dataclass(frozen=True, slots=True)
class Run:
    """A bank on neighbouring pins: places `first` up to but not with `end` in `problem.pins`."""

    bank: int
    first: int
    end: int


def best(problem: Problem, waived: frozenset[str] = frozenset()) -> Assignment | None:
    """Return the assignment of least cost, None when it is proven that there is none.

    `waived` names rules with a price that may be broken at that price.
    """
    model = Model()
    runs = {run: model.truth() for run in _runs(problem, waived)}
    for number, bank in enumerate(problem.banks):
        model.exactly([(run.end - run.first, x) for run, x in runs.items() if run.bank == number], len(bank.members))
    for at in range(len(problem.pins)):
        model.at_most([(1, x) for run, x in runs.items() if run.first <= at < run.end], 1)
    order = {run: _order(problem, run) for run in runs}
    whole = sum(_order(problem, Run(number, 0, len(problem.pins))) for number in range(len(problem.banks))) + 1
    model.minimise([(whole * _run_price(problem, run) + order[run], x) for run, x in runs.items()])
    answer = model.solve()
    if answer is None:
        return None
    held = sorted((run for run, x in runs.items() if answer.values[x]), key=lambda run: run.first)
    return _assignment(problem, held, answer.cost // whole)


def _runs(problem: Problem, waived: frozenset[str]) -> list[Run]:
    """Return every run of neighbouring pins that the rules allow a bank to take."""
    runs = []
    for number, bank in enumerate(problem.banks):
        may = [bank.fixed in (None, pin.gpio) and waived.issuperset(problem.against(bank, pin)) for pin in problem.pins]
        for first in range(len(problem.pins)):
            for end in range(first + 1, min(first + len(bank.members), len(problem.pins)) + 1):
                if not may[end - 1] or problem.pins[end - 1].edge != problem.pins[first].edge:
                    break
                runs.append(Run(number, first, end))
    return runs


def _run_price(problem: Problem, run: Run) -> int:
    """Return what a bank pays for a run."""
    bank = problem.banks[run.bank]
    return RUN * (len(bank.members) > 1) + sum(price(bank.need, pin) for pin in problem.pins[run.first:run.end])


def _order(problem: Problem, run: Run) -> int:
    """Return the weight that draws earlier banks to earlier pins when all else is equal."""
    return (len(problem.banks) - run.bank) * sum(range(run.first, run.end))


def price(need: Need, pin: Pin) -> int:
    """Return what a wire on a pin costs: its reluctances, and any rule broken at a price."""
    prices = (rule(name).price for name in objections(need, pin))
    return sum(price for price in prices if price is not None) + sum(reluctances(need, pin).values())


def as_soldered(problem: Problem) -> tuple[Placement, ...]:
    """Return the wires that a person has soldered, each on its pin, whatever speaks against it."""
    return tuple(Placement(wire, pin, True, reason(wire, pin, broken) if broken else f"{pin.name} is named in [board.pins]", broken)
                 for wire, pin, broken in soldered(problem))


def _assignment(problem: Problem, held: Iterable[Run], cost: int) -> Assignment:
    """Return the assignment in which banks take these runs, members in order along the edges."""
    pins: dict[str, Pin] = {}
    waiting = [list(bank.members) for bank in problem.banks]
    for run in held:
        for pin in problem.pins[run.first:run.end]:
            pins[waiting[run.bank].pop(0).name] = pin
    fixed = {bank.members[0].name for bank in problem.banks if bank.fixed is not None}
    placed = []
    for demand in problem.wanted:
        pin = pins[demand.name]
        broken = objections(demand.need, pin)
        placed.append(Placement(demand, pin, demand.name in fixed, reason(demand, pin, broken), broken))
    return Assignment(tuple(placed), cost)


def reason(demand: Demand, pin: Pin, broken: Mapping[str, str]) -> str:
    """Return in words why a wire may sit on a pin, or what speaks against it."""
    need = demand.need
    if broken:
        return "; ".join(f"{pin.name} {words}" for words in broken.values())
    good = ["can set the line" if need.drives else "", "has a pull-up" if need.pull_up else "",
            "" if demand.pull_up is None else f"is held up by {show(demand.pull_up, 'ohm')} to 3.3 V"]
    if need.starts_off:
        good.append({"weak low": "is held low while the board starts", "weak high": "stays off with a strong pull-down",
                     "floating": "is left to the pull-down while the board starts"}[pin.reset])
    words = [word for word in good if word] or ["reads a line"]
    return f"{pin.name} " + ", ".join(words) + "".join(f"; {but}" for but in reluctances(need, pin))
