"""From a wish to the relays: dead time, start kick, minimum off time, power cuts, news and snapshots."""

import pytest

from pattress.controller.core import (
    CONTACT,
    NEWS,
    OFF,
    ON,
    ROTOR,
    SET,
    TIME,
    TOGGLE,
    due_in,
    next_news,
    size,
    write,
)

from .home import (
    BED,
    COLD,
    DEAD,
    DOOR,
    FAN,
    FAN_TURN,
    FRIDGE,
    FRIDGE_TURN,
    FULL,
    HIGH,
    KICK,
    LAMP,
    LIT,
    LOW,
    MEDIUM,
    MINIMUM_OFF,
    OPEN,
    SETTLE,
    TABLE,
    Home,
)


def snapshot_of(home):
    snapshot = bytearray(size(home.plan))
    write(home.plan, home.state, snapshot)
    return snapshot


def test_fan_at_rest_gets_its_kick_and_then_after_the_dead_time_its_step():
    home = Home()
    home.ask(FAN, SET, 1)
    assert home.fan() == FULL
    home.wait(KICK - 1)
    assert home.fan() == FULL
    home.wait(1)
    assert home.fan() == OPEN
    home.wait(DEAD - 1)
    assert home.fan() == OPEN
    home.wait(1)
    assert home.fan() == LOW


def test_high_steps_need_no_kick_and_a_running_fan_gets_none():
    home = Home()
    home.ask(FAN, SET, 3)
    assert home.fan() == HIGH
    home.ask(FAN, SET, 1)
    assert home.fan() == OPEN
    home.wait(DEAD)
    assert home.fan() == LOW


def test_every_change_of_step_opens_all_relays_for_the_dead_time():
    home = Home()
    home.run_fan(4)
    for step, relays in ((3, HIGH), (2, MEDIUM), (1, LOW), (4, FULL)):
        home.ask(FAN, SET, step)
        assert home.fan() == OPEN
        home.wait(DEAD - 1)
        assert home.fan() == OPEN
        home.wait(1)
        assert home.fan() == relays


def test_step_changed_during_the_kick_waits_for_its_end_but_off_does_not():
    home = Home()
    home.ask(FAN, SET, 1)
    home.wait(100)
    home.ask(FAN, SET, 2)
    assert home.fan() == FULL
    home.wait(KICK - 100 + DEAD)
    assert home.fan() == MEDIUM
    home.ask(FAN, OFF)
    home.wait(DEAD)
    home.ask(FAN, SET, 1)
    home.wait(100)
    home.ask(FAN, OFF)
    assert home.fan() == OPEN


def test_many_wishes_within_the_dead_time_close_only_the_last():
    home = Home()
    home.ask(FAN, SET, 4)
    home.ask(FAN, SET, 3)
    for step in (1, 2, 4, 2, 3, 2):
        home.wait(5)
        home.ask(FAN, SET, step)
        assert home.fan() == OPEN
    home.wait(DEAD - 30)
    assert home.fan() == MEDIUM


def test_regulator_that_settles_just_as_another_step_would_close_from_rest_gets_the_kick():
    home = Home()
    home.ask(FAN, SET, 4)
    home.ask(FAN, OFF)
    home.ask(FAN, SET, 4)                   # wanted, waits for the dead time
    home.do(ROTOR, 0, 0, 0)
    home.do(ROTOR, 0, 1, 1)
    home.do(TIME, 200)                      # a late wake-up: dead time and settling end in one step
    assert home.wanted(FAN) == 1
    assert home.fan() == FULL
    home.wait(KICK + DEAD)
    assert home.fan() == LOW


def test_compressor_stays_off_for_its_minimum_off_time_and_then_follows_the_wish():
    home = Home()
    assert home.relays & COLD
    home.ask(FRIDGE, OFF)
    home.ask(FRIDGE, ON)
    home.wait(MINIMUM_OFF - 1)
    assert not home.relays & COLD
    home.wait(1)
    assert home.relays & COLD


def test_compressor_that_is_no_longer_wanted_stays_off():
    home = Home()
    for verb in (OFF, ON, OFF):
        home.ask(FRIDGE, verb)
    home.wait(2 * MINIMUM_OFF)
    assert not home.relays & COLD


@pytest.mark.parametrize("late", [1, 7, 1000, 10_000_000])
def test_one_long_wait_ends_where_many_short_ones_do(late):
    slow, fine = Home(), Home()
    for home in (slow, fine):
        home.ask(FRIDGE, OFF)
        home.ask(FAN, SET, 1)
    slow.do(TIME, KICK + late)
    fine.wait(KICK)
    fine.wait(late)
    assert slow.wanted(FAN) == fine.wanted(FAN) and not slow.fan() & ~LOW
    slow.wait(DEAD + MINIMUM_OFF)
    fine.wait(DEAD + MINIMUM_OFF)
    assert slow.relays == fine.relays == LOW


def test_nothing_is_closed_at_power_up_and_each_comes_at_its_turn():
    home = Home(snapshot=bytearray((1, 1, 3, 3, 0, 1)), fresh=True)
    assert home.relays == LIT               # no dead time, no turn: at the first step
    home.wait(FAN_TURN - 1)
    assert home.relays == LIT
    home.wait(1)
    assert home.relays == LIT | HIGH
    home.wait(FRIDGE_TURN - FAN_TURN - 1)
    assert home.relays == LIT | HIGH
    home.wait(1)
    assert home.relays == LIT | HIGH | COLD


def test_who_asks_does_not_wait_for_the_turn_but_for_the_dead_time():
    home = Home(snapshot=bytearray((0, 1, 3, 3, 0, 1)), fresh=True)
    home.ask(FAN, TOGGLE)                   # dark to a person, so a toggle means on
    assert home.relays == 0
    home.wait(DEAD)
    assert home.fan() == HIGH


@pytest.mark.parametrize(
    "snapshot, lamp, fan",
    [
        (None, 0, 0), (b"", 0, 0), (bytes(5), 0, 0), (bytes(7), 0, 0), (bytes(6), 0, 0),
        ((1, 1, 2, 2, 0, 1), 1, 2), ((2, 1, 5, 2, 0, 1), 0, 0), ((1, 9, 2, 0, 0, 1), 1, 2), ((255,) * 6, 0, 0),
    ],
)
def test_lost_or_strange_snapshot_means_the_default_of_the_policy(snapshot, lamp, fan):
    home = Home(snapshot=None if snapshot is None else bytearray(snapshot), fresh=True)
    assert (home.wanted(LAMP), home.wanted(FAN), home.wanted(FRIDGE)) == (lamp, fan, 1)


def test_power_cut_at_any_moment_brings_back_what_was_saved():
    home = Home()
    home.run_fan(2)
    home.throw(DOOR, 1)
    home.wait(5000)
    saved = home.saves[-1]
    home.ask(FAN, OFF)
    home.power_up(bytearray(saved))         # before the change was saved
    assert (home.wanted(LAMP), home.wanted(FAN)) == (1, 2)


def test_many_changes_cost_one_snapshot_and_the_last_word_is_in_it():
    home = Home()
    home.saves.clear()
    for step in (1, 2, 3, 4, 3):
        home.ask(FAN, SET, step)
        home.wait(900)
    home.wait(5000)
    assert len(home.saves) == 1
    assert home.saves[0] == snapshot_of(home)
    home.wait(100_000)
    assert len(home.saves) == 1


def test_asking_for_what_is_already_so_saves_nothing():
    home = Home()
    home.saves.clear()
    home.ask(LAMP, OFF)
    home.wait(100_000)
    assert home.saves == []


def test_news_tells_levels_and_neither_kick_nor_pause():
    home = Home()
    assert home.news() == [(LAMP, 0), (FAN, 0), (FRIDGE, 1)]
    home.ask(FAN, SET, 1)
    told = []
    for _ in range(KICK + DEAD):
        told += home.news()
        home.wait(1)
    assert told == [] and home.news() == [(FAN, 1)]
    assert next_news(home.plan, home.state) == -1


def test_off_is_told_at_once_although_the_dead_time_runs():
    home = Home()
    home.run_fan(4)
    home.news()
    assert home.ask(FAN, OFF) & NEWS
    assert home.news() == [(FAN, 0)]


def test_without_network_news_is_the_last_state_only():
    home = Home()
    home.news()
    for closed in (1, 0, 1):
        home.throw(DOOR, closed)
    assert home.news() == [(LAMP, 1)]


def test_quiet_home_needs_no_wake_up():
    home = Home()
    home.press(BED)
    home.wait(5000)
    assert due_in(home.plan, home.state) == -1


def test_wake_up_is_told_to_the_millisecond():
    home = Home()
    home.do(CONTACT, DOOR, 1)
    assert due_in(home.plan, home.state) == SETTLE
    home.wait(SETTLE)
    assert due_in(home.plan, home.state) == TABLE["save_ms"]
