"""A relay that stays closed: what the plan says of it is what a controller with such a relay does."""

import pytest

from pattress.controller.core import COMMAND, TIME, Plan, begin, due_in, new_state, relays, step
from pattress.controller.core.cells import SENSED, SET, STUCK_CLOSED
from pattress.proof.stuck import stuck_relays

from .plans import SEWING_ROOM, TWO_FANS, fan, load, plan, with_feedback

# Two capacitors and straight through; by hand: 1 = first, 2 = second, 3 = both, 4 = straight.
FAN = plan("fan", [fan("fan", 0)])


def test_told_as_reckoned_by_hand():
    assert [str(one) for one in stuck_relays(FAN)] == [
        "fan, relay K1 stays closed: off runs at step 1; step 2 runs at step 3; step 4 closes relays K1+K3 together, "
        "and at each start kick, which is no step: two sets meet",
        "fan, relay K2 stays closed: off runs at step 2; step 1 runs at step 3; step 4 closes relays K2+K3 together, "
        "and at each start kick, which is no step: two sets meet",
        "fan, relay K3 stays closed: off runs at step 4; step 1 closes relays K1+K3 together, which is no step: two sets meet; "
        "step 2 closes relays K2+K3 together, which is no step: two sets meet; "
        "step 3 closes relays K1+K2+K3 together, which is no step: two sets meet",
    ]
    assert str(*stuck_relays(plan("lamp", [load("lamp", 3)]))) == "lamp, relay K4 stays closed: off leaves it on"


def test_with_feedback_it_is_detected_and_no_set_closes_onto_it():
    sensed = with_feedback(FAN, "fan with feedback", fan=500)
    found = stuck_relays(sensed)
    assert not any(one.sets_meet for one in found) and [one.told_after for one in found] == [500] * 3
    assert str(found[1]) == ("fan, relay K2 stays closed: once let go, it runs at step 2 whatever is asked; "
                             "detected and reported within 500 ms of being sensed; no set closes onto it")
    lamp = with_feedback(plan("lamp", [load("lamp", 3)]), "lamp with feedback", lamp=300)
    assert str(*stuck_relays(lamp)) == "lamp, relay K4 stays closed: off leaves it on; detected and reported within 300 ms of being sensed"


def test_lived_with_feedback_and_a_relay_that_sticks():
    """The line is as the contacts are; once the stuck relay was let go, whatever is asked, no other contact closes."""
    sensed = with_feedback(FAN, "fan with feedback", fan=500)
    program = Plan(sensed)
    for stuck in stuck_relays(sensed):
        held, state = 1 << stuck.relay, new_state(program)
        begin(program, state, None, [], [])
        step(program, state, (SENSED, 0, 1, 0, 0))
        for level in (1, 2, 3, 4, 0, 4, 1):
            step(program, state, (COMMAND, 0, SET, level, 0))
            while (due := due_in(program, state)) > 0:
                step(program, state, (TIME, due, 0, 0, 0))
            contacts = relays(program, state) | held
            assert stuck.closed[level] == tuple(place for place in range(32) if contacts >> place & 1) == (stuck.relay,)
        assert program.watch.cause(program, state, 0) == STUCK_CLOSED


@pytest.mark.parametrize("table", [FAN, TWO_FANS, SEWING_ROOM], ids=lambda table: table["title"])
def test_lived_with_a_relay_that_sticks(table):
    """Every level is asked for, all waits pass, and the contacts are those of the program and the stuck one."""
    program, names = Plan(table), [row["name"] for row in table["channels"]]
    for stuck in stuck_relays(table):
        channel = names.index(stuck.channel)
        own = sum(1 << relay for relay in {one for row in stuck.closed for one in row})
        for level in range(len(stuck.becomes)):
            state = new_state(program)
            begin(program, state, None, [0] * program.switches, [0] * program.regulators)
            step(program, state, (COMMAND, channel, SET, level, 0))
            while (due := due_in(program, state)) > 0:
                step(program, state, (TIME, due, 0, 0, 0))
            contacts = (relays(program, state) & own) | 1 << stuck.relay
            assert stuck.closed[level] == tuple(place for place in range(32) if contacts >> place & 1)
            masks = table["channels"][channel]["masks"]
            assert (masks[stuck.becomes[level]] == contacts) if stuck.becomes[level] is not None else contacts not in masks
