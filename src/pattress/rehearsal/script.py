"""The scripted day: a fixed list that shows each thing the program can do, once.

It speaks of "the first latching switch" and the like, so it fits any plan; a line whose
control the plan lacks is left out, and the day says so.
"""

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from pattress.controller import core
from pattress.controller.core.plan import top_of
from pattress.rehearsal.day import HOUR, MINUTE, SECOND
from pattress.rehearsal.sensors import air_of
from pattress.rehearsal.stimuli import Stimulus, What

NONSENSE = ((99, core.ON, 0), (0, 42, 0), (0, core.SET, 77), (-1, core.OFF, 0))

BEYOND = 10             # past the figures of a rule the air goes by so much: a degree, 1 %, 0.1 g/m3
RESTING = "channel that must rest"
ORDINALS = ("first", "second", "third", "last")

# Clock, what is done, by which control, and its number: hold [ms], position, lasting [ms], level.
SCRIPT = (
    ("06:30", "throw", "first latching switch", None),
    ("06:50", "press", "first retractive switch", 180),
    ("07:10", "press", "first retractive switch", 8),           # a touch, too short to count
    ("07:30", "turn", "first regulator", "lowest"),
    ("07:50", "turn", "first regulator", "highest"),
    ("08:15", "turn", "first regulator", "off"),
    ("08:40", "throw", "second latching switch", None),
    ("09:00", "throw", "second latching switch", None),
    ("10:00", "ask for", RESTING, "on"),
    ("10:20", "ask for", RESTING, "off"),
    ("10:21", "ask for", RESTING, "on"),       # waits for its minimum off time
    ("12:20", "hold", "first button", 120),
    ("12:40", "hold", "second button", 1_200),                  # held long: it acts once
    ("13:20", "other remote", "a remote of something else", None),
    ("13:40", "ask for", "first channel", "off"),
    ("14:00", "ask for", "first channel", "toggle"),
    ("14:20", "ask for", "last channel", "highest"),
    ("14:30", "hold", "third button", 120),
    ("14:50", "nonsense", "the network", None),
    ("15:00", "throw", "first latching switch", None),
    ("15:20", "throw", "first latching switch", None),
    ("16:00", "network gone", "the network", 60 * MINUTE),
    ("16:20", "throw", "first latching switch", None),          # with no network: acts all the same
    ("16:40", "ask for", "first channel", "toggle"),            # is lost
    ("18:30", "press", "first retractive switch", 250),
    ("18:50", "power gone", "the mains", 20 * MINUTE),
    ("19:00", "throw", "first latching switch", None),          # in the dark: nothing happens, and none is owed
    ("19:40", "throw", "first latching switch", None),
    ("19:40:02", "power gone", "the mains", 15 * SECOND),       # before that change was saved
    ("19:40:18", "power gone", "the mains", 2 * SECOND),        # and again while it comes back
    ("20:20", "hold", "last button", 200),
    ("20:40", "turn", "first regulator", "lowest"),
    ("21:10", "throw", "second latching switch", None),
    ("22:30", "press", "last retractive switch", 200),
)


def scripted(table: Mapping[str, Any]) -> tuple[tuple[Stimulus, ...], tuple[str, ...]]:
    """Return the scripted day for a plan's table, and notes on what it lacks."""
    stimuli: list[Stimulus] = []
    lacking: list[str] = []
    for when, what, control, number in SCRIPT:
        place = _place(table, control)
        if place is None:
            if control not in lacking:
                lacking.append(control)
            continue
        stimuli += _DO[what](table, _moment(when), place, number)
    stimuli += [*_sticking(table), *_waiting(table), *_pressing(table)]
    return tuple(sorted(stimuli, key=lambda stimulus: stimulus.at)), tuple(f"The plan has no {control}: left out of the scripted day." for control in lacking)


def _sticking(table: Mapping[str, Any]) -> list[Stimulus]:
    """Return what shows feedback, on the first channel that has some: its contact sticks closed, and later open."""
    if not table.get("feedback"):
        return []
    channel = table["feedback"][0]["channel"]
    on, off = (channel, core.ON, 0), (channel, core.OFF, 0)
    return [Stimulus(_moment(when), what, numbers) for when, what, numbers in (
        ("17:06", What.COMMAND, on), ("17:12", What.STICK, (channel, 1, 26 * MINUTE)), ("17:18", What.COMMAND, off),
        ("17:24", What.COMMAND, on), ("17:30", What.COMMAND, off),      # that it is asked on meanwhile proves nothing of its contact
        ("17:44", What.STICK, (channel, 0, 20 * MINUTE)), ("17:50", What.COMMAND, on), ("18:12", What.COMMAND, off))]


def _waiting(table: Mapping[str, Any]) -> Iterator[Stimulus]:
    """Yield what shows rules that wait: each input is the other way for an hour, a quarter of an hour after the one before; the air comes
    to where each reading begins and back to where it ends, the first sensor falls silent, and for a while nobody asks any.
    """
    if not table.get("conditions"):
        return
    for place in range(len(table.get("inputs", ()))):
        at = _moment("07:05") + place * 15 * MINUTE
        yield Stimulus(at, What.INPUT, (place, 1))
        yield Stimulus(at + HOUR, What.INPUT, (place, 0))
    readings = table.get("readings", ())
    for place, row in enumerate(readings):
        at, way = _moment("09:10") + place * 50 * MINUTE % (12 * HOUR), -1 if row["is_below"] else 1
        for moment, figure in ((at, row["begin"] + way * BEYOND), (at + 25 * MINUTE, row["end"] - way * BEYOND)):
            yield Stimulus(moment, What.AIR, (row["sensor"], *air_of(row, figure), 10 * MINUTE))
    if readings:
        yield Stimulus(_moment("22:00"), What.SILENT, (readings[0]["sensor"], 10 * MINUTE))
        yield Stimulus(_moment("22:40"), What.NO_SENSORS, (10 * MINUTE,))


def _pressing(table: Mapping[str, Any]) -> Iterator[Stimulus]:
    """Yield what shows each switch that tells presses apart: a short press, a held one, two in a row, and three."""
    for number, row in enumerate(table.get("presses", ())):
        at, switch = _moment("11:00") + number * 5 * MINUTE, row["switch"]
        yield Stimulus(at, What.PRESS, (switch, 180))
        if row["held"]:
            yield Stimulus(at + MINUTE, What.HELD, (switch, row["held_ms"] + 400))
        if row["twice"]:
            yield Stimulus(at + 2 * MINUTE, What.TWICE, (switch, 150, row["again_ms"] // 2, 150))
            yield Stimulus(at + 3 * MINUTE, What.PRESS, (switch, 150))
            yield Stimulus(at + 3 * MINUTE + SECOND, What.TWICE, (switch, 150, row["again_ms"] // 2, 1200))         # held: it has acted


def _moment(when: str) -> int:
    hours, minutes, seconds = (*map(int, when.split(":")), 0)[:3]
    return hours * HOUR + minutes * MINUTE + seconds * SECOND


def _place(table: Mapping[str, Any], control: str) -> int | None:
    """Return the place in the plan that "first latching switch" and the like stand for; None if none."""
    which, _, kind = control.partition(" ")
    if control == RESTING:
        return next((place for place, row in enumerate(table["channels"]) if row["minimum_off_ms"]), None)
    if which not in ORDINALS:
        return 0    # "the network", "the mains": every home has them
    switches = list(enumerate(table["switches"]))
    places = {
        "latching switch": [place for place, switch in switches if switch["latching"]],
        "retractive switch": [place for place, switch in switches if not switch["latching"]],
        "regulator": list(range(len(table["regulators"]))),
        "button": list(range(len(table["buttons"]))),
        "channel": list(range(len(table["channels"]))),
    }[kind]
    index = len(places) - 1 if which == "last" else ORDINALS.index(which)
    return places[index] if 0 <= index < len(places) else None


def _throw(table: Mapping[str, Any], at: int, place: int, number: int) -> list[Stimulus]:
    return [Stimulus(at, What.THROW, (place,))]


def _press(table: Mapping[str, Any], at: int, place: int, number: int) -> list[Stimulus]:
    return [Stimulus(at, What.PRESS, (place, number))]


def _turn(table: Mapping[str, Any], at: int, place: int, number: str) -> list[Stimulus]:
    levels = table["regulators"][place]["levels"]
    position = {"off": 0, "lowest": min(1, len(levels) - 1), "highest": len(levels) - 1}[number]
    return [Stimulus(at, What.TURN, (place, position))]


def _hold(table: Mapping[str, Any], at: int, place: int, number: int) -> list[Stimulus]:
    return [Stimulus(at, What.BUTTON, (place, number))]


def _other_remote(table: Mapping[str, Any], at: int, place: int, number: int) -> list[Stimulus]:
    return [Stimulus(at, What.OTHER_REMOTE, unknown_code(table, 0x51, 0x2E))]


def _ask_for(table: Mapping[str, Any], at: int, place: int, number: str) -> list[Stimulus]:
    verb = {"off": core.OFF, "on": core.ON, "toggle": core.TOGGLE, "highest": core.SET}[number]
    level = top_of(table["channels"][place]) if verb == core.SET else 0
    return [Stimulus(at, What.COMMAND, (place, verb, level))]


def _nonsense(table: Mapping[str, Any], at: int, place: int, number: int) -> list[Stimulus]:
    return [Stimulus(at + i * 10 * SECOND, What.COMMAND, row) for i, row in enumerate(NONSENSE)]


def _network_gone(table: Mapping[str, Any], at: int, place: int, number: int) -> list[Stimulus]:
    return [Stimulus(at, What.NO_NETWORK, (number,))]


def _power_gone(table: Mapping[str, Any], at: int, place: int, number: int) -> list[Stimulus]:
    return [Stimulus(at, What.NO_POWER, (number,))]


_DO: dict[str, Callable[..., list[Stimulus]]] = {
    "throw": _throw, "press": _press, "turn": _turn, "hold": _hold, "other remote": _other_remote,
    "ask for": _ask_for, "nonsense": _nonsense, "network gone": _network_gone, "power gone": _power_gone,
}


def unknown_code(table: Mapping[str, Any], address: int, command: int) -> tuple[int, int, int]:
    """Return the code nearest above that no button of the plan sends, in the first protocol (NEC)."""
    known = {(row["protocol"], row["address"], row["command"]) for row in table["buttons"]}
    while (1, address, command) in known:
        command += 1
    return 1, address, command
