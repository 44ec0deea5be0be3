"""What would make a board fit after all: the cheapest ways, each proven by assigning anew.

One model holds every change a person could make, each at its price; the cheapest set of
changes is found, then that combination is ruled out and the next is sought. Prices order the
offers by trouble and money; they are not money (common practice, no source).
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from pattress.pins.best import Assignment, best
from pattress.pins.conflict import conflict
from pattress.pins.demands import CONTACT, LAMP, RECEIVER, RELAY, SENSOR, WIRE, Demand
from pattress.pins.problem import Problem, problem
from pattress.pins.rules import RULES, objections
from pattress.pins.solver import Model
from pattress.stock.boards import Board

OFFERS = 4                   # combinations of changes at most, other boards not counted
WAIVABLE = tuple(rule for rule in RULES if rule.price is not None)

PRICE_OF_RESOLDERING = 50    # one wire already soldered
PRICE_OF_NO_LAMP = 40
PRICE_OF_AN_EXPANDER, PRICE_OF_EXPANDED = 100, 2
PRICE_OF_A_REGISTER, PRICE_OF_REGISTERED = 140, 4
PRICE_OF_DROPPING = {CONTACT: 400, RECEIVER: 300, SENSOR: 300, RELAY: 500}

EXPANDER_INPUTS, EXPANDER_WIRES = 16, 2      # two-wire port expander (common practice, no source)
REGISTER_OUTPUTS, REGISTER_WIRES = 16, 4     # two shift registers in a chain: data, clock, latch, enable


@dataclass(frozen=True, slots=True)
class Relaxation:
    """A way out: what to change in words, and the assignment that then holds (it was solved anew).

    `kinds` names the changes; `wanted`, `fixed`, `waived` and `board` are what was solved.
    """

    kinds: tuple[str, ...]
    words: str
    price: int
    wanted: tuple[Demand, ...]
    fixed: Mapping[str, int]
    waived: frozenset[str]
    board: Board
    assignment: Assignment


def relaxations(asked: Problem, boards: Iterable[Board] = ()) -> tuple[Relaxation, ...]:
    """Return the cheapest ways to make a problem fit that does not, cheapest first.

    `boards` are others to try as they are: a board that fits comes last, the one with the least
    cost first, and wires soldered to the present board count as loose there.
    """
    found: list[Relaxation] = []
    while len(found) < OFFERS:
        change = _Change.cheapest(asked, [offer.kinds for offer in found])
        if change is None or ("drop" in change.kinds and len(found) >= 2):
            break
        found.append(change.proven(asked))
    if found and found[0].kinds == ("resolder",):
        return (found[0],)                       # a slip of the soldering iron, not a board too small
    others = []
    for board in boards:
        elsewhere = problem(asked.wanted, board)
        if board.type != asked.board.type and conflict(elsewhere) is None and (fits := best(elsewhere)):
            words = f"take the board {board.type} ({board.title}): all {len(asked.wanted)} wires fit it"
            others.append(Relaxation(("board",), words, fits.cost, asked.wanted, {}, frozenset(), board, fits))
    return (*found, *sorted(others, key=lambda offer: offer.price))


@dataclass(frozen=True, slots=True)
class _Change:
    """A set of changes that the model found: by kind, and how many wires of each bank move or go."""

    kinds: tuple[str, ...]
    price: int
    moved: tuple[int, ...]
    dropped: tuple[int, ...]
    loosened: frozenset[str]

    @classmethod
    def cheapest(cls, asked: Problem, tried: list[tuple[str, ...]]) -> "_Change | None":
        """Return the cheapest change that contains none of the combinations tried; None when there is none."""
        model = Model()
        kinds = {name: model.truth() for name in (*(rule.name for rule in WAIVABLE), "resolder", "lamp",
                                                  "expander", "register", "drop")}
        fees = {"expander": PRICE_OF_AN_EXPANDER, "register": PRICE_OF_A_REGISTER}
        cost = [(fees.get(name, 1), x) for name, x in kinds.items()]      # even a free change is a change
        at_pin: list[list[int]] = [[] for _ in asked.pins]
        moved, dropped, loose = [], [], {}
        for number, bank in enumerate(asked.banks):
            size = len(bank.members)
            goes, moves = model.whole(0, size), model.whole(0, size if bank.need in (CONTACT, RELAY) else 0)
            away, to = ("lamp", PRICE_OF_NO_LAMP) if bank.need is LAMP else ("drop", PRICE_OF_DROPPING.get(bank.need, 500))
            model.at_most([(1, goes), (-size, kinds[away])], 0)
            model.at_most([(1, moves), (-size, kinds["register" if bank.need is RELAY else "expander"])], 0)
            cost += [(to, goes), (PRICE_OF_REGISTERED if bank.need is RELAY else PRICE_OF_EXPANDED, moves)]
            moved.append(moves)
            dropped.append(goes)
            sits = []
            for at, pin in enumerate(asked.pins):
                elsewhere = bank.fixed not in (None, pin.gpio)
                broken = set(objections(bank.need, pin)) if elsewhere else set(asked.against(bank, pin))
                prices = [rule for rule in WAIVABLE if rule.name in broken]
                if len(prices) < len(broken):
                    continue
                x = model.truth()
                sits.append(x)
                at_pin[at].append(x)
                for rule in prices:
                    model.at_most([(1, x), (-1, kinds[rule.name])], 0)
                cost.append((sum(rule.price for rule in prices) + PRICE_OF_RESOLDERING * elsewhere, x))
                if elsewhere:
                    model.at_most([(1, x), (-1, kinds["resolder"])], 0)
                    loose[number, x] = bank.members[0].name
            model.exactly([*((1, x) for x in sits), (1, goes), (1, moves)], size)
        for need, kind, most in ((CONTACT, "expander", EXPANDER_INPUTS), (RELAY, "register", REGISTER_OUTPUTS)):
            model.at_most([(1, x) for x, bank in zip(moved, asked.banks, strict=True) if bank.need is need], most)
            wires = EXPANDER_WIRES if kind == "expander" else REGISTER_WIRES
            sits = []
            for at, pin in enumerate(asked.pins):
                if not objections(WIRE, pin):
                    x = model.truth()
                    sits.append(x)
                    at_pin[at].append(x)
            model.exactly([*((1, x) for x in sits), (-wires, kinds[kind])], 0)
        for held in at_pin:
            model.at_most([(1, x) for x in held], 1)
        for combination in tried:
            model.at_most([(1, kinds[name]) for name in combination], len(combination) - 1)
        model.minimise(cost)
        answer = model.solve()
        if answer is None:
            return None
        value = answer.values.__getitem__
        return cls(
            tuple(name for name, x in kinds.items() if value(x)), answer.cost,
            tuple(map(value, moved)), tuple(map(value, dropped)),
            frozenset(name for (_, x), name in loose.items() if value(x)),
        )

    def proven(self, asked: Problem) -> Relaxation:
        """Return the change as an offer, its assignment solved anew with the changed wires and rules."""
        gone, shifted = self._leaving(asked, self.dropped, ()), ()
        shifted = self._leaving(asked, self.moved, gone)
        wanted = [demand for demand in asked.wanted if demand not in (*gone, *shifted)]
        for kind, wires in (("expander", EXPANDER_WIRES), ("register", REGISTER_WIRES)):
            if kind in self.kinds:
                wanted += [Demand(f"{kind}.{number}", WIRE, kind) for number in range(1, wires + 1)]
        names = {demand.name for demand in wanted}
        fixed = {bank.members[0].name: bank.fixed for bank in asked.banks if bank.fixed is not None}
        fixed = {name: gpio for name, gpio in fixed.items() if name in names and name not in self.loosened}
        waived = frozenset(rule.name for rule in WAIVABLE if rule.name in self.kinds)
        solved = best(problem(wanted, asked.board, fixed), waived)
        if solved is None:
            raise AssertionError(f"the change {self.kinds} was found to fit and does not")
        words = "; ".join(_words(kind, solved, gone, shifted, self.loosened) for kind in self.kinds)
        return Relaxation(self.kinds, words, self.price, tuple(wanted), fixed, waived, asked.board, solved)

    @staticmethod
    def _leaving(asked: Problem, counts: tuple[int, ...], already: tuple[Demand, ...]) -> tuple[Demand, ...]:
        """Return the wires that leave: of each bank the last ones that are still there."""
        leaving = []
        for bank, count in zip(asked.banks, counts, strict=True):
            there = [demand for demand in bank.members if demand not in already]
            leaving += there[len(there) - count:]
        return tuple(leaving)


def _words(kind: str, solved: Assignment, gone: tuple[Demand, ...], shifted: tuple[Demand, ...], loosened: frozenset[str]) -> str:
    """Return one kind of change in words."""
    if kind == "pull-up":
        return (f"fit a pull-up resistor of 4.7 kohm to 3.3 V at {_at(solved, kind)}, "
                "and say so by naming those pins in [board.pins]")
    if kind == "console":
        return (f"give up the serial console for {_at(solved, kind)}, "
                "and say so by naming those pins in [board.pins]")
    if kind == "resolder":
        moved = [f"{placed.demand.name} to {placed.pin.name}" for placed in solved.pins if placed.demand.name in loosened]
        return f"move the soldered wire of {', of '.join(moved)}"
    if kind == "lamp":
        return "give up the status lamp: status_lamp = false in [board]"
    if kind == "expander":
        contacts = [demand.name for demand in shifted if demand.need is CONTACT]
        return (f"put {_number(contacts, 'contact')} on a two-wire port expander beside the board, with its own pull-ups: "
                f"{', '.join(contacts)}")
    if kind == "register":
        relays = [demand.name for demand in shifted if demand.need is RELAY]
        return (f"drive {_number(relays, 'relay')} from a shift register whose enable line is pulled up, to stay off "
                f"while the board starts: {', '.join(relays)}")
    names = [demand.name for demand in gone if demand.need is not LAMP]
    return f"give up {', '.join(names)}"


def _number(names: list[str], word: str) -> str:
    return f"{len(names)} {word}{'s' if len(names) != 1 else ''}"


def _at(solved: Assignment, rule: str) -> str:
    """Return the wires that break a rule and their pins: "switch.door on GPIO34 (D34)"."""
    return ", ".join(f"{placed.demand.name} on {placed.pin.name}" for placed in solved.pins if rule in placed.broken)
