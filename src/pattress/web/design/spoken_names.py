"""The sheet of spoken names: which may be taken for one another, or for something else, and what to call a thing instead.

Judged once as long as the names stay.
"""

from dataclasses import dataclass
from functools import lru_cache

from pattress.spoken.clashes import Named
from pattress.web.job.things import address_of
from pattress.web.sheet import Asked


@dataclass(frozen=True, slots=True)
class Heard:
    """A name that may be taken for something else, with the sheet of its thing."""

    verdict: str
    told: str
    advice: str
    address: str


@dataclass(frozen=True, slots=True)
class NamesSheet:
    """The names of a home as one hears them."""

    heard: tuple[Heard, ...]      # worst first
    names: int
    things: int
    guessed: tuple[str, ...]      # words that the dictionary lacks
    source: str
    is_heard: bool                # whether somebody listens; else nothing of this counts in the tally


def view(asked: Asked) -> NamesSheet:
    """Return the names of the job as one hears them."""
    return _judged(Named(asked.design.job), asked.design.job.network.wifi)


@lru_cache(maxsize=8)
def _judged(named: Named, is_heard: bool) -> NamesSheet:
    from pattress.spoken.clashes import SOUNDS, clashes, guessed, names

    job, found = named.job, names(named.job)
    heard = tuple(
        Heard(str(clash.verdict), clash.told, clash.advice, address_of(("load" if clash.name.thing in job.load else "fan", clash.name.thing)))
        for clash in clashes(job))
    return NamesSheet(heard, len(found), len({name.thing for name in found}), guessed(job), SOUNDS, is_heard)
