"""What a check says: one question, its answer as figures, and what to change.

Every package that checks something returns `Finding`s; the command line, the page and the sheets print them. All
values are floats in SI units (temperatures in degC); the unit beside a value is how the
field writes it and is passed to `pattress.quantity.show`.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from enum import StrEnum
from math import isfinite
from typing import Protocol


class Verdict(StrEnum):
    """How a check ended, from best to worst for the person who relies on it."""

    HOLDS = "holds"
    TIGHT = "tight"
    UNKNOWN = "unknown"
    FAILS = "fails"

    @property
    def severity(self) -> int:
        """Return 0 for holds up to 3 for fails."""
        return list(Verdict).index(self)


class Sense(StrEnum):
    """On which side of its limit a value must stay."""

    AT_MOST = "at most"
    AT_LEAST = "at least"


@dataclass(frozen=True, slots=True)
class Figure:
    """A value in SI units and the unit it is shown in, e.g. ``Figure(2.2e-6, "F")``."""

    value: float
    unit: str


@dataclass(frozen=True, slots=True)
class Source:
    """Where a figure or rule was read.

    `read` is False for a value from memory; every report says so beside the figure.
    """

    title: str
    where: str = ""
    read: bool = True

    def __str__(self) -> str:
        place = f"{self.title}, {self.where}" if self.where else self.title
        return place if self.read else f"{place} (from memory)"


COMMON_PRACTICE = Source("common practice, no source")


@dataclass(frozen=True, slots=True)
class Input:
    """One number put into a formula: its symbol or name, the figure, and where it came from.

    `origin` is a key of the job file ("load.pendant.power"), a part's designation, the id of
    another finding, or a sentence.
    """

    name: str
    figure: Figure | str
    origin: str
    source: Source | None = None


@dataclass(frozen=True, slots=True)
class Assumption:
    """What was taken because the job file says "unknown", and what would settle it."""

    key: str
    taken: str
    why: str
    measure: str


@dataclass(frozen=True, slots=True)
class Finding:
    """The answer to one question about one thing.

    `id` is the question's short name, a dot, and the thing ("contacts.pendant"); `subject` is
    the thing's key. `value` is at the worst corner, `nominal` at nominal conditions, both on
    the same scale as `limit`. `change` says what to do when it does not hold, best first.
    `safety` findings that fail stop the bundle, and so do those that are unknown, unless they are
    `on_site`: what the installation brings along and the job does not change, or what only a
    measurement of the finished board can tell. `covers_not` says what was left out.
    """

    id: str
    question: str
    subject: str
    verdict: Verdict
    value: Figure | None
    limit: Figure | None
    sense: Sense
    nominal: Figure | None = None
    corner: str = ""
    formula: str = ""
    inputs: tuple[Input, ...] = ()
    sources: tuple[Source, ...] = ()
    assumptions: tuple[Assumption, ...] = ()
    change: tuple[str, ...] = ()
    detail: str = ""
    covers_not: str = ""
    safety: bool = field(default=True)
    on_site: bool = False

    @property
    def stops(self) -> bool:
        """Return whether nothing may be built while this stands, unless somebody answers for it."""
        return self.safety and (self.verdict is Verdict.FAILS or (self.verdict is Verdict.UNKNOWN and not self.on_site))

    @property
    def wants_answer(self) -> bool:
        """Return whether somebody must answer for this before the design counts as done: it fails, or it stops the bundle."""
        return self.verdict is Verdict.FAILS or self.stops

    @property
    def margin(self) -> float | None:
        """Return how far the value stays from the limit, as a share of the limit; negative = beyond."""
        if self.value is None or self.limit is None or not self.limit.value:
            return None
        share = self.value.value / self.limit.value
        return 1.0 - share if self.sense is Sense.AT_MOST else share - 1.0


def judge(value: float, limit: float, sense: Sense, *, tight: float = 0.1) -> Verdict:
    """Return the verdict on a value against its limit.

    A value within the share `tight` of its limit (10 % unless the question knows better) is
    `tight`. Raises ValueError when either number is not finite.
    """
    if not (isfinite(value) and isfinite(limit)):
        raise ValueError(f"value and limit must be finite, found {value!r} and {limit!r}")
    if sense is Sense.AT_MOST:
        if value > limit:
            return Verdict.FAILS
        return Verdict.TIGHT if value > limit - tight * abs(limit) else Verdict.HOLDS
    if value < limit:
        return Verdict.FAILS
    return Verdict.TIGHT if value < limit + tight * abs(limit) else Verdict.HOLDS


def judge_between(worst: float, best: float, limit: float, sense: Sense, *, best_limit: float | None = None, tight: float = 0.1) -> Verdict:
    """Return the verdict on a value that is only known to lie between its worst and its best credible one.

    The worst one is judged; where it fails and the best one would not, the answer is `unknown`. `limit` is the worst
    credible limit, `best_limit` the best where the limit is not known either. Raises ValueError when a number is not finite.
    """
    verdict = judge(worst, limit, sense, tight=tight)
    at_best = limit if best_limit is None else best_limit
    return Verdict.UNKNOWN if verdict is Verdict.FAILS and judge(best, at_best, sense) is not Verdict.FAILS else verdict


def margin_words(share: float) -> str:
    """Return a margin as a percentage with its sign; "ample" from nine times the limit on."""
    return "ample" if share >= 9.0 else f"{100 * share:+.0f} %"


def unknowns(findings: Iterable[Finding]) -> tuple[Assumption, ...]:
    """Return what is not known, each key once, in the order of the findings; where checks take it differently, all that they take."""
    by_key: dict[str, list[Assumption]] = {}
    for finding in findings:
        for assumption in finding.assumptions:
            by_key.setdefault(assumption.key, []).append(assumption)
    return tuple(_as_one(some) for some in by_key.values())


def _as_one(some: list[Assumption]) -> Assumption:
    taken, measure = (tuple(dict.fromkeys(words)) for words in zip(*((one.taken, one.measure) for one in some)))
    if len(taken) == 1 == len(measure):
        return some[0]
    return replace(some[0], taken=" or ".join(taken) + ", each where it is worse" * (len(taken) > 1), measure="; ".join(measure))


class Judged(Protocol):
    """Whatever has a verdict: a finding, a name that may be misheard, a claim of the proof."""

    @property
    def verdict(self) -> Verdict: ...


def worst(findings: Iterable[Judged]) -> Verdict:
    """Return the worst verdict among findings, `holds` for none."""
    return max((finding.verdict for finding in findings), key=lambda v: v.severity, default=Verdict.HOLDS)
