"""What arrives at the pins: contacts that end where they should, frames as each protocol sends them."""

from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pattress.controller.core import CANNOT_TELL, NEW_PRESS, REPEAT
from pattress.controller.infrared.protocols import NEC, RC5, SIRC12
from pattress.rehearsal.day import DAY, SECOND, Kind, Names
from pattress.rehearsal.household import random_day
from pattress.rehearsal.rehearse import live
from pattress.rehearsal.stimuli import BOUNCE_MS, LATE_MS, Mishaps, Stimulus, What, bounce, contacts, frames, noticed, turn

seeds = st.integers(0, 2**32)


@given(seed=seeds, closed=st.integers(0, 1))
def test_a_bouncing_contact_alternates_and_comes_to_rest(seed, closed):
    edges = bounce(Random(seed), 1000, closed)
    assert [level for _, level in edges] == [closed if place % 2 == 0 else 1 - closed for place in range(len(edges))]
    assert edges[0] == (1000, closed) and edges[-1][1] == closed
    assert [at for at, _ in edges] == sorted(at for at, _ in edges)
    assert edges[-1][0] <= 1000 + BOUNCE_MS + 1


@given(seed=seeds, closed=st.integers(0, 1), held=st.integers(0, 40))
def test_the_loop_sees_levels_that_alternate_each_soon_after_an_edge_and_the_last_one_always(seed, closed, held):
    rng = Random(seed)
    edges = bounce(rng, 1000, closed)
    edges += bounce(rng, edges[-1][0] + 1 + held, 1 - closed)
    seen = noticed(rng, edges, 1 - closed)
    assert [level for _, level in seen] == [closed if place % 2 == 0 else 1 - closed for place in range(len(seen))]
    assert len(seen) % 2 == 0                       # it comes to rest as it began: never is the last level missed
    assert all(any(0 <= at - edge <= LATE_MS for edge, _ in edges) for at, _ in seen)
    assert all(before < after for (before, _), (after, _) in zip(seen, seen[1:]))


def test_of_a_bounce_the_loop_sees_some_spikes_and_misses_some():
    edges = [(0, 1), (1, 0), (2, 1)]
    assert {len(noticed(Random(seed), edges, 0)) for seed in range(100)} == {1, 3}


def test_some_contacts_bounce_and_some_do_not():
    lengths = {len(bounce(Random(seed), 0, 1)) for seed in range(200)}
    assert 1 in lengths and max(lengths) >= 5


@given(seed=seeds, start=st.integers(0, 4), end=st.integers(0, 4), off_is_open=st.booleans())
def test_a_turned_regulator_ends_with_the_contacts_of_its_position(seed, start, end, off_is_open):
    closed = contacts(start, off_is_open=off_is_open)
    for _, number, level in turn(Random(seed), 0, start, end, off_is_open=off_is_open, slow=0.1):
        closed = closed & ~(1 << number) | level << number
    assert closed == contacts(end, off_is_open=off_is_open)


def test_between_two_positions_it_touches_none_or_both():
    seen = set()
    for seed in range(50):
        closed = contacts(1, off_is_open=True)
        for _, number, level in turn(Random(seed), 0, 1, 2, off_is_open=True, slow=0.0):
            closed = closed & ~(1 << number) | level << number
            seen.add(closed)
    assert seen == {0b00, 0b01, 0b10, 0b11}


@pytest.mark.parametrize("protocol, first, later", [
    (NEC, NEW_PRESS, REPEAT), (RC5, NEW_PRESS, REPEAT), (SIRC12, CANNOT_TELL, CANNOT_TELL)])
def test_a_held_button_repeats_as_its_protocol_does(protocol, first, later):
    found = frames(Random(1), 0, protocol, 500, lost=0.0)
    assert [freshness for _, freshness in found] == [first] + 4 * [later]


def test_when_the_first_frame_is_lost_a_repeat_mark_names_no_press_but_a_toggle_bit_does():
    seed = next(seed for seed in range(1000) if frames(Random(seed), 0, NEC, 500, lost=0.5)[:1] == [(110, REPEAT)])
    assert frames(Random(seed), 0, RC5, 500, lost=0.5)[0] == (110, NEW_PRESS)


def test_a_held_button_whose_frames_are_lost_too_long_acts_twice_and_is_counted(room):
    """The program cannot know it is the same press: a nuisance with a number, not a fault."""
    stimuli = [Stimulus(30_000 * place + 10_000, What.BUTTON, (3, 3_000)) for place in range(60)]   # SIRC: cannot tell
    def day(lost):
        return live(room, Names.of(room), stimuli, title="", seed="1", mishaps=Mishaps(frame_lost=lost))
    assert day(0.0).facts.acted_twice == 0
    assert day(0.5).facts.acted_twice > 10
    assert day(0.5).problems == ()


def test_a_snapshot_cut_off_while_it_is_written_leaves_the_former_one(room, plans):
    def found_after_cut(at):
        stimuli = [Stimulus(10_000, What.THROW, (plans.DOOR,)), Stimulus(at, What.NO_POWER, (SECOND,))]
        day = live(room, Names.of(room), stimuli, title="", seed="1", length=60_000)
        begins = [entry for entry in day.log if entry.kind is Kind.BEGIN]
        saved = [entry.at for entry in day.log if entry.saved is not None]
        return begins[-1].snapshot, saved, day.facts.restores[0].lost
    _, (saved_at, *_), _ = found_after_cut(50_000)
    for at, is_there in ((saved_at - 10, False), (saved_at + 10, False), (saved_at + 60, True)):
        snapshot, _, lost = found_after_cut(at)
        assert (snapshot is not None) == is_there
        assert lost != is_there


@pytest.mark.parametrize("seed", range(20))
def test_a_random_day_is_in_order_and_within_the_day(room, seed):
    stimuli = random_day(room, Random(seed))
    moments = [stimulus.at for stimulus in stimuli]
    assert moments == sorted(moments) and moments[0] >= 0 and moments[-1] < DAY
    assert len({stimulus.what for stimulus in stimuli}) >= 5
