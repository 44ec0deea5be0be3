"""Days in a home with switches that tell presses apart: each press comes to what it should, and a program that does not is seen."""

from random import Random

import pytest

from pattress.controller.core import OFF, ON, TOGGLE, presses
from pattress.rehearsal.day import HOUR, MINUTE, Names, Outcome
from pattress.rehearsal.habits import Habits, day_of
from pattress.rehearsal.live_run import LiveRun
from pattress.rehearsal.rehearse import live, rehearse
from pattress.rehearsal.stimuli import Mishaps, Stimulus, What

from .plans import BED, LEAVING, LINEAR, WALL_LIGHTS, sewing_room

EVERYTHING = [[channel, OFF, 0] for channel in range(7)]


@pytest.fixture()
def hall():
    """Return the sewing room with the bed's switch held and pressed twice, and the one at the door held."""
    room = sewing_room()
    return room | {"presses": [
        dict(switch=BED, held=EVERYTHING, held_ms=800, twice=[[LINEAR, ON, 0]], again_ms=400),
        dict(switch=LEAVING, held=[[WALL_LIGHTS, TOGGLE, 0]], held_ms=800, twice=[], again_ms=0)]}


def lived(table, *stimuli, mishaps=Mishaps(0, 0)):
    return live(table, Names.of(table), list(stimuli), title="a day", seed="presses", mishaps=mishaps, length=6 * HOUR)


def done(day):
    return [(user_action.name, user_action.outcome) for user_action in day.user_actions if user_action.what == "switch"]


def test_a_home_is_rehearsed_without_a_problem_and_both_interpreters_agree(hall):
    rehearsal = rehearse(hall, seed=5, days=6)
    assert [str(problem) for _, problem in rehearsal.problems] == [] and rehearsal.difference is None and rehearsal.holds
    met = {(user_action.name, user_action.outcome) for day in rehearsal.days for user_action in day.user_actions}
    for name in ("Bed side", "Bed side, held", "Bed side, pressed twice", "Leaving", "Leaving, held"):
        assert (name, Outcome.ACTED) in met, f"{name} never acted"
    assert ("Bed side", Outcome.TOO_SHORT) in met and ("Bed side", Outcome.OVERTAKEN) in met


def test_each_press_comes_to_what_it_should(hall):
    day = lived(hall, Stimulus(HOUR, What.PRESS, (BED, 150)), Stimulus(HOUR + MINUTE, What.HELD, (BED, 1200)),
                Stimulus(HOUR + 2 * MINUTE, What.TWICE, (BED, 150, 200, 150)), Stimulus(HOUR + 3 * MINUTE, What.PRESS, (LEAVING, 300)),
                Stimulus(HOUR + 4 * MINUTE, What.HELD, (LEAVING, 4000)), Stimulus(HOUR + 5 * MINUTE, What.PRESS, (BED, 6)))
    assert done(day) == [("Bed side", "acted"), ("Bed side, held", "acted"), ("Bed side, pressed twice", "acted"), ("Leaving", "acted"),
                         ("Leaving, held", "acted"), ("Bed side", "too short")]
    assert not day.problems


def test_how_late_a_switch_answers_is_told_from_the_move_that_decides(hall):
    """420 ms after it is let go, 820 ms after it is pressed, 20 ms after the second press, by hand; and a few for bounce and loop."""
    day = lived(hall, Stimulus(HOUR, What.PRESS, (BED, 150)), Stimulus(HOUR + MINUTE, What.HELD, (BED, 1200)), Stimulus(HOUR + 2 * MINUTE, What.TWICE, (BED, 150, 200, 150)))
    for user_action, least in zip(day.user_actions, (420, 820, 20), strict=True):
        assert least <= user_action.response <= least + 12, user_action


def test_a_press_near_the_time_is_either_and_no_problem(hall):
    for number, lasting in enumerate(range(770, 832, 4)):
        day = lived(hall, Stimulus(HOUR + number, What.PRESS, (BED, lasting)))
        assert not day.problems and len(done(day)) == 1


FAULTS = {
    "a held press acts as a short one": ("wait", lambda healthy: lambda plan, state, switch, elapsed, acts: healthy(plan, state, switch, elapsed, plan.switch_acts[switch])),
    "a held press never acts": ("wait", lambda healthy: lambda plan, state, switch, elapsed, acts: None),
    "a short press is lost": ("let_go", lambda healthy: lambda plan, state, switch: None),
    "a second press is a first one": ("pressed", lambda healthy: lambda plan, state, switch: (state.__setitem__(plan.press_at[switch], 0), healthy(plan, state, switch))),
    "it waits too long": ("wait", lambda healthy: lambda plan, state, switch, elapsed, acts: healthy(plan, state, switch, elapsed - 1, acts)),
}


@pytest.mark.parametrize("name", FAULTS)
def test_a_program_that_takes_a_press_for_another_is_seen(hall, monkeypatch, name):
    part, make = FAULTS[name]
    stimuli = [Stimulus(HOUR, What.PRESS, (BED, 150)), Stimulus(HOUR + MINUTE, What.HELD, (BED, 1200)),
               Stimulus(HOUR + 2 * MINUTE, What.TWICE, (BED, 150, 200, 150)), Stimulus(HOUR + 3 * MINUTE, What.PRESS, (LEAVING, 300))]
    assert not lived(hall, *stimuli).problems
    monkeypatch.setattr(presses, part, make(getattr(presses, part)))
    assert lived(hall, *stimuli).problems


def test_a_household_holds_and_presses_twice_what_it_wants_on_or_off(hall):
    """Wanted on, the linear lamp is had by the bed's second press; wanted off, by any control that puts everything off."""
    habits, rng = Habits.drawn(hall, [12] * 7, Random(4)), Random(5)
    found = {(stimulus.what, stimulus.numbers[0]) for _ in range(20) for stimulus in day_of(hall, habits, rng) if stimulus.what in (What.HELD, What.TWICE)}
    assert found == {(What.HELD, BED), (What.TWICE, BED), (What.HELD, LEAVING)}


def test_in_a_live_room_a_press_is_told_once_it_is_decided(hall):
    run = LiveRun(hall)
    for line in ("press bed", "wait 120", "release bed", "wait 300"):
        run.do(line)
    assert [one.words for one in run.scene().happenings if one.what == "done"] == []
    for line in ("wait 1000", "press bed", "wait 1000", "release bed", "wait 1000", "press bed", "wait 120", "release bed", "wait 120", "press bed", "wait 120",
                 "release bed", "wait 1000", "press bed", "wait 5", "release bed", "wait 1000"):
        run.do(line)
    assert [one.words for one in run.scene().happenings if one.what == "done"] == ["switch Bed side: acted", "switch Bed side, held: acted", "switch Bed side, pressed twice: acted"]
