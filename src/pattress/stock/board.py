"""A controller board as a record: its pins, what each does by itself while the board starts, its figures."""

from collections.abc import Mapping
from dataclasses import dataclass

from pattress.finding import Source
from pattress.stock.credible import BOARD, End, Known, taken
from pattress.stock.record import Rating


@dataclass(frozen=True, slots=True)
class Stated:
    """A plain fact and where it was read."""

    value: str | bool | int
    source: Source


@dataclass(frozen=True, slots=True)
class Pulse:
    """What a pin does by itself while the board starts. `duration` [s] is None when unknown."""

    level: str
    duration: float | None
    source: Source


@dataclass(frozen=True, slots=True)
class Strap:
    """A pin that is read at reset: `level` ("high", "low" or "any") is what a normal start needs."""

    level: str
    role: str
    source: Source


@dataclass(frozen=True, slots=True)
class Pin:
    """One pin of the chip as this board offers it.

    `edge` and `place` say where it is brought out, "" when it is not. `reset` is its state while
    the board starts. `reserved`, `console` and `carries` name who else uses it, `driven` what part
    of the board sets its level; "" for nobody. `differs` says how boards of this kind differ in it.
    `sources` maps the name of a fact to where it was read.
    """

    gpio: int
    label: str
    edge: str
    place: int
    output: bool
    pull_up: bool
    pull_down: bool
    adc: int
    reset: str
    pulses: tuple[Pulse, ...]
    strap: Strap | None
    reserved: str
    console: str
    driven: str
    carries: str
    interrupt: str
    differs: str
    note: str
    sources: Mapping[str, Source]

    @property
    def name(self) -> str:
        """Return what a person calls it: "GPIO14 (D14)", "GPIO0" when it has no label."""
        return f"GPIO{self.gpio} ({self.label})" if self.label not in ("", str(self.gpio)) else f"GPIO{self.gpio}"


@dataclass(frozen=True, slots=True)
class Board:
    """A controller board. `pins` is ordered by edge and place, those not brought out last.

    Each edge has `rows` places, `counted` down each edge or around the board. `called` are names that people
    use for it; `kind_of` is the type of a board of the stock that stands for several, of which this is one.
    """

    type: str
    chip: str
    title: str
    view: str
    rows: int
    counted: str
    regulator: str
    pins: tuple[Pin, ...]
    figures: Mapping[str, Rating]
    micropython: Mapping[str, Stated]
    called: tuple[str, ...] = ()
    kind_of: str = ""

    def row(self, pin: Pin) -> int:
        """Return how far down the board a pin sits, 0 at the top."""
        return 2 * self.rows - pin.place if self.counted == "around" and pin.edge == "right" else pin.place - 1

    def figure(self, name: str) -> float | None:
        """Return a figure in SI units, None where the board's file gives none."""
        return self.figures[name].number

    def taken(self, name: str, worse: End, *, best: bool = False) -> Known:
        """Return a figure as the board's file has it, else the `worse` end of what is credible, or with `best` the other end."""
        return taken(self.figures[name], kind=BOARD, thing=self.type, name=name, worse=worse, best=best)

    def pin(self, gpio: int) -> Pin | None:
        """Return the pin with that GPIO number, None when the chip has none."""
        return next((pin for pin in self.pins if pin.gpio == gpio), None)
