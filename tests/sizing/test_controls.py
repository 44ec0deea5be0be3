"""What can switch a load on: every kind of control, and what is said where there is none."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pattress.design.plan import plan_table
from pattress.finding import Verdict
from pattress.job.action import parse_action
from pattress.proof.reach import askable
from pattress.sizing.controls import controls_of, findings, switches_on

from .invented import by_id, drives, fan_text, load_text, make_job

LAMP, FAN = load_text("lamp"), fan_text("fan")
SWITCH = '[switch.door]\nname = "Door"\nkind = "latching"\ndoes = "{does}"\n'
REGULATOR = '[regulator.wall]\nname = "Wall regulator"\nfan = "fan"\npositions = 4\n'
BUTTON = '[remote.hand]\nname = "Hand"\nbutton.light = {{ code = "{code}", does = "{does}" }}\n'
ALONE, LINKED = "[network]\nwifi = false\n", "[network]\nwifi = true\n"


def answer(rest, key="lamp"):
    return by_id(findings(make_job(LAMP, FAN, rest=rest)))[f"control.{key}"]


def test_the_questions_of_one_load():
    found = answer(ALONE)
    assert (found.id, found.subject, found.question) == (
        "control.lamp", "load.lamp", "Can a control or the network switch Lamp on?")


def test_what_nothing_switches_on_fails_and_stops_no_bundle():
    found = answer(ALONE)
    assert found.verdict is Verdict.FAILS and not found.safety and found.assumptions == ()
    assert found.detail == "No switch, no regulator and no remote button switches this on, and there is no network."
    assert found.change == ('a switch or a remote button with does = "toggle lamp"', "wifi = true under [network]")
    assert answer(ALONE, "fan").change[1] == 'a regulator with fan = "fan"'


def test_an_input_is_no_control():
    found = answer(ALONE + '[input.door]\nname = "Door"\nkind = "switch"\n')
    assert found.verdict is Verdict.FAILS and found.detail == answer(ALONE).detail


def test_what_only_the_network_switches_on_is_tight_and_told_as_such():
    found = answer(LINKED)
    assert found.verdict is Verdict.TIGHT
    assert found.detail == "Only the network can: a phone, a hub or a voice. Without it, nothing switches this on."


@pytest.mark.parametrize("rest, key, told", [
    (SWITCH.format(does="toggle lamp"), "lamp", "Door."),
    (SWITCH.format(does="set fan 1"), "fan", "Door."), (SWITCH.format(does="up fan"), "fan", "Door."), (REGULATOR, "fan", "Wall regulator."),
    (BUTTON.format(code="nec 0x04:0x08", does="on lamp"), "lamp", "Hand: light."),
])
def test_each_kind_of_control_holds(rest, key, told):
    found = answer(rest + ALONE, key)
    assert found.verdict is Verdict.HOLDS and found.detail == told and found.change == ()
    assert answer(rest + LINKED, key).detail == f"{told[:-1]}; the network."


@pytest.mark.parametrize("does, key", [("off lamp", "lamp"), ("off everything", "lamp"), ("down fan", "fan"), ("set fan 0", "fan"), ("toggle fan", "lamp")])
def test_what_only_switches_off_or_something_else_is_no_control(does, key):
    assert answer(SWITCH.format(does=does) + ALONE, key).verdict is Verdict.FAILS


def test_a_restore_policy_is_no_control():
    assert by_id(findings(make_job(load_text("lamp", restore="on"), rest=ALONE)))["control.lamp"].verdict is Verdict.FAILS


def test_a_button_that_is_not_learnt_is_unknown_and_says_how_to_settle_it():
    rest = BUTTON.format(code="unknown", does="toggle lamp")
    found = answer(rest + ALONE)
    assert found.verdict is Verdict.UNKNOWN and [one.key for one in found.assumptions] == ["remote.hand.button.light.code"]
    assert found.detail == "No switch, no regulator and no learnt remote button switches this on, and there is no network. Not learnt yet: Hand: light."
    assert found.change[0] == "learn the code of its button"
    assert answer(rest + LINKED).verdict is Verdict.TIGHT and answer(rest + LINKED).detail.endswith("Not learnt yet: Hand: light.")


VERBS = st.sampled_from(["on lamp", "off lamp", "toggle lamp", "up fan", "down fan", "set fan 0", "set fan 2", "toggle lamp, fan", "off everything"])


@settings(deadline=None, max_examples=60)
@given(st.lists(VERBS, max_size=3), st.booleans(), st.booleans())
def test_a_control_is_there_just_where_the_plan_can_ask_for_a_level_that_is_not_off(does, has_network, has_regulator):
    rest = "".join(f'[switch.s{n}]\nname = "S {n}"\nkind = "latching"\ndoes = "{one}"\n' for n, one in enumerate(does))
    job = make_job(LAMP, FAN, rest=rest + REGULATOR * has_regulator + (LINKED if has_network else ALONE))
    levels = dict(zip(("lamp", "fan"), askable(plan_table(job, drives(job), {}, {}), has_network), strict=True))
    for key, asked in levels.items():
        assert controls_of(job, key).is_none == (not asked - {0}), (key, asked)


def test_an_action_that_switches_on():
    assert switches_on((parse_action("off lamp"), parse_action("toggle desk, lamp")), "lamp") and not switches_on((parse_action("down lamp"),), "lamp")
