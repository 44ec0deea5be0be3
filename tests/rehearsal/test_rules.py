"""Days and years with rules: kept by true durations, the same on both interpreters, and a rule that is not kept is noticed."""

import pytest

from pattress.controller import core
from pattress.controller.core.cells import RULED as BY_RULE
from pattress.rehearsal.day import HOUR, MINUTE, Names, Outcome
from pattress.rehearsal.differential import difference
from pattress.rehearsal.rehearse import live, rehearse
from pattress.rehearsal.stimuli import Mishaps, Stimulus, What
from pattress.rehearsal.world import World
from pattress.rehearsal.year import live_year

from ..proof.plans import rule
from . import plans

ROOM = plans.sewing_room()
RULED = ROOM | {"rules": [
    rule(plans.LINEAR, limit=2 * HOUR, stay=20 * MINUTE, renews=1), rule(plans.WALL_LIGHTS, stay=90_000),
    rule(plans.IRON, limit=30 * MINUTE, wall_only=1), rule(plans.FAN, limit=HOUR)]}


def ask(at, channel, verb, level=0):
    return Stimulus(at, What.COMMAND, (channel, verb, level))


def lived(*stimuli):
    return live(RULED, Names.of(RULED), list(stimuli), title="a day", seed="rules", mishaps=Mishaps(0, 0))


def news(day, channel):
    return [(entry.at, one[1], one[2]) for entry in day.log for one in entry.told or () if one[0] == channel]


def test_fan_goes_off_an_hour_after_it_came_on_whatever_steps_were_asked_meanwhile():
    day = lived(*(ask(HOUR + number * 7 * MINUTE, plans.FAN, core.SET, 1 + number % 4) for number in range(8)))
    at, level, cause = news(day, plans.FAN)[-1]
    assert (level, cause) == (0, BY_RULE) and 0 <= at - 2 * HOUR < 100 and day.problems == ()


def test_network_puts_off_what_is_put_on_at_the_wall_and_never_on():
    day = lived(ask(HOUR, plans.IRON, core.ON), Stimulus(2 * HOUR, What.THROW, (plans.IRON_SWITCH,)), ask(2 * HOUR + MINUTE, plans.IRON, core.TOGGLE),
                   ask(2 * HOUR + 2 * MINUTE, plans.IRON, core.OFF))
    assert [(one.what, one.outcome) for one in day.user_actions if one.channels == (plans.IRON,) or one.what == "network"] == [
        ("network", Outcome.REFUSED), ("switch", Outcome.ACTED), ("network", Outcome.REFUSED), ("network", Outcome.ACTED)]
    assert day.problems == ()


@pytest.mark.parametrize("seed", range(3))
def test_random_days_with_rules_show_no_problem(seed):
    rehearsed = rehearse(RULED, seed=seed, days=5, micropython=False)
    assert rehearsed.problems == ()
    causes = {one[2] for day in rehearsed.days for entry in day.log for one in entry.told or ()}
    assert max(causes) >= BY_RULE


def test_what_the_program_makes_of_rules_is_what_micropython_makes_of_them():
    day = rehearse(RULED, seed=5, days=1, micropython=False).days[1]
    assert any(one[2] >= BY_RULE for entry in day.log for one in entry.told or ())
    assert difference(RULED, day) is None


@pytest.mark.parametrize("name, channel, factor, words", [
    ("limit_ms", plans.FAN, 2, "Ceiling fan: is on for "), ("stay_ms", plans.WALL_LIGHTS, 3, "Wall lights: is on for "),
    ("limit_ms", plans.FAN, 0.5, "Ceiling fan: goes off by itself after 180000")])
def test_rule_that_is_not_kept_is_noticed(name, channel, factor, words):
    world = World(RULED, Names.of(RULED), "lies", mishaps=Mishaps(0, 0))
    getattr(world.plan, name)[channel] = int(getattr(world.plan, name)[channel] * factor)
    world.run([ask(HOUR, channel, core.SET, 1)])
    assert [problem.words.startswith(words) for problem in world.oracle.problems] == [True], world.oracle.problems


def test_a_year_with_rules_shows_no_problem_and_things_are_on_for_less():
    usual = [5.0] * 7
    plain, ruled = (live_year(table, usual, seed=1, household=0, days=40) for table in (ROOM, RULED))
    assert plain.problem_count == ruled.problem_count == 0, ruled.problems
    assert all(ruled.time_on[channel] < plain.time_on[channel] for channel in (plans.WALL_LIGHTS, plans.IRON, plans.FAN))
