"""What the board makes of a sensor's figures: water in the air against a published library and published tables, and where a reading stands."""

import json
from functools import lru_cache

import psychrolib
import pytest

from pattress import interpreter
from pattress.controller.core.cells import READ
from pattress.controller.core.conditions import BEFORE, BETWEEN, PAST, UNKNOWN
from pattress.controller.digest import CORE
from pattress.controller.readings import COLDEST, DAMPER, HUMIDITY, SATURATED, TEMPERATURE, Reader, place_of, water

psychrolib.SetUnitSystem(psychrolib.SI)
VAPOUR = 461.495            # gas constant of water vapour [J/(kg K)]
ICE = 0.01                  # degC; below it water in air is told over ice

# ASHRAE Handbook, Fundamentals, 2017, chapter 1, table 3, saturation pressure [Pa], as the tests of PsychroLib quote it, to 300 ppm there.
ASHRAE = [(5, 872.6), (25, 3169.7), (50, 12351.3)]
# Degrees, per cent, water [g/m3]: worked out with PsychroLib 2.5.0 at 101325 Pa, and printed with the proposal of these rules.
WORKED = [(5, 90, 6.117), (0, 100, 4.848), (-5, 80, 2.597), (18, 80, 12.291), (20, 50, 8.644),
          (22, 55, 10.679), (24, 60, 13.061), (24, 95, 20.680), (30, 40, 12.140), (35, 60, 23.744)]


@lru_cache(None)
def saturated(tenths):
    """Return the water that air of so many tenths of degC can hold [0.01 g/m3], by PsychroLib."""
    kelvin = tenths / 10 + 273.15
    return 100_000 * psychrolib.GetSatVapPres(tenths / 10) / (VAPOUR * kelvin)


@pytest.mark.parametrize("degrees, pressure", ASHRAE)
def test_saturated_air_follows_the_handbook(degrees, pressure):
    expected = 100_000 * pressure / (VAPOUR * (degrees + 273.15))
    assert water(10 * degrees, 1000) == pytest.approx(expected, abs=0.5 + 3e-4 * expected)      # half of the last digit, and what the handbook's rows differ by


@pytest.mark.parametrize("degrees, percent, grams", WORKED)
def test_water_in_air_is_as_worked_out_before(degrees, percent, grams):
    assert abs(water(10 * degrees, 10 * percent) - 100 * grams) <= 1.0


def test_the_table_is_what_the_library_computes():
    assert list(SATURATED) == [round(saturated(10 * (COLDEST + place))) for place in range(len(SATURATED))]
    assert COLDEST + len(SATURATED) - 1 == 60


def test_every_tenth_of_a_degree_and_per_cent_is_a_tenth_of_a_per_cent_off_at_most_and_a_hundredth_of_a_gram():
    """Half a hundredth is the table's rounding, half the answer's; straight between two degrees is 0.1 % off at most."""
    off = [(abs(water(tenths, percent) - saturated(tenths) * percent / 1000) - 1e-3 * saturated(tenths) * percent / 1000, tenths, percent)
           for tenths in range(-200, 601) for percent in range(0, 1001, 7)]
    assert max(off)[0] < 1.0, max(off)


def test_the_step_from_ice_to_water_is_no_step():
    assert psychrolib.GetSatVapPres(ICE - 0.001) == pytest.approx(psychrolib.GetSatVapPres(ICE + 0.001), rel=1e-3)
    assert [water(tenths, 1000) for tenths in range(-3, 4)] == sorted(water(tenths, 1000) for tenths in range(-3, 4))


@pytest.mark.parametrize("percent", [0, 1, 333, 600, 1000])
def test_warmer_air_of_one_humidity_never_holds_less(percent):
    found = [water(tenths, percent) for tenths in range(-400, 801)]
    assert found == sorted(found)


def test_beyond_the_table_its_end_is_taken():
    assert water(-400, 1000) == water(-200, 1000) == SATURATED[0] and water(1250, 1000) == water(600, 1000) == SATURATED[-1]
    assert max(10 * SATURATED[-1] * 1000 + 5000, 10 * 1250) < 1 << 30          # small numbers on the board throughout


def row(quantity, begin, end, *, is_below=0, sensor=0, outside=-1, stale_ms=150_000):
    return dict(name="it", quantity=quantity, sensor=sensor, outside=outside, is_below=is_below, begin=begin, end=end, stale_ms=stale_ms)


COLD = row(TEMPERATURE, 190, 200, is_below=1)        # below 19 degC, until 20 degC
WARM = row(TEMPERATURE, 260, 245)                    # above 26 degC, until 24.5 degC
WET = row(HUMIDITY, 700, 650)                        # above 70 %, until 65 %
DRY = row(HUMIDITY, 400, 450, is_below=1)            # below 40 %, until 45 %
DAMP = row(DAMPER, 300, 150, outside=1)              # damper by 3 g/m3, until 1.5 g/m3
SECOND = row(TEMPERATURE, 0, 20, is_below=1, sensor=1)      # of the second sensor, below 0 degC, until 2 degC
FRESH = (1, 1, 1, 1)


@pytest.mark.parametrize("reading, value, place", [
    (COLD, (189, 500, 0, 0), PAST), (COLD, (190, 500, 0, 0), BETWEEN), (COLD, (199, 500, 0, 0), BETWEEN), (COLD, (200, 500, 0, 0), BEFORE), (COLD, (201, 0, 0, 0), BEFORE),
    (WARM, (261, 500, 0, 0), PAST), (WARM, (260, 500, 0, 0), BETWEEN), (WARM, (246, 500, 0, 0), BETWEEN), (WARM, (245, 500, 0, 0), BEFORE), (WARM, (-50, 0, 0, 0), BEFORE),
    (WET, (0, 701, 0, 0), PAST), (WET, (999, 700, 0, 0), BETWEEN), (WET, (0, 651, 0, 0), BETWEEN), (WET, (0, 650, 0, 0), BEFORE),
    (DRY, (0, 399, 0, 0), PAST), (DRY, (0, 400, 0, 0), BETWEEN), (DRY, (0, 449, 0, 0), BETWEEN), (DRY, (0, 450, 0, 0), BEFORE),
    (SECOND, (500, 500, -1, 0), PAST), (SECOND, (-99, 0, 0, 0), BETWEEN), (SECOND, (-99, 0, 20, 0), BEFORE),
])
def test_where_a_reading_stands(reading, value, place):
    assert place_of(reading, value, FRESH) == place


# 24 degC holds 21.77 g/m3: 60 % are 13.06; outside 20 degC hold 17.29, and so 58.2 % are 10.06, 67.0 % 11.58.
@pytest.mark.parametrize("outside, difference, place", [(582, 300, BETWEEN), (581, 301, PAST), (583, 298, BETWEEN), (670, 148, BEFORE), (669, 149, BEFORE), (668, 151, BETWEEN)])
def test_air_is_damper_by_so_much_water(outside, difference, place):
    assert water(240, 600) - water(200, outside) == difference
    assert place_of(DAMP, (240, 600, 200, outside), FRESH) == place


def test_the_end_itself_ends_it():
    assert water(240, 600) == 1306 and place_of(row(DAMPER, 300, 1306 - water(200, 670), outside=1), (240, 600, 200, 670), FRESH) == BEFORE


@pytest.mark.parametrize("reading, needed", [(COLD, {0, 1}), (WET, {0, 1}), (SECOND, {2, 3}), (DAMP, {0, 1, 2, 3})])
def test_what_one_of_its_sensors_does_not_tell_is_not_known(reading, needed):
    """A sensor that has told one of its two values has not been read."""
    past = (100, 990, -100, 0)
    assert place_of(reading, past, FRESH) == PAST
    for lost in range(4):
        fresh = [one != lost for one in range(4)]
        assert (place_of(reading, past, fresh) == UNKNOWN) is (lost in needed), lost


class Queue:
    """What hears the sensors, so far as readings need it."""

    def __init__(self):
        self.seconds, self.value, self.fresh, self.read_at = 0, [0] * 4, [0] * 4, [0] * 4

    def reading(self, sensor, tenths, fresh):
        self.value[sensor], self.fresh[sensor] = tenths, fresh
        if fresh:
            self.read_at[sensor] = self.seconds


class Board:
    """A reader with two sensors, and what it has told since it was last asked."""

    def __init__(self, *rows):
        self.queue = Queue()
        self.reader = Reader(rows, self.queue)

    def hear(self, sensor, temperature, humidity, fresh=1):
        self.reader.reading(2 * sensor, temperature, fresh)
        self.reader.reading(2 * sensor + 1, humidity, fresh)

    def told(self):
        said = []
        if self.reader.has_news:
            self.reader.tell(lambda *event: said.append(event))
        return said


def test_what_a_sensor_tells_is_told_once():
    board = Board(COLD, WET, SECOND)
    assert board.told() == []
    board.hear(0, 185, 710)
    assert board.told() == [(READ, 0, PAST, 0, 0), (READ, 1, PAST, 0, 0)] and board.told() == []
    board.hear(1, -5, 300)
    assert board.told() == [(READ, 2, PAST, 0, 0)]
    board.hear(0, 210, 660, fresh=0)
    assert board.told() == [(READ, 0, UNKNOWN, 0, 0), (READ, 1, UNKNOWN, 0, 0)]


def test_half_of_a_new_reading_is_told_nowhere():
    """As cold and wet air gives way to warm and dry air, no turn sees warm and wet air between the two values."""
    board = Board(DAMP)
    board.hear(1, 100, 850)
    board.hear(0, 100, 900)
    assert board.told() == [(READ, 0, BEFORE, 0, 0)]
    board.reader.reading(0, 300, 1)
    assert place_of(DAMP, board.queue.value, FRESH) == PAST and board.told() == []
    board.reader.reading(1, 200, 1)
    assert board.told() == [(READ, 0, BEFORE, 0, 0)]


def test_a_sensor_that_speaks_does_not_renew_what_a_silent_one_told():
    """A reading is renewed by its own sensors only, so the program's wait for it runs out; of two, one that has fallen silent is not compared."""
    board = Board(COLD, DAMP)
    board.hear(0, 180, 990), board.hear(1, 0, 300)
    assert board.told() == [(READ, 0, PAST, 0, 0), (READ, 1, PAST, 0, 0)]
    for board.queue.seconds in (30, 60, 150):
        board.hear(1, 0, 300)
        assert board.told() == [(READ, 1, PAST, 0, 0)]
    board.queue.seconds = 151
    board.hear(1, 0, 300)
    assert board.told() == [(READ, 1, UNKNOWN, 0, 0)]


BEFORE_THE_BOARD = """
import json, sys
sys.path[:0] = [".."]
from controller.readings import Reader, place_of, water
"""
ALIKE = BEFORE_THE_BOARD + """
rows = json.loads(sys.stdin.readline())
for tenths in range(-250, 650, 3):
    print(tenths, *[water(tenths, percent) for percent in range(0, 1001, 40)])
for tenths in range(-40, 300, 7):
    for percent in range(0, 1001, 50):
        print(tenths, percent, *[place_of(row, (tenths, percent, 20, 900), (1, 1, 1, tenths % 3)) for row in rows])
"""
HOT = BEFORE_THE_BOARD + """
from micropython import heap_lock, heap_unlock

class Queue:
    seconds = 0
    value, fresh, read_at = [0] * 4, [0] * 4, [0] * 4

    def reading(self, sensor, tenths, fresh):
        self.value[sensor], self.fresh[sensor] = tenths, fresh

event, told = [0] * 5, [0]
def step(kind, first, second, third, fourth):
    event[0], event[1], event[2] = kind, first, second
    told[0] += 1
    LEAK

reader = Reader(json.loads(sys.stdin.readline()), Queue())
tell = reader.tell
for number in range(100):
    for place in range(4):
        reader.reading(place, 100 + 9 * number, number % 5 != 0)
    heap_lock()
    tell(step)
    heap_unlock()
print("nothing taken", told[0])
"""
ROWS = [COLD, WARM, WET, DRY, DAMP, SECOND]


def under_the_boards_interpreter(program):
    return interpreter.run(program, folder=CORE.parent, lines=[json.dumps(ROWS)])


def test_both_interpreters_find_the_same():
    here = [" ".join(map(str, (tenths, *(water(tenths, percent) for percent in range(0, 1001, 40))))) for tenths in range(-250, 650, 3)]
    here += [" ".join(map(str, (tenths, percent, *(place_of(one, (tenths, percent, 20, 900), (1, 1, 1, tenths % 3)) for one in ROWS))))
             for tenths in range(-40, 300, 7) for percent in range(0, 1001, 50)]
    assert {line.split()[-2] for line in here[300:]} == {str(UNKNOWN), str(BEFORE), str(BETWEEN), str(PAST)}
    assert under_the_boards_interpreter(ALIKE) == tuple(here)


def test_telling_takes_no_memory_on_the_board():
    assert under_the_boards_interpreter(HOT.replace("LEAK", "pass")) == (f"nothing taken {100 * len(ROWS)}",)


def test_memory_taken_would_be_noticed():
    with pytest.raises(interpreter.InterpreterError, match="MemoryError"):
        under_the_boards_interpreter(HOT.replace("LEAK", "[told]"))
