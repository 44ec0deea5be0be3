"""Rules that lead from a channel back to itself: whether everything becomes quiet is run, and told as it happens."""

import pytest

from pattress.controller.core import OFF, ON, TOGGLE
from pattress.controller.core.conditions import HOLDS, LOCKS, OF_CHANNEL, OF_INPUT, OF_READING, RELEASE, WHEN
from pattress.proof import prove, retry
from pattress.proof.rings import ring_of, rings_run
from pattress.proof.subject import Subject
from tests.proof.replayed import replay

from .plans import CHAINED, CONDITIONED, GUARDED, LATCHED, condition, load, plan, presses, rule, switch


def two_lamps(*conditions, **more):
    return dict(plan("two lamps", [load("north", 0), load("south", 1)], [switch("left", (0, TOGGLE, 0)), switch("right", (1, TOGGLE, 0))]),
                conditions=list(conditions), **more)


def after(channel, *act, kind=WHEN, sense=1, begins=1, rule=0, **more):
    """A rule about one lamp that waits for the other, or for itself."""
    return condition(kind, OF_CHANNEL, channel, act, sense=sense, begins=begins, rule=rule, **more)


CHASE = two_lamps(after(0, 1, ON, 0), after(1, 0, OFF, 0, rule=1), after(0, 1, OFF, 0, sense=0, rule=2), after(1, 0, ON, 0, sense=0, rule=3))


def becomes_quiet(table):
    return next(prop for prop in prove(table).properties if prop.id == "becomes-quiet")


def test_lamps_that_chase_each_other_are_told():
    story = becomes_quiet(CHASE).story
    assert str(story) == (
        "Broken: When nobody touches anything, everything becomes quiet in a bounded\n"
        "number of steps. [becomes-quiet]\n"
        "  1. power comes on, snapshot lost or none\n"
        "  2. contact of left moves\n"
        "  3. 20 ms pass\n"
        "        -> relay K1 closed\n"
        "  4. 1 ms pass\n"
        "        -> relays K1+K2 closed\n"
        "  5. 1 ms pass\n"
        "        -> relay K2 closed\n"
        "  6. 1 ms pass\n"
        "        -> all open\n"
        "  7. 1 ms pass\n"
        "        -> relay K1 closed\n"
        "Found: from here on, waits alone lead on without end: the rules of these\n"
        "       channels switch each other"
    )
    assert replay(story, CHASE) == tuple(step.relays for step in story.steps)
    assert retry(CHASE, story).id == "becomes-quiet"
    assert retry(two_lamps(*CHASE["conditions"][:3]), story) is None


@pytest.mark.parametrize("one, words", [
    (presses(0, held=[(0, ON, 0)]), ["left is pressed", "20 ms pass"]),
    (presses(0, twice=[(0, ON, 0)]), ["left is pressed", "20 ms pass", "left is let go", "20 ms pass", "left is pressed"])])
def test_lamps_that_chase_each_other_only_after_a_held_or_a_second_press_are_told(one, words):
    """The network reaches neither lamp, and a short press does nothing to them."""
    table = dict(CHASE, presses=[one], rules=[rule(0, wall_only=2), rule(1, wall_only=2)], channels=[*CHASE["channels"], load("porch", 2)],
                 switches=[switch("left", (2, ON, 0), latching=0)])
    story = becomes_quiet(table).story
    assert [step.words for step in story.steps][1:1 + len(words)] == words
    assert replay(story, table) == tuple(step.relays for step in story.steps)
    assert becomes_quiet(dict(table, presses=[presses(0, held=[(2, OFF, 0)])])).holds


@pytest.mark.parametrize("table", [
    two_lamps(after(0, 1, ON, 0, kind=HOLDS), after(1, 0, ON, 0, kind=HOLDS, rule=1)),
    two_lamps(after(0, 1, OFF, 0, kind=LOCKS), after(1, 0, OFF, 0, kind=LOCKS, rule=1)),
    two_lamps(after(0, 1, ON, 0, kind=HOLDS, begins=500), after(1, 0, OFF, 0, kind=LOCKS, begins=700, rule=1)),
], ids=["hold each other", "lock each other", "one puts the other on and is kept off by it"])
def test_a_ring_that_comes_to_rest_holds(table):
    assert ring_of(Subject(table)) == {0, 1}
    assert becomes_quiet(table).holds
    assert rings_run(Subject(table))[1] > 100


@pytest.mark.parametrize("source, sense", [(OF_READING, 1), (OF_INPUT, 1)])
def test_what_an_input_or_a_reading_holds_is_run_too(source, sense):
    """What shuts the held lamp ends with it, so it is held anew: only while the input or reading says so, and long after one telling of it is stale."""
    chain = (after(0, 1, ON, 0, kind=HOLDS, rule=1), after(1, 0, OFF, 0, kind=LOCKS, begins=40_000, rule=2))
    what = dict(inputs=[dict(settle_ms=50, name="door")], readings=[dict(stale_ms=3000, name="damp")])
    story, _ = rings_run(Subject(two_lamps(condition(HOLDS, source, 0, (0, ON, 0), sense=sense, rule=0), *chain, **what)))
    assert story.property_id == "becomes-quiet"
    assert story.steps[1].words == {OF_READING: "damp is past its begin", OF_INPUT: "contact of door moves"}[source]
    assert rings_run(Subject(two_lamps(*chain)))[0] is None


def test_a_ring_through_a_release_is_a_ring():
    table = two_lamps(after(1, kind=RELEASE), after(0, 1, OFF, 0, kind=LOCKS, released_by=0), after(1, 0, ON, 0, rule=1))
    table["conditions"][0]["acts"] = []
    assert ring_of(Subject(table)) == {0, 1}


@pytest.mark.parametrize("table", [CONDITIONED, GUARDED, LATCHED, CHAINED], ids=lambda table: table["title"])
def test_where_no_rule_leads_back_nothing_is_run(table):
    assert ring_of(Subject(table)) == frozenset() and rings_run(Subject(table)) == (None, 0)
