"""The sensors of a home: what each measures, what the board has heard of it, and where that puts the readings of the plan.

A reading passes through the board's own arithmetic (`controller.readings`), from tenths of a degC and of a % to a place.
A sensor that does not answer is told to be silent by its driver after a while; and a board whose sensors' task hangs hears
of none at all, so that the program has to find out by itself.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pattress.controller.drivers.humidity import STALE_MS, WARMING_MS
from pattress.controller.readings import HUMIDITY, TEMPERATURE, place_of, water

MEASURES_MS = 60_000            # from one reading to the next: the board's driver takes one every 30 s, and so does half the work
FIRST_MS = WARMING_MS           # from power to the first reading
USUAL = 200, 500                # of the air before anything was said of it [tenths of degC, tenths of %] (invented)
NOISE = 2                       # of a reading, either way [tenths] (invented)
WETTEST = 1000                  # relative humidity [tenths of %]


@dataclass(frozen=True, slots=True)
class _Air:
    """The air at a sensor on its way from one state to another; a state is temperature and humidity [tenths]."""

    begins: int
    lasts: int
    start: tuple[int, int]
    end: tuple[int, int]

    def at(self, now: int) -> tuple[int, int]:
        passed = min(max(now - self.begins, 0), self.lasts)
        share = passed / self.lasts if self.lasts else 1.0
        temperature, humidity = (round(start + share * (end - start)) for start, end in zip(self.start, self.end, strict=True))
        return temperature, humidity


class Sensors:
    """All sensors that the readings of a plan's table need, by their numbers on the board."""

    def __init__(self, rows: Sequence[Mapping[str, Any]]) -> None:
        self.rows = rows
        self.count = sensors_of(rows)
        self.measures_ms = min([MEASURES_MS, *(row["stale_ms"] // 3 for row in rows)])
        self._air = [_Air(0, 0, USUAL, USUAL)] * self.count
        self._silent_until = [0] * self.count
        self._nobody_asks_until = 0
        self._values, self._fresh = [0] * 2 * self.count, [0] * 2 * self.count
        self._heard_at = [0] * self.count

    def go_to(self, at: int, sensor: int, temperature: int, humidity: int, lasts: int) -> None:
        """Let the air at a sensor come to this temperature and humidity [tenths] within so long [ms]."""
        self._air[sensor] = _Air(at, lasts, self._air[sensor].at(at), (temperature, share(humidity)))

    def fall_silent(self, at: int, sensor: int, lasts: int) -> None:
        """Let a sensor not answer for so long [ms]."""
        self._silent_until[sensor] = at + lasts

    def leave_alone(self, at: int, lasts: int) -> None:
        """Let nobody ask any sensor for so long [ms]."""
        self._nobody_asks_until = at + lasts

    def begin(self) -> None:
        """The board starts: it has heard nothing."""
        self._fresh = [0] * 2 * self.count

    def measure(self, at: int, sensor: int, noise: tuple[int, int]) -> bool:
        """Ask a sensor; return whether the board hears something, be it that it hears nothing any more."""
        place = 2 * sensor
        if at < self._nobody_asks_until:
            return False
        if at < self._silent_until[sensor]:
            if not self._fresh[place] or at - self._heard_at[sensor] < STALE_MS:
                return False
            self._fresh[place] = self._fresh[place + 1] = 0
            return True
        temperature, humidity = self._air[sensor].at(at)
        self._values[place:place + 2] = temperature + noise[0], share(humidity + noise[1])
        self._fresh[place] = self._fresh[place + 1] = 1
        self._heard_at[sensor] = at
        return True

    def places(self) -> tuple[int, ...]:
        """Return where each reading stands by what the board has heard."""
        return tuple(place_of(row, self._values, self._fresh) for row in self.rows)


def sensors_of(rows: Sequence[Mapping[str, Any]]) -> int:
    """Return how many sensors the readings of a plan's table need."""
    return 1 + max((max(row["sensor"], row["outside"]) for row in rows), default=-1)


def share(humidity: float) -> int:
    """Return a relative humidity as there can be one [tenths of %]."""
    return min(max(round(humidity), 0), WETTEST)


def air_of(row: Mapping[str, Any], figure: int) -> tuple[int, int]:
    """Return a temperature and a humidity [tenths] at which a reading is at this figure of its own, where the air elsewhere is as usual."""
    temperature, humidity = USUAL
    if row["quantity"] == TEMPERATURE:
        return figure, humidity
    if row["quantity"] == HUMIDITY:
        return temperature, figure
    return temperature, humidity + round(WETTEST * figure / water(temperature, WETTEST))
