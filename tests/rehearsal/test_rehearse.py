"""A whole rehearsal: repeatable, without problems, every feature met, and quick to notice a fault."""

import sys

import pytest

from pattress.controller.core import COMES_ON, channels, regulators, remote, switches
from pattress.controller.core import cells as c
from pattress.controller.digest import digest
from pattress.rehearsal.day import HOUR, MINUTE, SECOND, Kind, Names, Outcome, clock
from pattress.rehearsal.rehearse import live, rehearse
from pattress.rehearsal.stimuli import Stimulus, What


def test_the_program_as_it_is_shows_no_problem_and_both_interpreters_agree(rehearsal, room):
    assert [str(problem) for _, problem in rehearsal.problems] == []
    assert rehearsal.difference is None
    assert rehearsal.holds
    assert rehearsal.compared == sum(day.facts.events for day in rehearsal.days) > 5_000
    assert rehearsal.digest == digest(room)


def test_the_same_seed_gives_the_same_days_and_another_day_does_not_change_them(rehearsal, room):
    again = rehearse(room, seed=20, days=2, micropython=False)
    assert again.days == rehearsal.days[:3]
    assert rehearse(room, seed=21, days=1, micropython=False).days[1] != rehearsal.days[1]


def test_a_rehearsal_meets_everything_it_is_there_for(rehearsal):
    met = {(user_action.what, user_action.outcome) for day in rehearsal.days for user_action in day.user_actions}
    for what, outcome in (
        ("switch", Outcome.ACTED), ("switch", Outcome.TOO_SHORT), ("switch", Outcome.NO_POWER),
        ("switch", Outcome.OVERTAKEN), ("regulator", Outcome.ACTED), ("remote", Outcome.ACTED),
        ("remote", Outcome.NOT_HEARD), ("other remote", Outcome.REFUSED), ("network", Outcome.ACTED),
        ("network", Outcome.WAITS), ("network", Outcome.REFUSED), ("network", Outcome.NO_NETWORK),
    ):
        assert (what, outcome) in met, f"no {what} was {outcome}"
    assert any(restore.lost for day in rehearsal.days for restore in day.facts.restores)
    assert any(entry.snapshot is not None for day in rehearsal.days for entry in day.log)
    bouncing = [entry for entry in rehearsal.days[0].log if entry.kind is Kind.STEP and entry.event[0] == 1]
    assert len(bouncing) > 2 * sum(user_action.what == "switch" for user_action in rehearsal.days[0].user_actions)


def test_the_scripted_day_goes_as_it_is_written(rehearsal, plans):
    day = rehearsal.days[0]
    found = {(clock(user_action.at)[:8], user_action.name): user_action.outcome for user_action in day.user_actions}
    for when, name, outcome in (
        ("06:30:00", "Door", "acted"), ("07:10:00", "Bed side", "too short"), ("07:50:00", "Fan dial to 4", "acted"),
        ("10:21:00", "network: on Fridge", "waits"), ("12:40:00", "Hand remote: faster", "acted"),
        ("13:20:00", "other remote", "refused"), ("14:50:00", "network: nonsense", "refused"),
        ("16:20:00", "Door", "acted"), ("16:40:00", "network: toggle Pendant", "no network"),
        ("19:00:00", "Door", "no power"), ("22:30:00", "Leaving", "acted"),
    ):
        assert found[when, name] == outcome
    assert day.notes == ()
    first, second = day.facts.restores
    assert not first.lost and second.lost           # the second cut came before the snapshot was due
    assert second.level == (1, 1, 0, 0, 0, 1, 3)    # so the pendant is as it was last saved: on
    assert [channel for channel, _ in second.closings] == [plans.PENDANT, plans.LINEAR, plans.FRIDGE, plans.FAN]
    assert dict(second.closings)[plans.FRIDGE] - second.at >= 180_000


def test_a_plan_without_regulator_and_remote_has_its_day_too_and_says_what_is_left_out(plans):
    rehearsed = rehearse(plans.one_lamp(), seed=1, days=2)
    assert rehearsed.holds
    assert "The plan has no first regulator: left out of the scripted day." in rehearsed.days[0].notes


def test_switch_response_is_settling_bounce_and_a_late_loop_at_most(rehearsal):
    responses = [response for day in rehearsal.days for response in day.facts.responses]
    assert len(responses) > 50
    assert min(responses) >= 20                     # the settling time of the plan
    assert max(responses) <= 20 + 5 + 1 + 2 * 2     # its bounce, the last edge, the loop late at edge and at end
    facts = rehearsal.days[1].facts
    assert facts.response(1.0) == facts.responses[-1]
    assert facts.responses[0] <= facts.response(0.5) <= facts.response(0.95)


def test_progress_is_told_before_each_day_and_at_the_end(room):
    told = []
    rehearse(room, seed=1, days=1, micropython=False, progress=lambda *now: told.append(now))
    assert told == [(0, 2, "Scripted day"), (1, 2, "Random day 1"), (2, 2, "")]


# Seeded faults: the program is broken in one place, and the rehearsal must say so.

def _deaf_while_channels_wait(plan, state, at, closed, settle_ms):
    if not any(state[channel + c.WAIT] for channel in plan.channel_at):
        _CONTACT(plan, state, at, closed, settle_ms)


def _no_dead_time(plan, state, channel):
    _FOLLOW(plan, state, channel)
    state[plan.channel_at[channel] + c.WAIT] = 0
    _FOLLOW(plan, state, channel)


def _no_minimum_off(plan, state, channel):
    state[plan.channel_at[channel] + c.HOLD] = 0
    _FOLLOW(plan, state, channel)


def _two_contacts_are_the_lower(plan, regulator, contacts):
    return _POSITION(plan, regulator, contacts & -contacts)


def _every_frame_acts(plan, state, protocol, address, command, freshness):
    return _CODE(plan, state, protocol, address, command, 2)


def _takes_any_verb(plan, channel, verb, level):
    return _ALLOWS(plan, channel, c.ON if verb > c.DOWN else verb, level)


def _toggle_alone(plan, state, acts, cause):
    for i in range(0, len(acts), 3):
        channels.ask(plan, state, acts[i], acts[i + 1], acts[i + 2], cause)


def _forgets_the_network(plan, state, channel):
    return _IS_NEWS(plan, state, channel) and state[plan.channel_at[channel] + c.CAUSE] != c.BY_SWITCH


_CONTACT, _FOLLOW, _POSITION = switches.contact, channels.follow, regulators.position
_CODE, _ALLOWS, _IS_NEWS = remote.code, channels.allows, channels.is_news
_ACT = channels.act
FAULTS = [
    ("deaf while a fan waits", _CONTACT, _deaf_while_channels_wait, "was moved and the program did not act"),
    ("no dead time", _FOLLOW, _no_dead_time, "the dead time is 60 ms"),
    ("no minimum off time", _FOLLOW, _no_minimum_off, "at least 180000 ms are due"),
    ("two contacts are a position", _POSITION, _two_contacts_are_the_lower, "for position"),
    ("every frame is a press", _CODE, _every_frame_acts, "held once, acted"),
    ("any verb is taken", _ALLOWS, _takes_any_verb, "took what the plan does not know"),
    ("each toggles for itself", _ACT, _toggle_alone, "what was asked for did not come about"),
    ("does not tell the network", _IS_NEWS, _forgets_the_network, "the network was told"),
]


def put_instead(monkeypatch, healthy, broken):
    """Put a broken function in the place of a healthy one, wherever the core has imported it."""
    modules = [module for name, module in sys.modules.items() if name.startswith("pattress.controller.core")]
    places = [(module, name) for module in modules for name, value in vars(module).items() if value is healthy]
    for module, name in places:
        monkeypatch.setattr(module, name, broken)
    assert places


@pytest.mark.parametrize("healthy, broken, words", [fault[1:] for fault in FAULTS], ids=[fault[0] for fault in FAULTS])
def test_a_seeded_fault_is_seen(room, monkeypatch, healthy, broken, words):
    put_instead(monkeypatch, healthy, broken)
    found = rehearse(room, seed=20, days=6, micropython=False).problems
    assert any(words in str(problem) for _, problem in found), found[:3]


def test_a_restore_against_its_policy_is_seen(room, monkeypatch):
    from pattress.controller.core import snapshot
    monkeypatch.setattr(snapshot, "COMES_ON", -1)       # "on" is taken for "off"
    found = rehearse(room, seed=20, days=1, micropython=False).problems
    assert any("Fridge: after the power came back at 19:10:01.500 it stands at 0, its policy asks for 1" in str(problem)
               for _, problem in found), found[:3]


def test_a_lamp_comes_back_though_nothing_else_ever_happens(plans):
    """No network, no wait in the plan: the program has to close the relay by itself."""
    table = plans.one_lamp()
    table["channels"][0]["restore"] = COMES_ON
    stimuli = [Stimulus(0, What.NO_NETWORK, (24 * HOUR,)), Stimulus(MINUTE, What.NO_POWER, (10 * SECOND,))]
    day = live(table, Names.of(table), stimuli, title="A dark day", seed="1")
    assert [problem.words for problem in day.problems] == []
    assert day.facts.time_on[0] > 23 * HOUR
