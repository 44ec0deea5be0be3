"""Rules at work, worked by hand: when a limit and a stay end, who makes them longer, who may put something on."""

from pattress.controller import core
from pattress.controller.core import OFF, ON, REFUSED, SET, TOGGLE

from ...proof.plans import rule
from .home import BED, DEAD, FAN, FRIDGE, FRIDGE_TURN, LAMP, TABLE, Home

LIMIT, STAY = 1_800_000, 180_000


def home(*rules, **given):
    return Home(table=TABLE | {"rules": list(rules)}, **given)


def test_a_limit_ends_its_time_after_it_came_on_and_asking_again_does_not_lengthen_it():
    here = home(rule(LAMP, limit=LIMIT))
    here.ask(LAMP, ON)
    for _ in range(9):
        here.wait(LIMIT // 10)
        here.ask(LAMP, ON)
    here.wait(LIMIT // 10 - 1)
    assert here.level(LAMP) == 1
    here.wait(1)
    assert (here.level(LAMP), here.wanted(LAMP), here.cause(LAMP)) == (0, 0, "rule limit")


def test_off_and_on_again_begins_a_limit_anew():
    here = home(rule(LAMP, limit=LIMIT))
    here.press(BED)
    here.wait(LIMIT - 100)
    here.press(BED)
    here.press(BED)
    here.wait(LIMIT - 100)
    assert here.level(LAMP) == 1
    here.wait(100)
    assert here.level(LAMP) == 0


def test_a_change_of_step_does_not_begin_a_limit_anew():
    here = home(rule(FAN, limit=LIMIT))
    here.ask(FAN, SET, 3)
    here.wait(LIMIT - DEAD // 2)
    here.ask(FAN, SET, 4)           # in the pause between two steps the limit is over: the next one never closes
    assert here.fan() == 0 and here.wanted(FAN) == 4
    here.wait(DEAD)
    assert here.fan() == 0 and here.wanted(FAN) == 0


def test_a_stay_is_made_longer_by_asking_only_where_the_rule_says_so():
    plain, anew = home(rule(LAMP, stay=STAY)), home(rule(LAMP, stay=STAY, renews=1))
    for here in (plain, anew):
        here.ask(LAMP, ON)
        here.wait(STAY - 1)
        here.ask(LAMP, ON)
        here.wait(1)
    assert (plain.level(LAMP), anew.level(LAMP)) == (0, 1)
    anew.wait(STAY - 1)
    assert anew.level(LAMP) == 0


def test_a_hand_that_switches_off_in_the_moment_a_limit_ends_is_the_cause():
    here = home(rule(LAMP, limit=LIMIT))
    here.ask(LAMP, ON)
    here.wait(LIMIT - 20)
    here.throw(BED, 1)
    assert (here.level(LAMP), here.cause(LAMP)) == (0, "switch")


def test_the_network_switches_off_what_is_put_on_at_the_wall_and_never_on():
    here = home(rule(LAMP, wall_only=1))
    for verb, level in ((ON, 0), (TOGGLE, 0), (SET, 1)):
        assert here.ask(LAMP, verb, level) == REFUSED and here.level(LAMP) == 0
    here.press(BED)
    assert here.level(LAMP) == 1 and here.ask(LAMP, TOGGLE) == REFUSED
    here.ask(LAMP, OFF)
    assert here.level(LAMP) == 0


def test_what_comes_on_with_the_power_is_limited_from_when_it_closes():
    here = home(rule(FRIDGE, limit=LIMIT), fresh=True)
    here.wait(FRIDGE_TURN + LIMIT - 1)
    assert here.level(FRIDGE) == 1
    here.wait(1)
    assert here.level(FRIDGE) == 0


def test_power_cut_forgets_the_times():
    here = home(rule(LAMP, limit=LIMIT))
    here.ask(LAMP, ON)
    here.wait(LIMIT - 1)
    here.power_up(bytes((1, 1, 0, 4, 0, 1)))
    here.wait(LIMIT - 1)
    assert here.level(LAMP) == 1
    here.wait(1)
    assert here.level(LAMP) == 0


def test_a_plan_without_rules_has_no_cell_for_them():
    plain, timed, walled = (core.Plan(TABLE | more) for more in ({}, {"rules": [rule(LAMP, limit=LIMIT)]}, {"rules": [rule(LAMP, wall_only=1)]}))
    assert (timed.cells - plain.cells, walled.cells - plain.cells) == (3, 0) and plain.rules is None


def test_a_fan_that_starts_low_comes_on_at_that_step_and_goes_higher_when_asked_again():
    here = home(dict(rule(FAN), start_most=1))
    here.ask(FAN, SET, 4)
    assert here.wanted(FAN) == 1
    here.ask(FAN, SET, 4)
    assert here.wanted(FAN) == 4
    here.ask(FAN, OFF)
    here.ask(FAN, ON)
    assert here.wanted(FAN) == 1                # the last step above it is no way around
    here.turn(3)
    assert here.wanted(FAN) == 3
    fresh = Home(table=TABLE | {"rules": [dict(rule(FAN), start_most=2)]}, snapshot=bytes((0, 1, 4, 4, 0, 1)), fresh=True)
    assert fresh.wanted(FAN) == 2


def test_a_fan_that_has_a_highest_step_is_asked_for_no_more():
    table = TABLE | {"channels": [dict(row, top=2, on_level=2) if row["name"] == "fan" else row for row in TABLE["channels"]]}
    here = Home(table=table)
    assert here.ask(FAN, SET, 3) & REFUSED
    here.ask(FAN, SET, 2)
    here.key(1)
    assert here.wanted(FAN) == 2


def test_a_warning_is_dark_for_a_moment_and_off_comes_so_much_later():
    here = home(dict(rule(LAMP, stay=STAY, renews=1), warn_ms=30_000))
    here.ask(LAMP, ON)
    here.wait(STAY - 30_000 - 1)
    assert here.level(LAMP) == 1
    here.wait(1)
    assert (here.level(LAMP), here.wanted(LAMP)) == (0, 1)
    here.wait(399)
    assert here.level(LAMP) == 0
    here.wait(1)
    assert here.level(LAMP) == 1
    here.wait(30_000 - 400 - 1)
    assert here.level(LAMP) == 1
    here.wait(1)
    assert (here.level(LAMP), here.cause(LAMP)) == (0, "rule stay")


def test_who_asks_in_the_dark_of_a_warning_has_the_whole_time_again():
    here = home(dict(rule(LAMP, stay=STAY, renews=1), warn_ms=30_000))
    here.ask(LAMP, ON)
    here.wait(STAY - 30_000 + 100)
    here.ask(LAMP, ON)
    here.wait(300)
    assert here.level(LAMP) == 1
    here.wait(STAY - 30_000 - 1)
    assert here.level(LAMP) == 1
    here.wait(1)
    assert here.level(LAMP) == 0
    here.press(BED)                              # and a hand that has enough switches off
    here.wait(1000)
    assert (here.level(LAMP), here.wanted(LAMP)) == (0, 0)
