"""What is never on together, lived through: the days show no problem, and each fault put into the program does."""

from random import Random

import pytest

from pattress.controller.core.cells import OFF, ON, TOGGLE
from pattress.rehearsal.day import HOUR, MINUTE, Names, Outcome
from pattress.rehearsal.household import random_day
from pattress.rehearsal.stimuli import Mishaps, Stimulus, What
from pattress.rehearsal.world import World

from ..proof.mutants import forget, mutant
from ..proof.plans import load, plan, switch

KITCHEN = plan(
    "kitchen", [load("boiler", 0), load("oven", 1), load("lamp", 2)],
    [switch("boiler", (0, TOGGLE, 0)), switch("oven", (1, TOGGLE, 0), latching=0), switch("over", (0, OFF, 0), (1, ON, 0), latching=0), switch("lamp", (2, TOGGLE, 0))],
) | {"apart": [dict(channels=[0, 1], between_ms=3 * MINUTE, rule=0)], "rule_keys": ["apart"]}

FAULTS = {         # in which place of `apart.py`, and what instead
    "nobody is refused": ("            return others[i + 1]\n", "            return -1\n"),
    "everybody is refused": ("        if state[plan.channel_at[others[i]] + WANTED]:\n            return", "        if True:\n            return"),
    "one closes beside the other": ("            return True\n", "            return False\n"),
    "no time passes between": (" or state[plan.apart_at[others[i]] + GONE]:", ":"),
    "half the time passes between": ("state[plan.apart_at[channel] + GONE] = plan.between_ms[channel]", "state[plan.apart_at[channel] + GONE] = plan.between_ms[channel] // 2"),
    "no time passes after a power cut": ("        opened(plan, state, channel)\n", "        pass\n"),
    "the time runs at twice the pace": ("state[at + GONE] = left - elapsed if left > elapsed else 0", "state[at + GONE] = left - 2 * elapsed if left > 2 * elapsed else 0"),
}


def lived(days):
    """Return the worlds of some random days, the power cut twelve times in each."""
    for number in range(days):
        world = World(KITCHEN, Names.of(KITCHEN), f"apart {number}", mishaps=Mishaps())
        world._begin(0)
        for stimulus in random_day(KITCHEN, Random(f"people {number}")):
            world._at(stimulus.at, world._do, stimulus)
        for hour in range(1, 24, 2):
            world._at(hour * HOUR, world._cut, 20_000)
            world._at(hour * HOUR + MINUTE, world._do, Stimulus(hour * HOUR + MINUTE, What.COMMAND, (0, ON, 0)))      # too soon after it
        world.pass_until(24 * HOUR)
        yield world


def test_days_with_what_is_kept_apart_show_no_problem_and_somebody_is_refused():
    worlds = list(lived(2))
    assert [problem for world in worlds for problem in world.oracle.problems] == []
    assert {action.outcome for world in worlds for action in world.oracle.user_actions} >= {Outcome.REFUSED, Outcome.WAITS, Outcome.ACTED}
    assert sum(world.oracle.refusals[0] for world in worlds) > 5


@pytest.mark.parametrize("anchor, instead", FAULTS.values(), ids=FAULTS)
def test_a_fault_put_into_keeping_apart_is_noticed(tmp_path, monkeypatch, anchor, instead):
    broken = mutant(tmp_path, "apart.py", anchor, instead)
    monkeypatch.setattr("pattress.rehearsal.world.core", broken)
    try:
        assert any(world.oracle.problems for world in lived(4))
    finally:
        forget(broken)
