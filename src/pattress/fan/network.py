"""The regulator in front of the motor: which capacitors a pattern of relays puts in series.

Two layouts. `parallel`: each relay closes one branch between feed and motor; a branch is a capacitor with its
damping resistor, or a straight link. `series`: the first relay is the feed, the capacitors stand in a chain, and
each further relay bridges one of them. Bit 0 of a mask is the first relay. Mask 0 is off.

Source: circuit theory; bleed across each capacitor and damping in series with it as seen in the trade
(electronics.stackexchange.com question 529414: 2.2 and 3.3 uF, 2.2 ohm each).
"""
import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from pattress.fan.motor import Phasors, Reals, require_number

LAYOUTS = ("parallel", "series")
USUAL_TOLERANCE = 0.05       # of a run or regulator capacitor, letter J (common practice, no source)


@dataclass(frozen=True, kw_only=True)
class Capacitor:
    """A capacitor one can buy."""
    capacitance: float                       # [F]
    tolerance: float = USUAL_TOLERANCE       # share of the capacitance
    rated_voltage: float = 440.0             # [V AC]
    ripple_current: float = np.inf           # [A r.m.s.]; infinite where its sheet gives none
    name: str = ""

    def __post_init__(self) -> None:
        require_number("capacitance", self.capacitance, above=0.0)
        require_number("rated_voltage", self.rated_voltage, above=0.0)
        if not 0.0 <= self.tolerance < 1.0:
            raise ValueError(f"tolerance must be 0 to 1, found {self.tolerance!r}")


@dataclass(frozen=True, kw_only=True)
class Branch:
    """A capacitor with damping resistor in series and bleed resistor across; infinite capacitance is a link."""
    capacitance: Reals                       # [F]
    resistance: Reals = 0.0                  # [ohm]
    bleed: Reals = np.inf                    # [ohm]

    def __post_init__(self) -> None:
        require_number("capacitance", self.capacitance, above=0.0, finite=False)
        require_number("resistance", self.resistance)
        require_number("bleed", self.bleed, above=0.0, finite=False)

    @property
    def is_link(self) -> bool:
        """No capacitor in it."""
        return bool(np.all(np.isinf(self.capacitance)))

    def capacitor_impedance(self, angular_frequency: Reals) -> Phasors:
        """Of the capacitor and its bleed [ohm]."""
        if self.is_link:
            return np.complex128(0.0)
        return 1.0 / (1j * angular_frequency * np.asarray(self.capacitance) + 1.0 / np.asarray(self.bleed))

    def impedance(self, angular_frequency: Reals) -> Phasors:
        """Of the whole branch [ohm]."""
        found: Phasors = self.resistance + self.capacitor_impedance(angular_frequency)
        return found


LINK = Branch(capacitance=np.inf)


@dataclass(frozen=True, kw_only=True)
class Regulator:
    """Relays and branches. Parallel: one relay per branch. Series: a feed relay, then one per branch."""
    branches: tuple[Branch, ...]
    layout: str = "parallel"

    def __post_init__(self) -> None:
        if self.layout not in LAYOUTS:
            raise ValueError(f"layout must be one of {', '.join(LAYOUTS)}, found {self.layout!r}")
        if not self.branches:
            raise ValueError("branches must hold one or more, found none")
        if self.layout == "series" and any(branch.is_link for branch in self.branches):
            raise ValueError("branches of a series layout must be capacitors, found a link")

    @property
    def relays(self) -> int:
        """How many relays it takes."""
        return len(self.branches) + (self.layout == "series")

    @property
    def masks(self) -> tuple[int, ...]:
        """Every mask that feeds the motor in a way of its own; a link is never closed beside a capacitor."""
        if self.layout == "series":
            return tuple(range(1, 2 ** self.relays, 2))
        links = sum(1 << place for place, branch in enumerate(self.branches) if branch.is_link)
        return tuple(mask for mask in range(1, 2 ** self.relays) if not mask & links or mask.bit_count() == 1)

    def carrying(self, mask: int) -> tuple[int, ...]:
        """Places of the branches that carry current under `mask`."""
        self._check(mask)
        if self.layout == "series":
            return tuple(place for place in range(len(self.branches)) if not mask >> (place + 1) & 1)
        return tuple(place for place in range(len(self.branches)) if mask >> place & 1)

    def series_impedance(self, mask: int, angular_frequency: Reals) -> Phasors:
        """Between feed and motor [ohm]. `mask` must feed the motor; bridged and open branches count for nothing."""
        impedances = [self.branches[place].impedance(angular_frequency) for place in self.carrying(mask)]
        if self.layout == "series":
            return sum(impedances, np.complex128(0.0))
        if any(np.all(impedance == 0.0) for impedance in impedances):
            return np.complex128(0.0)
        return 1.0 / sum(1.0 / impedance for impedance in impedances)

    def capacitor_phasors(self, mask: int, line_current: Phasors, angular_frequency: Reals) -> dict[int, tuple[Phasors, Phasors]]:
        """Return {place: (current, voltage over the capacitor)} for the branches that carry current."""
        whole = self.series_impedance(mask, angular_frequency)
        phasors = {}
        for place in self.carrying(mask):
            branch = self.branches[place]
            if branch.is_link:
                continue
            share = 1.0 if self.layout == "series" else whole / branch.impedance(angular_frequency)
            current = line_current * share
            phasors[place] = (current, current * branch.capacitor_impedance(angular_frequency))
        return phasors

    def _check(self, mask: int) -> None:
        if not (0 < mask < 2 ** self.relays and (self.layout == "parallel" or mask & 1)):
            raise ValueError(f"mask must feed the motor through one of {self.relays} relays, found {mask!r}")


@cache
def _tables() -> dict[str, Any]:
    return tomllib.loads(Path(__file__).with_name("capacitors.toml").read_text(encoding="utf-8"))


def series_values(series: str, *, low: float, high: float) -> tuple[float, ...]:
    """Return the values of the named series from `low` to `high`, in their own unit (farad, ohm)."""
    known = _tables()["series"]
    if series not in known:
        raise ValueError(f"series must be one of {', '.join(known)}, found {series!r}")
    decades = range(int(np.floor(np.log10(low))) - 1, int(np.floor(np.log10(high))) + 1)
    values = (float(f"{value}e{decade}") for decade in decades for value in known[series]["values"])
    return tuple(value for value in values if low * (1 - 1e-9) <= value <= high * (1 + 1e-9))
