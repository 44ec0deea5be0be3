"""Which names of a home may be taken for one another, or for a command, a number, a group or a room; and better ones."""

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files
from typing import Any

from pattress.finding import Verdict
from pattress.job import Job
from pattress.job.model import Fan
from pattress.spoken.likeness import CLOSE, NEAR, apart
from pattress.spoken.sounds import need_dictionary, said, words_of

SOUNDS = "Sounds are those of the CMU Pronouncing Dictionary, American English; no voice assistant was asked."
SHORTEST, LONGEST = 2, 4        # words of a proposal
COMFORTABLE = 0.55              # apart: the first proposal that far from all others is taken, else the furthest
RESERVED = {
    "commands": (Verdict.FAILS, "is a command"), "numbers": (Verdict.FAILS, "is a number"),
    "groups": (Verdict.TIGHT, "may mean a group of things"), "rooms": (Verdict.TIGHT, "may mean all of a room"),
}


@dataclass(frozen=True, slots=True)
class Name:
    """One name of a load or fan, by the thing's key; `shown` is what it is called on paper."""

    thing: str
    shown: str


@dataclass(frozen=True, slots=True)
class Clash:
    """A name that may be taken for something else. `apart` is 0 to 1, None where words decide; `proposal` may be ""."""

    verdict: Verdict
    name: Name
    other: Name | None
    why: str
    apart: float | None
    proposal: str

    @property
    def told(self) -> str:
        """Return what may be taken for what, in words, each name with the key of its thing."""
        beside = f" {self.other.shown!r} ({self.other.thing})" if self.other else ""
        how_far = "" if self.apart is None else f", {self.apart:.2f} apart on a scale from 0, the same, to 1"
        return f"{self.name.shown!r} ({self.name.thing}) {self.why}{beside}{how_far}."

    @property
    def advice(self) -> str:
        """Return what to call the thing instead."""
        return (f"Call it {self.proposal!r} instead." if self.proposal
                else "Its own words give no better one: take a word with other vowels and more syllables.")


def names(job: Job) -> tuple[Name, ...]:
    """Return what every load and fan may be called: its name and what is spoken to it."""
    found = [Name(key, shown) for things in (job.load, job.fan) for key, thing in things.items() for shown in (thing.name, *thing.spoken)]
    return tuple({(name.thing, words_of(name.shown)): name for name in reversed(found)}.values())[::-1]


def guessed(job: Job) -> tuple[str, ...]:
    """Return the words of all names whose sounds are guessed from their spelling."""
    return tuple(dict.fromkeys(word for name in names(job) for word in said(name.shown).guessed))


class Named:
    """A job that counts as the same as another one in which everything is called the same and stands in the same rooms."""

    def __init__(self, job: Job) -> None:
        self.job = job
        things = [(key, thing.name, thing.spoken, getattr(thing, "kind", "fan"), thing.at and thing.at.wall)
                  for kind in (job.load, job.fan) for key, thing in kind.items()]
        self._key = (tuple(things), tuple((key, wall.room) for key, wall in job.wall.items()))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Named) and self._key == other._key

    def __hash__(self) -> int:
        return hash(self._key)


def heard(job: Job) -> tuple[Clash, ...]:
    """Return the clashes that count: those of a job on a network; where there is none nobody listens."""
    return clashes(job) if job.network.wifi else ()


def clashes(job: Job) -> tuple[Clash, ...]:
    """Return every name that may be taken for something else, worst first; judged once as long as the names stay. Raises UseError without the dictionary."""
    need_dictionary()
    return _clashes(Named(job))


@lru_cache(maxsize=32)
def _clashes(named: Named) -> tuple[Clash, ...]:
    job, found = named.job, names(named.job)
    pairs = [(one, other) for place, one in enumerate(found) for other in found[place + 1:] if one.thing != other.thing]
    told = [clash for one, other in pairs if (clash := _of_two(job, one, other))]
    told += [clash for name in found if (clash := _reserved(job, name))]
    return tuple(sorted(told, key=lambda clash: (-clash.verdict.severity, 1.0 if clash.apart is None else clash.apart)))


def _of_two(job: Job, one: Name, other: Name) -> Clash | None:
    how_far = apart(said(one.shown), said(other.shown))
    if how_far <= NEAR:
        why = "sounds the same as" if not how_far else "sounds much like" if how_far <= CLOSE else "sounds somewhat like"
        changed, kept = _the_easier(job, one, other)
        return Clash(Verdict.FAILS if how_far <= CLOSE else Verdict.TIGHT, changed, kept, why, how_far, proposal(job, changed))
    for whole, part in ((one, other), (other, one)):
        if _holds(words_of(whole.shown), words_of(part.shown)):
            return Clash(Verdict.TIGHT, part, whole, "is part of", None, proposal(job, part))
    return None


def _reserved(job: Job, name: Name) -> Clash | None:
    for kind, (verdict, why) in RESERVED.items():
        rooms = [wall.room for wall in job.wall.values()] if kind == "rooms" else []
        if any(_sounds_the_same(name.shown, word) for word in (*_words()[kind], *rooms)):
            return Clash(verdict, name, None, why, None, proposal(job, name))
    return None


def proposal(job: Job, name: Name) -> str:
    """Return a name made of the thing's own words that nothing else sounds like, "" when there is none."""
    others = [other for other in names(job) if other.thing != name.thing]
    best, furthest = "", NEAR
    for words in _candidates(job, name):
        candidate = Name(name.thing, " ".join(words))
        distances = [apart(said(candidate.shown), said(other.shown)) for other in others]
        nearest = min(distances, default=1.0)
        parted = any(_holds(words_of(other.shown), words) or _holds(words, words_of(other.shown)) for other in others)
        if nearest > furthest and not parted and not _is_reserved(candidate.shown):
            best, furthest = candidate.shown, nearest
        if furthest >= COMFORTABLE:
            break
    return best


def _candidates(job: Job, name: Name) -> Iterator[tuple[str, ...]]:
    """Yield rows of words to call a thing by: its own names, its key, its kind and its room put together."""
    thing = job.load.get(name.thing) or job.fan[name.thing]
    kinds = _words()["kinds"]["fan" if isinstance(thing, Fan) else thing.kind]
    wall = job.wall.get(thing.at.wall) if thing.at else None
    own = tuple(dict.fromkeys(words_of(text) for text in (thing.name, *thing.spoken, name.thing.replace("_", " "))))
    rooms = (words_of(wall.room),) if wall else ()
    rows = [*own, *((*row, kind) for row in own for kind in kinds), *((*room, *row) for room in rooms for row in own),
            *((*room, kind) for room in rooms for kind in kinds)]
    current = words_of(name.shown)
    for row in dict.fromkeys(rows):
        if row != current and SHORTEST <= len(row) <= LONGEST and len(set(row)) == len(row):
            yield row


def _the_easier(job: Job, one: Name, other: Name) -> tuple[Name, Name]:
    """Return the two with the one first that has a better name to go by."""
    return (one, other) if proposal(job, one) and not proposal(job, other) else (other, one)


def _is_reserved(shown: str) -> bool:
    return any(_sounds_the_same(shown, word) for kind in RESERVED for word in _words()[kind])


def _sounds_the_same(one: str, other: str) -> bool:
    return words_of(one) == words_of(other) or bool(set(said(one).ways) & set(said(other).ways))


def _holds(whole: tuple[str, ...], part: tuple[str, ...]) -> bool:
    """Return whether the words of one name stand side by side in a longer one."""
    return len(part) < len(whole) and any(whole[at:at + len(part)] == part for at in range(len(whole) - len(part) + 1))


@cache
def _words() -> Mapping[str, Any]:
    return tomllib.loads(files(__package__).joinpath("words.toml").read_text("utf-8"))
