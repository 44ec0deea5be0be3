"""What a circuit is: components with numbered pins, and the nets that join them. Plain frozen values.

A net is known by its name; a pin names the net it lies on. Voltages are r.m.s. on the mains side and DC elsewhere.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

from pattress.finding import Figure
from pattress.quantity import show


class NetKind(StrEnum):
    """What a net carries."""

    LINE = "line"
    SWITCHED = "switched line"
    NEUTRAL = "neutral"
    PROTECTIVE = "protective conductor"
    SUPPLY = "extra-low supply"
    SIGNAL = "signal"


MAINS = frozenset((NetKind.LINE, NetKind.SWITCHED, NetKind.NEUTRAL))
EXTRA_LOW = frozenset((NetKind.SUPPLY, NetKind.SIGNAL))


class Role(StrEnum):
    """What a pin does to its net.

    `SOURCE` supplies it, `OUTPUT` sets it both ways, `SINK` only pulls it to 0 V, `GATE` and `INPUT` listen to it,
    `FED` takes its supply from it, `PASSIVE` does none of these.
    """

    PASSIVE = "passive"
    SOURCE = "source"
    OUTPUT = "output"
    SINK = "sink"
    GATE = "gate"
    INPUT = "input"
    FED = "fed"


class Kind(StrEnum):
    """Kinds of component, each with its letter in `designators.LETTERS`."""

    BOARD = "controller board"
    SUPPLY = "supply module"
    RELAY = "relay"
    TRANSISTOR = "transistor"
    DRIVER_ARRAY = "driver array"
    OPTOCOUPLER = "optocoupler"
    DIODE = "diode"
    RESISTOR = "resistor"
    CAPACITOR = "capacitor"
    FUSE = "fuse"
    PROTECTIVE_DEVICE = "protective device"
    VARISTOR = "varistor"
    TERMINAL = "terminal"
    STUD = "earth stud"
    SWITCH = "wall switch"
    CONTACT = "contact"
    REGULATOR = "wall regulator"
    RECEIVER = "infra-red receiver"
    SENSOR = "sensor"
    LAMP = "status lamp"
    LOAD = "load"
    FAN = "fan"
    TEST_POINT = "test point"


class Place(StrEnum):
    """Where a component is."""

    BOX = "in the box"
    FIELD = "in the room"
    DISTRIBUTION = "in the distribution board"


@dataclass(frozen=True)
class Net:
    """A conductor: its highest voltage [V] and current [A], and the feed it belongs to, "" for none."""

    name: str
    kind: NetKind
    voltage: float
    current: float
    feed: str = ""

    @property
    def is_mains(self) -> bool:
        """Return whether it is live, or may be."""
        return self.kind in MAINS


@dataclass(frozen=True)
class Pin:
    """One pin of a component: its number as on the data sheet, the net it lies on, what it does there.

    `name` is printed beside it where it says more than the number. Pins of another `side` are insulated from these.
    `pulled`: its own weak pull-up is used.
    """

    number: str
    net: str
    role: Role = Role.PASSIVE
    name: str = ""
    side: int = 0
    pulled: bool = False


@dataclass(frozen=True, kw_only=True)
class Component:
    """One part as fitted. `part` is its designation in the stock, "" for one that is told by its value.

    `rating` is what it must bear, in words; `insulation` between its sides, as its record says; `polar`: its first pin is plus.
    """

    designator: str
    kind: Kind
    pins: tuple[Pin, ...]
    figure: Figure | None = None
    part: str = ""
    rating: str = ""
    name: str = ""                       # of the thing in the home
    insulation: str = ""
    polar: bool = False
    place: Place = Place.BOX

    @property
    def value(self) -> str:
        """Return what is printed beside its designator."""
        return show(self.figure.value, self.figure.unit) if self.figure else self.part or self.name

    def pin(self, number: str) -> Pin:
        """Return a pin by its number. Raises KeyError where it has none of that number."""
        for pin in self.pins:
            if pin.number == number:
                return pin
        raise KeyError(f"{self.designator} has no pin {number!r}")


def mark_of(component: Component, pin: Pin) -> str:
    """Return how a pin is called beside a wire: "K5:14"; a part of one pin by its designator alone."""
    return f"{component.designator}:{pin.number}" if len(component.pins) > 1 else component.designator


@dataclass(frozen=True)
class Block:
    """A small piece of circuit: its components, the nets that begin in it, and the ids of the findings that answer for its values.

    `fixes` are the designators of those whose values the block itself sets; all others are given to it.
    """

    name: str
    components: tuple[Component, ...]
    nets: tuple[Net, ...] = ()
    answers: tuple[str, ...] = ()
    fixes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Circuit:
    """All blocks together, in a fixed order: the same job gives the same circuit."""

    nets: tuple[Net, ...]
    blocks: tuple[Block, ...]

    @cached_property
    def components(self) -> tuple[Component, ...]:
        """Return every component, block by block."""
        return tuple(component for block in self.blocks for component in block.components)

    @cached_property
    def by_designator(self) -> Mapping[str, Component]:
        """Return every component by its designator."""
        return {component.designator: component for component in self.components}

    @cached_property
    def by_net(self) -> Mapping[str, tuple[tuple[Component, Pin], ...]]:
        """Return the pins on each net, with their components."""
        found: dict[str, list[tuple[Component, Pin]]] = {net.name: [] for net in self.nets}
        for component in self.components:
            for pin in component.pins:
                found.setdefault(pin.net, []).append((component, pin))
        return {name: tuple(pins) for name, pins in found.items()}

    @cached_property
    def net_by_name(self) -> Mapping[str, Net]:
        """Return every net by its name."""
        return {net.name: net for net in self.nets}

    def of(self, *kinds: Kind) -> Iterable[Component]:
        """Yield the components of some kinds, in their order."""
        return (component for component in self.components if component.kind in kinds)
