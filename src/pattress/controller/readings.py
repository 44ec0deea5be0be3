"""Readings: where what a sensor tells stands between the figures of a rule. Loaded only by a plan that has some.

Whole numbers throughout: temperature and relative humidity in tenths of degC and of %, as the sensors tell them; water in the
air in hundredths of g/m3. Saturated air is taken from a table, a degree a place, and straight between: from -20 to 60 degC at
most 0.1 % off and a hundredth more, half of it from the table. Beyond, the nearest end is taken, and both figures of a rule lie well within.

The table: 100 x 1000 x Pws / (461.495 (T + 273.15)), Pws by the formulas of the ASHRAE Handbook, Fundamentals, 2017, chapter 1, as
the library PsychroLib 2.5.0 computes them (over ice below 0 degC); the tests compute it anew.
"""

from array import array

from .core.cells import READ
from .core.conditions import BEFORE, BETWEEN, PAST, UNKNOWN

TEMPERATURE, HUMIDITY, DAMPER = range(3)        # quantities
COLDEST = -20           # of the table [degC]
SATURATED = array("H", (
    88, 97, 106, 116, 127, 139, 152, 165, 180, 197, 214, 233, 253, 275, 299, 325, 352, 382, 414, 448, 485, 519, 556, 595, 636,
    680, 726, 775, 827, 882, 940, 1001, 1066, 1134, 1206, 1282, 1363, 1447, 1536, 1630, 1729, 1833, 1942, 2056, 2177, 2303, 2436,
    2575, 2721, 2875, 3035, 3203, 3379, 3563, 3756, 3957, 4168, 4388, 4618, 4858, 5109, 5371, 5644, 5928, 6225, 6534, 6856, 7191,
    7540, 7903, 8281, 8674, 9083, 9507, 9948, 10407, 10882, 11376, 11889, 12420, 12972,
))


def water(temperature, humidity):
    """Return the water in air [0.01 g/m3] of so many tenths of degC and of %."""
    place = temperature - 10 * COLDEST
    if place < 0:
        place = 0
    elif place > 10 * (len(SATURATED) - 1):
        place = 10 * (len(SATURATED) - 1)
    degree, tenths = place // 10, place % 10
    most = 10 * SATURATED[degree]           # in thousandths, rounded once, at the end
    if tenths:
        most += (SATURATED[degree + 1] - SATURATED[degree]) * tenths
    return (most * humidity + 5000) // 10000


def hear(parts):
    """Return what takes what a sensor tells, where rules wait for readings."""
    if not parts.loop.reader:
        parts.loop.reader = Reader(parts.readings, parts.queue)
    return parts.loop.reader.reading


class Reader:
    """Takes what the sensors tell, for the queue and for the next turn of the loop. `rows` are the readings of the plan's table."""

    def __init__(self, rows, queue):
        self._rows, self._queue = rows, queue
        self._places, self._waits = bytearray(len(rows)), bytearray(len(rows))      # where each reading stands, and whether that waits to be told
        self.has_news = False

    def reading(self, sensor, tenths, fresh):
        """As of the queue, which hears it first. The second value of a sensor renews what looks at it, and nothing else."""
        self._queue.reading(sensor, tenths, fresh)
        if sensor % 2:
            for i in range(len(self._rows)):
                row = self._rows[i]
                if sensor // 2 == row["sensor"] or sensor // 2 == row["outside"]:
                    self._places[i] = self._place(row) - UNKNOWN
                    self._waits[i] = 1
            self.has_news = True

    def _place(self, row):
        """Return where a reading stands; that of two sensors is not known once one of them has been silent for too long."""
        queue = self._queue
        for sensor in (row["sensor"], row["outside"]):
            if sensor >= 0 and queue.seconds - queue.read_at[2 * sensor] > row["stale_ms"] // 1000:
                return UNKNOWN
        return place_of(row, queue.value, queue.fresh)

    def tell(self, step):
        """Tell the program where what was renewed stands. Allocates nothing."""
        self.has_news = False
        for i in range(len(self._places)):
            if self._waits[i]:
                self._waits[i] = 0
                step(READ, i, self._places[i] + UNKNOWN, 0, 0)


def place_of(row, value, fresh):
    """Return where a reading of a plan stands; `value` and `fresh` are what sensors told last, two of each in the order of the board."""
    sensor, outside = 2 * row["sensor"], 2 * row["outside"]
    for at in (sensor, outside) if outside >= 0 else (sensor,):
        if not (fresh[at] and fresh[at + 1]):
            return UNKNOWN
    if row["quantity"] == DAMPER:
        found = water(value[sensor], value[sensor + 1]) - water(value[outside], value[outside + 1])
    else:
        found = value[sensor + row["quantity"]]
    begin, end = row["begin"], row["end"]
    if row["is_below"]:
        found, begin, end = -found, -begin, -end
    return PAST if found > begin else BEFORE if found <= end else BETWEEN
