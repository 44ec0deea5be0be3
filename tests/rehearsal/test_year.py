"""A year in counts: right against the kept log, the same for any number of workers, and honest about what it does not know."""

from random import Random

import pytest

from pattress.controller import core
from pattress.controller.core import COMES_ON
from pattress.design import design_of
from pattress.rehearsal import wear
from pattress.rehearsal.confidence import Mean
from pattress.rehearsal.day import DAY, HOUR, MINUTE, Names
from pattress.rehearsal.habits import GUESTS, Habits, day_of, mains_failures
from pattress.rehearsal.rehearse import live
from pattress.rehearsal.stimuli import Mishaps, Stimulus, What
from pattress.rehearsal.year import _Home, live_year, patient
from pattress.sizing.contacts import years_of_life

from ..proof.plans import rule
from .plans import IRON, IRON_SWITCH, LINEAR, PENDANT, WALL_LIGHTS, one_lamp
from .ruled_plans import WINDOW, ruled_room

JOB = "examples/sewing-room/job.toml"
USUAL = [8.0, 6.0, 4.0, 2.0, 5.0, 6.0]


@pytest.fixture(scope="module")
def table():
    return design_of(JOB).plan


def test_counts_are_those_of_the_kept_log(table):
    """One day, once with its log and once counted: the same closings, time on, snapshots, events and responses."""
    own = Random("7/0/household")
    stimuli = day_of(table, Habits.drawn(table, USUAL, own), own)
    assert len(stimuli) > 20
    day = live(table, Names.of(table), stimuli, title="", seed="7/0/world", mishaps=Mishaps(frame_lost=0.02, slow_turn=0.05))
    year = live_year(table, USUAL, seed=7, household=0, days=1)
    assert year.closings == day.facts.closings
    assert year.time_on == day.facts.time_on
    assert (year.saves, year.events, year.acted_twice) == (day.facts.saves, day.facts.events, day.facts.acted_twice)
    assert sorted(response for response, count in year.responses.items() for _ in range(count)) == list(day.facts.responses)
    assert not year.problems and not day.problems


def test_a_month_shows_no_problem_and_switches_as_often_as_said(table):
    years = [live_year(table, USUAL, seed=1, household=one, days=30) for one in range(3)]
    assert not [words for year in years for words in year.problems]
    assert all(min(year.responses) >= 20 and max(year.responses) <= 20 + 5 + 5 + 2 for year in years)   # settle, bounce, slack, loop
    assert all(year.time_on[channel] < 30 * DAY for year in years for channel in range(len(USUAL)))


def test_outages_come_as_often_and_last_as_long_as_published():
    """EIA, Electric Power Annual, table 11.1, IEEE method, all events, 2023: 1.348 a year, 271.8 minutes each."""
    rng = Random(1)
    lasting = [stimulus.numbers[0] for _ in range(400 * 365) for stimulus in mains_failures(rng)]
    long = [one for one in lasting if one > 60_000]         # the dips are of seconds
    assert len(long) / 400 == pytest.approx(1.348, rel=0.15)
    assert sum(long) / len(long) / 60_000 == pytest.approx(271.8, rel=0.15)


def test_an_operation_is_a_cycle_as_sizing_counts_it():
    """One lamp with one switch of its own: the relay closes as often a day as the job says it is operated, guests on top."""
    table = one_lamp()
    years = [live_year(table, [8.0], seed=9, household=one, days=20) for one in range(30)]
    a_day = sum(year.closings[0] for year in years) / (30 * 20)
    assert a_day == pytest.approx(8.0 * (1 + GUESTS), rel=0.15)     # of 30 homes that differ by 40 %: 7 % spread of the mean
    assert years_of_life(operations=100_000, per_day=8.0) == pytest.approx(100_000 / (a_day / 1.05 * 365.25), rel=0.15)


def test_nobody_switches_on_what_is_on(table):
    """Almost every change that a wish asks for happens: the few others are waits, lost codes and dark houses."""
    year = live_year(table, USUAL, seed=2, household=0, days=20)
    assert year.outcomes["acted"] > 8 * year.outcomes.get("unchanged", 0)


def test_closings_when_the_power_returns_are_counted_by_channel():
    table = one_lamp()
    table["channels"][0]["restore"] = COMES_ON
    year = live_year(table, [0.0], seed=1, household=3, days=365)
    assert year.restore_closings == (year.restores,) and year.restores > 0     # not when it was first installed
    assert year.most_together == 1
    two = table | {"channels": [table["channels"][0], table["channels"][0] | {"masks": [0, 2]}]}
    assert live_year(two, [0.0, 0.0], seed=1, household=3, days=365).most_together == 2
    two["channels"][1] = two["channels"][1] | {"restore_delay_ms": 300}
    assert live_year(two, [0.0, 0.0], seed=1, household=3, days=365).most_together == 1


def test_years_of_endurance():
    assert wear.years_until(100_000, Mean(2000.0, 1000.0, 4000.0)) == Mean(50.0, 25.0, 100.0)
    assert wear.years_until(100_000, Mean(0.0, None, None)).value == float("inf")


def test_energy_is_power_times_the_time_on():
    year = live_year(one_lamp(), [8.0], seed=9, household=0, days=73)
    assert wear.energy([year], 0, 36.0).value == pytest.approx(year.time_on[0] / 3.6e6 * 5 * 0.036)


@pytest.mark.parametrize("shape", [1.0, 2.5, 4.0])
def test_in_homes_that_are_alike_one_in_ten_has_failed_when_the_endurance_is_used_up(shape):
    assert wear.years_to_b10(100_000, [2_000.0] * 7, shape=shape) == pytest.approx(50.0)


def test_b10_of_two_unlike_homes_as_worked_on_paper():
    """Rates 1 and 3, B10 = 1, shape 1: 0.9^t + 0.9^3t = 1.8; with x = 0.9^t, x + x^3 = 1.8, x = 0.94801, t = 0.5067."""
    assert wear.years_to_b10(1.0, [1.0, 3.0], shape=1.0) == pytest.approx(0.5067, abs=0.0005)
    assert wear.years_to_b10(1.0, [1.0, 3.0], shape=4.0) < 0.5       # wear alone: the busy home fails first


def test_b10_without_use_or_without_a_figure():
    assert wear.years_to_b10(100_000, [0.0, 0.0], shape=2.0) == float("inf")
    with pytest.raises(ValueError, match="^endurance and shape must be above 0, found 0 and 2.0$"):
        wear.years_to_b10(0, [1.0], shape=2.0)


def test_percentile_by_nearest_rank():
    assert [wear.percentile({20: 50, 25: 45, 29: 5}, share) for share in (0.5, 0.51, 0.95, 0.96, 1.0)] == [20, 25, 25, 29, 29]
    assert wear.percentile({}, 0.5) is None


def test_what_each_rule_did_as_worked_on_paper():
    """The pendant from 1 h to 2 h: the lamp beside it from 2 min later until 15 min after. A window open from 3 h to 5 h: the iron is refused twice."""
    home = _Home(patient(ruled_room()), Names.of(ruled_room()), "paper", DAY)
    home.live_day(0, [
        Stimulus(0, What.INPUT, (WINDOW, 1)), Stimulus(HOUR, What.COMMAND, (PENDANT, core.ON, 0)), Stimulus(2 * HOUR, What.COMMAND, (PENDANT, core.OFF, 0)),
        Stimulus(150 * MINUTE, What.COMMAND, (IRON, core.ON, 0)), Stimulus(3 * HOUR, What.INPUT, (WINDOW, 0)),
        Stimulus(4 * HOUR, What.COMMAND, (IRON, core.ON, 0)), Stimulus(4 * HOUR + MINUTE, What.THROW, (IRON_SWITCH,)), Stimulus(5 * HOUR, What.INPUT, (WINDOW, 1))])
    rules = ruled_room()["rule_keys"]
    counts = dict(zip(rules, home.board.rules.counts([home.oracle.refusals[number] for number in range(len(rules))]), strict=True))
    lamp, window = counts["bed time"], counts["open"]
    assert (lamp.put_on, lamp.put_off, lamp.refused) == (1, 1, 0)
    assert lamp.time_on[LINEAR] == pytest.approx(58 * MINUTE + 15 * MINUTE, abs=100) and sum(lamp.time_on) == lamp.time_on[LINEAR]
    # As the window shuts it puts the wall lights on, at the start and at 5 h; their limit of an hour puts them off.
    assert (window.put_on, window.put_off, window.refused) == (2, 1, 2)
    assert window.time_on[WALL_LIGHTS] == pytest.approx(2 * HOUR, abs=100) and counts["wall limit"].put_off == 2


def test_a_hand_takes_over_what_a_rule_has_put_on():
    home = _Home(patient(ruled_room()), Names.of(ruled_room()), "hand", DAY)
    home.live_day(0, [Stimulus(HOUR, What.INPUT, (WINDOW, 1)), Stimulus(HOUR + 10 * MINUTE, What.COMMAND, (WALL_LIGHTS, core.ON, 0))])
    counts = home.board.rules.counts([0] * 10)[6]
    assert counts.time_on[WALL_LIGHTS] == pytest.approx(10 * MINUTE, abs=600)


def test_a_year_with_conditions_shows_no_problem():
    year = live_year(ruled_room(), [5.0] * 7, seed=1, household=0, days=12, kinds=("window", "leak", "switch", "float"))
    assert year.problem_count == 0, year.problems
    assert all(year.rules[number].put_on > 3 for number in (0, 1, 2, 4, 6)) and year.rules[7].refused > 3
    assert year.events < 12 * 2000          # of the 4300 readings a day few are told


def test_what_the_network_asks_in_vain_of_what_is_put_on_at_the_wall_is_counted():
    table = ruled_room()
    table["rules"] = [*table["rules"], rule(IRON, wall_only=1)]
    home = _Home(table, Names.of(table), "wall", DAY)
    home.live_day(0, [Stimulus(at * HOUR, What.COMMAND, (IRON, verb, 0)) for at, verb in ((1, core.ON), (2, core.OFF), (3, core.TOGGLE))])
    assert home.oracle.barred[IRON] == 2
