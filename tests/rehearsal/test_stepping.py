"""A rehearsed day event by event: the relays of the log, the state of the core, and each problem at its event."""

from zlib import crc32

import pytest

from pattress.controller import core
from pattress.rehearsal.day import Kind, clock
from pattress.rehearsal.monitor import level_of
from pattress.rehearsal.rehearse import rehearse
from pattress.rehearsal.stepping import _feed, steps_of


def test_every_movement_of_a_relay_is_a_step_and_leads_to_what_the_log_says(rehearsal, room):
    plan = core.Plan(room)
    for day in rehearsal.days:
        steps, before, moves = steps_of(day, room), 0, 0
        at = {entry.at: entry.relays for entry in day.log}
        for step in steps:
            assert step.levels == tuple(level_of(plan, channel, at[step.end]) for channel in range(plan.channels)) or step.end in ambiguous(day)
        for entry in day.log:
            moves += entry.relays != before
            before = entry.relays
        assert sum(bool(step.outcome) for step in steps) == moves
        assert [step.at for step in steps] == sorted(step.at for step in steps) and len(steps) < len(day.log)


def ambiguous(day):
    """Return the moments at which the log has several entries with different relays."""
    found = {}
    for entry in day.log:
        found.setdefault(entry.at, set()).add(entry.relays)
    return {at for at, relays in found.items() if len(relays) > 1}


def test_the_core_fed_again_is_in_the_state_of_the_log(rehearsal, room):
    """What is told as wanted comes from that state; the log keeps its checksum."""
    plan = core.Plan(room)
    for day in rehearsal.days:
        state = core.new_state(plan)
        for before, entry in zip((None, *day.log), day.log):
            if entry.kind is not Kind.CUT:
                _feed(plan, state, entry)
                assert crc32(state) == entry.checksum, (day.title, clock(entry.at), before)


def test_the_edges_of_one_throw_are_one_step(rehearsal, room):
    bounced = 0
    for day in rehearsal.days:
        steps = steps_of(day, room)
        for throw in (user_action for user_action in day.user_actions if user_action.name == "Door" and user_action.outcome == "acted"):
            edges = [entry for entry in day.log if entry.kind is Kind.STEP and entry.event[:2] == (core.CONTACT, 0) and throw.at <= entry.at < throw.at + 20]
            found = [step for step in steps if throw.at <= step.at < throw.at + 20 and step.control == (core.CONTACT, 0)]
            assert [(step.at, step.end, step.contacts[0]) for step in found] == [(edges[0].at, edges[-1].at, edges[-1].event[2])]
            assert found[0].words == f"Door: contact {'closes' if edges[-1].event[2] else 'opens'}"
            bounced += len(edges) > 1
    assert bounced


def test_a_problem_stands_at_the_event_it_was_seen_at(room):
    """Two lamps on one relay: the plan is at fault, and the day says so."""
    room["channels"][1]["masks"] = [0, 0b11]
    day = rehearse(room, seed=20, days=0, micropython=False).days[0]
    steps = steps_of(day, room)
    told = [words for step in steps for words in step.problems]
    assert sorted(told) == sorted(problem.words for problem in day.problems) and told
    first = next(step for step in steps if step.problems)
    assert first.problems[0] == "Linear lamp: relay K1 closed, which is none of its levels"
    assert first.levels[1] is None and "Linear lamp: relays of no level of it" in first.outcome


@pytest.mark.parametrize("words", ["the power is there: the control program runs", "the power goes: every relay drops", "remote: Hand remote: light",
                                   "a remote that means nothing here", "Fan dial is turned", "at once"])
def test_what_a_day_can_tell(rehearsal, room, words):
    assert any(step.words == words for day in rehearsal.days for step in steps_of(day, room)), words


def test_nothing_is_on_while_there_is_no_power(rehearsal, room):
    cuts = [step for day in rehearsal.days for step in steps_of(day, room) if step.words.startswith("the power goes")]
    assert cuts and all(not any(step.levels) and not any(step.wanted) for step in cuts)
