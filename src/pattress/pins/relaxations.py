"""What would make a board fit after all: the cheapest ways, each proven by assigning anew.

One model holds every change a person could make, each at its price; the cheapest set of
changes is found, then that combination is ruled out and the next is sought. Prices order the
offers by trouble and money; they are not money (common practice, no source).
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from pattress.pins.best import Assignment, best
from pattress.pins.conflict import conflict
from pattress.pins.demands import BUS_WIRE, CONTACT, LAMP, RECEIVER, REGISTER_WIRE, RELAY, SENSOR, WARNING, Demand, Need
from pattress.pins.problem import Bank, Problem, problem
from pattress.pins.relaxation import Relaxation
from pattress.pins.rules import OPEN_COLLECTOR, RULES, objections
from pattress.pins.solver import Model, Unproven
from pattress.plural import counted
from pattress.quantity import show
from pattress.stock.boards import Board, Pin

OFFERS = 4                   # combinations of changes at most, other boards not counted
WAIVABLE = tuple(rule for rule in RULES if rule.price is not None)
KINDS = (*(rule.name for rule in WAIVABLE), "resolder", "lamp", "expander", "register", "drop")

PRICE_OF_RESOLDERING = 50    # one wire already soldered
PRICE_OF_NO_LAMP = 40
PRICE_OF_DROPPING = {CONTACT: 400, WARNING: 300, RECEIVER: 300, SENSOR: 300, RELAY: 500}



@dataclass(frozen=True, slots=True)
class Part:
    """A part that takes over up to `most` wires of a kind, for `wires` of its own; prices of it and of each."""

    takes: Need
    most: int
    wire: Need
    wires: int
    fee: int
    each: int


# A two-wire port expander; two shift registers in a chain: data, clock, latch, enable (common practice, no source).
PARTS = {
    "expander": Part(CONTACT, most=16, wire=BUS_WIRE, wires=2, fee=100, each=2),
    "register": Part(RELAY, most=16, wire=REGISTER_WIRE, wires=4, fee=140, each=4),
}


def relaxations(asked: Problem, boards: Iterable[Board] = ()) -> tuple[Relaxation, ...]:
    """Return the cheapest ways to make a problem fit that does not, cheapest first.

    `boards` are others to try as they are: a board that fits comes last, the one with the least
    cost first, and wires soldered to the present board count as loose there.
    """
    found: list[Relaxation] = []
    offers = _Offers(asked)
    while len(found) < OFFERS:
        change = offers.cheapest()
        if change is None or ("drop" in change.kinds and len(found) >= 2):
            break
        found.append(change.proven(asked))
    if found and found[0].kinds == ("resolder",):
        return (found[0],)                       # a slip of the soldering iron, not a board too small
    others = []
    for board in boards:
        if board.kind_of:                        # a board of a kind that is offered itself
            continue
        elsewhere = problem(asked.wanted, board)
        if board.type != asked.board.type and not elsewhere.is_short() and conflict(elsewhere) is None and (fits := best(elsewhere)):
            words = f"take the board {board.type} ({board.title}): all {len(asked.wanted)} wires fit it"
            others.append(Relaxation(("board",), words, fits.cost, asked.wanted, {}, frozenset(), board, fits))
    return (*found, *sorted(others, key=lambda offer: offer.price))


def resoldered(rest: Assignment, asked: Problem, fixed: Mapping[str, int]) -> Relaxation:
    """Return the way out of moving soldered wires that cannot stay: `rest` is the assignment with only those of `fixed` where they are."""
    moved = frozenset(bank.members[0].name for bank in asked.banks if bank.fixed is not None) - fixed.keys()
    return Relaxation(("resolder",), _words("resolder", rest, (), (), moved), PRICE_OF_RESOLDERING * len(moved), asked.wanted, dict(fixed),
                      frozenset(), asked.board, rest)


class _Offers:
    """The problem with every change at its price: what a person may alter is a truth in `kinds`."""

    def __init__(self, asked: Problem) -> None:
        self.asked, self.model = asked, Model()
        self.kinds = {name: self.model.truth() for name in KINDS}
        self.cost = [(PARTS[name].fee if name in PARTS else 1, x) for name, x in self.kinds.items()]
        self.at_pin: list[list[int]] = [[] for _ in asked.pins]
        self.moved: list[int] = []
        self.dropped: list[int] = []
        self.elsewhere: dict[int, str] = {}          # by truth: the soldered wire that leaves its pin
        for bank in asked.banks:
            self._bank(bank)
        for kind, part in PARTS.items():
            self._extra(kind, part)
        for held in self.at_pin:
            self.model.at_most([(1, x) for x in held], 1)
        self.model.minimise(self.cost)

    def cheapest(self) -> "_Change | None":
        """Return the cheapest change, None when nothing helps; its combination is not offered again."""
        answer = self.model.solve()
        if answer is None:
            return None
        kinds = tuple(name for name, x in self.kinds.items() if answer.values[x])
        self.model.at_most([(1, self.kinds[name]) for name in kinds], len(kinds) - 1)
        return _Change(
            kinds, answer.cost,
            tuple(answer.values[x] for x in self.moved), tuple(answer.values[x] for x in self.dropped),
            frozenset(name for x, name in self.elsewhere.items() if answer.values[x]),
        )

    def _bank(self, bank: Bank) -> None:
        """Let each wire of a bank sit on a pin, move to an expander or register, or be given up."""
        size = len(bank.members)
        takers = [kind for kind, part in PARTS.items() if part.takes is bank.need]
        moves, goes = self.model.whole(0, size * len(takers)), self.model.whole(0, size)
        for kind in takers:
            self._only_with(kind, moves, size, PARTS[kind].each)
        if bank.need is LAMP:
            self._only_with("lamp", goes, size, PRICE_OF_NO_LAMP)
        else:
            self._only_with("drop", goes, size, PRICE_OF_DROPPING[bank.need])
        sits = [x for at, pin in enumerate(self.asked.pins) if (x := self._seat(bank, at, pin)) is not None]
        self.model.exactly([*((1, x) for x in sits), (1, moves), (1, goes)], size)
        self.moved.append(moves)
        self.dropped.append(goes)

    def _seat(self, bank: Bank, at: int, pin: Pin) -> int | None:
        """Return a truth "the bank holds this pin", None when no price makes that possible."""
        leaves = bank.fixed not in (None, pin.gpio)
        broken = set(objections(bank.need, pin)) if leaves else set(self.asked.against(bank, pin))
        waived = [(rule.name, rule.price) for rule in WAIVABLE if rule.name in broken and rule.price is not None]
        if len(waived) < len(broken):
            return None
        x = self.model.truth()
        self.at_pin[at].append(x)
        for name, price in waived:
            self._only_with(name, x, 1, price)
        if leaves:
            self._only_with("resolder", x, 1, PRICE_OF_RESOLDERING)
            self.elsewhere[x] = bank.members[0].name
        return x

    def _extra(self, kind: str, part: "Part") -> None:
        """Let a part take over wires of a kind, for wires of its own."""
        moved = zip(self.moved, self.asked.banks, strict=True)
        self.model.at_most([(1, x) for x, bank in moved if bank.need is part.takes], part.most)
        sits = []
        for at, pin in enumerate(self.asked.pins):
            if not objections(part.wire, pin):
                sits.append(self.model.truth())
                self.at_pin[at].append(sits[-1])
        self.model.exactly([*((1, x) for x in sits), (-part.wires, self.kinds[kind])], 0)

    def _only_with(self, kind: str, amount: int, most: int, price: int) -> None:
        """Let an amount be above zero only with a kind of change, each one at a price."""
        self.model.at_most([(1, amount), (-most, self.kinds[kind])], 0)
        self.cost.append((price, amount))


@dataclass(frozen=True, slots=True)
class _Change:
    """A set of changes that the model found: by kind, and how many wires of each bank move or go."""

    kinds: tuple[str, ...]
    price: int
    moved: tuple[int, ...]
    dropped: tuple[int, ...]
    loosened: frozenset[str]

    def proven(self, asked: Problem) -> Relaxation:
        """Return the change as an offer, its assignment solved anew with the changed wires and rules."""
        gone = self._leaving(asked, self.dropped, ())
        shifted = self._leaving(asked, self.moved, gone)
        wanted = [demand for demand in asked.wanted if demand not in (*gone, *shifted)]
        for kind, part in PARTS.items():
            if kind in self.kinds:
                wanted += [Demand(f"{kind}.{number}", part.wire, kind) for number in range(1, part.wires + 1)]
        names = {demand.name for demand in wanted}
        fixed = {bank.members[0].name: bank.fixed for bank in asked.banks if bank.fixed is not None}
        fixed = {name: gpio for name, gpio in fixed.items() if name in names and name not in self.loosened}
        waived = frozenset(rule.name for rule in WAIVABLE if rule.name in self.kinds)
        solved = best(problem(wanted, asked.board, fixed), waived)
        if solved is None:
            raise Unproven(f"the change {self.kinds} was found to fit and does not")
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


def _words(
    kind: str, solved: Assignment, gone: tuple[Demand, ...], shifted: tuple[Demand, ...], loosened: frozenset[str]
) -> str:
    """Return one kind of change in words."""
    if kind == "pull-up":
        return (f"fit a pull-up resistor of {show(OPEN_COLLECTOR, 'ohm')} to 3.3 V at {_at(solved, kind)}, "
                "and say so by naming those pins in [board.pins]")
    if kind == "console":
        return (f"give up the serial console for {_at(solved, kind)}, "
                "and say so by naming those pins in [board.pins]")
    if kind == "resolder":
        placed = [placed for placed in solved.pins if placed.demand.name in loosened]
        moved = [f"{one.demand.name} to {one.pin.name}" for one in placed]
        return f"move the soldered wire of {', of '.join(moved)}"
    if kind == "lamp":
        return "give up the status lamp: status_lamp = false in [board]"
    if kind == "expander":
        contacts = [demand for demand in shifted if demand.need is CONTACT]
        values = " or ".join(show(ohm, "ohm") for ohm in sorted({one.pull_up for one in contacts if one.pull_up is not None}))
        return (f"put {counted(len(contacts), 'contact')} on a two-wire port expander beside the board, "
                f"each with its pull-up{f' of {values}' if values else ''} to 3.3 V: {', '.join(one.name for one in contacts)}")
    if kind == "register":
        relays = [demand.name for demand in shifted if demand.need is RELAY]
        return (f"drive {counted(len(relays), 'relay')} from a shift register whose enable line is pulled up, "
                f"to stay off while the board starts: {', '.join(relays)}")
    names = [demand.name for demand in gone if demand.need is not LAMP]
    return f"give up {', '.join(names)}"


def _at(solved: Assignment, rule: str) -> str:
    """Return the wires that break a rule and their pins: "switch.door on GPIO34 (D34)"."""
    return ", ".join(f"{placed.demand.name} on {placed.pin.name}" for placed in solved.pins if rule in placed.broken)
