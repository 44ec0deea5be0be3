"""The job file as frozen models: what the home has and what its owner wants.

Every quantity is a float in SI units here (temperatures in degC, times in seconds); the file
writes it as a string with a unit, read once by `pattress.quantity`. Where a person may
honestly not know, the value is the string "unknown". Upper bounds catch slips of the pen
("75 kW" for "75 W"); what a part can bear is the business of sizing.
"""

from collections.abc import Iterator
from typing import Annotated, Final, Literal

from pydantic import BaseModel, ConfigDict, Strict, WithJsonSchema

from pattress.job.action import Action
from pattress.job.field_types import (
    AS_TABLE,
    AS_WORD,
    LONGEST_TEXT,
    TABLE_OR_WORD,
    Acts,
    AnyCode,
    Broker,
    Country,
    Day,
    HostName,
    Key,
    MainsSystem,
    Name,
    Names,
    RuleSays,
    Says,
    Speeds,
    TimeServer,
    Unknown,
    joined_keys,
    number,
    or_unknown,
    quantity,
    text,
    whole,
)
from pattress.job.field_types import CEILING as CEILING  # offered on: words of the fields
from pattress.job.field_types import EVENLY as EVENLY
from pattress.job.field_types import MEASURED as MEASURED
from pattress.job.field_types import UNKNOWN as UNKNOWN

NONE: Final = "none"
SOCKET: Final = "socket"                # a kind of load: whatever may be plugged in
Restore = Literal["off", "on", "as it was"]
Method = Literal["A1", "A2", "B1", "B2", "C"]
LoadKind = Literal[
    "resistive heater", "tungsten lamp", "LED driver", "fluorescent ballast", "motor",
    "compressor", "electronic supply", "solenoid", "socket",
]
Press = Literal["does", "held", "twice"]
PRESSED: Final[dict[Press, str]] = {"does": "", "held": "held: ", "twice": "twice: "}         # before the words for what it does
Yes = Annotated[bool, Strict()]
PINS_SCHEMA = WithJsonSchema({
    "type": "object", "additionalProperties": {"type": ["integer", "object"]},
    "description": 'a table of pins already soldered, such as { relay.pendant = 4, "switch.door" = 5 }',
})
Length = Annotated[float, quantity("m", least=0.0, most=500.0)]


class Record(BaseModel):
    """A table of the job file. A key it does not know is an error."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class About(Record):
    """[job]: what this job is called."""

    title: Annotated[str, text(120)]
    note: Annotated[str, text(LONGEST_TEXT, 0)] = ""


class Supply(Record):
    """[supply]: the mains as it arrives."""

    system: MainsSystem                          # "230 V 50 Hz", read into voltage and frequency
    tolerance: Annotated[float, quantity("", least=0.0, most=0.2)] = 0.10
    earthing: Literal["TN-S", "TN-C-S", "TT", "IT", "unknown"]
    fault_current: Annotated[float | Unknown, or_unknown("A", above=0.0, most=100e3)] = UNKNOWN     # the largest, where the devices of the feeds sit
    # The largest, measured at the same place: line to earth or line to neutral, whichever is more; with TT line to neutral.
    loop_impedance: Annotated[float | Unknown, or_unknown(
        "ohm", above=0.0, most=10.0, elsewhere="what is measured through the electrode of a TT home goes into earth_electrode")] = UNKNOWN
    earth_electrode: Annotated[float | Unknown, or_unknown("ohm", above=0.0, most=100e3)] = UNKNOWN     # of a TT home, with its conductor to the metal

    @property
    def may_be_tt(self) -> bool:
        """Return whether an earth electrode may have to carry the faults: with TT earthing, or with one that is not known."""
        return self.earthing in ("TT", UNKNOWN)


class ProtectiveDevice(Record):
    """The device at the head of a feed."""

    kind: Literal["miniature circuit-breaker", "combined breaker and residual-current device", "fuse"]
    curve: Literal["B", "C", "D", "gG", "unknown"]
    rating: Annotated[float, quantity("A", above=0.0, most=125.0)]
    breaking_capacity: Annotated[float | Unknown, or_unknown("A", above=0.0, most=200e3)] = UNKNOWN


class ResidualCurrentDevice(Record):
    """A residual-current device in a feed."""

    rating: Annotated[float, quantity("A", above=0.0, most=1.0)]
    type: Literal["AC", "A", "F", "B", "unknown"] = "unknown"


class Cable(Record):
    """A two-core copper cable or its equivalent, with its way of laying (IEC 60364-5-52)."""

    section: Annotated[float, quantity("m2", above=0.0, most=50e-6)]
    length: Length
    method: Method = "B2"
    grouped: Annotated[int, whole(1, 20)] = 1
    kind: Literal["solid", "flexible"] = "solid"


class Run(Cable):
    """The cable from the controller to a load or fan; `fuse` is one of its own at its beginning."""

    fuse: Annotated[float | Literal["none", "unknown"], or_unknown("A", word=(NONE, UNKNOWN), above=0.0, most=125.0)] = NONE


class Feed(Record):
    """[feed.NAME]: a circuit from its protective device to the controller."""

    device: ProtectiveDevice
    residual_current_device: Annotated[Annotated[ResidualCurrentDevice, AS_TABLE] | Annotated[Literal["none", "unknown"], AS_WORD], TABLE_OR_WORD] = UNKNOWN
    cable: Cable
    other_current: Annotated[float, quantity("A", least=0.0, most=125.0)] = 0.0    # of loads on this feed that are not in this job


class Place(Record):
    """Where something is on a wall, seen from inside the room; `height` is that of its middle above the finished floor."""

    wall: Key
    along: Annotated[float, quantity("m", least=0.0, most=50.0)]   # from the left end of the wall
    height: Annotated[float | Literal["ceiling"], or_unknown("m", word=CEILING, least=0.0, most=20.0)]


class Wall(Record):
    """[wall.NAME]: one wall of a room, as an elevation shows it."""

    name: Name
    room: Name
    width: Annotated[float, quantity("m", above=0.0, most=50.0)]
    height: Annotated[float, quantity("m", above=0.0, most=20.0)]


class Enclosure(Record):
    """The box that holds the controller."""

    width: Annotated[float, quantity("m", above=0.0, most=2.0)]
    height: Annotated[float, quantity("m", above=0.0, most=2.0)]
    depth: Annotated[float, quantity("m", above=0.0, most=2.0)]
    material: Literal["plastic", "painted steel", "stainless steel", "aluminium"] = "plastic"


class Site(Record):
    """[site]: the place."""

    country: Country = UNKNOWN                   # whose rules, words and colours the sheets follow
    ambient: Annotated[float, quantity("degC", least=-40.0, most=80.0)] = 30.0
    altitude: Annotated[float, quantity("m", least=-500.0, most=6000.0)] = 0.0
    enclosure: Annotated[Annotated[Enclosure, AS_TABLE] | Annotated[Unknown, AS_WORD], TABLE_OR_WORD] = UNKNOWN
    at: Place | None = None                      # of the enclosure


class Inrush(Record):
    """The making current of one load, from its data sheet or measured."""

    peak: Annotated[float, quantity("A", above=0.0, most=2000.0)]
    duration: Annotated[float, quantity("s", above=0.0, most=60.0)]


class Channel(Record):
    """What every switched output has, be it a load or a fan."""

    name: Name
    spoken: Names = ()
    feed: Key
    run: Run
    restore: Restore = "off"
    operations_per_day: Annotated[float | Unknown, number(least=0, most=100_000, unknown=True)] = 10.0     # on and off again is one
    relay: Name = "auto"                         # a designation from stock, or "auto"
    # "mains": an isolated input tells whether the switched line is live, so that a contact that sticks is noticed.
    feedback: Literal["none", "mains"] = "none"
    at: Place | None = None


class Load(Channel):
    """[load.NAME]: one thing, or several alike, behind one relay."""

    kind: LoadKind
    power: Annotated[float, quantity("W", above=0.0, most=20e3)]   # of one; active power; of a socket, of what is usually plugged in
    count: Annotated[int, whole(1, 200)] = 1
    power_factor: Annotated[float | Unknown, number(above=0, most=1, unknown=True)] = UNKNOWN
    inrush: Annotated[Annotated[Inrush, AS_TABLE] | Annotated[Unknown, AS_WORD], TABLE_OR_WORD] = UNKNOWN    # of one
    minimum_off: Annotated[float, quantity("s", least=0.0, most=86400.0)] = 0.0
    plug_fuse: Annotated[float | Literal["none", "unknown"], or_unknown("A", word=(NONE, UNKNOWN), above=0.0, most=32.0)] = NONE     # of a socket whose plugs have a fuse in them


class FanReading(Record):
    """One state of the running fan, read from a plug-in meter; `capacitor` is what stands in series with it."""

    mains: Annotated[float, quantity("V", above=0.0, most=500.0)]
    capacitor: Annotated[float | Literal["none"], or_unknown("F", word="none", above=0.0, most=100e-6)] = "none"
    # The share printed on it, or "measured": then `capacitor` is what a capacitance meter showed. 5 % is the letter J, usual on run capacitors.
    capacitor_tolerance: Annotated[float | Literal["measured", "unknown"], or_unknown("", word=(MEASURED, UNKNOWN), least=0.0, most=0.2)] = 0.05
    regulator_gets: Literal["a new one", "this one"] = "a new one"    # of capacitors of this value
    power: Annotated[float | Unknown, or_unknown("W", above=0.0, most=1e3)] = UNKNOWN
    apparent_power: Annotated[float | Unknown, or_unknown("VA", above=0.0, most=2e3)] = UNKNOWN
    speed: Annotated[float | Unknown, or_unknown("rpm", above=0.0, most=5000.0)] = UNKNOWN


class FanMeasured(Record):
    """[fan.NAME.measured]: what was measured at the fan; the more, the narrower the speeds predicted."""

    main_winding: Annotated[float | Unknown, or_unknown("ohm", above=0.0, most=1e5)] = UNKNOWN
    auxiliary_winding: Annotated[float | Unknown, or_unknown("ohm", above=0.0, most=1e5)] = UNKNOWN
    both_windings: Annotated[float | Unknown, or_unknown("ohm", above=0.0, most=2e5)] = UNKNOWN       # in series: the greatest of three readings between three leads
    capacitance_meter: Annotated[float, quantity("", least=0.0, most=0.2)] = 0.02           # how far off it may be, for the capacitors said to be measured
    readings: tuple[FanReading, ...] = ()


class Fan(Channel):
    """[fan.NAME]: a ceiling fan whose speed steps are relays and capacitors."""

    motor: Literal["permanent split capacitor", "shaded pole", "electronically commutated", "unknown"]
    power: Annotated[float, quantity("W", above=0.0, most=1e3)]
    power_factor: Annotated[float | Unknown, number(above=0, most=1, unknown=True)] = UNKNOWN
    poles: Annotated[int | Unknown, whole(2, 48, even=True, unknown=True)] = UNKNOWN
    speed: Annotated[float | Unknown, or_unknown("rpm", above=0.0, most=5000.0)] = UNKNOWN
    run_capacitor: Annotated[float | Unknown, or_unknown("F", above=0.0, most=100e-6)] = UNKNOWN
    steps: Annotated[int, whole(1, 6)]                           # the highest is straight through
    wanted: Speeds = EVENLY                      # or the share of full speed at each step, the last 1.0
    measured: FanMeasured = FanMeasured()


class Mode(Record):
    """[mode.NAME]: a yes or no of the home that rules wait for, such as away; switched as a load is, and kept through a power cut."""

    name: Name
    spoken: Names = ()


class Switch(Record):
    """[switch.NAME]: a wall switch wired to the controller at extra-low voltage; a retractive one may tell a press that is held, and two in a row, apart."""

    name: Name
    kind: Literal["latching", "retractive"]
    does: Acts
    held: Acts = ()
    twice: Acts = ()                             # then a short press waits for a second one before it acts
    cable: Length = 3.0
    at: Place | None = None

    @property
    def presses(self) -> dict[Press, tuple[Action, ...]]:
        """Return what it does, by how it is pressed, where it tells presses apart; of any other by "does" alone."""
        every: dict[Press, tuple[Action, ...]] = {"does": self.does, "held": self.held, "twice": self.twice}
        return {how: acts for how, acts in every.items() if acts}


class Input(Record):
    """[input.NAME]: a contact that is no wall switch, wired like one at extra-low voltage, whose position counts; a broken wire reads as open."""

    name: Name
    kind: Literal["door", "window", "presence", "float", "leak", "switch", "other"]
    cable: Length = 3.0
    at: Place | None = None

    @property
    def what(self) -> str:
        """Return what kind of contact it is, in words."""
        return "contact" if self.kind == "other" else f"{self.kind} contact"


class Regulator(Record):
    """[regulator.NAME]: a wall regulator, one contact for each position."""

    name: Name
    fan: Key
    positions: Annotated[int, whole(1, 6)]
    off: Literal["no contact", "own contact", "none"] = "no contact"
    cable: Length = 3.0
    at: Place | None = None

    @property
    def contacts(self) -> int:
        """Return how many contacts it has: one for each position, one more when off has its own."""
        return self.positions + int(self.off == "own contact")


class Button(Record):
    """[remote.NAME.button.NAME]: a button, the code it sends, and what it does."""

    code: AnyCode = UNKNOWN
    does: Acts


class Remote(Record):
    """[remote.NAME]: an infra-red remote."""

    name: Name
    button: dict[str, Button]


class Receiver(Record):
    """[receiver]: the one infra-red receiver, for all remotes."""

    cable: Annotated[float | Unknown, or_unknown("m", least=0.0, most=500.0)] = UNKNOWN
    at: Place | None = None


class Sensor(Record):
    """[sensor.NAME]: a temperature and humidity sensor on one wire."""

    name: Name
    kind: Literal["11 class", "22 class"]
    cable: Length = 1.0
    at: Place | None = None


class Board(Record):
    """[board]: the controller board, and pins that are already soldered."""

    type: Key
    file: Annotated[str, text(200)] | None = None                # of a board of one's own, beside the job file; `type` is then the type in it
    # Demand, e.g. "relay.pendant", to GPIO number.
    pins: Annotated[dict[str, Annotated[int, whole(0, 63)]], joined_keys(of_tables=False), PINS_SCHEMA] = {}
    status_lamp: Yes = True
    # Whether the supply warns when the mains is gone: then the snapshot is written at once.
    power_fail: Yes = False


class Network(Record):
    """[network]: how the controller is reached. "none" leaves the radio off."""

    name: HostName | None = None                 # in its topics and NAME.local; made from the title when not given
    broker: Broker = "none"
    # The certificate of the authority that the broker's is signed by, a file beside the job; then it is spoken to over TLS.
    broker_authority: Annotated[str, text(200)] | None = None
    time_server: TimeServer = "router"           # for the stamps of what is told; nothing is decided by it
    wifi: Yes = True
    # A retractive switch; held at power-up it opens the set-up access point.
    setup_switch: Key | None = None


class Ruled(Record):
    """[rule.NAME]: what a load or fan does by itself, or who may put it on."""

    says: RuleSays


class Wished(Record):
    """[wish.NAME]: a requirement of the owner, proven with the rest."""

    says: Says


class Acceptance(Record):
    """[accept."FINDING"]: a check that fails, or is unknown and stops the bundle, and that somebody answers for."""

    reason: Annotated[str, text(LONGEST_TEXT, 10)]
    by: Annotated[str, text(60, 2)]
    date: Day


class Job(Record):
    """A whole job file."""

    job: About
    supply: Supply
    site: Site = Site()
    wall: dict[str, Wall] = {}
    feed: dict[str, Feed]
    load: dict[str, Load] = {}
    fan: dict[str, Fan] = {}
    mode: dict[str, Mode] = {}
    switch: dict[str, Switch] = {}
    input: dict[str, Input] = {}
    regulator: dict[str, Regulator] = {}
    remote: dict[str, Remote] = {}
    receiver: Receiver = Receiver()
    sensor: dict[str, Sensor] = {}
    board: Board
    network: Network = Network()
    rule: dict[str, Ruled] = {}
    wish: dict[str, Wished] = {}
    accept: Annotated[dict[str, Acceptance], joined_keys(of_tables=True)] = {}

    def contacts(self) -> Iterator[tuple[str, str, Switch | Input | Regulator]]:
        """Yield section, key and thing of all whose contacts are read over a cable at extra-low voltage, in the order of their terminals."""
        yield from self.single_contacts()
        yield from (("regulator", key, regulator) for key, regulator in self.regulator.items())

    def single_contacts(self) -> Iterator[tuple[str, str, Switch | Input]]:
        """Yield section, key and thing of those that are one contact each: wall switches, then inputs."""
        yield from (("switch", key, switch) for key, switch in self.switch.items())
        yield from (("input", key, contact) for key, contact in self.input.items())

    def named(self) -> dict[str, Load | Fan | Mode]:
        """Return whatever can be on or off, by its key, in the order of the plan."""
        return {**self.load, **self.fan, **self.mode}

    def places(self) -> Iterator[tuple[tuple[str, ...], Place]]:
        """Yield the path of everything that the file gives a place on a wall, and that place."""
        for section in ("switch", "input", "regulator", "sensor", "load", "fan"):
            for key, thing in getattr(self, section).items():
                if thing.at:
                    yield (section, key), thing.at
        for section in ("receiver", "site"):
            thing = getattr(self, section)
            if thing and thing.at:
                yield (section,), thing.at
