"""From a Design to what one wires: terminals, cables, pins and relays, each with its mark.

Pure. Marks are counted in the order of the job file, so the same job gives the same marks. Strip
X1 takes the feeds, X2 the runs to loads (feed by feed: switched lines, neutrals, protective
conductors), X3 everything at extra-low voltage. Neutrals of different feeds never meet.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from pattress.circuit.assembly import LOW, MAINS_IN, MAINS_OUT, channels_of
from pattress.design import Design
from pattress.designators import device_designator, relay_designator
from pattress.finding import Finding
from pattress.handover.colours import COMMON, SUPPLIED, Colours, colours_of, signal
from pattress.job.model import UNKNOWN, Fan, Input, Load, Regulator, Sensor, Switch
from pattress.pins.best import Assignment
from pattress.sizing.residual import controller_feed

SIGNAL_SECTION = 0.5e-6          # m2 of a core at extra-low voltage: holds in a terminal (common practice, no source)
NO_PIN = "no pin"
PROTECTIVE, NEUTRAL, LINE, SWITCHED = "PE", "N", "L", "switched"


@dataclass(frozen=True, slots=True)
class Core:
    """One conductor of a cable: what it is, and its colour in letters."""

    role: str
    colour: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Cable:
    """A cable between two places. Section [m2], length [m]; None where the job says nothing."""

    mark: str
    start: str
    end: str
    section: float
    length: float | None
    cores: tuple[Core, ...]
    mains: bool
    thing: str                   # key of the feed, channel, switch ... it serves

    @property
    def colours(self) -> str:
        """Return the colours of all cores."""
        return " ".join(core.colour for core in self.cores)


@dataclass(frozen=True, slots=True, kw_only=True)
class Terminal:
    """One terminal: its place, what is on it, and the core that comes to it."""

    strip: str
    number: int
    role: str
    potential: str
    thing: str
    cable: str
    colour: str
    section: float

    @property
    def mark(self) -> str:
        """Return what is written beside it: "X2:7"."""
        return f"{self.strip}:{self.number}"


@dataclass(frozen=True, slots=True, kw_only=True)
class PinWire:
    """A wire between the board and what hangs on it."""

    name: str
    pin: str
    gpio: int | None
    goes_to: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Relay:
    """One relay of a channel. `capacitor` [F] stands in series with its contact; None straight through."""

    mark: str
    part: str
    channel: str                 # key
    name: str
    feed: str
    pin: str
    capacitor: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Wiring:
    """Everything that is wired, in the order it is counted."""

    colours: Colours
    terminals: tuple[Terminal, ...]
    cables: tuple[Cable, ...]
    pins: tuple[PinWire, ...]
    relays: tuple[Relay, ...]
    supplied_by: str             # key of the feed that the controller's own supply hangs on

    def cable(self, thing: str) -> Cable:
        """Return the cable of a feed ("feed.lights"), a channel ("pendant"), a switch ("switch.door") ..."""
        return next(cable for cable in self.cables if cable.thing == thing)

    def relays_of(self, key: str) -> tuple[Relay, ...]:
        """Return the relays of a channel."""
        return tuple(relay for relay in self.relays if relay.channel == key)


def wiring_of(design: Design) -> Wiring:
    """Return what a design asks to be wired."""
    colours = colours_of(design.job.supply.system, design.job.site.country)
    cables = tuple(_cables(design, colours))
    return Wiring(
        colours=colours, cables=cables, terminals=tuple(_terminals(design, cables, used_feeds(design))), pins=tuple(_pins(design)),
        relays=tuple(_relays(design)), supplied_by=controller_feed(design.job),
    )


def channels(design: Design) -> dict[str, Load | Fan]:
    """Return all channels by key, in the order of the plan."""
    return channels_of(design.job)


def used_feeds(design: Design) -> tuple[str, ...]:
    """Return the feeds that some channel hangs on, in the order of the job file."""
    used = {channel.feed for channel in channels(design).values()}
    return tuple(key for key in design.job.feed if key in used)


def finding_of(design: Design, wanted: str) -> Finding | None:
    """Return a finding by its id."""
    return next((finding for finding in design.findings if finding.id == wanted), None)


def named_devices(design: Design) -> str:
    """Return the devices of all feeds that some channel hangs on, in words: "F1 lights, F2 sockets"."""
    return ", ".join(f"{device_designator(design.job.feed, key)} {key}" for key in used_feeds(design))


def device_of(design: Design, feed: str) -> str:
    """Return what the device at the head of a feed is called wherever a person reads of it: "F1, feed lights"."""
    return f"{device_designator(design.job.feed, feed)}, feed {feed}"


def _cables(design: Design, colours: Colours) -> Iterator[Cable]:
    job, mark = design.job, 0
    mains = (Core(LINE, colours.line), Core(NEUTRAL, colours.neutral), Core(PROTECTIVE, colours.protective))
    run = (Core(SWITCHED, colours.switched), *mains[1:])
    for key, feed in job.feed.items():
        mark += 1
        yield Cable(mark=f"W{mark}", start=device_of(design, key), end=MAINS_IN, section=feed.cable.section,
                    length=feed.cable.length, cores=mains, mains=True, thing=f"feed.{key}")
    for key, channel in channels(design).items():
        mark += 1
        yield Cable(mark=f"W{mark}", start=MAINS_OUT, end=channel.name, section=channel.run.section,
                    length=channel.run.length, cores=run, mains=True, thing=key)
    for thing, end, length, roles in _low(design):
        mark += 1
        cores = tuple(Core(role, COMMON if role == "0 V" else SUPPLIED if role == "3.3 V" else signal(place))
                      for place, role in enumerate(roles))
        yield Cable(mark=f"W{mark}", start=LOW, end=end, section=SIGNAL_SECTION, length=length, cores=cores, mains=False, thing=thing)


def _low(design: Design) -> Iterator[tuple[str, str, float | None, tuple[str, ...]]]:
    """Yield what is wired at extra-low voltage: thing, name, cable length, what its cores carry."""
    job = design.job
    for section, key, thing in job.single_contacts():
        yield f"{section}.{key}", thing.name, thing.cable, ("contact", "0 V")
    for key, regulator in job.regulator.items():
        yield f"regulator.{key}", regulator.name, regulator.cable, (
            *(f"contact {number}" for number in range(1, regulator.contacts + 1)), "0 V")
    if job.remote:
        length = None if job.receiver.cable == UNKNOWN else job.receiver.cable
        yield "infrared", "infra-red receiver", length, ("signal", "3.3 V", "0 V")
    for key, sensor in job.sensor.items():
        yield f"sensor.{key}", f"sensor {sensor.name}", sensor.cable, ("data", "3.3 V", "0 V")


def _terminals(design: Design, cables: tuple[Cable, ...], feeds: tuple[str, ...]) -> Iterator[Terminal]:
    counts = {MAINS_IN: 0, MAINS_OUT: 0, LOW: 0}

    def terminal(strip: str, cable: Cable, core: Core, potential: str) -> Terminal:
        counts[strip] += 1
        return Terminal(strip=strip, number=counts[strip], role=core.role, potential=potential, thing=cable.thing,
                        cable=cable.mark, colour=core.colour, section=cable.section)

    by_thing = {cable.thing: cable for cable in cables}
    for key in design.job.feed:
        for core in by_thing[f"feed.{key}"].cores:
            yield terminal(MAINS_IN, by_thing[f"feed.{key}"], core, f"{core.role} of {key}")
    for feed in feeds:
        members = [key for key, channel in channels(design).items() if channel.feed == feed]
        for place in range(3):
            for key in members:
                core = by_thing[key].cores[place]
                potential = f"switched, {channels(design)[key].name}" if core.role == SWITCHED else f"{core.role} of {feed}"
                yield terminal(MAINS_OUT, by_thing[key], core, potential)
    for cable in cables:
        if not cable.mains:
            for core in cable.cores:
                yield terminal(LOW, cable, core, core.role)


def _pins(design: Design) -> Iterator[PinWire]:
    placed = {p.demand.name: p.pin for p in design.pins.pins} if isinstance(design.pins, Assignment) else {}
    numbers = {name: mark for mark, name in relay_wires(design)}
    for demand in design.results["wires"]:
        pin = placed.get(demand.name)
        goes_to = f"driver of {numbers[demand.name]}" if demand.name in numbers else _far_end(design, demand.name)
        yield PinWire(name=demand.name, pin=(pin.label or pin.name) if pin else NO_PIN, gpio=pin.gpio if pin else None, goes_to=goes_to)


def _far_end(design: Design, wire: str) -> str:
    """Return what a wire of the low-voltage side goes to, by its name in the home."""
    if wire == "status":
        return "status lamp"
    kind, _, rest = wire.partition(".")
    key, _, place = rest.partition(".")
    job = design.job
    named: dict[str, Mapping[str, Switch | Input | Regulator | Sensor | Load | Fan]] = {
        "switch": job.switch, "input": job.input, "regulator": job.regulator, "sensor": job.sensor, "feedback": channels(design)}
    name = named[kind][key].name if kind in named and key in named[kind] else key
    return " ".join(filter(None, (kind, name, f"contact {place}" if place and kind == "regulator" else place)))


def relay_wires(design: Design) -> Iterator[tuple[str, str]]:
    """Yield the mark of every relay and the name of its wire."""
    bit = 0
    for key in channels(design):
        for place in range(1, design.chosen.relay_count(key) + 1):
            yield relay_designator(bit), f"relay.{key}.{place}" if key in design.job.fan else f"relay.{key}"
            bit += 1


def _relays(design: Design) -> Iterator[Relay]:
    pins = {wire.name: wire.pin for wire in _pins(design)}
    marks = relay_wires(design)
    for key, channel in channels(design).items():
        drive = design.chosen.fans.get(key)
        for place in range(design.chosen.relay_count(key)):
            mark, wire = next(marks)
            in_series = place < len(drive.capacitors) if drive else False
            yield Relay(
                mark=mark, part=design.chosen.relays[key].part.designation, channel=key, name=channel.name, feed=channel.feed,
                pin=pins[wire], capacitor=drive.capacitors[place] if drive and in_series else None,
            )
