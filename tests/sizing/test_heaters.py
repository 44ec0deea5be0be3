"""A heater: put on by a hand at the wall, for a time, never by the return of the power; whatever is freer somebody must answer for."""

import pytest

from pattress.finding import Verdict
from pattress.sizing.heaters import findings

from .invented import load_text, make_job

SWITCH = '[switch.door]\nname = "Door"\nkind = "retractive"\ndoes = "toggle heater"\n'
WALL, TIME = 'heater is put on at the wall only', 'heater is on for at most 2 h'


def answers(*rules, network="", kind="resistive heater", **load):
    text = "".join(f'[rule.r{number}]\nsays = "{one}"\n' for number, one in enumerate(rules))
    sensor = '[sensor.room]\nname = "Room"\nkind = "22 class"\n'
    job = make_job(load_text("heater", kind=kind, power="1 kW", **load), rest=SWITCH + sensor + text + network)
    return {finding.id.partition(".")[0]: finding for finding in findings(job)}


def verdicts(*rules, **given):
    return {name: str(finding.verdict) for name, finding in answers(*rules, **given).items()}


def test_on_for_a_time_by_a_hand_and_off_after_a_cut_holds():
    assert verdicts(WALL, TIME) == {"put_on": "holds", "longest_on": "holds", "after_cut": "holds"}


def test_whatever_is_freer_fails_and_stops_until_somebody_answers():
    found = answers(restore="as it was")
    assert {name: str(one.verdict) for name, one in found.items()} == {"put_on": "fails", "longest_on": "fails", "after_cut": "fails"}
    assert all(one.stops and one.wants_answer for one in found.values())
    assert found["put_on"].change == ('a rule "heater is put on at the wall only"',)
    assert found["longest_on"].change == ('a rule "heater is on for at most 2 h"',)
    assert found["after_cut"].change == ('restore = "off"',)


@pytest.mark.parametrize("rule, holds", [
    ("heater is on for 30 min", True), ("heater is on for 30 min, anew at each asking", False), ("heater is on for at most 24 h", True)])
def test_a_stay_that_each_asking_renews_is_no_end(rule, holds):
    assert (answers(rule)["longest_on"].verdict is Verdict.HOLDS) == holds


def test_a_rule_that_puts_it_on_is_named():
    found = answers(TIME, "heater is on while room is below 19 degC, until 20 degC")["put_on"]
    assert found.verdict is Verdict.FAILS and "no rule.r1" in found.change
    assert found.detail.startswith("the network and rule.r1 may put it on while nobody looks at it")


def test_without_a_network_a_hand_is_all_there_is():
    assert verdicts(TIME, network="[network]\nwifi = false\n") == {"put_on": "holds", "longest_on": "holds", "after_cut": "holds"}


def test_other_loads_are_not_asked():
    assert answers(kind="LED driver") == {}
