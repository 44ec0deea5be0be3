"""The cheapest set of changes that makes a job hold: `pattress check --fix`.

A search by cuts (J. Hooker, "Logic-based Benders decomposition", 2003, from memory): a solver
picks the cheapest option of every choice that the rules so far allow, the design of that
candidate is built, and every finding that fails gives one more rule: this combination of the
choices in its scope never again. Rules only take away what was seen to fail, so the first
candidate that breaks none is the cheapest there is (proven).

An unknown counts as settled once it is measured, at a price: building round an unknown is worth
it only while that is cheaper. A failure that nothing cures is given up at a price above all
others together; what a person answers for in the job file is left alone.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import product

from pattress.design import Design
from pattress.design.choices import Choice, Edit, Kind, catalogue
from pattress.design.prices import Prices
from pattress.design.scopes import NARROW
from pattress.design.trials import Answer, Picks, Trials, answer_of
from pattress.finding import Finding, Verdict
from pattress.pins.conflict import Conflict
from pattress.pins.solver import Model, Unproven

MOST_CANDIDATES = 400        # designs built before the search stops with the best seen
MOST_WIDE_RULES = 60         # rules from one finding that depends on many choices, before it is given up unproven
WIDEST_RULE = 64             # combinations asked for to make one rule
GIVEN_UP = 10**7             # price of a failure that stays: above all changes of a large job together
PINS = "pins.board"


@dataclass(frozen=True, slots=True)
class Change:
    """One change: key of the job file, present and new value in words, price, and the edits it takes.

    `buys` are the findings as they would be with all other changes and without this one.
    """

    key: str
    before: str
    after: str
    price: int
    buys: tuple[Finding, ...]
    edits: tuple[Edit, ...]


@dataclass(frozen=True, slots=True)
class Cure:
    """The cheapest changes, the designs before and after, and what is left.

    `failing` and `unknown` are of the design after, without those somebody answers for. `proven`
    is False when the search stopped early; `tried` says how many designs it built.
    """

    before: Design
    after: Design
    changes: tuple[Change, ...]
    price: int
    failing: tuple[Finding, ...]
    unknown: tuple[Finding, ...]
    proven: bool
    tried: int

    @property
    def cured(self) -> tuple[str, ...]:
        """Return the ids of findings that failed before and do not fail after."""
        left = {finding.id for finding in self.after.findings if finding.verdict is Verdict.FAILS}
        return tuple(f.id for f in self.before.findings if f.verdict is Verdict.FAILS and f.id not in left)


def cure(
    design: Design, prices: Prices, progress: Callable[[str], None] | None = None, choices: tuple[Choice, ...] | None = None,
) -> Cure:
    """Return the cheapest changes to the job of a design after which as little as possible fails.

    What fails comes first, then the price of changes and of measurements together. `choices` is
    what may be changed: everything of the catalogue, unless given.
    """
    choices = catalogue(design, prices) if choices is None else choices
    trials = Trials(design, choices)
    picks, proven, tried = _Search(trials, prices, progress).best()
    after = trials.design(picks)
    changes = tuple(
        Change(choice.key, choice.options[0].shown, choice.options[pick].shown, choice.options[pick].price,
               _bought(trials, picks, place), choice.options[pick].edits)
        for place, (choice, pick) in enumerate(zip(choices, picks, strict=True)) if pick
    )
    return Cure(design, after, changes, sum(change.price for change in changes),
                tuple(_wanting(after, Verdict.FAILS)), tuple(_wanting(after, Verdict.UNKNOWN)), proven, tried)


def _wanting(design: Design, verdict: Verdict) -> Iterator[Finding]:
    """Yield the findings with a verdict that nobody answers for."""
    return (finding for finding in design.findings if finding.verdict is verdict and finding.id not in design.job.accept)


def _bought(trials: Trials, picks: Picks, place: int) -> tuple[Finding, ...]:
    """Return the findings that fail or are unknown again when one change is taken back."""
    without = tuple(0 if other == place else pick for other, pick in enumerate(picks))
    if not _is_legal(trials.choices, without):
        return ()
    now = {finding.id: finding.verdict.severity for finding in trials.design(picks).findings}
    return tuple(
        finding for finding in trials.design(without).findings
        if finding.verdict in (Verdict.FAILS, Verdict.UNKNOWN) and finding.verdict.severity > now.get(finding.id, 0)
    )


def _is_legal(choices: tuple[Choice, ...], picks: Picks) -> bool:
    """Return whether no wire stays soldered to a pin of another board."""
    by_kind = {kind: [pick for choice, pick in zip(choices, picks, strict=True) if choice.kind is kind] for kind in Kind}
    return not any(by_kind[Kind.BOARD]) or all(by_kind[Kind.WIRE])


class _Search:
    """The rules so far and the solver's model of them."""

    def __init__(self, trials: Trials, prices: Prices, progress: Callable[[str], None] | None):
        self.trials, self.choices, self.progress = trials, trials.choices, progress
        self.price_of_measuring = prices["measurement", "each"]
        self.model = Model()
        self.picked = [[self.model.truth() for _ in choice.options] for choice in self.choices]
        for choice, row in zip(self.choices, self.picked, strict=True):
            self.model.exactly([(1, x) for x in row], 1)
            self.model.minimise([(option.price, x) for option, x in zip(choice.options, row, strict=True)])
        rows = {kind: [row for choice, row in zip(self.choices, self.picked, strict=True) if choice.kind is kind] for kind in Kind}
        for board, wire in product(rows[Kind.BOARD], rows[Kind.WIRE]):      # a pin of one board means nothing on another
            self.model.at_least([(1, board[0]), (1, wire[1])], 1)
        self.measured: dict[str, int] = {}
        self.excused: dict[tuple[str, frozenset[str]], int] = {}
        self.ranks: dict[str, dict[tuple[int, int], tuple[int, float]]] = {}
        self.wide_rules: dict[str, int] = {}
        self.proven = True

    def best(self) -> tuple[Picks, bool, int]:
        """Return the cheapest candidate, whether that is proven, and how many were built."""
        seen: list[tuple[int, Picks]] = []
        for tried in range(1, MOST_CANDIDATES + 1):
            answer = self.model.solve()
            if answer is None:
                raise Unproven("no choice of options is left, not even to change nothing")
            picks = tuple(next(number for number, x in enumerate(row) if answer.values[x]) for row in self.picked)
            design = self.trials.design(picks)
            seen.append((self._cost(design, picks), picks))
            if self.progress:
                fails = len(tuple(_wanting(design, Verdict.FAILS)))
                self.progress(f"candidate {tried}: {_price(self.choices, picks)} for changes, {fails} failing")
            if min(seen)[0] <= answer.cost:
                return min(seen)[1], self.proven, tried
            for finding in (*_wanting(design, Verdict.FAILS), *_wanting(design, Verdict.UNKNOWN)):
                self._rule(finding, picks, design, answer.values)
        return min(seen)[1], False, MOST_CANDIDATES

    def _cost(self, design: Design, picks: Picks) -> int:
        """Return what a candidate costs: its changes, what fails all the same, what is to be measured."""
        to_measure = set[str]().union(*(answer_of(finding).settles for finding in _wanting(design, Verdict.UNKNOWN)))
        fails = sum(1 for _ in _wanting(design, Verdict.FAILS))
        return _price(self.choices, picks) + GIVEN_UP * fails + self.price_of_measuring * len(to_measure)

    def _rule(self, finding: Finding, picks: Picks, design: Design, values: tuple[int, ...]) -> None:
        """Forbid what a finding found wanting, unless the solver has taken that into its price already."""
        seen = answer_of(finding)
        excuse = self._excuse(finding.id, seen)
        if excuse < len(values) and values[excuse]:
            return
        others = self._others(finding.id, seen, picks, design)
        self.model.at_least([(1, excuse), *((1, self.picked[place][number]) for place, number in others)], 1)

    def _excuse(self, finding: str, seen: Answer) -> int:
        """Return the variable that takes a failure, or an unknown with its measurements, into the price."""
        key = (finding if seen.verdict is Verdict.FAILS else "", seen.settles)
        if key not in self.excused:
            self.excused[key] = excuse = self.model.truth()
            if seen.verdict is Verdict.FAILS:
                self.model.minimise([(GIVEN_UP, excuse)])
            for measurement in sorted(seen.settles):
                if measurement not in self.measured:
                    self.measured[measurement] = self.model.truth()
                    self.model.minimise([(self.price_of_measuring, self.measured[measurement])])
                self.model.at_most([(1, excuse), (-1, self.measured[measurement])], 0)
        return self.excused[key]

    def _others(self, finding: str, seen: Answer, picks: Picks, design: Design) -> list[tuple[int, int]]:
        """Return the options of which at least one is needed for a finding to say anything else."""
        scope = self.trials.scope(finding)
        if finding == PINS and isinstance(design.pins, Conflict):
            return self._other_pins(design.pins, picks)
        if len(scope) <= NARROW:
            alone = {place: {picks[place]} for place in scope}
            box = alone if finding.startswith("pins.") else self._box(finding, seen, picks, scope)
            return [(place, number) for place in scope for number in range(len(self.picked[place])) if number not in box[place]]
        self.wide_rules[finding] = self.wide_rules.get(finding, 0) + 1
        if self.wide_rules[finding] > MOST_WIDE_RULES:
            self.proven = False
            return []
        ranks = self._ranked(finding, picks, scope)
        return [(place, number) for place in scope for number in range(len(self.picked[place])) if number != picks[place]
                and (ranks[place, number][0] > -seen.verdict.severity or ranks[place, number] > ranks[place, picks[place]])]

    def _box(self, finding: str, seen: Answer, picks: Picks, scope: Picks) -> dict[int, set[int]]:
        """Return options of each choice in scope, all combinations of which end as badly as the one seen."""
        box = {place: {picks[place]} for place in scope}
        asked = 0
        for place in sorted(scope, key=lambda place: len(self.choices[place].options)):
            for number in range(len(self.choices[place].options)):
                if number in box[place]:
                    continue
                new = list(product(*({number} if other == place else box[other] for other in scope)))
                asked += len(new)
                if asked > WIDEST_RULE:
                    break
                if all(self._is_as_bad(finding, seen, picks, dict(zip(scope, point, strict=True))) for point in new):
                    box[place].add(number)
        return box

    def _is_as_bad(self, finding: str, seen: Answer, picks: Picks, point: dict[int, int]) -> bool:
        there = self.trials.answer(finding, tuple(point.get(place, pick) for place, pick in enumerate(picks)))
        return (there.verdict, there.settles) == (seen.verdict, seen.settles)

    def _ranked(self, finding: str, picks: Picks, scope: Picks) -> dict[tuple[int, int], tuple[int, float]]:
        """Return how good each option is for a finding of many choices, each tried alone from one candidate.

        Such a finding is a sum or a worst of parts (currents, losses), so an option that fails
        by more alone fails by more among others; the tests compare with trying everything.
        """
        if finding not in self.ranks:
            if self.progress:
                self.progress(f"what moves {finding}")
            self.ranks[finding] = {}
            for place in scope:
                for number in range(len(self.choices[place].options)):
                    near = tuple(number if other == place else pick for other, pick in enumerate(picks))
                    there = self.trials.answer(finding, near)
                    self.ranks[finding][place, number] = (-there.verdict.severity, round(there.margin, 9))
        return self.ranks[finding]

    def _other_pins(self, why: Conflict, picks: Picks) -> list[tuple[int, int]]:
        """Return what can end a conflict of pins: one of its soldered wires loose, or a board that is known to fit."""
        fitting = {way.board.type for way in why.relaxations if way.kinds == ("board",)}
        wires = {demand.name for demand in why.demands}
        others = []
        for place, choice in enumerate(self.choices):
            if choice.kind is Kind.BOARD:
                others += [(place, number) for number, option in enumerate(choice.options)
                           if number != picks[place] and (option.value in fitting or not fitting)]
            elif choice.kind is Kind.WIRE and choice.thing in wires and not picks[place]:
                others.append((place, 1))
        return others


def _price(choices: tuple[Choice, ...], picks: Picks) -> int:
    return sum(choice.options[pick].price for choice, pick in zip(choices, picks, strict=True))
