"""Channels explored together: the same verdicts as apart, a coupling that no part could judge, bounded memory told honestly."""

import json
import subprocess
import sys
from itertools import product
from math import prod

import pytest

from pattress.controller.core import TOGGLE
from pattress.proof import prove, retry
from pattress.proof.exploration import Exploration
from pattress.proof.parts import ChannelPart, GroupPart, part_named
from pattress.proof.product.search import Effort, _retrace, search
from pattress.proof.product.visited import Compact, Full, Whole, chance_of_omission, value_of
from pattress.proof.properties import Failure
from pattress.proof.subject import Subject
from tests.proof.replayed import replay

from .mutants import forget, mutant
from .plans import SMALL, TINY, load, plan, switch

PAIR = plan("pump and lamp", [load("pump", 0, restore=1, delay=700, minimum_off=500), load("lamp", 1, restore=2, delay=200)],
            [switch("door", (0, TOGGLE, 0), (1, TOGGLE, 0)), switch("bed", (1, TOGGLE, 0), latching=0)])

# Written to the neighbour whenever a channel opens its relays: the pump then forgets that it must rest.
FORGETS_NEIGHBOUR = ("channels.py", "        state[at + HOLD] = plan.minimum_off_ms[channel]\n",
                     "        state[at + HOLD] = plan.minimum_off_ms[channel]\n        if channel:\n            state[at - 10 + HOLD] = 0\n")


def live_cells(part, keys):
    """Return the live cells of states, without what the part remembers beside them."""
    return {key[:part.live_bytes] for key in keys}


def test_states_of_the_product_are_the_combinations_of_the_states_of_the_parts():
    """Both start in the same moment and everything else is free, so nearly all combinations are reached, and no other."""
    subject = Subject(PAIR)
    alone = [live_cells(part, Exploration(part).run().parents) for part in (ChannelPart(subject, 0), ChannelPart(subject, 1))]
    both = live_cells(GroupPart(subject, (0, 1)), Exploration(GroupPart(subject, (0, 1))).run().parents)
    assert both <= {b"".join(pair) for pair in product(*alone)}
    assert len(both) > 0.5 * prod(map(len, alone))
    size = len(next(iter(alone[0])))
    assert [{key[:size] for key in both}, {key[size:] for key in both}] == alone


@pytest.mark.parametrize("table, group", [(PAIR, (0, 1)), (SMALL, (1, 2))], ids=["pair", "two of three"])
def test_together_and_apart_give_the_same_verdicts(table, group):
    apart, together = prove(table), prove(table, together=[group])
    assert apart.holds and together.holds
    assert {prop.id: prop.holds for prop in apart.properties} == {prop.id: prop.holds for prop in together.properties}
    assert [note for note in together.notes if note.startswith("Explored together: ") and "finished: " in note] == list(together.notes) != []


@pytest.mark.parametrize("workers, compact", [(1, False), (2, False), (3, True)])
def test_number_of_processes_and_way_of_keeping_states_change_nothing(workers, compact):
    part = GroupPart(Subject(PAIR), (0, 1))
    found, one = search(part, workers=workers, compact=compact), Exploration(GroupPart(Subject(PAIR), (0, 1))).run()
    assert (found.states, found.transitions, found.why) == (one.states, one.transitions, "")
    assert found.seen == set(part.expected)


@pytest.mark.parametrize("workers, compact", [(1, False), (2, True)])
def test_seeded_coupling_is_found_and_its_channels_explored_together(tmp_path, workers, compact):
    core = mutant(tmp_path, *FORGETS_NEIGHBOUR)
    try:
        proof = prove(PAIR, core, effort=Effort(workers=workers, compact=compact))
        failed = {prop.id: prop for prop in proof.failed}
        assert "lamp depends on pump" not in failed["undisturbed"].detail
        assert "pump depends on lamp (channels.py, follow" in failed["undisturbed"].detail
        assert proof.notes[0].startswith("Explored together: pump + lamp, because pump depends on lamp (channels.py, follow")
        # What no part alone could say: here is how the pump comes on too early, and it really happens.
        story = failed["minimum-off"].story
        assert story.part == "together: pump + lamp"
        assert replay(story, PAIR, core) == tuple(step.relays for step in story.steps)
        assert retry(PAIR, story, core).id == "minimum-off" and retry(PAIR, story) is None
    finally:
        forget(core)


def test_story_of_the_product_is_as_short_as_that_of_the_part(tmp_path):
    core = mutant(tmp_path, "channels.py", "        state[at + HOLD] = plan.minimum_off_ms[channel]\n", "")
    try:
        alone = next(prop.story for prop in prove(PAIR, core).failed if prop.id == "minimum-off")
        part = GroupPart(Subject(PAIR, core), (0, 1))
        found = search(part, workers=2)
        key, steps = found.exploration.failures["minimum-off"][1], 1
        while key is not None:
            key, steps = found.exploration.parents[key][0], steps + 1
        assert steps == len(alone.steps)
    finally:
        forget(core)


@pytest.mark.parametrize("compact", [False, True])
def test_memory_is_bounded_and_what_was_not_finished_is_not_said_to_hold(compact):
    proof = prove(SMALL, together=[(0, 1, 2)], effort=Effort(workers=2, memory=24_000, compact=compact))
    assert not proof.holds and not proof.failed
    unknown = {prop.id: prop.detail for prop in proof.undecided}
    assert {"sets-never-meet", "dead-time", "can-reach"} <= set(unknown) and "snapshot-whole" not in unknown
    assert "not finished (memory is full): " in unknown["dead-time"] and " states explored, " in unknown["dead-time"]
    assert f"{len(unknown)} of {len(proof.properties)} properties are not decided" in proof.summary


def test_failure_found_before_memory_is_full_stays_a_failure(tmp_path):
    core = mutant(tmp_path, "channels.py", "elif not (state[at + WAIT] or state[at + HOLD]", "elif not (state[at + HOLD]")
    try:
        found = search(GroupPart(Subject(SMALL, core), (0, 1, 2)), workers=2, memory=300_000)
        assert found.why == "memory is full" and "dead-time" in found.exploration.failures
    finally:
        forget(core)


# A process of its own: a signal would end whoever runs the tests side by side.
INTERRUPTED = """
import json, os, signal, sys, time
from pattress.proof.parts import GroupPart
from pattress.proof.product.search import search
from pattress.proof.subject import Subject

sent = []

def interrupt(words):               # Ctrl-C as soon as something is explored, however quick the machine
    if not sent and not words.endswith(" 0 states"):
        sent.append(time.monotonic())
        os.kill(os.getpid(), signal.SIGINT)

found = search(GroupPart(Subject(json.load(sys.stdin)), (0, 1, 2)), workers=2, progress=interrupt)
json.dump({"sent": len(sent), "seconds": time.monotonic() - sent[0], "why": found.why, "states": found.states, "summary": found.summary}, sys.stdout)
"""


def test_interrupt_is_clean_and_says_how_far_it_went():
    done = subprocess.run([sys.executable, "-c", INTERRUPTED], input=json.dumps(SMALL), capture_output=True, text=True, timeout=60)
    assert (done.returncode, done.stderr) == (0, "")
    found = json.loads(done.stdout)
    assert found["sent"] == 1 and found["seconds"] < 10 and found["why"] == "stopped" and found["states"] > 0
    assert "not finished (stopped)" in found["summary"]


def test_part_is_found_again_by_its_name():
    subject = Subject(SMALL)
    assert part_named(subject, "together: fan + lamp").channels == {0, 2}
    assert part_named(subject, "channel pump").channels == {1}
    assert part_named(subject, "no such part") is None


# The birthday problem: the chance that two of 23 people share one of 365 days is 0.5073 (textbook, from memory).
def test_chance_of_omission_is_that_of_the_birthday_problem():
    in_bits = 8.511752653750904     # 2 ** that is 365
    assert chance_of_omission(23, in_bits) == pytest.approx(0.5073, abs=0.00005)
    assert chance_of_omission(1) == 0.0 and chance_of_omission(2, 1) == pytest.approx(0.5)
    assert chance_of_omission(20_000, 40) == pytest.approx(chance_of_omission(10_000, 40) * 4, rel=1e-3)
    # Eighty million states, the largest case of Stern and Dill's abstract, in eight bytes: n squared over 2 to the 65th, by hand.
    assert chance_of_omission(80_000_000) == pytest.approx(80e6**2 / 2**65, rel=1e-3)


@pytest.mark.parametrize("kind", [Whole, Compact])
def test_kept_states_lead_back_and_room_is_bounded(kind):
    kept, names = kind(100_000), []
    keys = [bytes((number & 255, number >> 8)) for number in range(1, 200)]
    for number, key in enumerate(keys):
        names.append(kept.name_of(key, value_of(key)))
        assert kept.add(names[-1], names[-2] if number else None, number)
        assert not kept.add(names[-1], None, 0)
    assert len(kept) == len(keys) and kept.before(names[0]) == (None, 0)
    assert all(kept.before(names[number]) == (names[number - 1], number) for number in range(1, len(keys)))
    with pytest.raises(Full, match="^$"):
        for number in range(100_000):
            key = number.to_bytes(8, "little")
            kept.add(kept.name_of(key, value_of(key)), None, 0)


def test_one_lamp_explored_together_with_nobody_is_not_a_group():
    assert prove(TINY, together=[(0,)]).notes == ()


# A program that answers otherwise when the way to its failure is gone again is not said to hold.
def test_a_failure_whose_way_is_not_found_again_still_counts(monkeypatch):
    part = GroupPart(Subject(PAIR), (0, 1))
    explored, failure = Exploration(part), Failure("pattern", "seen by a worker")
    monkeypatch.setattr(explored, "_judged", lambda *given: (None, None, None, 0))

    class Link:
        def send(self, told):
            pass

        def recv(self):
            return None, 0

    _retrace(explored, [Link()], failure, b"after the start", 0, None)
    told, key, _, filling = explored.failures["pattern"]
    assert (told, key, filling) == (failure, None, None)
