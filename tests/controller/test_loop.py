"""The loop: a contact reaches its relay in time, whatever else the board has to do."""

from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pattress.controller.core import NEW_PRESS, OFF, ON, SET
from pattress.controller.core.cells import BY_NETWORK, BY_SWITCH, STUCK_CLOSED
from pattress.controller.drivers.pins import Watchdog
from pattress.controller.loop import CODES, CODES_FAULT, FLASH_MS, LATE_MS, LOOK_MS, OVERDUE_MS, QUIET_MS
from pattress.controller.request_queue import FAULT, FREED, HEAP_LOW, MOVED, SAVES, STUCK, TURNS, WORST_US

from .core.home import BED, DEAD, DOOR, FAN, FAN_TURN, FRIDGE, HALL, KICK, LAMP, LIGHT, SETTLE
from .core.home import TABLE as HOME
from .drivers import parts
from .drivers.rig import Rig
from .drivers.simulated import PERIOD, Board, Clock, Memory
from .drivers.test_store import PowerCut, TearingFlash

FRIDGE_TURN = 2500      # the home of the core's tests, but for a fridge that need not rest so long
TABLE = HOME | {"channels": [*HOME["channels"][:FRIDGE], HOME["channels"][FRIDGE] | dict(minimum_off_ms=300, restore_delay_ms=FRIDGE_TURN)]}
LAMP_RELAY, FRIDGE_RELAY = 3, 4
FIRST_FEEDBACK = 40     # pin, after three switches and five contacts of the regulator
WAKE_US = 2000          # what the tests let a task be late
NEAR_WRAP = [0, PERIOD - 1, PERIOD - 10, PERIOD - 150, PERIOD // 2 - 5, PERIOD - FRIDGE_TURN - 30]


def rig(**given):
    clock = Clock(ms=given.pop("ms", 0))
    table, live = given.pop("table", TABLE), given.pop("live", ())
    contacts = [35, *(FIRST_FEEDBACK + place for place, channel in enumerate(sorted(live)))]       # the regulator stands at its off contact
    return Rig(parts, Board(clock), table, contacts=contacts, **given)


def settled(**given):
    found = rig(**given)
    found.run(FRIDGE_TURN + 50)
    return found


def answer_time(found, act, relay=LAMP_RELAY, late=0):
    """Return the time from an act to the move of a relay [us], None if none comes in a tenth of a second."""
    start = found.clock.now
    act()
    found.run(100, late)
    moves = [at for at, number, _ in found.moves_since(start) if number == relay]
    return moves[0] if moves else None


# In time.

@given(st.integers(0, 9999), st.integers(0, WAKE_US), st.sampled_from(NEAR_WRAP))
@settings(max_examples=150)
def test_a_switch_reaches_its_relay_within_the_settling_time_and_five_milliseconds(phase, late, ms):
    found = rig(ms=ms)
    found.run(30)
    found.clock.wait(phase)
    time = answer_time(found, lambda: found.switch(DOOR, 1), late=late)
    assert SETTLE * 1000 <= time + 1000 and time <= SETTLE * 1000 + 5000 + late       # the clock counts whole ms


def test_a_loop_that_looked_too_seldom_would_be_noticed():
    found = rig()
    found.run(30)
    assert answer_time(found, lambda: found.switch(DOOR, 1), late=15_000) > SETTLE * 1000 + 5000


@pytest.mark.parametrize("ms", NEAR_WRAP)
def test_power_up_dead_time_and_kick_keep_their_length_over_the_wrap(ms):
    found = rig(ms=ms, snapshot=bytes((1, 1, 2, 2, 0, 1)))
    found.run(FRIDGE_TURN + 100)
    moves = [(round(at / 1000), number, closed) for at, number, closed in found.moves_since(1000 * ms + 1)]
    kicked = FAN_TURN + KICK
    assert [(number, closed) for _, number, closed in moves] == [(2, True), (2, False), (1, True), (4, True)]
    for (at, _, _), expected in zip(moves, (FAN_TURN, kicked, kicked + DEAD, FRIDGE_TURN), strict=True):
        assert expected <= at <= expected + 6
    assert found.board.driven[-1][0] > 1000 * ms and found.relays() == 0b11010


def test_a_bouncing_contact_moves_the_relay_once():
    found = settled()
    random, start = Random("bounce"), found.clock.now
    for _ in range(12):
        found.switch(DOOR, random.randrange(2))
        found.clock.wait(random.randrange(100, 900))
        found.loop.turn()
    found.switch(DOOR, 1)
    found.run(200)
    assert len(found.moves_since(start)) == 1


def test_what_the_regulator_passes_on_its_way_is_not_believed():
    found = settled()
    start, contacts = found.clock.now, found.wiring.regulators[0]
    for place in range(4):                  # turned quickly from off to the last position
        found.put(contacts[place], 0)
        found.run(15)
        found.put(contacts[place + 1], 1)
        found.run(40)
    found.run(5000)
    assert {number for _, number, closed in found.moves_since(start) if closed} == {2}


def test_weeks_without_an_event_leave_the_loop_as_it_was():
    found = settled()
    for _ in range(20 * 24 * 60):           # the counter wraps after twelve days
        found.clock.wait(60_000_000)
        found.loop.turn()
    assert 20 * 86_400 <= found.queue.seconds <= 20 * 86_400 + 300
    time = answer_time(found, lambda: found.switch(DOOR, 1))
    assert SETTLE * 1000 <= time <= SETTLE * 1000 + 5000


def test_a_flood_of_requests_does_not_delay_a_switch():
    quiet, busy = settled(), settled()

    def flood():
        for number in range(40):
            busy.queue.request(FAN, SET, number % 5)
        busy.switch(DOOR, 1)

    calm = answer_time(quiet, lambda: quiet.switch(DOOR, 1))
    assert abs(answer_time(busy, flood) - calm) <= 1000 * LOOK_MS
    assert busy.queue.request(LAMP, OFF)     # and the room comes free again


def test_what_holds_the_processor_does_not_hold_a_switch_where_a_timer_interrupt_stands_by():
    found = settled()
    start = found.clock.now
    found.switch(DOOR, 1)
    for _ in range(150):                    # 300 ms in which no task runs, only the timer
        found.clock.wait(2000)
        found.loop.stand_by()
    moves = found.moves_since(start)
    assert [(number, closed) for _, number, closed in moves] == [(LAMP_RELAY, True)]
    assert moves[0][0] <= 1000 * (SETTLE + LATE_MS + 2 * 2)
    assert found.loop.taken_over > 20
    taken = found.loop.taken_over
    for _ in range(50):                     # while tasks run it takes no turn
        found.run(2)
        found.loop.stand_by()
    assert found.loop.taken_over == taken


def test_the_stand_by_does_not_step_into_a_turn_under_way():
    found = settled()
    drive, seen = found.outputs.drive, []

    def interrupted(closed):
        found.clock.wait(50_000)
        found.loop.stand_by()
        seen.append(closed)
        drive(closed)

    found.outputs.drive = interrupted
    found.switch(DOOR, 1)
    found.run(100)
    assert seen == [0b11000] and found.loop.taken_over == 0


# What it tells.

def test_news_go_to_the_queue_with_their_cause_and_relays_are_counted():
    found = settled()
    found.switch(DOOR, 1)
    found.run(100)
    assert (found.queue.level[LAMP], found.queue.cause[LAMP]) == (1, BY_SWITCH)
    found.queue.request(LAMP, OFF)
    found.run(100)
    assert (found.queue.level[LAMP], found.queue.cause[LAMP]) == (0, BY_NETWORK)
    found.queue.request(LAMP, ON)
    found.run(100)
    assert found.outputs.operations[LAMP_RELAY] == 2
    assert [event[1:] for event in found.queue.events()[:3]] == [(1, LAMP, 1, BY_NETWORK), (1, LAMP, 0, BY_NETWORK), (1, LAMP, 1, BY_SWITCH)]


def test_a_contact_that_sticks_is_told_after_its_settling_time_and_works_again():
    found = settled(table=TABLE | {"feedback": [dict(channel=LAMP, settle_ms=500)]})
    found.switch(DOOR, 1)
    found.run(60)
    found.sense(LAMP, 1)
    found.run(1000)
    found.queue.request(LAMP, OFF)
    found.run(490)
    assert found.queue.cause[LAMP] == BY_NETWORK and not found.relays() >> LAMP_RELAY & 1        # it opened at once, as far as it can
    found.run(20)
    assert (found.queue.level[LAMP], found.queue.cause[LAMP]) == (0, STUCK_CLOSED)
    moved = found.queue.operations[LAMP]
    found.sense(LAMP, 0)
    found.run(10)
    assert (found.queue.level[LAMP], found.queue.cause[LAMP], found.queue.operations[LAMP]) == (0, BY_NETWORK, moved)
    assert [event[1:4] for event in found.queue.events()[:3]] == [(FREED, LAMP, 0), (STUCK, LAMP, 0), (MOVED, LAMP, 0)]


def test_a_line_that_is_live_at_power_up_is_told_and_bars_the_fan_alone():
    found = rig(table=TABLE | {"feedback": [dict(channel=FAN, settle_ms=300), dict(channel=LAMP, settle_ms=300)]}, live=(FAN, LAMP))
    found.run(400)
    assert list(found.queue.cause[:2]) == [STUCK_CLOSED, STUCK_CLOSED]
    found.queue.request(FAN, ON)
    found.queue.request(LAMP, ON)
    found.run(KICK + DEAD)
    assert found.relays() == 1 << LAMP_RELAY
    found.sense(FAN, 0)
    found.run(50)
    assert found.relays() & 0b111


def test_infra_red_codes_wait_for_a_turn_and_are_refused_when_too_many():
    found = settled()
    button = TABLE["buttons"][LIGHT]
    row = (button["protocol"], button["address"], button["command"], NEW_PRESS)
    assert [found.loop.hear(*row) for _ in range(CODES)] == [True] * (CODES - 1) + [False]
    assert found.queue.events()[0][1:3] == (FAULT, CODES_FAULT)
    found.run(4 * CODES)
    assert found.outputs.operations[LAMP_RELAY] == CODES // 2 and found.loop.hear(*row)


def test_turns_their_length_and_the_longest_gap_are_recorded():
    found = settled()
    turns = found.queue.counts[TURNS]
    found.run(300)
    assert 300 / (LOOK_MS + 0.5) <= found.queue.counts[TURNS] - turns <= 303 / LOOK_MS
    assert found.loop.worst_gap <= LOOK_MS + 1
    found.clock.wait(70_000)
    found.loop.turn()
    assert 70 <= found.loop.worst_gap <= 74
    advance = found.queue.advance
    found.queue.advance = lambda elapsed: (found.clock.wait(1234), advance(elapsed))
    found.loop.turn()
    assert found.queue.counts[WORST_US] == 1234


def test_an_error_in_a_turn_opens_every_relay_and_starves_the_watchdog():
    class Timer:
        fed = 0

        def feed(self):
            self.fed += 1

    found, timer = settled(), Timer()
    watchdog = Watchdog(timer)
    found.loop.turn()
    found.loop.tend(watchdog=watchdog)
    assert found.relays() and timer.fed == 1
    found.queue.advance = None
    for _ in range(5):
        found.loop.turn()
        found.loop.tend(watchdog=watchdog)
    assert found.relays() == 0 and found.outputs.closed == 0
    assert found.loop.has_failed and isinstance(found.loop.error, TypeError) and timer.fed == 1


# Saving.

def test_a_change_is_saved_when_due_and_restored():
    flash = Memory()
    found = settled(flash=flash)
    found.switch(DOOR, 1)
    found.run(TABLE["save_ms"] + 400)
    assert found.queue.counts[SAVES] == found.store.saves >= 1
    again = rig(flash=flash)
    again.run(10)
    assert again.relays() == 1 << LAMP_RELAY


def test_nothing_is_saved_between_an_edge_and_its_relay_nor_while_anything_stirs():
    clock = Clock()
    flash = Memory(clock, us=45_000)
    found = Rig(parts, Board(clock), TABLE, flash=flash, contacts=[35])
    random, edges = Random("saving"), []
    for _ in range(120):
        if random.random() < 0.7:
            edges.append(clock.now)
            found.switch(random.choice((DOOR, BED, HALL)), random.randrange(2))
        if random.random() < 0.2:
            found.queue.request(FAN, SET, random.randrange(5))
        found.run(random.choice((3, 25, 150, 900, 6000)))
    moves = [at for at, _, _ in found.moves_since(0)]
    assert len(flash.writes) > 8
    for write in flash.writes:
        assert not [at for at in edges if write - 1000 * (QUIET_MS - 5) < at <= write]
        assert not [at for at in moves if write - 1000 * (QUIET_MS - 5) < at <= write + 45_000]


def test_saving_waits_for_infra_red_silence_but_not_for_ever():
    flash = Memory(us=0)
    found = settled(flash=flash)
    found.is_silent, before = False, found.store.saves
    found.switch(DOOR, 1)
    found.run(TABLE["save_ms"] + OVERDUE_MS - 1000)
    assert found.store.saves == before
    found.run(2000)
    assert found.store.saves == before + 1


def test_a_failing_flash_is_told_once_for_each_change_and_stops_nothing():
    flash = Memory()
    found = settled(flash=flash)
    flash.write = lambda slot, record: None         # nothing is kept
    found.switch(DOOR, 1)
    found.run(TABLE["save_ms"] + 20_000)
    faults = [event for event in found.queue.events() if event[1] == FAULT]
    assert [event[2:4] for event in faults] == [(0, 1)] and found.relays() & 1 << LAMP_RELAY


def test_flash_time_is_kept_free_before_a_wait_ends():
    found = settled()
    found.queue.request(FAN, SET, 1)
    found.run(KICK - FLASH_MS - 20)
    assert found.loop.is_still(found.clock.ms())
    found.run(40)
    assert not found.loop.is_still(found.clock.ms())


def test_the_least_free_memory_is_kept_where_the_interpreter_tells_it(monkeypatch):
    import gc

    found, free = settled(), [90_000, 80_000, 85_000]
    monkeypatch.setattr(gc, "collect", lambda: None)
    monkeypatch.setattr(gc, "mem_free", lambda: free.pop(0), raising=False)
    found.run(35_000)
    assert found.queue.counts[HEAP_LOW] == 80_000


# The power fails.

def changed(flash):
    """Return a loop whose lamp was put on just now, with nothing saved of it yet."""
    found = settled(flash=flash)
    found.switch(DOOR, 1)
    found.run(30)
    assert found.relays() & 1 << LAMP_RELAY
    return found


def restored(slots):
    """Return whether the lamp is on after the power has come back to this flash."""
    return bool(settled(flash=TearingFlash(slots)).relays() & 1 << LAMP_RELAY)


def test_when_the_power_fails_the_relays_open_and_the_snapshot_is_written_at_once():
    flash = Memory()
    found = changed(flash)
    assert not restored(flash.slots)
    found.loop.flush()
    assert found.relays() == 0 and restored(flash.slots)


def test_a_flush_that_is_cut_anywhere_leaves_the_old_state_or_the_new():
    whole = TearingFlash()
    found = changed(whole)
    before = whole.operations
    found.loop.flush()
    outcomes = set()
    for boundary in range(before, whole.operations + 1):
        flash = TearingFlash()
        found = changed(flash)
        flash.cut_after = boundary
        try:
            found.loop.flush()
        except PowerCut:
            pass
        outcomes |= {restored(slots) for slots in flash.aftermaths()}
    assert outcomes == {True, False}
