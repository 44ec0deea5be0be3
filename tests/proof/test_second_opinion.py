"""Another checker, another model: the same verdicts as the exploration, and the same shortest counterexamples.

`channel.pml` is written by hand from the documentation of the core. Where it and the exploration
of the shipped files agree, an error would have to be made twice, in two languages.
"""

import pytest

from pattress.controller import core as shipped
from pattress.controller.core import COMMAND, TIME, VERBS
from pattress.controller.core.cells import APPLIED, HOLD, KICK, SHARED, TURN, WAIT
from pattress.proof import prove
from pattress.proof.exploration import Exploration
from pattress.proof.parts import ChannelPart
from pattress.proof.subject import Subject

from .mutants import forget, mutant
from .plans import fan, load, plan
from .second_opinion import opinion

FAN = fan("fan", 0, steps=2, restore=2, delay=400, kick_top=1)
PUMP = load("pump", 0, restore=1, delay=700, minimum_off=500)
LAMP = load("lamp", 0, restore=0, delay=200)
LONG = 10_000       # a wait that goes on running [ms]

# The number is the FAULT of the model; beside it the same fault in the shipped files.
FAULTS = [
    (1, FAN, "sets-never-meet", "channels.py", "        state[at + APPLIED] = 0\n", "        state[at + APPLIED] = wanted\n"),
    (2, FAN, "dead-time", "channels.py", "        state[at + WAIT] = plan.dead_ms[channel]\n", ""),
    (3, PUMP, "minimum-off", "channels.py", "        state[at + HOLD] = plan.minimum_off_ms[channel]\n", ""),
    (4, FAN, "start-kick", "channels.py", "        state[at + REST] = 1\n", "        pass\n"),
    (5, LAMP, "restore", "snapshot.py", "        wanted = 0\n    if plan", "        wanted = wanted\n    if plan"),
]


@pytest.mark.parametrize("channel", [FAN, PUMP, LAMP], ids=lambda row: row["name"])
def test_both_find_nothing_to_blame(tmp_path, channel):
    found = opinion(tmp_path, channel)
    assert found.is_complete and not found.broken and found.states > 10
    assert prove(plan(channel["name"], [channel])).holds


@pytest.mark.parametrize("fault, channel, claim, file, anchor, instead", FAULTS, ids=[row[2] for row in FAULTS])
def test_both_tell_the_same_story_of_the_same_fault(tmp_path, fault, channel, claim, file, anchor, instead):
    found, table = opinion(tmp_path, channel, fault=fault), plan(channel["name"], [channel])
    assert found.broken == claim
    broken = mutant(tmp_path, file, anchor, instead)
    try:
        explored = Exploration(ChannelPart(Subject(table, broken), 0)).run()
        ours = next(prop for prop in prove(table, broken).failed if prop.id == claim)
        events = [line for line in found.way if line[0] != "LEVEL"]
        assert claim in explored.failures and len(ours.story.steps) == len(events)
        levels = [int(line[2]) for line in found.way if line[0] == "LEVEL"]
        played_levels, broken_state = played(broken, table, events)
        assert played_levels == levels
        assert played(shipped, table, events)[1] != broken_state    # there the shipped files do otherwise
    finally:
        forget(broken)


def played(core, table, events):
    """Play the checker's story on a core. Return the level applied after each event, and the last state."""
    program, levels = core.Plan(table), []
    state = core.new_state(program)
    for kind, _, *numbers in events:
        if kind == "CUT":
            wanted, last = map(int, numbers)
            core.begin(program, state, None if wanted == 255 else bytearray((wanted, last)), [], [])
            core.step(program, state, (TIME, 0, 0, 0, 0))
        elif kind == "ASK":
            core.step(program, state, (COMMAND, 0, VERBS.index(numbers[0]), int(numbers[1]), 0))
        else:
            for bit, place in enumerate((WAIT, HOLD, TURN, KICK)):
                if state[SHARED + place]:
                    state[SHARED + place] = 1 if int(numbers[0]) >> bit & 1 else LONG
            core.step(program, state, (TIME, 1, 0, 0, 0))
        levels.append(state[SHARED + APPLIED])
    return levels, bytes(state)
