"""What goes on around the rules: inputs that open and close, air that changes, sensors that fall silent.

Every figure here is invented. The air knows nothing of what is on: a heater does not warm it, nor an extract dry it.
"""

from collections.abc import Iterator, Mapping, Sequence
from math import log
from random import Random
from typing import Any

from pattress.controller.readings import DAMPER, HUMIDITY, TEMPERATURE
from pattress.rehearsal.day import DAY, HOUR, MINUTE, SECOND
from pattress.rehearsal.household import BY_HOUR
from pattress.rehearsal.sensors import USUAL, air_of, sensors_of, share
from pattress.rehearsal.stimuli import Stimulus, What

# A random day: how long an input stays as it is, median of one of these; how often the air changes, sensors fall silent and nobody asks them.
STAYS = (SECOND // 4, 5 * SECOND, 2 * MINUTE, 15 * MINUTE, 90 * MINUTE)
AIRS, SILENCES, ALONE = 40, 2.0, 1.0
NEAR = -40, 40                  # of a figure of a rule, where the air then goes [tenths of degC, tenths of %]

# A year, by kind of input: whether its contact rests closed, how often a day it is otherwise, for how long (median).
USES = {
    "door": (1, 12.0, 40 * SECOND), "window": (1, 1.0, 30 * MINUTE), "presence": (0, 10.0, 15 * MINUTE), "float": (0, 2.0, 40 * MINUTE),
    "leak": (0, 0.01, HOUR), "switch": (0, 0.5, 4 * HOUR), "other": (0, 3.0, 10 * MINUTE),
}
SPREAD = 1.0                    # of the logarithm of how long
STEP = 3 * HOUR                 # from one state of the air to the next
WARMTH_DIFFERS, DAMP_DIFFERS = 20.0, 120.0      # standard deviation of what the air comes to [tenths of degC, tenths of %]
SHOWERS, DAMP = 2.0, 900        # a day at a sensor that a rule compares with another; what humidity comes to [tenths of %]
SILENCES_A_DAY, SILENT_FOR = 0.02, 2 * HOUR     # of each sensor


def random_surroundings(table: Mapping[str, Any], rng: Random) -> Iterator[Stimulus]:
    """Yield what goes on around the rules of a plan on a random day: far more than at any home."""
    if not table.get("conditions"):
        return
    for number in range(len(table.get("inputs", ()))):
        at, closed = 0, rng.randrange(2)
        while at < DAY:
            yield Stimulus(at, What.INPUT, (number, closed))
            at, closed = at + _lasting(rng, rng.choice(STAYS)), 1 - closed
    for sensor, rows in enumerate(rows_of_sensors(table)):
        for at in moments(rng, AIRS if rows else 0):
            yield Stimulus(at, What.AIR, (sensor, *_near(rng.choice(rows), rng), _lasting(rng, 10 * MINUTE)))
        for at in moments(rng, SILENCES):
            yield Stimulus(at, What.SILENT, (sensor, _lasting(rng, 8 * MINUTE)))
    for at in moments(rng, ALONE if table.get("readings") else 0):
        yield Stimulus(at, What.NO_SENSORS, (_lasting(rng, 8 * MINUTE),))


def usual_surroundings(table: Mapping[str, Any], kinds: Sequence[str], rng: Random) -> Iterator[Stimulus]:
    """Yield what goes on around the rules of a plan on one day of a year; `kinds` are those of its inputs, "other" where they are not said."""
    if not table.get("conditions"):
        return
    for number in range(len(table.get("inputs", ()))):
        rests, often, lasts = USES[kinds[number] if number < len(kinds) else "other"]
        yield Stimulus(0, What.INPUT, (number, rests))
        for at in by_hour(rng, often):
            yield Stimulus(at, What.INPUT, (number, 1 - rests))
            yield Stimulus(at + _lasting(rng, lasts), What.INPUT, (number, rests))
    for sensor, rows in enumerate(rows_of_sensors(table)):
        warm, damp = _middle(rows, TEMPERATURE, USUAL[0]), _middle(rows, HUMIDITY, USUAL[1])
        for at in range(0, DAY, STEP):
            yield Stimulus(at, What.AIR, (sensor, round(rng.gauss(warm, WARMTH_DIFFERS)), share(rng.gauss(damp, DAMP_DIFFERS)), STEP))
        if any(row["quantity"] == DAMPER and row["sensor"] == sensor for row in rows):
            for at in by_hour(rng, SHOWERS):
                yield Stimulus(at, What.AIR, (sensor, warm, DAMP, 5 * MINUTE))
                yield Stimulus(at + 15 * MINUTE, What.AIR, (sensor, warm, damp, 45 * MINUTE))
        for at in moments(rng, SILENCES_A_DAY):
            yield Stimulus(at, What.SILENT, (sensor, _lasting(rng, SILENT_FOR)))


def rows_of_sensors(table: Mapping[str, Any]) -> list[list[Mapping[str, Any]]]:
    """Return by sensor the readings of a plan that need it."""
    rows = table.get("readings", ())
    return [[row for row in rows if sensor in (row["sensor"], row["outside"])] for sensor in range(sensors_of(rows))]


def moments(rng: Random, rate: float) -> Iterator[int]:
    """Yield moments of the day that come at random, `rate` a day on average."""
    at = rng.expovariate(rate) * DAY if rate else DAY
    while at < DAY:
        yield int(at)
        at += rng.expovariate(rate) * DAY


def by_hour(rng: Random, rate: float) -> Iterator[int]:
    """Yield so many moments a day on average, in the hours in which people are about."""
    for _ in moments(rng, rate):
        yield rng.choices(range(24), BY_HOUR)[0] * HOUR + rng.randrange(HOUR)


def _near(row: Mapping[str, Any], rng: Random) -> tuple[int, int]:
    """Return a temperature and a humidity [tenths] near to where a reading begins or ends."""
    temperature, humidity = air_of(row, rng.choice((row["begin"], row["end"])))
    return temperature + rng.randint(*NEAR), share(humidity + rng.randint(*NEAR))


def _middle(rows: Sequence[Mapping[str, Any]], quantity: int, otherwise: int) -> int:
    """Return the middle of the figures that rules name for a sensor [tenths]."""
    figures = [row[name] for row in rows for name in ("begin", "end") if row["quantity"] == quantity]
    return round(sum(figures) / len(figures)) if figures else otherwise


def _lasting(rng: Random, median: float) -> int:
    """Return how long something lasts [ms]."""
    return max(20, int(rng.lognormvariate(log(median), SPREAD)))
