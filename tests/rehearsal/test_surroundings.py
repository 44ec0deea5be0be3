"""What goes on around the rules: inputs, air and sensors, and how they reach the program."""

from random import Random

import pytest

from pattress.controller.core.cells import INPUT_MOVED, READ
from pattress.controller.core.conditions import BEFORE, BETWEEN, PAST, UNKNOWN
from pattress.rehearsal.day import DAY, HOUR, MINUTE, SECOND, Kind, Names
from pattress.rehearsal.rehearse import live
from pattress.rehearsal.script import scripted
from pattress.rehearsal.sensors import NOISE, Sensors, air_of
from pattress.rehearsal.stimuli import Mishaps, Stimulus, What
from pattress.rehearsal.surroundings import USES, random_surroundings, usual_surroundings

from .plans import sewing_room
from .ruled_plans import COLD, DAMP, STUFFY, ruled_room

ROOM = ruled_room()
READINGS = ROOM["readings"]
STILL = (0, 0)


@pytest.mark.parametrize("place", [COLD, DAMP, STUFFY])
def test_air_of_a_figure_puts_a_reading_on_either_side_of_it(place):
    row, sensors = READINGS[place], Sensors([READINGS[place], READINGS[DAMP]])
    way = -1 if row["is_below"] else 1
    for at, figure, found in ((0, row["begin"] + 5 * way, PAST), (MINUTE, row["begin"] - 5 * way, BETWEEN), (2 * MINUTE, row["end"] - 5 * way, BEFORE)):
        sensors.go_to(at, 0, *air_of(row, figure), 0)
        assert all(sensors.measure(at + SECOND, sensor, STILL) for sensor in (0, 1))
        assert sensors.places()[0] == found


def test_air_comes_to_where_it_goes_in_the_time_it_takes():
    sensors = Sensors([READINGS[COLD]])
    sensors.go_to(HOUR, 0, 100, 300, 10 * MINUTE)
    found = []
    for at in (HOUR, HOUR + 5 * MINUTE, HOUR + 10 * MINUTE, 2 * HOUR):
        sensors.measure(at, 0, STILL)
        found.append(sensors._values[0])
    assert found == [200, 150, 100, 100]        # from 20 degC


def test_silent_sensor_is_told_so_by_its_driver_and_one_that_nobody_asks_is_not():
    sensors = Sensors(READINGS)
    for sensor in (0, 1):
        sensors.measure(0, sensor, STILL)
    sensors.fall_silent(SECOND, 0, HOUR)
    heard = [at // SECOND for at in range(10 * SECOND, 10 * MINUTE, 10 * SECOND) if sensors.measure(at, 0, STILL)]
    assert heard == [150]                       # STALE_MS of the driver, once
    assert sensors.places() == (UNKNOWN, UNKNOWN, UNKNOWN)
    assert sensors.measure(2 * HOUR, 0, STILL) and UNKNOWN not in sensors.places()
    sensors.leave_alone(2 * HOUR, HOUR)
    assert not any(sensors.measure(at, 0, STILL) for at in range(2 * HOUR, 3 * HOUR, MINUTE))


def test_nothing_is_known_after_power_up():
    sensors = Sensors(READINGS)
    sensors.measure(0, 0, STILL)
    sensors.begin()
    assert set(sensors.places()) == {UNKNOWN}


def test_input_bounces_and_rests_where_it_was_put_and_power_up_finds_it_there():
    stimuli = [Stimulus(HOUR, What.INPUT, (2, 1)), Stimulus(2 * HOUR, What.INPUT, (2, 1)), Stimulus(3 * HOUR, What.NO_POWER, (MINUTE,)),
               Stimulus(4 * HOUR, What.INPUT, (2, 0))]
    day = live(ROOM, Names.of(ROOM), stimuli, title="", seed="any 3", mishaps=Mishaps(0, 0), length=5 * HOUR)
    edges = [(entry.at, entry.event[2]) for entry in day.log if entry.kind is Kind.STEP and entry.event[0] == INPUT_MOVED]
    assert all(HOUR <= at <= HOUR + 20 or 4 * HOUR <= at <= 4 * HOUR + 20 for at, _ in edges)
    closing = [level for at, level in edges if at < 2 * HOUR]
    assert len(closing) > 1 and closing[-1] == 1 and edges[-1][1] == 0
    assert [entry.closed for entry in day.log if entry.kind is Kind.BEGIN] == [(0,) * 8, (0, 0, 0, 0, 0, 0, 1, 0)]      # four switches, four inputs


def test_all_readings_are_told_whenever_the_board_hears_of_a_sensor():
    day = live(ROOM, Names.of(ROOM), [], title="", seed="any", length=HOUR)
    told = [entry.event[1] for entry in day.log if entry.kind is Kind.STEP and entry.event[0] == READ]
    assert told[:6] == [0, 1, 2, 0, 1, 2] and 2 * 3 * 58 <= len(told) <= 2 * 3 * 60


def test_random_surroundings_repeat_and_a_plan_without_conditions_has_none():
    first, again, other = (list(random_surroundings(ROOM, Random(seed))) for seed in ("a", "a", "b"))
    assert first == again != other
    assert {one.what for one in first} >= {What.INPUT, What.AIR}
    assert list(random_surroundings(sewing_room(), Random("a"))) == list(usual_surroundings(sewing_room(), (), Random("a"))) == []


def test_an_input_is_used_as_often_a_day_as_its_kind_is():
    kinds = ("window", "leak", "presence", "float")
    moved = [one for day in range(300) for one in usual_surroundings(ROOM, kinds, Random(day)) if one.what is What.INPUT]
    for number, kind in enumerate(kinds):
        rests, often, _ = USES[kind]
        used = sum(one.numbers == (number, 1 - rests) for one in moved)
        assert used / 300 == pytest.approx(often, abs=4 * (often / 300) ** 0.5)


def test_air_of_a_year_passes_the_figures_of_the_rules():
    sensors = Sensors(READINGS)
    seen = set()
    for day in range(5):
        stimuli = sorted((one for one in usual_surroundings(ROOM, (), Random(day)) if one.what is What.AIR), key=lambda one: one.at)
        for at in range(0, DAY, 5 * MINUTE):
            for one in [one for one in stimuli if at - 5 * MINUTE < one.at <= at]:
                sensors.go_to(day * DAY + one.at, *one.numbers)
            for sensor in (0, 1):
                sensors.measure(day * DAY + at, sensor, (NOISE, -NOISE))
            seen |= set(enumerate(sensors.places()))
    assert seen >= {(row, place) for row in (COLD, DAMP, STUFFY) for place in (BEFORE, PAST)}


def test_scripted_day_shows_each_input_and_reading():
    stimuli, notes = scripted(ROOM)
    assert {one.numbers for one in stimuli if one.what is What.INPUT} == {(number, level) for number in range(4) for level in (0, 1)}
    assert [one.what for one in stimuli if one.what in (What.SILENT, What.NO_SENSORS)] == [What.SILENT, What.NO_SENSORS]
    assert notes == ()
