"""Random days: people with habits, a child that plays, guests, a network and mains that fail.

The rates are invented to meet every situation often; only the outages of the year-long
rehearsal may follow a published frequency. Everything comes from the seeded source given.
"""

from collections.abc import Iterator, Mapping
from math import log
from random import Random
from typing import Any

from pattress.controller import core
from pattress.controller.core.plan import top_of
from pattress.rehearsal.day import DAY, HOUR, MINUTE, SECOND
from pattress.rehearsal.script import NONSENSE, unknown_code
from pattress.rehearsal.stimuli import Stimulus, What

VISITS = 40             # times a day that somebody comes to a control and, as a rule, comes back
PLAYS = 1.0             # times a day that a child plays with a control
OTHER_REMOTES = 25      # presses a day of a remote that belongs to something else
COMMANDS = 15           # a day from the network; one in five is nonsense
NETWORK_LOSSES = 2      # a day
POWER_CUTS = 1.5        # a day: far more than any grid, to meet them in every state
STICKS_A_DAY = 2.0      # of the contacts of each channel with feedback: far more than any relay

# Share of the visits by hour of the day, midnight first: asleep, up, out, back, late.
BY_HOUR = (1, 0, 0, 0, 0, 1, 6, 9, 6, 3, 2, 2, 4, 3, 2, 2, 4, 7, 9, 10, 9, 8, 6, 3)


def random_day(table: Mapping[str, Any], rng: Random) -> tuple[Stimulus, ...]:
    """Return what is done on a random day, in order of time."""
    controls = _controls(table)
    stimuli: list[Stimulus] = []
    if controls:
        for _ in range(VISITS):
            stimuli += _visit(table, rng, *rng.choice(controls))
        for at in _moments(rng, PLAYS):
            stimuli += _play(table, rng, at, *rng.choice(controls))
    for at in _moments(rng, OTHER_REMOTES):
        code = unknown_code(table, rng.randrange(256), rng.randrange(256))
        stimuli += [Stimulus(at + 110 * repeat, What.OTHER_REMOTE, code) for repeat in range(rng.randint(1, 4))]
    for at in _moments(rng, COMMANDS):
        stimuli.append(Stimulus(at, What.COMMAND, _command(table, rng)))
    for at in _moments(rng, NETWORK_LOSSES):
        stimuli.append(Stimulus(at, What.NO_NETWORK, (_lasting(rng, 4 * MINUTE),)))
    stimuli += _power_cuts(rng, [stimulus.at for stimulus in stimuli])
    return tuple(sorted((stimulus for stimulus in stimuli if 0 <= stimulus.at < DAY), key=lambda stimulus: stimulus.at))


def _controls(table: Mapping[str, Any]) -> list[tuple[What, int]]:
    switches = [(What.THROW if row["latching"] else What.PRESS, place) for place, row in enumerate(table["switches"])]
    switches += [(What.TWICE, row["switch"]) for row in table.get("presses", ()) if row["twice"]]
    regulators = [(What.TURN, place) for place in range(len(table["regulators"]))]
    buttons = [(What.BUTTON, place) for place in range(len(table["buttons"]))]
    return switches + regulators + buttons


def _visit(table: Mapping[str, Any], rng: Random, what: What, place: int) -> Iterator[Stimulus]:
    """Operate a control; four times in five come back later and operate it again."""
    at = rng.choices(range(24), BY_HOUR)[0] * HOUR + rng.randrange(HOUR)
    yield _operate(table, rng, at, what, place)
    if rng.random() < 0.1:      # somebody else reaches for the same thing at the same moment
        yield _operate(table, rng, at + rng.randint(0, 400), what, place)
    if rng.random() < 0.8:
        yield _operate(table, rng, at + _lasting(rng, 20 * MINUTE), what, place)


def _play(table: Mapping[str, Any], rng: Random, at: int, what: What, place: int) -> Iterator[Stimulus]:
    """Operate a control again and again, as fast as small fingers can."""
    for _ in range(rng.randint(5, 25)):
        yield _operate(table, rng, at, what, place)
        at += rng.randint(20, 700)


def _operate(table: Mapping[str, Any], rng: Random, at: int, what: What, place: int) -> Stimulus:
    if what is What.PRESS:
        return Stimulus(at, what, (place, rng.choice((rng.randint(5, 40), rng.randint(80, 400), rng.randint(1000, 4000)))))
    if what is What.TWICE:
        return Stimulus(at, what, (place, rng.randint(80, 300), rng.randint(80, 300), rng.randint(80, 2000)))
    if what is What.TURN:
        return Stimulus(at, what, (place, rng.randrange(len(table["regulators"][place]["levels"]))))
    if what is What.BUTTON:
        return Stimulus(at, what, (place, rng.choice((rng.randint(20, 200), rng.randint(400, 2500)))))
    return Stimulus(at, what, (place,))


def _command(table: Mapping[str, Any], rng: Random) -> tuple[int, int, int]:
    if rng.random() < 0.2:
        return rng.choice(NONSENSE)
    channel = rng.randrange(len(table["channels"]))
    return channel, rng.randrange(len(core.VERBS)), rng.randrange(top_of(table["channels"][channel]) + 1)


def _power_cuts(rng: Random, busy: list[int]) -> Iterator[Stimulus]:
    """Cut at any moment; half of the cuts within seconds after something was done, a third twice in a row."""
    for at in _moments(rng, POWER_CUTS):
        if busy and rng.random() < 0.5:
            at = rng.choice(busy) + rng.randint(0, 6 * SECOND)
        lasts = _lasting(rng, rng.choice((2 * SECOND, 5 * MINUTE)))
        yield Stimulus(at, What.NO_POWER, (lasts,))
        if rng.random() < 0.3:
            yield Stimulus(at + lasts + rng.randint(0, 8 * SECOND), What.NO_POWER, (_lasting(rng, 2 * SECOND),))


def _moments(rng: Random, rate: float) -> Iterator[int]:
    """Yield moments of the day that come at random, `rate` a day on average."""
    at = rng.expovariate(rate) * DAY
    while at < DAY:
        yield int(at)
        at += rng.expovariate(rate) * DAY


def _lasting(rng: Random, usual: int) -> int:
    """Return how long something lasts [ms]: half of the times less than `usual`, now and then much longer."""
    return max(200, int(rng.lognormvariate(log(usual), 0.8)))
