"""How everything that was judged of a job ended: one tally for the terminal, the page and the sheets.

It counts the findings, the names that may be misheard where somebody listens, and the claims of the proof with the
owner's wishes where the proof of this job is at hand. What is not in it is said beside it.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from pattress.design import Design
from pattress.errors import UseError
from pattress.finding import Verdict
from pattress.spoken.clashes import Clash, heard

NOT_PROVEN = "the control program is not proven yet"
NO_NAMES = "the names are not judged: the pronouncing dictionary is not there"


@dataclass(frozen=True, slots=True)
class Tally:
    """How often each verdict occurs that does, worst first; the names that may be misheard, the claims of the proof, and what is not counted."""

    counts: tuple[tuple[str, int], ...]
    names: tuple[Clash, ...]
    claims: tuple[Any, ...]               # the properties of the proof, the owner's wishes among them
    missing: tuple[str, ...]

    @property
    def verdict(self) -> Verdict:
        """Return the worst verdict of all that is counted."""
        return Verdict(self.counts[0][0]) if self.counts else Verdict.HOLDS

    @property
    def failing_names(self) -> tuple[Clash, ...]:
        """Return the names that fail."""
        return tuple(clash for clash in self.names if clash.verdict is Verdict.FAILS)

    def __str__(self) -> str:
        return counts_in_words(self.counts)


def tally_of(design: Design, claims: Iterable[Any] | None = None) -> Tally:
    """Return the tally of a design; `claims` are the properties of its proof, None where it is not proven."""
    missing = () if claims is not None else (NOT_PROVEN,)
    judged = tuple(claims) if claims is not None else ()
    try:
        names = heard(design.job)
    except UseError:
        names, missing = (), (*missing, NO_NAMES)
    return Tally(counts_of((*design.findings, *names, *judged)), names, judged, missing)


def counts_of(judged: Iterable[Any]) -> tuple[tuple[str, int], ...]:
    """Return how often each verdict that occurs does, worst first."""
    verdicts = [str(one.verdict) for one in judged]
    return tuple((str(verdict), verdicts.count(verdict)) for verdict in reversed(Verdict) if verdict in verdicts)


def counts_in_words(counts: Iterable[tuple[str, int]]) -> str:
    """Return counts of verdicts in words: "1 fails, 2 tight"."""
    return ", ".join(f"{number} {verdict}" for verdict, number in counts)
