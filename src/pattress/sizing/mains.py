"""The mains as it arrives: nominal, and at the corners it is allowed to reach.

The default tolerance of 10 % is that of EN 50160 for 95 % of each week (read second-hand in a
forum digest); some weeks bring 15 % less, which this leaves out. It is Europe's rule: a tolerance
the job states, and mains of another voltage, are not put under its name.
"""

from dataclasses import dataclass
from math import sqrt

from pattress.finding import COMMON_PRACTICE, Figure, Input, Source
from pattress.job.model import Job
from pattress.quantity import show
from pattress.sizing.ranges import not_negative, positive

EN_50160 = Source("EN 50160, digest in electrical-contractor.net, \"230 +/-10 %\"", "10 min means, 95 % of a week")
EN_50160_VOLTAGE, EN_50160_TOLERANCE = 230.0, 0.10


@dataclass(frozen=True, slots=True)
class Mains:
    """Nominal voltage, r.m.s. [V], frequency [Hz], and the share the voltage may be off."""

    voltage: float
    frequency: float
    tolerance: float = 0.10

    def __post_init__(self) -> None:
        positive(voltage=self.voltage, frequency=self.frequency)
        not_negative(tolerance=self.tolerance)

    @property
    def high(self) -> float:
        """Return the highest r.m.s. voltage [V]."""
        return self.voltage * (1.0 + self.tolerance)

    @property
    def low(self) -> float:
        """Return the lowest r.m.s. voltage [V]."""
        return self.voltage * (1.0 - self.tolerance)

    @property
    def crest(self) -> float:
        """Return the crest of the highest voltage [V]."""
        return sqrt(2.0) * self.high

    @property
    def half_cycle(self) -> float:
        """Return the time between two zero crossings [s]."""
        return 0.5 / self.frequency

    @property
    def at_high(self) -> str:
        """Return the upper corner in words."""
        return f"mains {show(self.tolerance, '%')} high, {show(self.high, 'V')}"

    @property
    def at_low(self) -> str:
        """Return the lower corner in words."""
        return f"mains {show(self.tolerance, '%')} low, {show(self.low, 'V')}"

    @property
    def tolerance_source(self) -> Source | None:
        """Return where the tolerance was read; None where the job states its own."""
        if self.tolerance != EN_50160_TOLERANCE:
            return None
        return EN_50160 if self.voltage == EN_50160_VOLTAGE else COMMON_PRACTICE

    @property
    def inputs(self) -> tuple[Input, Input]:
        """Return voltage and tolerance as inputs of a finding."""
        return (
            Input("mains voltage", Figure(self.voltage, "V"), "supply.system"),
            Input("tolerance", Figure(self.tolerance, "%"), "supply.tolerance", self.tolerance_source),
        )


def mains_of(job: Job) -> Mains:
    """Return the mains of a job."""
    return Mains(job.supply.system.voltage, job.supply.system.frequency, job.supply.tolerance)
