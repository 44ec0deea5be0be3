"""How often the network may close each contact, and how long the contacts last if it always does.

Answers: closings a day and an hour that anything but a hand may ask for, from the operations of the
relay's sheet at this load. A hand at the wall, a regulator or a remote has no such bound, and
switching off has none from anywhere. Left out: wear by inrush beyond the sheet's own test.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from pattress.finding import COMMON_PRACTICE, Figure, Finding, Input, Sense, Source, Verdict
from pattress.job.by_rule import closings_an_operation
from pattress.job.model import Job
from pattress.sizing.chosen import Chosen
from pattress.sizing.contacts import DAYS_A_YEAR, endurance_that_counts, operations_a_day, years_of_life
from pattress.sizing.demand import demands

YEARS_AT_THE_BOUND = 1.0         # that contacts last while every closing allowed is asked for: time to notice it (our rule)
LEAST, MOST = 24, 480            # closings a day: a home needs some, and none needs more (our rule)
HOURS = 6                        # a day's closings in so many hours at the quickest (our rule)
RULE = Source("a rule of this program", "the contacts last a year with every allowed closing asked for")


@dataclass(frozen=True, slots=True)
class Allowance:
    """How often anything but a hand may close the contacts of a channel."""

    a_day: int
    an_hour: int


def closings_a_day(*, operations: float | None, per_day: float) -> int:
    """Return how many closings a day the network may ask for.

    Parameters
    ----------
    operations : float or None
        Of the relay's sheet at this load; None where the sheet gives none, which allows the least.
    per_day : float
        Operations a day in ordinary use, which wear the same contacts.
    """
    if operations is None:
        return LEAST
    return int(min(max(operations / (YEARS_AT_THE_BOUND * DAYS_A_YEAR) - per_day, LEAST), MOST))


def allowances(job: Job, chosen: Chosen) -> Mapping[str, Allowance]:
    """Return the allowance of each channel by its key; nothing where no network reaches the controller."""
    found = {}
    for key in {**job.load, **job.fan} if job.network.wifi else ():
        a_day = closings_a_day(operations=_operations(job, chosen, key), per_day=_per_day(job, key))
        found[key] = Allowance(a_day, -(-a_day // HOURS))
    return found


def findings(job: Job, chosen: Chosen) -> tuple[Finding, ...]:
    """Return how long the contacts of each channel last at their allowance."""
    asked = demands(job)
    return tuple(_finding(job, chosen, key, one, asked[key].name, asked[key].subject) for key, one in allowances(job, chosen).items())


def _finding(job: Job, chosen: Chosen, key: str, one: Allowance, name: str, subject: str) -> Finding:
    operations, relay = _operations(job, chosen, key), chosen.relays[key].part
    years = None if operations is None else years_of_life(operations=operations, per_day=one.a_day + _per_day(job, key))
    return Finding(
        id=f"wear.{key}", question=f"How long do the contacts of {name} last if the network always asks for more?", subject=subject,
        verdict=Verdict.UNKNOWN if years is None else Verdict.HOLDS if years >= YEARS_AT_THE_BOUND else Verdict.FAILS,       # the bound is chosen to meet it: no margin is wanted
        value=None if years is None else Figure(years, "years"), limit=Figure(YEARS_AT_THE_BOUND, "years"), sense=Sense.AT_LEAST,
        nominal=None if years is None else Figure(years, "years"), corner="every closing allowed is asked for, every day",
        formula="operations of the sheet / (closings allowed + operations a day) / 365.25",
        inputs=(relay.input(endurance_that_counts(relay, demands(job)[key])), Input("closings allowed a day", Figure(float(one.a_day), ""), "from the endurance", RULE),
                Input("closings allowed an hour", Figure(float(one.an_hour), ""), "a sixth of a day's", RULE), Input("operations a day", Figure(_per_day(job, key), ""), f"{subject}.operations_per_day")),
        sources=(COMMON_PRACTICE,), safety=False, detail="" if years is not None else f"The sheet gives no endurance: the network may close them {one.a_day} times a day.",
        change=("a relay with a longer electrical endurance",),
        covers_not="closings by hand, which nothing bounds; wear by inrush beyond the sheet's own test")


def _operations(job: Job, chosen: Chosen, key: str) -> float | None:
    relay = chosen.relays[key].part
    return relay.known(endurance_that_counts(relay, demands(job)[key]))


def _per_day(job: Job, key: str) -> float:
    return operations_a_day(({**job.load, **job.fan})[key]) * closings_an_operation(job, key)
