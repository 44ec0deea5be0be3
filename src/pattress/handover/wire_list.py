"""The wires in the box, from one pin to the next: who follows the list joins every net of the circuit and nothing else.

Each net is a chain: its terminals first, then its parts in the order of the circuit. What lies outside is joined by the cables.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from pattress.circuit.assembly import LOW
from pattress.circuit.blocks.inlet import FUSED
from pattress.circuit.model import Circuit, Component, Kind, Net, NetKind, Pin, Place, mark_of
from pattress.circuit.parts import FIVE, GROUND, THREE
from pattress.design import Design
from pattress.handover.colours import Colours, colours_of
from pattress.job.model import Enclosure

BEHIND_THE_FUSE = 0.75e-6        # m2 of what the fuse of the supply protects (common practice, no source)
RAILS, SIGNALS = 0.5e-6, 0.25e-6         # m2 at extra-low voltage (common practice, no source)
LOW_COLOURS = {FIVE: "RD", THREE: "OG", GROUND: "BK"}      # and WH for signals (common practice, no source)
SLEEVE, LONG_SLEEVE = 8e-3, 12e-3        # m of a ferrule's sleeve, up to 2.5 mm2 and above (DIN 46228-4, from memory)
TORQUES = ((2.5e-6, 0.5), (6e-6, 0.8))   # N m of a terminal's screw by the largest section it takes: M3, M3.5 (IEC 60999-1, from memory)
STUD_TORQUE = 1.2                # N m of an M4 screw (IEC 60999-1, from memory)


class Way(StrEnum):
    """How two pins are joined."""

    BRIDGE = "bridge"            # of two terminals side by side
    WIRE = "wire"
    BOARD = "on the board"       # soldered parts: a track, or a wire of the same section


@dataclass(frozen=True, slots=True, kw_only=True)
class Wire:
    """One joint of two pins. Section [m2], length and sleeve [m], torque [N m]; None where there is none to tell."""

    net: str
    start: str
    end: str
    way: Way
    section: float
    colour: str
    length: float | None
    sleeve: float | None
    torque: float | None


def wires(design: Design) -> tuple[Wire, ...]:
    """Return every wire in the box, net by net."""
    box = design.job.site.enclosure
    length = (box.width + box.height) / 2.0 if isinstance(box, Enclosure) else None      # common practice, no source
    colours = colours_of(design.job.supply.system, design.job.site.country)
    return tuple(wire for net in design.circuit.nets for wire in _of_net(design, net, colours, length))


def in_box(circuit: Circuit, net: str) -> tuple[tuple[Component, Pin], ...]:
    """Return the pins of a net that are joined in the box, terminals first."""
    pins = [one for one in circuit.by_net[net] if one[0].place is Place.BOX and one[0].kind is not Kind.TEST_POINT]
    return tuple(sorted(pins, key=lambda one: one[0].kind is not Kind.TERMINAL))


def _of_net(design: Design, net: Net, colours: Colours, length: float | None) -> Iterator[Wire]:
    pins = in_box(design.circuit, net.name)
    section, colour = _section(design, net), _colour(net, colours)
    for one, other in zip(pins, pins[1:]):
        way = _way(one[0], other[0], net)
        is_wire = way is Way.WIRE
        ends = (one[0], other[0])
        yield Wire(net=net.name, start=mark_of(*one), end=mark_of(*other), way=way, section=section, colour=colour,
                   length=length if is_wire else None, sleeve=(SLEEVE if section <= 2.5e-6 else LONG_SLEEVE) if is_wire and any(end.kind is Kind.TERMINAL for end in ends) else None,
                   torque=_torque(ends, section) if way is not Way.BOARD else None)


def _way(one: Component, other: Component, net: Net) -> Way:
    if one.kind is other.kind is Kind.TERMINAL:
        (strip, number), (other_strip, following) = (component.designator.split(":") for component in (one, other))
        return Way.BRIDGE if strip == other_strip and int(following) == int(number) + 1 else Way.WIRE
    has_terminal = Kind.TERMINAL in (one.kind, other.kind) or Kind.STUD in (one.kind, other.kind)
    return Way.WIRE if has_terminal or net.is_mains and Kind.FUSE in (one.kind, other.kind) else Way.BOARD


def _section(design: Design, net: Net) -> float:
    if net.name == FUSED:
        return BEHIND_THE_FUSE
    if net.kind is NetKind.PROTECTIVE:
        return max(feed.cable.section for feed in design.job.feed.values())
    if net.is_mains:
        return design.job.feed[net.feed].cable.section if net.feed else max(feed.cable.section for feed in design.job.feed.values())
    return RAILS if net.kind is NetKind.SUPPLY else SIGNALS


def _colour(net: Net, colours: Colours) -> str:
    by_kind = {NetKind.LINE: colours.line, NetKind.SWITCHED: colours.switched, NetKind.NEUTRAL: colours.neutral, NetKind.PROTECTIVE: colours.protective}
    return by_kind.get(net.kind) or LOW_COLOURS.get(net.name, "WH")


def _torque(ends: tuple[Component, Component], section: float) -> float | None:
    if any(end.kind is Kind.STUD for end in ends):
        return STUD_TORQUE
    if any(end.kind is Kind.TERMINAL and not end.designator.startswith(LOW) for end in ends):
        return next((torque for most, torque in TORQUES if section <= most * (1 + 1e-9)), None)
    return None
