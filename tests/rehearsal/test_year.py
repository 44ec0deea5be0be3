"""A year in counts: right against the kept log, the same for any number of workers, and honest about what it does not know."""

import signal
import subprocess
import sys
from random import Random

import pytest

from pattress.design import design_of
from pattress.rehearsal import wear
from pattress.rehearsal.day import DAY, Names
from pattress.rehearsal.doings import Mishaps
from pattress.rehearsal.habits import Habits, day_of
from pattress.rehearsal.rehearse import live
from pattress.rehearsal.year import live_year, live_years

JOB = "examples/sewing-room/job.toml"
USUAL = [8.0, 6.0, 4.0, 2.0, 5.0, 6.0]


@pytest.fixture(scope="module")
def table():
    return design_of(JOB).plan


def test_counts_are_those_of_the_kept_log(table):
    """One day, once with its log and once counted: the same closings, time on, snapshots, events and responses."""
    own = Random("7/0/household")
    doings = day_of(table, Habits.drawn(USUAL, own), own)
    assert len(doings) > 20
    day = live(table, Names.of(table), doings, title="", seed="7/0/world", mishaps=Mishaps(frame_lost=0.02, slow_turn=0.05))
    year = live_year(table, USUAL, seed=7, household=0, days=1)
    assert year.closings == day.facts.closings
    assert year.time_on == day.facts.time_on
    assert (year.saves, year.events, year.acted_twice) == (day.facts.saves, day.facts.events, day.facts.acted_twice)
    assert sorted(response for response, count in year.responses.items() for _ in range(count)) == list(day.facts.responses)
    assert not year.problems and not day.problems


def test_outcome_does_not_depend_on_the_number_of_workers(table):
    told = []
    alone = live_years(table, USUAL, seed=3, households=3, days=4)
    together = live_years(table, USUAL, seed=3, households=3, days=4, workers=2, progress=lambda done, of: told.append((done, of)))
    assert alone == together
    assert told == [(0, 3), (1, 3), (2, 3), (3, 3)]
    assert len({year.closings for year in alone}) == 3      # and households differ
    assert live_years(table, USUAL, seed=4, households=3, days=4) != alone


def test_a_month_shows_no_problem_and_switches_as_often_as_said(table):
    years = [live_year(table, USUAL, seed=1, household=one, days=30) for one in range(3)]
    assert not [words for year in years for words in year.problems]
    assert all(min(year.responses) >= 20 and max(year.responses) <= 20 + 5 + 5 + 2 for year in years)   # settle, bounce, slack, loop
    assert all(year.time_on[channel] < 30 * DAY for year in years for channel in range(len(USUAL)))


def test_outages_come_as_often_and_last_as_long_as_published():
    """EIA, Electric Power Annual, table 11.1, IEEE method, all events, 2023: 1.348 a year, 271.8 minutes each."""
    rng = Random(1)
    plan = {"switches": [], "regulators": [], "buttons": [], "channels": [{}]}
    lasting = [doing.numbers[0] for _ in range(400 * 365) for doing in day_of(plan, Habits((0.0,)), rng)
               if doing.what == "no power"]
    long = [one for one in lasting if one > 60_000]         # the dips are of seconds
    assert len(long) / 400 == pytest.approx(1.348, rel=0.15)
    assert sum(long) / len(long) / 60_000 == pytest.approx(271.8, rel=0.15)


def test_mean_and_its_interval_as_worked_on_paper():
    """2, 4, 6: mean 4, s = 2, s / sqrt 3 = 1.1547; t of 2 degrees of freedom at 97.5 % is 4.303 (tables of Student's t)."""
    found = wear.mean([2.0, 4.0, 6.0])
    assert found.value == 4.0
    assert (found.low, found.high) == pytest.approx((4 - 4.303 * 1.1547, 4 + 4.303 * 1.1547), abs=0.001)
    assert wear.mean([5.0]) == wear.Mean(5.0, None, None)
    with pytest.raises(ValueError, match="^values must be at least one household, found none$"):
        wear.mean([])


def test_years_of_endurance():
    assert wear.years_until(100_000, wear.Mean(2000.0, 1000.0, 4000.0)) == wear.Mean(50.0, 25.0, 100.0)
    assert wear.years_until(100_000, wear.Mean(0.0, None, None)).value == float("inf")


def test_percentile_by_nearest_rank():
    assert [wear.percentile({20: 50, 25: 45, 29: 5}, share) for share in (0.5, 0.51, 0.95, 0.96, 1.0)] == [20, 25, 25, 29, 29]
    assert wear.percentile({}, 0.5) is None


@pytest.mark.parametrize("workers", [1, 2])
def test_interrupt_keeps_what_is_done(workers):
    code = f"""
import sys
from pattress.design import design_of
from pattress.rehearsal.year import live_years
years = live_years(design_of({JOB!r}).plan, {USUAL}, seed=1, households=2000, days=5, workers={workers},
                   progress=lambda done, of: print(done, file=sys.stderr, flush=True))
print(len(years))
"""
    process = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    try:
        for line in process.stderr:
            if int(line) >= 2:
                break
        process.send_signal(signal.SIGINT)
        said, _ = process.communicate(timeout=30)
    finally:
        process.kill()
    assert process.returncode == 0 and 2 <= int(said) < 2000
