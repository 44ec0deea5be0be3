"""What depends on what in the shipped program is known exactly; a coupling is found even where no value shows it."""

import pytest

from pattress.controller.digest import CORE
from pattress.proof import prove
from pattress.proof.instrumented.coverage import cover
from pattress.proof.instrumented.influence import influences
from pattress.proof.instrumented.loading import Notes, instrumented

from .mutants import forget, mutant
from .plans import APART, CONDITIONED, GROUPS, GUARDED, LATCHED, PRESSED, SENSED, SEWING_ROOM, SMALL, TIMED, TINY, TWO_FANS, WARNED


@pytest.mark.parametrize("table", [TINY, SMALL, CONDITIONED, GROUPS, TWO_FANS, SEWING_ROOM], ids=lambda table: table["title"])
def test_nothing_of_the_shipped_program_reaches_where_it_must_not(table):
    found = influences(table)
    assert found.couplings == () and found.groups == ()


@pytest.mark.parametrize("table", [SMALL, SENSED, TIMED, WARNED, APART, CONDITIONED, GUARDED, LATCHED, PRESSED, GROUPS, TWO_FANS], ids=lambda table: table["title"])
def test_every_way_that_a_proof_goes_was_watched(table):
    """Influences are exact but for ways never gone while watching, so the proof must not go others."""
    instrumented_ways = {(str(condition), truth) for (condition, truth), met in influences(table).met.items() if met}
    covered = cover(table)
    never = {(str(one.condition), one.truth) for one in covered.never}
    notes = Notes()
    with instrumented(CORE, notes):
        pass
    gone = {(str(condition), truth) for condition, truth in notes.ways()} - never
    assert gone - instrumented_ways == set()


# In `file`, `anchor` is replaced by `instead`; then `what` depends on `by` under SMALL: fan, pump, lamp.
COUPLINGS = [
    # a neighbour's cell is written
    ("channels.py", "        state[at + REST] = 0\n", "        state[at + REST] = 0\n        if channel == 1:\n            state[at - 10 + REST] = 0\n",
     "fan", "pump"),
    # a neighbour's cell is read, and matters only at a level that it cannot have: no sample of values would ever show it
    ("channels.py", "    if not wanted:\n        state[at + REST] = 1\n",
     "    if channel == 2 and state[3] == 77:\n        return\n    if not wanted:\n        state[at + REST] = 1\n", "lamp", "fan"),
    # something shared is read
    ("channels.py", "        state[at + REST] = 1\n", "        state[at + REST] = 1 + state[SAVE]\n", "pump", "the save delay"),
    # a switch that looks at what another channel does
    ("switches.py", "    if state[at + LEVEL] or plan.latching[switch]:", "    if state[at + LEVEL] or plan.latching[switch] or state[24]:",
     "pump", "lamp"),
    # what is told to the network changes what is done
    ("channels.py", "    if not wanted:\n        state[at + REST] = 1\n",
     "    if state[at + SHOWN] > 99:\n        return\n    if not wanted:\n        state[at + REST] = 1\n", "fan", "news of fan"),
    # one channel is restored from the bytes of another
    ("snapshot.py", "        if snapshot[2 * channel] <= top:", "        if snapshot[0] <= top and snapshot[2 * channel] <= top:", "lamp", "fan"),
]


@pytest.mark.parametrize("file, anchor, instead, what, by", COUPLINGS, ids=[f"{row[3]} by {row[4]}" for row in COUPLINGS])
def test_seeded_coupling_is_found(tmp_path, file, anchor, instead, what, by):
    core = mutant(tmp_path, file, anchor, instead)
    try:
        found = influences(SMALL, core)
        assert (what, by) in {(one.what, one.by) for one in found.couplings}
        if by not in ("the save delay", "news of fan"):
            assert found.groups, "channels that cannot be looked at one by one"
    finally:
        forget(core)


def test_feedback_of_another_channel_that_bars_a_fan_is_found(tmp_path):
    core = mutant(tmp_path, "feedback.py", "plan.top(channel) > 1 and state[at + LIVE]", "plan.top(channel) > 1 and state[plan.feedback_at[2] + LIVE]")
    try:
        assert ("fan", "lamp") in {(one.what, one.by) for one in influences(SENSED, core).couplings}
    finally:
        forget(core)


def test_rule_of_another_channel_that_is_looked_at_is_found(tmp_path):
    core = mutant(tmp_path, "rules.py", "        if not state[at + LIMIT]:\n", "        if not state[plan.rule_at[0] + LIMIT]:\n")
    try:
        assert ("lamp", "heater") in {(one.what, one.by) for one in influences(TIMED, core).couplings}
    finally:
        forget(core)


def test_switch_whose_press_another_one_decides_is_found(tmp_path):
    core = mutant(tmp_path, "presses.py", "    if state[at + UNDECIDED]:\n        if", "    if state[at + UNDECIDED] or state[plan.press_at[0] + UNTIL] > 1 << 29:\n        if")
    try:
        assert ("switch bed", "switch hall") in {(one.what, one.by) for one in influences(PRESSED, core).couplings}
    finally:
        forget(core)


# The same in conditions.py: `anchor` is replaced by `instead`; then `what` depends on `by` under the plan. No value of a cell would ever show it.
OF_CONDITIONS = [
    # a condition looks at an input that its rule does not name
    (CONDITIONED, "state[plan.input_at[number] + LEVEL] == sense", "state[plan.input_at[number] + LEVEL] == sense and state[plan.input_at[0] + LEVEL] < 2",
     "condition rule 4", "input water"),
    # a hold of one channel looks at the lock of another
    (CONDITIONED, "is_free = lock_on(plan, state, channel) < 0", "is_free = lock_on(plan, state, channel) < 0 and lock_on(plan, state, 2) < 99",
     "extract", "condition rule 2"),
    # a reading is known for as long as another one is
    (GUARDED, "    if not state[at + FRESH]:\n        state", "    if not state[at + FRESH] or state[plan.reading_at[0] + FRESH] > 1 << 29:\n        state",
     "reading rain", "reading tank"),
    # one condition waits for another
    (CONDITIONED, "    if so == state[at + MET]:\n", "    if so == state[at + MET] or state[plan.condition_at[0] + MET] > 1:\n", "condition rule 5", "condition rule 0"),
    # what one channel does holds another
    (CONDITIONED, "ended = condition\n", "ended = condition if state[plan.channel_at[0] + 1] < 99 else -1\n", "extract", "bath"),
]


@pytest.mark.parametrize("table, anchor, instead, what, by", OF_CONDITIONS, ids=[f"{row[3]} by {row[4]}" for row in OF_CONDITIONS])
def test_seeded_coupling_of_conditions_is_found(tmp_path, table, anchor, instead, what, by):
    core = mutant(tmp_path, "conditions.py", anchor, instead)
    try:
        found = influences(table, core)
        assert (what, by) in {(one.what, one.by) for one in found.couplings}
        assert found.groups or "undisturbed" in {prop.id for prop in prove(table, core).failed}
    finally:
        forget(core)


def test_relay_of_two_channels_couples_them():
    table = dict(SMALL, channels=[SMALL["channels"][0], dict(SMALL["channels"][1], masks=[0, 1]), SMALL["channels"][2]])
    found = influences(table)
    assert [str(one) for one in found.couplings] == ["pump depends on fan (they share a relay in the plan)"]
    assert found.groups == ((0, 1),)
