"""Mains that comes and goes in quick succession: what the claim says, and faults that break it."""

import pytest

from pattress.controller.core.cells import OFF, ON, SET
from pattress.proof import prove, retry
from pattress.proof.wishes import wish_after
from tests.proof.replayed import replay

from .mutants import forget, mutant
from .plans import GROUPS, MIDDLE, SMALL, TWO_FANS

FAULTS = [
    # Each return begins the save delay: a bad contact in the cable would wear the flash out.
    ("snapshot.py", "    for channel in range(plan.channels):\n        _restore(", "    state[SAVE] = plan.save_ms\n    for channel in range(plan.channels):\n        _restore("),
    # A snapshot is taken for changed whenever relays close.
    ("channels.py", "        state[at + REST] = 0\n", "        state[at + REST] = 0\n        save_soon(plan, state)\n"),
    # Each return goes one step lower.
    ("snapshot.py", "            wanted = snapshot[2 * channel]\n", "            wanted = snapshot[2 * channel] - 1 if snapshot[2 * channel] > 1 else snapshot[2 * channel]\n"),
    # The load is thrown on again at once.
    ("snapshot.py", "    state[at + WAIT] = plan.dead_ms[channel]\n    state[at + HOLD] = plan.minimum_off_ms[channel]\n    state[at + TURN] = plan.restore_delay_ms[channel]\n", ""),
]


@pytest.mark.parametrize("table", [SMALL, GROUPS, TWO_FANS], ids=lambda table: table["title"])
def test_shipped_program_rides_through(table):
    claim = next(prop for prop in prove(table).properties if prop.id == "brown-out")
    assert claim.holds and claim.transitions > 0


@pytest.mark.parametrize("file, anchor, instead", FAULTS, ids=["saves at power-up", "saves when closing", "steps down", "no waits"])
def test_fault_is_caught_and_told(tmp_path, file, anchor, instead):
    if "[SAVE]" in instead:
        instead = instead.replace("state[SAVE]", "state[0]")        # cells.SAVE
    core = mutant(tmp_path, file, anchor, instead)
    try:
        story = next(prop.story for prop in prove(MIDDLE, core).failed if prop.id == "brown-out")
        assert replay(story, MIDDLE, core) == tuple(step.relays for step in story.steps)
        assert retry(MIDDLE, story, core).id == "brown-out" and retry(MIDDLE, story) is None
    finally:
        forget(core)


@pytest.mark.parametrize("verb, level", [(OFF, 0), (ON, 0), *((SET, level) for level in range(4))])
def test_message_that_arrives_twice_asks_for_no_more_than_once(verb, level):
    """Off, on and set; the network offers nothing else to repeat. That the program does as asked is `network-acts`."""
    for wanted in range(4):
        for last in range(1, 4):
            once = wish_after(verb, level, wanted, last, 3)
            assert wish_after(verb, level, once, once or last, 3) == once


@pytest.mark.parametrize("anchor, instead", [
    ("    if elapsed <= 0:\n        return 0\n", "    if elapsed == -7:\n        return 0\n"),       # only the far one shows it
    ("    if elapsed <= 0:\n        return 0\n", ""),
    ("    if elapsed <= 0:\n", "    if elapsed <= 0 or elapsed > 500000000:\n"),                      # six days in one step
])
def test_clock_that_jumps_is_caught_either_way(tmp_path, anchor, instead):
    core = mutant(tmp_path, "program.py", anchor, instead)
    try:
        assert prove(SMALL, core, until_first_failure=True).failed
    finally:
        forget(core)

