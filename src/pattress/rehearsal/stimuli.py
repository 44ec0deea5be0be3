"""Stimuli: what is done to a controller from outside, and how it arrives there as edges, frames, commands.

A `Stimulus` is what a person would report: "threw the door switch". The functions below turn it
into what the pins and the receiver see: contacts that bounce, a rotor between two positions,
a held button that repeats, frames that get lost.
"""

from dataclasses import dataclass
from enum import StrEnum
from random import Random

from pattress.controller.core import CANNOT_TELL, NEW_PRESS, REPEAT
from pattress.controller.infrared import protocols

LATE_MS = 2             # edge to task took 0.5 to 1 ms on an emulated RP2040; one more for whole milliseconds
BOUNCE_MS = 5           # a contact comes to rest within 1 to 5 ms (from memory)
FRAME_MS = 110          # from frame to frame while a button is held: 108 ms NEC, 114 ms RC-5
TRAVEL_MS = (5, 60)     # a rotor between two positions touches no contact, or two, for so long (no source)
SLOW_MS = (100, 600)    # and for so long when it is turned slowly (no source)
DWELL_MS = (30, 120)    # it stands in a position that it only passes for so long (no source)

# A short repeat mark follows these; these carry a bit that toggles at each press (their handbooks,
# see the infra-red protocols). Of all others a decoder sees the same frame again and cannot tell.
REPEAT_MARK = (protocols.NEC, protocols.NECX, protocols.NEC32)
TOGGLE_BIT = (
    protocols.RC5, protocols.RC6, protocols.RC6A20, protocols.RC6A24, protocols.RC6A32, protocols.RC6MCE,
    protocols.RC5SZ,
)


@dataclass(frozen=True, slots=True)
class Mishaps:
    """How often something goes amiss on the way: shares from 0 to 1. Invented, high on purpose."""

    frame_lost: float = 0.1     # a frame of a remote
    slow_turn: float = 0.1      # a regulator is turned so slowly that it rests between two positions


class What(StrEnum):
    """The kinds of stimulus, and what their numbers mean."""

    THROW = "throw"                 # latching switch
    PRESS = "press"                 # retractive switch, held for [ms]
    HELD = "held"                   # retractive switch that can be held, pressed for [ms], which is longer than that takes
    TWICE = "twice"                 # retractive switch: pressed for [ms], let go for [ms], pressed again for [ms]
    TURN = "turn"                   # regulator, to position
    BUTTON = "button"               # button of the plan, held for [ms]
    OTHER_REMOTE = "other remote"   # address, command: a code that the plan does not know
    COMMAND = "command"             # channel, verb, level
    NO_NETWORK = "no network"       # for [ms]
    NO_POWER = "no power"           # for [ms]
    STICK = "stick"                 # channel, closed (1) or open (0), for [ms]: its contact
    INPUT = "input"                 # input, closed (1) or open (0)
    AIR = "air"                     # sensor, temperature and humidity [tenths] that the air there comes to, within [ms]
    SILENT = "silent"               # sensor that does not answer, for [ms]
    NO_SENSORS = "no sensors"       # no sensor is asked, for [ms]


@dataclass(frozen=True, slots=True)
class Stimulus:
    """Something done at a moment [ms since midnight]; `numbers` as `What` says.

    `unless` names a channel and whether it is on: who finds it so already does nothing.
    """

    at: int
    what: What
    numbers: tuple[int, ...]
    unless: tuple[int, bool] | None = None


def bounce(rng: Random, at: int, closed: int) -> list[tuple[int, int]]:
    """Return the edges of a contact on its way to `closed`, as (moment, level); the last is the rest."""
    edges, rest = [(at, closed)], at + int(rng.random() * (BOUNCE_MS + 1))
    moment = at + 1
    while moment < rest:
        edges += [(moment, 1 - closed), (moment + 1, closed)]
        moment += 2 + (rng.random() < 0.5)
    return edges


def noticed(rng: Random, edges: list[tuple[int, int]], level: int) -> list[tuple[int, int]]:
    """Return what the loop sees of a contact's edges, as (moment, level): it wakes a little after each and reads the level then.

    `level` is that before the first edge. A spike that is over before the loop has woken is not seen.
    """
    seen, following = [], 0
    for number, (edge, _) in enumerate(edges):
        wakes_at = edge + int(rng.random() * (LATE_MS + 1))
        following = max(following, number + 1)
        while following < len(edges) and edges[following][0] <= wakes_at:
            following += 1
        if edges[following - 1][1] != level:
            level = edges[following - 1][1]
            seen.append((wakes_at, level))
    return seen


def turn(rng: Random, at: int, start: int, end: int, *, off_is_open: bool,
         slow: float) -> list[tuple[int, int, int]]:
    """Return the edges of a regulator's contacts from one position to another: (moment, contact, level).

    Between two positions the rotor touches none of their contacts or both for a while, with
    the probability `slow` for a long while.
    """
    edges = []
    way = 1 if end > start else -1
    for here in range(start, end, way):
        leaves, meets = (_contact(place, off_is_open) for place in (here, here + way))
        travel = rng.randint(*(SLOW_MS if rng.random() < slow else TRAVEL_MS))
        breaks_first = rng.random() < 0.5
        for number, closed, moment in (
            (leaves, 0, at if breaks_first else at + travel),
            (meets, 1, at + travel if breaks_first else at),
        ):
            if number >= 0:
                edges += [(when, number, level) for when, level in bounce(rng, moment, closed)]
        at += travel + BOUNCE_MS + rng.randint(*DWELL_MS)
    return sorted(edges, key=lambda edge: edge[0])


def contacts(position: int, *, off_is_open: bool) -> int:
    """Return the contacts that are closed in a position, bit 0 = first."""
    number = _contact(position, off_is_open)
    return 0 if number < 0 else 1 << number


def frames(rng: Random, at: int, protocol: int, held: int, *, lost: float) -> list[tuple[int, int]]:
    """Return the frames received of a button that is held [ms], as (moment, freshness).

    Each is lost with the probability `lost`. A repeat mark says only that the last button is still held; a toggle bit
    makes the first frame that arrives the new press.
    """
    arrived: list[tuple[int, int]] = []
    for place, moment in enumerate(range(at, at + held + 1, FRAME_MS)):
        if rng.random() < lost:
            continue
        if protocol in REPEAT_MARK:
            freshness = REPEAT if place else NEW_PRESS
        elif protocol in TOGGLE_BIT:
            freshness = REPEAT if arrived else NEW_PRESS
        else:
            freshness = CANNOT_TELL
        arrived.append((moment, freshness))
    return arrived


def _contact(position: int, off_is_open: bool) -> int:
    """Return the contact that is closed in a position; -1 for none."""
    return position - 1 if off_is_open else position
