"""Which tests a country asks for at a residual-current device, and the words of its trade (`verification.toml`)."""

from collections.abc import Mapping
from dataclasses import dataclass

from pattress.finding import Source
from pattress.quantity import parse
from pattress.stock.shipped import table


@dataclass(frozen=True, slots=True)
class ResidualStep:
    """One test of a residual-current device: its current in times of the rated one, and the longest time [s]; None where it must not trip."""

    times: float
    within: float | None


@dataclass(frozen=True, slots=True)
class Verification:
    """How an installation is verified in one country.

    `steps` is empty where only the device's own test counts. `words` are the country's, by those
    this program uses. `is_known` is false where nothing is known of the country.
    """

    standard: str
    steps: tuple[ResidualStep, ...]
    both_half_waves: bool
    words: Mapping[str, str]
    source: Source
    is_known: bool

    def worded(self, text: str) -> str:
        """Return a text in the words of the country, longest words first, at the beginning of a line too."""
        for ours in sorted(self.words, key=len, reverse=True):
            theirs = self.words[ours]
            text = text.replace(ours, theirs).replace(ours[0].upper() + ours[1:], theirs[0].upper() + theirs[1:])
        return text


def verification(country: str) -> Verification:
    """Return how an installation is verified in a country, by its two letters (ISO 3166-1); as internationally where it is not known."""
    found = table("verification")
    entry = found["country"].get(country, found["international"])
    steps = tuple(ResidualStep(step["times"], parse(step["within"], "s") if "within" in step else None) for step in entry["steps"])
    return Verification(entry["standard"], steps, entry.get("both_half_waves", False), entry["words"], found.source(entry["source"]), country in found["country"])


def operating_times() -> Source:
    """Return where the times of a residual-current device were read."""
    return table("verification").source("times")
