"""Why a board cannot be wired as asked: the smallest set of wires and rules that conflict.

Wires find pins of their own unless some of them have too few pins between them (P. Hall, "On
representatives of subsets", 1935, from memory). So a conflict is a set of wires and rules such
that the pins the rules leave for the wires are fewer than the wires, and one search finds the
smallest: fewest wires and rules together, at equal size of fewest banks.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pattress.pins.best import Assignment, Placement
from pattress.pins.demands import Demand
from pattress.pins.problem import Problem
from pattress.pins.relaxation import Relaxation
from pattress.pins.rules import RULES, Rule, objections
from pattress.pins.solver import Model
from pattress.stock.boards import Pin

Against = Mapping[tuple[int, int], frozenset[str]]     # by bank and pin: the rules that speak against it
NOTHING_SMALLER = (
    "  Take away any one of these wires or rules and the conflict is gone; no smaller set conflicts (proven)."
)


@dataclass(frozen=True, slots=True)
class Conflict:
    """Wires and rules that cannot all be met; there is no smaller such set (proven).

    `left` are the pins the rules leave for these wires, one too few. `missing` is how many pins
    at least are short for all wires of the same banks. `relaxations` are the cheapest ways out.
    Where several soldered wires cannot stay, each by itself is such a set, and all are told. `soldered`
    are all wires that a person has soldered; `rest` is the assignment of every wire once those that
    cannot stay are free to move, None when that does not fit either.
    """

    demands: tuple[Demand, ...]
    rules: tuple[Rule, ...]
    left: tuple[Pin, ...]
    missing: int
    words: str
    relaxations: tuple[Relaxation, ...] = ()
    soldered: tuple[Placement, ...] = ()
    rest: Assignment | None = None


def conflict(problem: Problem) -> Conflict | None:
    """Return the smallest conflict of a problem, None when it is proven that everything fits."""
    against = {(number, at): frozenset(problem.against(bank, pin))
               for number, bank in enumerate(problem.banks) for at, pin in enumerate(problem.pins)
               if bank.fixed in (None, pin.gpio)}
    model = Model()
    counts = [model.whole(0, len(bank.members)) for bank in problem.banks]
    used = [model.truth() for _ in problem.banks]
    holds = {name: model.truth() for name in sorted(set().union(*against.values()))}
    left = [model.truth() for _ in problem.pins]
    for count, bank, is_used in zip(counts, problem.banks, used, strict=True):
        model.at_most([(1, count), (-len(bank.members), is_used)], 0)
    for (number, at), names in against.items():      # a pin is left for a used bank unless a rule takes it away
        model.at_least([(1, left[at]), (-1, used[number]), *((1, holds[name]) for name in names)], 0)
    model.at_least([*((1, count) for count in counts), *((-1, pin) for pin in left)], 1)
    whole = len(used) + 1
    model.minimise([*((whole, x) for x in [*counts, *holds.values()]), *((1, x) for x in used)])
    answer = model.solve()
    if answer is None:
        return None
    rules = [rule for rule in RULES if rule.name in holds and answer.values[holds[rule.name]]]
    return _told(problem, against, [answer.values[count] for count in counts], rules)


def together(some: Sequence[Conflict], soldered: tuple[Placement, ...], rest: Assignment | None) -> Conflict:
    """Return conflicts that have no wire in common as one, in words one after the other."""
    rules = {rule.name for why in some for rule in why.rules}
    return Conflict(
        tuple(demand for why in some for demand in why.demands), tuple(rule for rule in RULES if rule.name in rules),
        tuple(pin for why in some for pin in why.left), sum(why.missing for why in some),
        "\n".join(why.words for why in some), soldered=soldered, rest=rest,
    )


def _told(problem: Problem, against: Against, counts: list[int], rules: list[Rule]) -> Conflict:
    """Return a conflict in words."""
    used = [number for number, count in enumerate(counts) if count]
    names = {rule.name for rule in rules}
    wires = tuple(demand for number in used for demand in problem.banks[number].members[:counts[number]])
    places = sorted({at for (number, at), broken in against.items() if number in used and not broken & names})
    left = tuple(problem.pins[at] for at in places)
    missing = sum(len(problem.banks[number].members) for number in used) - len(left)
    lines = [_headline(wires, left)]
    lines += [f"  {_counted(problem, number, counts[number])}" for number in used]
    lines += [f"  rule: {rule.says}: {_taken_away(problem, against, used, rule.name)}" for rule in rules]
    if missing > 1:
        lines.append(f"  All {missing + len(left)} wires of these kinds are at least {missing} pins short.")
    lines.append(NOTHING_SMALLER)
    return Conflict(wires, tuple(rules), left, missing, "\n".join(lines))


def _headline(wires: tuple[Demand, ...], left: tuple[Pin, ...]) -> str:
    need = "1 wire needs a pin" if len(wires) == 1 else f"{len(wires)} wires need a pin each"
    if not left:
        return f"{need}, and the rules leave none:"
    pins = ", ".join(pin.name for pin in left)
    return f"{need}, and the rules leave {len(left)}: {pins}."


def _counted(problem: Problem, number: int, count: int) -> str:
    """Return "any 4 of the 9 contacts to ground switch.a, switch.b ..." or the wire soldered where."""
    bank = problem.banks[number]
    names = ", ".join(demand.name for demand in bank.members)
    if bank.fixed is not None:
        return f"{names}, {bank.need.word}, soldered to GPIO{bank.fixed}"
    if count == len(bank.members):
        return f"{bank.need.word} {names}" if count == 1 else f"the {count} {bank.need.plural} {names}"
    return f"any {count} of the {len(bank.members)} {bank.need.plural} {names}"


def _taken_away(problem: Problem, against: Against, used: list[int], name: str) -> str:
    """Return in words which pins a rule takes from these wires, each with its own objection."""
    by_words: dict[str, list[str]] = {}
    for at, pin in enumerate(problem.pins):
        for number in used:
            if name in against.get((number, at), ()):
                words = objections(problem.banks[number].need, pin)[name]
                by_words.setdefault(words, [])
                if pin.name not in by_words[words]:
                    by_words[words].append(pin.name)
    return "; ".join(
        f"{first} {words}" + (f", likewise {', '.join(others)}" if others else "")
        for words, (first, *others) in by_words.items()
    )
