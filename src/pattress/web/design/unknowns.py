"""What is not known in a job, on the page: what was taken, how to settle it, and, when asked for, what that would settle."""

from collections.abc import Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from pattress.design import Design
from pattress.design.prices import load_prices
from pattress.design.settling import Settled, settle
from pattress.finding import unknowns
from pattress.handover.calculation import in_words
from pattress.web.draft import Draft

NOT_ASKED = "not asked"


@dataclass(frozen=True, slots=True)
class Tried:
    """An end of what is credible: in words, where it is from, and the address of the variant; "" where it takes several keys."""

    words: str
    origin: str
    address: str
    refused: str


@dataclass(frozen=True, slots=True)
class Hanging:
    """A check that hangs on it: question, id, verdict as the job is, and at each end by the end's place; "" where it is not asked."""

    question: str
    id: str
    now: str
    then: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NotKnown:
    """One unknown. `told` says in words what measuring it would settle, "" before that was asked for."""

    key: str
    name: str
    taken: str
    measure: str
    ends: tuple[Tried, ...] = ()
    checks: tuple[Hanging, ...] = ()
    told: str = ""


def not_known(design: Design) -> tuple[NotKnown, ...]:
    """Return what is not known, in the order of the findings; takes no time."""
    return tuple(NotKnown(one.key, in_words(design.job, one.key), one.taken, one.measure) for one in unknowns(design.findings))


def settled(draft: Draft) -> tuple[NotKnown, ...]:
    """Return what is not known with what measuring it would settle, the most decisive first; takes a design or two for each."""
    design = draft.now.design
    return tuple(_shown(design, one) for one in settle(design, lambda edits: draft.trial(edits).design))


def price_of_measuring() -> str:
    """Return in words what a measurement counts beside other ways out."""
    prices = load_prices()
    return (f"In the search for the cheapest cure a measurement counts {prices['measurement', 'each']}, another relay {prices['relay', 'change']}, "
            f"another device in the consumer unit {prices['device', 'change']}, a new run to a load {prices['run', 'change']} at least.")


def _shown(design: Design, one: Settled) -> NotKnown:
    found = one.assumption
    tried = tuple(Tried(end.words, end.origin, _address(one.key, end.value), refused) for end, refused in zip(one.ends, one.refused, strict=True))
    checks = tuple(Hanging(swing.question, swing.id, str(swing.now or NOT_ASKED), tuple(str(verdict or NOT_ASKED) for verdict in swing.then))
                   for swing in one.swings)
    return NotKnown(one.key, in_words(design.job, one.key), found.taken, found.measure, tried, checks, _told(one, checks))


def _told(one: Settled, checks: Sequence[Hanging]) -> str:
    if not one.ends:
        return "No two ends of it are known here, or the job file has no place for it: what it would settle is not told."
    return "" if checks else "No verdict hangs on it by itself, only figures."


def _address(key: str, value: object) -> str:
    return "" if isinstance(value, dict) else f"/what-if?{urlencode({'key-1': key, 'text-1': value})}#variant"
