"""The sheet of spoken names: which may be taken for one another, or for something else, and what to call a thing instead.

Judged when it is looked at, never on an edit; as long as the names stay, judged once.
"""

from dataclasses import dataclass
from functools import lru_cache

from pattress.job import Job
from pattress.web.sheet import Asked
from pattress.web.things import address_of


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


def view(asked: Asked) -> NamesSheet:
    """Return the names of the job as one hears them."""
    return _judged(_Named(asked.design.job))


class _Named:
    """A job that counts as the same as another one in which everything is called the same and stands in the same rooms."""

    def __init__(self, job: Job) -> None:
        self.job = job
        things = [(key, thing.name, thing.spoken, getattr(thing, "kind", "fan"), thing.at and thing.at.wall)
                  for kind in (job.load, job.fan) for key, thing in kind.items()]
        self._key = (tuple(things), tuple((key, wall.room) for key, wall in job.wall.items()))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Named) and self._key == other._key

    def __hash__(self) -> int:
        return hash(self._key)


@lru_cache(maxsize=8)
def _judged(named: _Named) -> NamesSheet:
    from pattress.spoken.names import SOUNDS, clashes, guessed, names

    job, found = named.job, names(named.job)
    heard = tuple(
        Heard(str(clash.verdict), clash.told, clash.advice, address_of(("load" if clash.name.thing in job.load else "fan", clash.name.thing)))
        for clash in clashes(job))
    return NamesSheet(heard, len(found), len({name.thing for name in found}), guessed(job), SOUNDS)
