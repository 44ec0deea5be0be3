"""What a household does in a year: habits, guests, a child that plays, a network and mains that fail.

Each load and fan is operated about as often a day as the job says; households differ. All rates
here are invented, but for the long outages, which come as often and last as long as published.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import log
from random import Random
from typing import Any

from pattress.controller import core
from pattress.rehearsal.day import DAY, HOUR, MINUTE, SECOND
from pattress.rehearsal.doings import Doing, What
from pattress.rehearsal.household import BY_HOUR
from pattress.rehearsal.script import unknown_code

# U.S. Energy Information Administration, Electric Power Annual, table 11.1, IEEE method, all events, 2023:
# SAIFI 1.348 interruptions a customer and year, CAIDI 271.8 minutes each. Of more than five minutes only.
OUTAGES_A_YEAR = 1.348
OUTAGE_MS = 271.8 * MINUTE
SPREAD = 1.0            # of the logarithm of how long an outage lasts (invented)
DIPS_A_YEAR = 6.0       # of a few seconds (invented; the table does not count them)
BY_WALL, BY_REMOTE = 0.75, 0.20         # of the operations; the rest over the network
RACE = 0.02             # of the operations somebody else makes too, in the same moment
GUESTS = 0.05           # of the days
PLAYS = 1 / 7           # a day, a child operates one control again and again
OTHER_REMOTES = 10.0    # presses a day of a remote that belongs to something else
NETWORK_LOSSES = 0.2    # a day
DAYS_A_YEAR = 365

Control = tuple[What, int, float]


@dataclass(frozen=True, slots=True)
class Habits:
    """One household: how often it operates each channel [a day], drawn once."""

    per_day: tuple[float, ...]

    @classmethod
    def drawn(cls, usual: Sequence[float], rng: Random) -> "Habits":
        """Draw a household: half of them operate a channel less often than `usual`, one in six over 1.5 times."""
        return cls(tuple(rate * rng.lognormvariate(0.0, 0.4) for rate in usual))


def day_of(table: Mapping[str, Any], habits: Habits, rng: Random) -> list[Doing]:
    """Return what is done on one day, in order of time from its midnight."""
    doings: list[Doing] = []
    busier = 2.0 if rng.random() < GUESTS else 1.0
    for channel, rate in enumerate(habits.per_day):
        walls, remotes = _controls(table, channel)
        for _ in _moments(rng, rate * busier):
            at = rng.choices(range(24), BY_HOUR)[0] * HOUR + rng.randrange(HOUR)
            doings.append(_operate(table, channel, walls, remotes, at, rng))
            if rng.random() < RACE:
                doings.append(_operate(table, channel, walls, remotes, at + rng.randint(0, 400), rng))
    for at in _moments(rng, PLAYS):
        channel = rng.randrange(len(habits.per_day))
        walls, remotes = _controls(table, channel)
        for _ in range(rng.randint(5, 25)):
            doings.append(_operate(table, channel, walls, remotes, at, rng))
            at += rng.randint(20, 700)
    for at in _moments(rng, OTHER_REMOTES):
        doings.append(Doing(at, What.OTHER_REMOTE, unknown_code(table, rng.randrange(256), rng.randrange(256))))
    for at in _moments(rng, NETWORK_LOSSES):
        doings.append(Doing(at, What.NO_NETWORK, (_lasting(rng, 4 * MINUTE, 0.8),)))
    for at in _moments(rng, OUTAGES_A_YEAR / DAYS_A_YEAR):      # the mean is published, the median lies below
        doings.append(Doing(at, What.NO_POWER, (_lasting(rng, OUTAGE_MS * 2.718281828 ** (-SPREAD**2 / 2), SPREAD),)))
    for at in _moments(rng, DIPS_A_YEAR / DAYS_A_YEAR):
        doings.append(Doing(at, What.NO_POWER, (_lasting(rng, 2 * SECOND, 0.8),)))
    return sorted(doings, key=lambda doing: doing.at)


def _controls(table: Mapping[str, Any], channel: int) -> tuple[list[Control], list[Control]]:
    """Return the controls on the wall and those of remotes that act on a channel, as (what, place, weight).

    The more a control acts on, the less it is used for one channel alone.
    """
    def weight(row: Mapping[str, Any]) -> float:
        return any(act[0] == channel for act in row["acts"]) / len(row["acts"]) ** 2

    walls = [(What.THROW if row["latching"] else What.PRESS, place, weight(row)) for place, row in enumerate(table["switches"])]
    walls += [(What.TURN, place, 1.0) for place, row in enumerate(table["regulators"]) if row["channel"] == channel]
    remotes = [(What.BUTTON, place, weight(row)) for place, row in enumerate(table["buttons"])]
    return [one for one in walls if one[2]], [one for one in remotes if one[2]]


def _operate(table: Mapping[str, Any], channel: int, walls: list[Control], remotes: list[Control], at: int, rng: Random) -> Doing:
    share = rng.random()
    if walls and (share < BY_WALL or not remotes and share < BY_WALL + BY_REMOTE):
        what, place, _ = _picked(walls, rng)
    elif remotes and share < BY_WALL + BY_REMOTE:
        what, place, _ = _picked(remotes, rng)
    else:
        return Doing(at, What.COMMAND, (channel, core.TOGGLE, 0))
    if what is What.PRESS:
        return Doing(at, what, (place, rng.randint(80, 400)))
    if what is What.TURN:
        return Doing(at, what, (place, rng.randrange(len(table["regulators"][place]["levels"]))))
    if what is What.BUTTON:
        return Doing(at, what, (place, rng.choice((rng.randint(60, 200), rng.randint(400, 1500)))))
    return Doing(at, what, (place,))


def _picked(controls: list[Control], rng: Random) -> Control:
    return rng.choices(controls, [control[2] for control in controls])[0]


def _moments(rng: Random, rate: float) -> Iterator[int]:
    """Yield moments of the day that come at random, `rate` a day on average."""
    at = rng.expovariate(rate) * DAY if rate else DAY
    while at < DAY:
        yield int(at)
        at += rng.expovariate(rate) * DAY


def _lasting(rng: Random, median: float, spread: float) -> int:
    """Return how long something lasts [ms]."""
    return max(200, int(rng.lognormvariate(log(median), spread)))
