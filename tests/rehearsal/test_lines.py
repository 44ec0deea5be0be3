"""Contacts that stick in a rehearsed home: with feedback they are noticed, whatever else goes on; and nothing is made of one that works."""

from random import Random

import pytest

from pattress.controller import core
from pattress.controller.core.cells import STUCK_CLOSED
from pattress.rehearsal.day import DAY, HOUR, MINUTE, Names, Outcome
from pattress.rehearsal.differential import difference
from pattress.rehearsal.habits import sticks
from pattress.rehearsal.lines import CONTACT, SENSING_MS
from pattress.rehearsal.rehearse import live, rehearse
from pattress.rehearsal.stimuli import Mishaps, Stimulus, What
from pattress.rehearsal.world import World
from pattress.rehearsal.year import live_year

from . import plans

SETTLE = 800
ROOM = plans.sewing_room()
SENSED = ROOM | {"feedback": [dict(channel=plans.IRON, settle_ms=SETTLE), dict(channel=plans.FAN, settle_ms=SETTLE)]}


def told(stimuli, table=SENSED):
    day = live(table, Names.of(table), stimuli, title="a day", seed="lines", mishaps=Mishaps(0, 0))
    return day, [(user_action.name, user_action.outcome) for user_action in day.user_actions if user_action.what == CONTACT]


def ask(at, channel, verb, level=0):
    return Stimulus(at, What.COMMAND, (channel, verb, level))


def test_a_contact_that_welds_is_noticed_and_told_within_its_time():
    day, found = told([ask(HOUR, plans.IRON, core.ON), Stimulus(HOUR + MINUTE, What.STICK, (plans.IRON, 1, HOUR)), ask(HOUR + 2 * MINUTE, plans.IRON, core.OFF)])
    assert found == [("Ironing socket: contact stuck closed", Outcome.NOTICED)] and day.problems == ()
    opened = next(entry.at for entry in day.log if entry.at > HOUR + MINUTE and not entry.relays >> 3 & 1)
    news = [(entry.at, one) for entry in day.log for one in entry.told or () if one[0] == plans.IRON and one[2] == STUCK_CLOSED]
    assert [one for _, one in news] == [(plans.IRON, 0, STUCK_CLOSED)]
    assert SETTLE <= news[0][0] - opened <= SETTLE + SENSING_MS[1] + 10


def test_the_same_without_feedback_is_not_noticed():
    _, found = told([ask(HOUR, plans.IRON, core.ON), Stimulus(HOUR + MINUTE, What.STICK, (plans.IRON, 1, HOUR)), ask(HOUR + 2 * MINUTE, plans.IRON, core.OFF)], ROOM)
    assert found == [("Ironing socket: contact stuck closed", Outcome.UNNOTICED)]


def test_a_contact_that_sticks_as_it_is_wanted_shows_nothing():
    day, found = told([Stimulus(HOUR, What.STICK, (plans.IRON, 0, HOUR))])
    assert found == [("Ironing socket: contact stuck open", Outcome.UNNOTICED)] and day.problems == ()


def test_no_step_closes_onto_one_that_sticks():
    """The fan's line stays live from its first step on: whatever is asked, no relay of it closes until it is free."""
    day, found = told([
        ask(HOUR, plans.FAN, core.SET, 1), Stimulus(HOUR + MINUTE, What.STICK, (plans.FAN, 1, HOUR)),
        *(ask(HOUR + 2 * MINUTE + 5_000 * place, plans.FAN, core.SET, 1 + place % 4) for place in range(20))])
    fan = sum(1 << relay for relay in (6, 7, 8))
    stuck = [entry.relays & fan for entry in day.log if HOUR + 2 * MINUTE + 500 < entry.at < 2 * HOUR + MINUTE]
    assert found == [("Ceiling fan: contact stuck closed", Outcome.NOTICED)] and day.problems == ()
    assert len(stuck) > 20 and set(stuck) == {0}
    assert day.log[-1].at > 2 * HOUR + MINUTE and day.log[-1].relays & fan == 1 << 8       # freed: the step wanted last, the fourth


def test_what_the_program_makes_of_it_is_what_micropython_makes_of_it():
    day = rehearse(SENSED, seed=3, days=1, micropython=False).days[1]
    assert any(entry.event and entry.event[0] == 5 for entry in day.log) and difference(SENSED, day) is None


@pytest.mark.parametrize("seed", range(4))
def test_random_days_with_contacts_that_stick_again_and_again_show_no_problem(seed):
    rehearsed = rehearse(SENSED, seed=seed, days=6, micropython=False)
    assert rehearsed.problems == ()
    outcomes = {user_action.outcome for day in rehearsed.days for user_action in day.user_actions if user_action.what == CONTACT}
    assert Outcome.NOTICED in outcomes


@pytest.mark.parametrize("channel, live, words", [
    (plans.IRON, 1, "believed stuck closed, and its contact works"), (plans.FAN, 1, "believed stuck closed, and its contact works")])
def test_a_program_that_accuses_a_contact_that_works_is_noticed(channel, live, words):
    """The sensing is made to lie: its line is told live for good."""
    class Lying(World):
        def _sensed(self, at, which):
            super()._sensed(at, which)
            if which == channel:
                self._feed(at, (5, channel, live, 0, 0), is_noticed=True)

    world = Lying(SENSED, Names.of(SENSED), "lies", mishaps=Mishaps(0, 0))
    world.run([ask(HOUR, channel, core.ON), ask(2 * HOUR, channel, core.OFF)])
    assert any(problem.words.endswith(words) for problem in world.oracle.problems)


def test_a_stuck_contact_that_is_not_believed_is_noticed():
    """The sensing is deaf: nothing of the line reaches the program."""
    class Deaf(World):
        def _sensed(self, at, which):
            pass

    world = Deaf(SENSED, Names.of(SENSED), "deaf", mishaps=Mishaps(0, 0))
    world.run([Stimulus(HOUR, What.STICK, (plans.IRON, 1, HOUR)), ask(HOUR + MINUTE, plans.LINEAR, core.ON), ask(HOUR + 2 * MINUTE, plans.LINEAR, core.OFF)])
    assert any("that is not believed" in problem.words for problem in world.oracle.problems)


def test_a_year_counts_them_and_a_job_without_feedback_lives_as_before():
    usual = [5.0] * 7
    plain, sensed = (live_year(table, usual, seed=1, household=0, days=120) for table in (ROOM, SENSED))
    assert plain.problem_count == sensed.problem_count == 0
    assert not {"noticed", "not noticed"} & set(plain.outcomes)
    assert list(sticks(ROOM, Random("any"), 50.0)) == []
    often = [stimulus for day in range(2000) for stimulus in sticks(SENSED, Random(str(day)), 1 / 20)]
    assert len(often) == pytest.approx(2000 * 2 / 20, rel=0.25) and all(0 <= stimulus.at < DAY for stimulus in often)
