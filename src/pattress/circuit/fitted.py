"""What a circuit is given: the parts and values that sizing has chosen, each chosen once."""

from collections.abc import Mapping
from dataclasses import dataclass

from pattress.stock.parts import Part


@dataclass(frozen=True, kw_only=True)
class Snubber:
    """A capacitor [F] and a resistor [ohm] in series across a contact."""

    part: str
    capacitance: float
    resistance: float
    rating: str


@dataclass(frozen=True, kw_only=True)
class Bleed:
    """Resistors across a capacitor: `pieces` equal ones of `piece` [ohm] in series."""

    piece: float
    pieces: int
    rating: str


@dataclass(frozen=True, kw_only=True)
class Branch:
    """One capacitor [F] of a fan's regulator with its damping resistor [ohm] and its bleed; None where none is fitted."""

    part: str
    capacitance: float
    rating: str
    damping: float | None
    damping_rating: str
    bleed: Bleed | None


@dataclass(frozen=True, kw_only=True)
class Sensing:
    """What senses a switched line. Resistances [ohm], capacitor [F]; `series` is one of two."""

    optocoupler: Part
    diode: Part
    series: float
    series_rating: str
    bleed: float
    pull_up: float
    capacitor: float


@dataclass(frozen=True, kw_only=True)
class Inlet:
    """What stands before the supply module; None where the stock has none that fits."""

    fuse: Part | None
    varistor: Part | None
    capacitor: Part | None
    bleed: Bleed | None


@dataclass(frozen=True, kw_only=True)
class Driver:
    """How the coils are driven. `input` is the resistor [ohm] between pin and driver; `diode` is None where the driver has its own."""

    part: Part
    input: float
    pull_down: float
    diode: Part | None
    coil_current: float                      # of the hungriest coil [A]


@dataclass(frozen=True, kw_only=True)
class Fitted:
    """Everything that was chosen. Mappings are by the key of the channel; `relays` are how many each channel has.

    `pull_ups` [ohm] by the thing that is wired to inputs ("switch.door"), `contact_series` [ohm] before each contact input,
    `lamp` [ohm] before the status lamp, `bulk` [F] at the 5 V input, `hold_up` [F] where a warning of power failure needs it.
    """

    contacts: Mapping[str, Part]
    relays: Mapping[str, int]
    currents: Mapping[str, float]            # that each channel carries [A]
    branches: Mapping[str, tuple[Branch, ...]]
    snubbers: Mapping[str, Snubber]
    terminals: Mapping[str, str]             # the part at the terminals of each channel, and of each feed as "feed.KEY"; "" for none in stock
    sensing: Sensing | None
    driver: Driver
    supply: Part
    inlet: Inlet
    bulk: float
    hold_up: float | None
    contact_series: float
    pull_ups: Mapping[str, float]
    lamp: float
    logic: float                             # V
    rail: float                              # V
    board_current: float                     # of the board at 3.3 V [A]
    feed: str                                # the feed that the controller's own supply hangs on
