"""Wall switches, regulator, remote and network: what each has to do to be heard."""

import pytest

from pattress.controller.core import (
    CANNOT_TELL,
    CODE,
    COMMAND,
    CONTACT,
    DOWN,
    NEW_PRESS,
    OFF,
    ON,
    REFUSED,
    REPEAT,
    ROTOR,
    SET,
    TIME,
    TOGGLE,
    UP,
)

from .home import BED, COLD, DEAD, DOOR, FAN, FASTER, FULL, HALL, KICK, LAMP, LIGHT, LIT, LOW, MEDIUM, SETTLE, Home


def test_latching_switch_acts_each_time_it_is_thrown():
    home = Home()
    home.throw(DOOR, 1)
    assert home.relays & LIT
    home.throw(DOOR, 0)
    assert not home.relays & LIT


def test_retractive_switch_acts_when_pressed_and_not_when_let_go():
    home = Home()
    home.throw(BED, 1)
    assert home.relays & LIT
    home.throw(BED, 0)
    assert home.relays & LIT
    home.press(BED)
    assert not home.relays & LIT


def test_two_switches_of_one_lamp_work_as_two_way():
    home = Home()
    home.throw(DOOR, 1)
    home.press(BED)
    assert not home.relays & LIT
    home.throw(DOOR, 0)
    assert home.relays & LIT


def test_two_switches_thrown_in_the_same_moment_leave_the_lamp_as_it_was():
    home = Home()
    home.throw(DOOR, 1)
    home.do(CONTACT, DOOR, 0)
    home.do(CONTACT, BED, 1)
    home.wait(SETTLE)
    assert home.relays & LIT


def test_bouncing_contact_counts_once():
    home = Home()
    for moment in range(15):
        home.do(CONTACT, DOOR, (moment + 1) % 2)
        home.wait(1)
    assert not home.relays & LIT
    home.wait(SETTLE - 1)
    assert home.relays & LIT


def test_contact_that_closes_for_less_than_the_settling_time_is_not_believed():
    home = Home()
    home.do(CONTACT, DOOR, 1)
    home.wait(SETTLE - 1)
    home.do(CONTACT, DOOR, 0)
    home.wait(1000)
    assert not home.relays & LIT


def test_telling_the_same_level_again_does_not_put_off_the_switch():
    home = Home()
    home.do(CONTACT, DOOR, 1)
    for _ in range(SETTLE):
        assert not home.relays & LIT
        home.do(CONTACT, DOOR, 1)
        home.wait(1)
    assert home.relays & LIT


def test_switch_is_learnt_at_power_up_and_not_acted_upon():
    home = Home(closed=(1, 1, 1))
    assert not home.relays & LIT
    home.throw(BED, 0)
    assert not home.relays & LIT
    home.throw(DOOR, 0)
    assert home.relays & LIT


def test_group_goes_off_when_any_of_it_is_on_else_comes_on():
    home = Home()
    home.press(HALL)
    assert home.relays & LIT and home.wanted(FAN) == 4
    home.ask(LAMP, OFF)
    home.press(HALL)
    assert not home.relays & LIT and home.wanted(FAN) == 0


@pytest.mark.parametrize("position, relays", [(1, LOW), (2, MEDIUM), (4, FULL)])
def test_settled_regulator_position_is_obeyed(position, relays):
    home = Home()
    home.turn(position)
    home.wait(KICK + DEAD)
    assert home.fan() == relays
    assert home.cause(FAN) == "regulator"


def test_regulator_that_passes_through_none_or_two_is_not_believed_on_the_way():
    home = Home()
    home.turn(1)
    home.wait(KICK + DEAD)
    home.do(ROTOR, 0, 1, 0)                 # between two contacts: none
    home.wait(149)
    home.do(ROTOR, 0, 2, 1)
    home.do(ROTOR, 0, 3, 1)                 # and two at once
    home.wait(10_000)
    assert home.fan() == LOW
    home.do(ROTOR, 0, 3, 0)
    home.wait(149)
    assert home.fan() == LOW
    home.wait(1 + DEAD)
    assert home.fan() == MEDIUM


def test_regulator_at_rest_does_not_overrule_the_network():
    home = Home()
    home.turn(2)
    home.ask(FAN, OFF)
    home.do(ROTOR, 0, 2, 1)
    home.wait(10_000)
    assert home.fan() == 0


def test_held_button_acts_once_while_frames_repeat():
    home = Home()
    home.key(LIGHT, CANNOT_TELL)
    for _ in range(40):
        home.wait(110)
        home.key(LIGHT, CANNOT_TELL)
        home.wait(110)
        home.key(LIGHT, REPEAT)
    assert home.relays & LIT


def test_button_pressed_again_after_it_was_let_go_acts_again():
    home = Home()
    home.key(LIGHT, CANNOT_TELL)
    home.wait(250)
    home.key(LIGHT, CANNOT_TELL)
    assert not home.relays & LIT


def test_new_press_acts_at_once_and_stray_repeat_never():
    home = Home()
    home.key(LIGHT, REPEAT)
    assert not home.relays & LIT
    home.key(LIGHT, NEW_PRESS)
    home.key(LIGHT, NEW_PRESS)
    home.key(LIGHT, NEW_PRESS)
    assert home.relays & LIT


def test_repeat_mark_of_another_button_is_not_this_one():
    home = Home()
    home.key(LIGHT)
    home.key(FASTER)
    home.key(LIGHT, REPEAT)
    assert home.relays & LIT and home.wanted(FAN) == 4


def test_up_and_down_walk_the_steps_and_stop_at_the_ends():
    home = Home()
    home.ask(FAN, DOWN)
    assert home.wanted(FAN) == 0
    home.ask(FAN, SET, 2)
    walked = []
    for verb in (UP, UP, UP, DOWN, DOWN, DOWN, DOWN):
        home.ask(FAN, verb)
        walked.append(home.wanted(FAN))
    assert walked == [3, 4, 4, 3, 2, 1, 1]


def test_plain_on_comes_back_at_the_last_step():
    home = Home()
    for verb in (ON, TOGGLE, UP):
        home.ask(FAN, SET, 3)
        home.ask(FAN, OFF)
        home.ask(FAN, verb)
        assert home.wanted(FAN) == 3


@pytest.mark.parametrize(
    "event",
    [
        (COMMAND, 3, ON, 0, 0), (COMMAND, -1, ON, 0, 0), (COMMAND, LAMP, 6, 0, 0), (COMMAND, LAMP, -1, 0, 0),
        (COMMAND, FAN, SET, 5, 0), (COMMAND, FAN, SET, -1, 0), (CODE, 1, 4, 3, 2), (CODE, 1, 5, 1, 2), (CODE, 2, 4, 1, 2),
        (CONTACT, 3, 1, 0, 0), (CONTACT, -1, 1, 0, 0), (ROTOR, 1, 0, 1, 0), (ROTOR, 0, 5, 1, 0), (ROTOR, 0, -1, 1, 0),
        (5, 0, 0, 0, 0), (-1, 0, 0, 0, 0),
    ],
)
def test_what_the_plan_does_not_know_is_refused_and_changes_nothing(event):
    home = Home()
    home.run_fan(2)
    before = bytes(home.state)
    assert home.do(*event) == REFUSED
    assert bytes(home.state) == before


def test_time_that_stands_still_or_goes_back_changes_nothing():
    home = Home()
    home.ask(FAN, SET, 1)
    before = bytes(home.state)
    home.do(TIME, 0)
    home.do(TIME, -5)
    assert bytes(home.state) == before


def test_cause_is_who_asked_last():
    home = Home()
    seen = [home.cause(LAMP)]
    home.throw(DOOR, 1)
    seen.append(home.cause(LAMP))
    home.key(LIGHT)
    seen.append(home.cause(LAMP))
    home.ask(LAMP, ON)
    seen.append(home.cause(LAMP))
    assert seen == ["restore", "switch", "remote", "network"]
    assert home.relays & COLD
