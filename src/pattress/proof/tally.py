"""What all the parts together say of each claim: the shortest story of a failure, how often it was judged, what is not decided."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from .parts import PREFIX
from .properties import CLAIMS, Kind
from .story import Story, tell

if TYPE_CHECKING:
    from pattress.proof.exploration import Exploration, Part
    from pattress.proof.instrumented.influence import Influences
    from pattress.proof.product.search import Found
    from pattress.proof.properties import Claim

FEW = 3                 # couplings told in one line


@dataclass(frozen=True, slots=True)
class Property:
    """A claim and how it stands: `transitions` it was judged in, the shortest story if it fails.

    One that is not decided neither holds nor fails: what was explored of it does not break it.
    """

    id: str
    kind: Kind
    sentence: str
    holds: bool
    transitions: int
    detail: str = ""
    story: Story | None = None
    is_decided: bool = True

    @property
    def verdict(self) -> str:
        """Return how it stands in one word: holds, fails, or unknown when the exploration did not come to its end."""
        return "holds" if self.holds else "fails" if self.is_decided else "unknown"


@dataclass(frozen=True, slots=True)
class PartCount:
    """How much of one part there was to explore."""

    name: str
    states: int
    transitions: int


class Tally:
    """What the parts explored so far say of each claim."""

    def __init__(self) -> None:
        self.failures: dict[str, tuple[str, Story | None]] = {}      # by claim: what is wrong, and how it comes about
        self.judged = dict.fromkeys(CLAIMS, 0)
        self.counts: list[PartCount] = []
        self.notes: list[str] = []
        self.undecided: dict[str, str] = {}         # claim -> why

    def take_influences(self, found: Influences) -> None:
        """Take what influences what it must not. A program that could not be instrumented is not said to be free of that."""
        words = [*map(str, found.couplings)]
        if found.errors and "no-error" not in self.failures:
            words.append(f"the program could not be instrumented: {found.errors[0]}")
        if words:
            story = self.failures.get("undisturbed", ("", None))[1]
            self.failures["undisturbed"] = ("; ".join(words[:FEW]) + (" ..." if len(words) > FEW else ""), story)

    def take(self, part: Part, explored: Exploration, states: int, transitions: int, seen: set[object], until_first_failure: bool = False) -> None:
        """Take the outcome of one part."""
        self.counts.append(PartCount(part.name, states, transitions))
        for claim in part.claims:
            self.judged[claim] += transitions
        for failure, parent, move, filling in explored.failures.values():
            told = tell(explored, failure, parent, move, filling, CLAIMS[failure.id].sentence)
            _, former = self.failures.get(failure.id, ("", None))
            if former is None or len(told.steps) < len(former.steps):
                self.failures[failure.id] = (failure.detail, told)
        for witness, (claim, words) in part.expected.items():
            self.judged[claim] += 1
            if witness not in seen and not (self.failures and until_first_failure):
                self.failures.setdefault(claim, (f"never seen in {states} states: {words}", None))

    def take_group(self, part: Part, found: Found, influences: Influences | None) -> None:
        """Take the outcome of channels explored together; what did not come to its end decides nothing."""
        names = part.name.removeprefix(PREFIX)
        why = [str(one) for one in influences.couplings if one.channels <= part.channels] if influences else []
        self.notes.append(f"Explored together: {names}{f', because {why[0]}' if why else ''}. {found.summary}")
        if why:
            self.undecided["becomes-quiet"] = f"not asked of what is explored together: {names}"
        if found.why:
            claims = {*part.claims, *(claim for claim, _ in part.expected.values())}
            self.undecided |= dict.fromkeys(claims, f"{names}: {found.summary}")
            part.expected = {}
        self.take(part, found.exploration, found.states, found.transitions, found.seen)

    def property_of(self, claim: Claim) -> Property:
        """Return how a claim stands after all parts."""
        is_broken = claim.id in self.failures
        open_why = None if is_broken else self.undecided.get(claim.id)
        detail, story = self.failures[claim.id] if is_broken else (open_why or "", None)
        return Property(claim.id, claim.kind, claim.sentence, not (is_broken or open_why), self.judged[claim.id],
                        detail, story, is_decided=open_why is None)
