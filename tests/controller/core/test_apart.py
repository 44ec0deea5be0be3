"""What is never on together, worked by hand: who is refused, who waits, and for how long."""

from itertools import product

import pytest

from pattress.controller import core
from pattress.controller.core import COMMAND, CONTACT, OFF, ON, SET, TIME, TOGGLE
from pattress.controller.core.cells import RULED, SHOWN

from ...proof.plans import fan, load, plan, switch
from .home import SETTLE, Timed

HEATER, OVEN, LAMP, FAN = range(4)
BETWEEN = 5000
TABLE = plan(
    "kitchen", [load("heater", 0), load("oven", 1), load("lamp", 2), fan("fan", 3)],
    [switch("heater", (HEATER, TOGGLE, 0)), switch("over", (HEATER, OFF, 0), (OVEN, ON, 0), latching=0)])


class Kitchen(Timed):
    def __init__(self, *sets, fresh=False):
        rows = [dict(channels=list(channels), between_ms=between, rule=number) for number, (channels, between) in enumerate(sets or [((HEATER, OVEN), BETWEEN)])]
        self.plan = core.Plan(TABLE | {"apart": rows})
        self.state = core.new_state(self.plan)
        core.begin(self.plan, self.state, None, (0, 0), ())
        self.do(TIME, 0)
        if not fresh:
            self.wait(BETWEEN)

    def do(self, *event):
        return core.step(self.plan, self.state, event + (0,) * (5 - len(event)))

    def ask(self, channel, verb, level=0):
        self.do(COMMAND, channel, verb, level)

    def on(self):
        return [channel for channel in range(4) if core.relays(self.plan, self.state) & (0b111000 if channel == FAN else 1 << channel)]

    def cause(self, channel):
        return self.state[self.plan.channel_at[channel] + core.CAUSE] - RULED


def test_what_is_asked_for_while_another_is_on_stays_off_and_whoever_asked_is_told():
    here = Kitchen()
    here.ask(HEATER, ON)
    core.next_news(here.plan, here.state)
    here.ask(OVEN, ON)
    assert here.on() == [HEATER] and here.cause(OVEN) == 0 and core.next_news(here.plan, here.state) == OVEN
    here.ask(LAMP, ON)
    assert here.on() == [HEATER, LAMP]
    here.wait(60_000)
    here.ask(HEATER, OFF)
    here.wait(60_000)
    assert here.on() == [LAMP]           # what was refused is not asked for again


def test_what_is_asked_for_after_another_waits_for_the_time_between_and_not_for_its_own():
    here = Kitchen()
    here.ask(HEATER, ON)
    here.wait(60_000)
    here.do(CONTACT, 1, 1)
    here.wait(SETTLE)                                # one press: the heater off, the oven on
    assert here.on() == []
    here.wait(BETWEEN - 1)
    assert here.on() == []
    here.wait(1)
    assert here.on() == [OVEN]
    here.ask(OVEN, OFF)
    here.wait(1)
    here.ask(OVEN, ON)
    assert here.on() == [OVEN]           # it waits for others, not for itself


def test_two_asked_for_in_one_step_do_not_come_on_together():
    for first, second in product((HEATER, OVEN), repeat=2):
        here = Kitchen()
        here.ask(first, ON)
        here.ask(second, ON)
        assert here.on() == [first]


def test_after_a_power_cut_the_time_between_has_to_pass_first():
    here = Kitchen(fresh=True)
    here.ask(OVEN, ON)
    here.wait(BETWEEN - 1)
    assert here.on() == []
    here.wait(1)
    assert here.on() == [OVEN]


def test_off_is_never_held_back_and_one_that_waits_can_be_given_up():
    here = Kitchen()
    here.ask(HEATER, ON)
    here.ask(HEATER, OFF)
    here.ask(OVEN, ON)
    here.wait(100)
    here.ask(OVEN, OFF)
    here.ask(HEATER, ON)
    assert here.on() == [HEATER]
    here.wait(60_000)
    assert here.on() == [HEATER]


@pytest.mark.parametrize("level", [1, 4])
def test_a_fan_is_kept_apart_at_any_step_and_changes_its_step_without_a_wait(level):
    here = Kitchen(((HEATER, FAN), BETWEEN))
    here.ask(FAN, SET, level)
    here.ask(HEATER, ON)
    assert here.on() == [FAN]
    here.ask(FAN, SET, 5 - level)
    here.wait(60 + 1500 + 60)
    assert here.on() == [FAN] and here.state[here.plan.channel_at[FAN] + core.APPLIED] == 5 - level


def test_of_three_one_is_on_and_of_several_sets_the_longest_time_counts():
    here = Kitchen(((HEATER, OVEN, LAMP), 1000), ((LAMP, FAN), 3000))
    for channel in (OVEN, HEATER, LAMP):
        here.ask(channel, ON)
    assert here.on() == [OVEN]
    here.ask(OVEN, OFF)
    here.ask(LAMP, ON)
    here.wait(1000)
    assert here.on() == [LAMP]
    here.ask(FAN, ON)
    assert here.on() == [LAMP] and here.cause(FAN) == 1
    here.ask(LAMP, OFF)
    here.ask(HEATER, ON)
    here.wait(2999)
    assert here.on() == []               # the lamp rests by the longer of its two times, whoever comes after it
    here.wait(1)
    assert here.on() == [HEATER]


def test_what_is_shown_of_one_refused_is_news_again():
    here = Kitchen()
    here.ask(HEATER, ON)
    while core.next_news(here.plan, here.state) >= 0:
        pass
    here.ask(OVEN, ON)
    assert here.state[here.plan.channel_at[OVEN] + SHOWN] == -1
