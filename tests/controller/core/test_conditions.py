"""Conditions at work, worked by hand: when a rule puts something on and off, keeps it off, rests, and what a hand may do meanwhile."""

from pattress.controller import core
from pattress.controller.core import NEWS, OFF, ON
from pattress.controller.core.cells import CAUSE, INPUT_MOVED, READ
from pattress.controller.core.conditions import (
    BEFORE,
    BETWEEN,
    HOLDS,
    LOCKS,
    OF_CHANNEL,
    OF_INPUT,
    OF_READING,
    PAST,
    RELEASE,
    RESTS,
    UNKNOWN,
    WHEN,
)

from ...proof.plans import condition
from .home import BED, FAN, FAN_TURN, LAMP, TABLE, Home

MINUTE = 60_000
SETTLES, STALE = 50, 180_000


class Ruled(Home):
    """The home with inputs a and b and a reading; its rules are called r0, r1, ..."""

    def __init__(self, *rows, open_at_power_up=(1, 1), **given):
        self.levels = open_at_power_up
        super().__init__(table=TABLE | {
            "inputs": [{"settle_ms": SETTLES}] * 2, "readings": [{"stale_ms": STALE}], "rule_keys": [f"r{number}" for number in range(len(rows))],
            "conditions": [row | {"rule": number} for number, row in enumerate(rows)]}, **given)

    def power_up(self, snapshot=None, closed=(0, 0, 0), contacts=(1,)):
        super().power_up(snapshot, (*closed, *self.levels), contacts)

    def put(self, number, closed):
        self.do(INPUT_MOVED, number, closed)
        self.wait(SETTLES + 1)

    def read(self, place):
        self.do(READ, 0, place)
        self.wait(1)


def test_run_on_comes_after_its_start_delay_and_goes_on_for_its_time():
    here = Ruled(condition(HOLDS, OF_CHANNEL, LAMP, (FAN, ON, 0), begins=2 * MINUTE, ends=15 * MINUTE))
    here.press(BED)
    here.wait(2 * MINUTE - 40)
    assert here.fan() == 0
    here.wait(40)
    assert here.fan() and here.cause(FAN) == "rule r0"
    here.press(BED)
    here.wait(15 * MINUTE - 40)
    assert here.fan()
    here.wait(40)
    assert here.fan() == 0 and here.cause(FAN) == "rule r0"


def test_a_short_visit_starts_nothing():
    here = Ruled(condition(HOLDS, OF_CHANNEL, LAMP, (FAN, ON, 0), begins=2 * MINUTE))
    here.press(BED)
    here.wait(2 * MINUTE - 100)
    here.press(BED)
    here.wait(10 * MINUTE)
    assert here.fan() == 0 and here.wanted(FAN) == 0


def test_a_hand_has_its_way_until_the_rule_begins_or_ends_again():
    here = Ruled(condition(HOLDS, OF_INPUT, 0, (LAMP, ON, 0)), open_at_power_up=(0, 0))
    here.put(0, 1)
    assert here.level(LAMP) == 1
    here.press(BED)
    here.wait(MINUTE)
    assert here.level(LAMP) == 0
    here.put(0, 0)
    here.put(0, 1)
    assert here.level(LAMP) == 1


def test_of_two_rules_that_hold_the_last_to_end_puts_off():
    here = Ruled(*(condition(HOLDS, OF_INPUT, number, (LAMP, ON, 0)) for number in (0, 1)), open_at_power_up=(0, 0))
    here.put(0, 1)
    here.put(1, 1)
    here.put(0, 0)
    assert here.level(LAMP) == 1
    here.put(1, 0)
    assert (here.level(LAMP), here.cause(LAMP)) == (0, "rule r1")


def test_a_lock_switches_off_refuses_every_hand_and_says_so():
    here = Ruled(condition(LOCKS, OF_INPUT, 0, (LAMP, OFF, 0), sense=0, ends=20 * MINUTE))
    here.wait(20 * MINUTE)          # after power-up it counts as just ended
    here.press(BED)
    here.put(0, 0)
    assert (here.level(LAMP), here.cause(LAMP)) == (0, "rule r0")
    here.news()
    assert here.ask(LAMP, ON) & NEWS and here.news() == [(LAMP, 0)] and here.cause(LAMP) == "rule r0"
    here.press(BED)
    assert here.level(LAMP) == 0
    here.put(0, 1)
    here.wait(20 * MINUTE - 100)
    here.press(BED)
    assert here.level(LAMP) == 0
    here.wait(100)
    here.press(BED)
    assert here.level(LAMP) == 1


def test_what_a_lock_shut_begins_again_when_it_is_over_and_what_a_hand_put_off_does_not():
    rules = condition(HOLDS, OF_INPUT, 0, (LAMP, ON, 0)), condition(LOCKS, OF_INPUT, 1, (LAMP, OFF, 0))
    for by_hand in (False, True):
        here = Ruled(*rules, open_at_power_up=(1, 0))
        if by_hand:
            here.press(BED)
        here.put(1, 1)
        here.put(1, 0)
        assert here.level(LAMP) == (not by_hand)


def test_a_reading_begins_at_one_figure_ends_at_another_and_is_not_believed_for_long():
    here = Ruled(condition(HOLDS, OF_READING, 0, (LAMP, ON, 0)))
    levels = []
    for place in (BETWEEN, PAST, BETWEEN, BEFORE, BETWEEN, PAST, UNKNOWN, BETWEEN, PAST):
        here.read(place)
        here.wait(1)
        levels.append(here.level(LAMP))
    assert levels == [0, 1, 1, 0, 0, 1, 0, 0, 1]
    here.wait(STALE - 10)
    assert here.level(LAMP) == 1
    here.wait(20)
    assert here.level(LAMP) == 0


def test_of_a_sensor_that_is_silent_a_lock_assumes_the_worst():
    here = Ruled(condition(LOCKS, OF_READING, 0, (LAMP, OFF, 0)))
    here.press(BED)
    assert here.level(LAMP) == 0
    here.read(BEFORE)
    here.wait(1)
    here.press(BED)
    assert here.level(LAMP) == 1
    here.wait(STALE + 1)
    assert here.level(LAMP) == 0


def test_a_latch_stays_through_a_power_cut_until_it_is_released():
    rules = condition(LOCKS, OF_INPUT, 0, (LAMP, OFF, 0), begins=1000, released_by=1), condition(RELEASE, OF_INPUT, 1, begins=2000)
    here = Ruled(*rules, open_at_power_up=(0, 0))
    here.put(1, 1)                  # as after any start without a snapshot: latched until it is reset
    here.wait(2001)
    here.put(1, 0)
    here.press(BED)
    here.put(0, 1)
    here.wait(1000)
    here.put(0, 0)
    assert here.level(LAMP) == 0
    here.wait(5000)
    assert len(here.saves[-1]) == 7 and here.saves[-1][6] == 1
    here.power_up(here.saves[-1])
    here.wait(MINUTE)
    here.press(BED)
    assert here.level(LAMP) == 0
    here.put(1, 1)
    here.wait(2001)
    here.press(BED)
    assert here.level(LAMP) == 1


def test_a_moment_acts_once_and_leaves_the_rest_to_hands():
    here = Ruled(condition(WHEN, OF_INPUT, 0, (LAMP, OFF, 0), sense=0, begins=10 * MINUTE))
    here.press(BED)
    here.put(0, 0)
    here.wait(10 * MINUTE)
    assert here.level(LAMP) == 0
    here.press(BED)
    here.wait(20 * MINUTE)
    assert here.level(LAMP) == 1


def test_while_rules_rest_nothing_begins_and_afterwards_all_is_as_things_stand():
    here = Ruled(condition(HOLDS, OF_INPUT, 0, (LAMP, ON, 0)), condition(RESTS, OF_INPUT, 1, (LAMP, OFF, 0)), open_at_power_up=(0, 1))
    here.put(0, 1)
    assert here.level(LAMP) == 0
    here.press(BED)
    assert here.level(LAMP) == 1
    here.press(BED)
    here.put(1, 0)
    assert here.level(LAMP) == 1


def test_a_rule_waits_for_its_turn_after_a_power_cut_and_a_hand_does_not():
    for by_hand in (False, True):
        here = Ruled(condition(HOLDS, OF_INPUT, 0, (FAN, ON, 0)), fresh=True)
        here.wait(FAN_TURN - 10)
        assert here.wanted(FAN) and not here.fan()
        if by_hand:
            here.ask(FAN, ON)
            assert here.fan()
        else:
            here.wait(10)
            assert here.fan() and here.cause(FAN) == "rule r0"


def test_inputs_are_known_before_the_first_relay_may_close():
    here = Ruled(condition(LOCKS, OF_INPUT, 0, (LAMP, OFF, 0)), fresh=True)
    here.power_up(bytes((1, 1, 0, 4, 0, 1)))
    assert here.level(LAMP) == 0 and here.wanted(LAMP) == 0


def test_a_hand_and_a_rule_in_one_moment_leave_the_word_to_the_hand():
    here = Ruled(condition(WHEN, OF_INPUT, 0, (LAMP, OFF, 0), sense=0, begins=20 - 1))
    here.do(INPUT_MOVED, 0, 0)
    here.wait(SETTLES + 1)
    here.throw(BED, 1)
    assert here.level(LAMP) == 1 and core.CAUSES[here.state[here.plan.channel_at[LAMP] + CAUSE]] == "switch"
