"""What lies outside the box and where it comes in: protective devices, terminals, loads, and the bond of the box."""

from collections.abc import Iterable

from pattress.circuit.model import Block, Component, Kind, Net, NetKind, Pin, Place
from pattress.circuit.parts import EARTH
from pattress.job.model import UNKNOWN, Enclosure, Fan, Feed, Load

BEFORE = "L mains"           # before all protective devices
EARTH_STUD = "X9"


def feed_block(key: str, number: int, feed: Feed, *, voltage: float) -> Block:
    """Return the protective device of a feed, with the feed's line and neutral as they come into the box."""
    device = feed.device
    letters = "" if device.curve == UNKNOWN else f"{device.curve} "
    component = Component(designator=f"F{number}", kind=Kind.PROTECTIVE_DEVICE, part=f"{device.kind} {letters}{device.rating:g} A", name=key,
                          place=Place.DISTRIBUTION, pins=(Pin("1", BEFORE), Pin("2", line_of(key))))
    return Block(f"feed {key}", (component,), (
        Net(line_of(key), NetKind.LINE, voltage, device.rating, key), Net(neutral_of(key), NetKind.NEUTRAL, voltage, device.rating, key)),
        (f"protection.{key}",))


def line_of(feed: str) -> str:
    """Return the net of a feed's line."""
    return f"L.{feed}"


def neutral_of(feed: str) -> str:
    """Return the net of a feed's neutral."""
    return f"N.{feed}"


def load_block(thing: Load | Fan, number: int, line: str, neutral: str) -> Block:
    """Return what a channel feeds; `number` is that of the channel's first relay."""
    kind = Kind.FAN if isinstance(thing, Fan) else Kind.LOAD
    component = Component(designator=f"{'M' if kind is Kind.FAN else 'E'}{number}", kind=kind, name=thing.name, place=Place.FIELD,
                          part=thing.motor if isinstance(thing, Fan) else thing.kind, pins=(Pin("L", line), Pin("N", neutral), Pin("PE", EARTH)))
    return Block(f"load {number}", (component,))


def terminals(marks: Iterable[tuple[str, str, str]]) -> Block:
    """Return the terminals, from their marks ("X2:7"), nets and parts."""
    return Block("terminals", tuple(Component(designator=mark, kind=Kind.TERMINAL, part=part, pins=(Pin("1", net),)) for mark, net, part in marks))


def bonding(enclosure: Enclosure | str) -> Block:
    """Return the stud that bonds a box which is metal, or may be; nothing for a plastic one."""
    if isinstance(enclosure, Enclosure) and enclosure.material == "plastic":
        return Block("bonding", (), (), ("earthing.box",))
    words = "box, if it is metal" if enclosure == UNKNOWN else "box"
    return Block("bonding", (Component(designator=EARTH_STUD, kind=Kind.STUD, name=words, rating="own screw, toothed washer", pins=(Pin("1", EARTH),)),), (), ("earthing.box",))
