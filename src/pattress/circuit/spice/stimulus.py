"""What a caller adds to a deck: sources, cables, loads, where voltages start, and what to analyse. Plain frozen values.

Nets are named as in the circuit. Each stimulus with a `name` becomes one element, by whose name it is measured:
VoltageSource("mains", ...) is `vs_mains`, and its current `i(vs_mains)`, counted into its plus.
"""

from dataclasses import dataclass
from math import isfinite, pi, sqrt
from typing import TypeAlias

from pattress.circuit.parts import GROUND


@dataclass(frozen=True, slots=True)
class VoltageSource:
    """A voltage from `minus` to `plus`; `wave` by `direct`, `sine`, `small_signal` or `steps`."""

    name: str
    plus: str
    wave: str
    minus: str = GROUND


@dataclass(frozen=True, slots=True)
class CurrentSource:
    """A current taken from `plus` and given to `minus`: a load where its wave is above zero."""

    name: str
    plus: str
    wave: str
    minus: str = GROUND


@dataclass(frozen=True, slots=True)
class Resistance:
    """A resistor [ohm] between two nets, above zero: a load, a leak, a pin's own pull."""

    name: str
    one: str
    two: str
    ohms: float


@dataclass(frozen=True, slots=True)
class Capacitance:
    """A capacitor [F] between two nets, above zero: a cable, what couples from beside it."""

    name: str
    one: str
    two: str
    farads: float


@dataclass(frozen=True, slots=True)
class Start:
    """The voltage of a net against 0 V when a transient begins [V]; with `uic` in the line of the analysis."""

    net: str
    volts: float


@dataclass(frozen=True, slots=True)
class Line:
    """A line that begins with a dot, such as `.tran 10u 50m uic` or `.meas ...`; nets in it by `node_of`."""

    text: str


Stimulus: TypeAlias = VoltageSource | CurrentSource | Resistance | Capacitance | Start | Line


def direct(level: float) -> str:
    """Return the wave of a constant voltage [V] or current [A]."""
    return f"dc {_number('level', level)}"


def sine(*, rms: float, frequency: float, phase: float = 0.0) -> str:
    """Return the wave of a sine by its r.m.s. value [V or A] and frequency [Hz]; `phase` [rad], pi/2 begins at the crest."""
    if not frequency > 0.0:
        raise ValueError(f"frequency must be above zero, found {frequency!r}")
    degrees = _number("phase", phase * 180.0 / pi)
    return f"sin(0 {_number('rms', rms * sqrt(2.0))} {_number('frequency', frequency)} 0 0 {degrees})"


def small_signal(level: float, *, at: float = 0.0) -> str:
    """Return the wave of an `.ac` analysis: its level, as r.m.s. where results shall be r.m.s., around a constant `at`."""
    return f"dc {_number('at', at)} ac {_number('level', level)}"


def steps(*points: tuple[float, float]) -> str:
    """Return a wave that goes straight from point to point, each a time [s] and a level [V or A]. Raises ValueError where time does not rise."""
    times = [time for time, _ in points]
    if len(points) < 2 or any(later <= earlier for earlier, later in zip(times, times[1:])):
        raise ValueError(f"points must be two or more with rising times, found {points!r}")
    numbers = [word for time, level in points for word in (_number("time", time), _number("level", level))]
    return f"pwl({' '.join(numbers)})"


def _number(name: str, value: float) -> str:
    if not isfinite(value):
        raise ValueError(f"{name} must be finite, found {value!r}")
    return f"{value:.9g}"
