"""What a household does in a year: habits, guests, a child that plays, a network and mains that fail.

Each load and fan is operated about as often a day as the job says; households differ. All rates
here are invented, but for the long outages, which come as often and last as long as published.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import exp, log
from random import Random
from typing import Any

from pattress.controller import core
from pattress.rehearsal.day import DAY, HOUR, MINUTE, SECOND
from pattress.rehearsal.household import BY_HOUR
from pattress.rehearsal.script import unknown_code
from pattress.rehearsal.stimuli import Stimulus, What

# U.S. Energy Information Administration, Electric Power Annual, table 11.1, IEEE method, all events, 2023:
# SAIFI 1.348 interruptions a customer and year, CAIDI 271.8 minutes each. Of more than five minutes only.
OUTAGES_A_YEAR = 1.348
OUTAGE_MS = 271.8 * MINUTE
SPREAD = 1.0            # of the logarithm of how long an outage lasts (invented)
DIPS_A_YEAR = 6.0       # of a few seconds (invented; the table does not count them)
HOMES_DIFFER = 0.4      # spread of the logarithm of how often a home operates something (invented)
LIT_FOR = 40 * MINUTE, 0.8      # median, and spread of the logarithm, of how long a load is wanted on (invented)
OTHER_STEP = 0.3        # of the times a fan runs, another step is asked for on the way
BY_WALL, BY_REMOTE = 0.75, 0.20         # of the operations; the rest over the network
RACE = 0.02             # of the operations somebody else makes too, in the same moment
GUESTS = 0.05           # of the days
PLAYS = 1 / 7           # a day, a child operates one control again and again
OTHER_REMOTES = 10.0    # presses a day of a remote that belongs to something else
NETWORK_LOSSES = 0.2    # a day
DAYS_A_YEAR = 365
STICKS_A_YEAR = 0.05    # of each channel with feedback: its contact sticks until it is tapped, or the relay is changed (invented)
STICKS_FOR = 2 * HOUR, 1.0      # median, and spread of the logarithm (invented)
CLOSED = 0.7            # of these times it sticks closed: welding is likelier than a contact that no longer makes (from memory)

@dataclass(frozen=True, slots=True)
class Control:
    """Something a person can operate, and how likely for one channel: the more it acts on, the less."""

    what: What
    place: int
    weight: float


@dataclass(frozen=True, slots=True)
class Habits:
    """One household: how often it operates each channel [cycles a day], drawn once, and with what."""

    per_day: tuple[float, ...]
    walls: Mapping[tuple[int, bool], tuple[Control, ...]]       # by channel, and whether it shall come on
    remotes: Mapping[tuple[int, bool], tuple[Control, ...]]

    @classmethod
    def drawn(cls, table: Mapping[str, Any], usual: Sequence[float], rng: Random) -> "Habits":
        """Draw a household: on average as often as `usual`, one in seven over 1.4 times as often (invented)."""
        wishes = [(channel, is_on) for channel in range(len(table["channels"])) for is_on in (False, True)]
        return cls(tuple(rate * rng.lognormvariate(-HOMES_DIFFER**2 / 2, HOMES_DIFFER) for rate in usual),
                   {wish: _walls(table, *wish) for wish in wishes}, {wish: _remotes(table, *wish) for wish in wishes})


def day_of(table: Mapping[str, Any], habits: Habits, rng: Random) -> list[Stimulus]:
    """Return what is done on one day, in order of time from its midnight.

    An operation is a cycle, as the endurance of a relay is counted: somebody who sees the load
    off wants it on, and later off again.
    """
    stimuli: list[Stimulus] = []
    busier = 2.0 if rng.random() < GUESTS else 1.0
    for channel, rate in enumerate(habits.per_day):
        starts = sorted(rng.choices(range(24), BY_HOUR)[0] * HOUR + int(rng.random() * HOUR)
                        for _ in _moments(rng, rate * busier))
        for start, following in zip(starts, [*starts[1:], DAY]):
            end = start + min(_lasting(rng, *LIT_FOR), int(0.9 * (following - start)))
            stimuli += _wished(table, habits, channel, True, start, rng)
            if len(table["channels"][channel]["masks"]) > 2 and rng.random() < OTHER_STEP:
                stimuli.append(_operate(table, habits, channel, True, (start + end) // 2, rng))
            stimuli += _wished(table, habits, channel, False, end, rng)
    for at in _moments(rng, PLAYS):
        channel = rng.randrange(len(habits.per_day))
        for turn in range(rng.randint(5, 25)):
            stimuli.append(_operate(table, habits, channel, turn % 2 == 0, at, rng))
            at += rng.randint(20, 700)
    for at in _moments(rng, OTHER_REMOTES):
        stimuli.append(Stimulus(at, What.OTHER_REMOTE, unknown_code(table, rng.randrange(256), rng.randrange(256))))
    for at in _moments(rng, NETWORK_LOSSES):
        stimuli.append(Stimulus(at, What.NO_NETWORK, (_lasting(rng, 4 * MINUTE, 0.8),)))
    stimuli += mains_failures(rng)
    return sorted((stimulus for stimulus in stimuli if stimulus.at < DAY), key=lambda stimulus: stimulus.at)


def mains_failures(rng: Random) -> Iterator[Stimulus]:
    """Yield the outages and dips of one day: the mean duration is published, the median lies below."""
    for at in _moments(rng, OUTAGES_A_YEAR / DAYS_A_YEAR):
        yield Stimulus(at, What.NO_POWER, (_lasting(rng, OUTAGE_MS * exp(-SPREAD**2 / 2), SPREAD),))
    for at in _moments(rng, DIPS_A_YEAR / DAYS_A_YEAR):
        yield Stimulus(at, What.NO_POWER, (_lasting(rng, 2 * SECOND, 0.8),))


def sticks(table: Mapping[str, Any], rng: Random, a_day: float = STICKS_A_YEAR / DAYS_A_YEAR) -> Iterator[Stimulus]:
    """Yield the contacts that stick on one day, of channels with feedback; a job without is not asked, and its days stay as they were."""
    for row in table.get("feedback", ()):
        for at in _moments(rng, a_day):
            yield Stimulus(at, What.STICK, (row["channel"], int(rng.random() < CLOSED), _lasting(rng, *STICKS_FOR)))


def _wished(table: Mapping[str, Any], habits: Habits, channel: int, is_on: bool, at: int, rng: Random) -> list[Stimulus]:
    """Return what somebody does who wants a channel on, or off: nothing if it is so already."""
    stimuli = [_operate(table, habits, channel, is_on, at, rng, unless=(channel, is_on))]
    if rng.random() < RACE:         # somebody else reaches for it too, and then one of them puts it right
        stimuli.append(_operate(table, habits, channel, is_on, at + rng.randint(0, 400), rng))
        stimuli.append(_operate(table, habits, channel, is_on, at + 3 * SECOND, rng, unless=(channel, is_on)))
    return stimuli


def _walls(table: Mapping[str, Any], channel: int, is_on: bool) -> tuple[Control, ...]:
    found = [Control(What.THROW if row["latching"] else What.PRESS, place, _weight(row, channel, is_on))
             for place, row in enumerate(table["switches"])]
    found += [Control(what, row["switch"], _weight({"acts": row[name]}, channel, is_on))
              for row in table.get("presses", ()) for what, name in ((What.HELD, "held"), (What.TWICE, "twice")) if row[name]]
    found += [Control(What.TURN, place, 1.0) for place, row in enumerate(table["regulators"]) if row["channel"] == channel]
    return tuple(control for control in found if control.weight)


def _remotes(table: Mapping[str, Any], channel: int, is_on: bool) -> tuple[Control, ...]:
    found = [Control(What.BUTTON, place, _weight(row, channel, is_on)) for place, row in enumerate(table["buttons"])]
    return tuple(control for control in found if control.weight)


def _weight(row: Mapping[str, Any], channel: int, is_on: bool) -> float:
    able = any(one == channel and (verb == core.TOGGLE or is_on == (verb in (core.ON, core.UP) or verb == core.SET and level > 0))
               for one, verb, level in row["acts"] if verb != core.DOWN)
    return able / len(row["acts"]) ** 2


def _operate(table: Mapping[str, Any], habits: Habits, channel: int, is_on: bool, at: int, rng: Random, *,
             unless: tuple[int, bool] | None = None) -> Stimulus:
    """Return somebody's way to switch a channel: over the network where neither wall nor remote can."""
    walls, remotes, share = habits.walls[channel, is_on], habits.remotes[channel, is_on], rng.random()
    if walls and (share < BY_WALL or not remotes and share < BY_WALL + BY_REMOTE):
        control = _picked(walls, rng)
    elif remotes and share < BY_WALL + BY_REMOTE:
        control = _picked(remotes, rng)
    else:
        return Stimulus(at, What.COMMAND, (channel, core.ON if is_on else core.OFF, 0), unless)
    what, place = control.what, control.place
    if what is What.PRESS:
        return Stimulus(at, what, (place, rng.randint(80, 400)), unless)
    if what is What.HELD:
        return Stimulus(at, what, (place, rng.randint(1000, 2500)), unless)
    if what is What.TWICE:
        return Stimulus(at, what, (place, rng.randint(80, 300), rng.randint(80, 300), rng.randint(80, 400)), unless)
    if what is What.TURN:
        levels = table["regulators"][place]["levels"]
        positions = [position for position, level in enumerate(levels) if (level > 0) == is_on]
        return Stimulus(at, what, (place, rng.choice(positions or [0])), unless)
    if what is What.BUTTON:
        return Stimulus(at, what, (place, rng.choice((rng.randint(60, 200), rng.randint(400, 1500)))), unless)
    return Stimulus(at, what, (place,), unless)


def _picked(controls: Sequence[Control], rng: Random) -> Control:
    return controls[0] if len(controls) == 1 else rng.choices(controls, [control.weight for control in controls])[0]


def _moments(rng: Random, rate: float) -> Iterator[int]:
    """Yield moments of the day that come at random, `rate` a day on average."""
    at = rng.expovariate(rate) * DAY if rate else DAY
    while at < DAY:
        yield int(at)
        at += rng.expovariate(rate) * DAY


def _lasting(rng: Random, median: float, spread: float) -> int:
    """Return how long something lasts [ms]."""
    return max(200, int(rng.lognormvariate(log(median), spread)))
