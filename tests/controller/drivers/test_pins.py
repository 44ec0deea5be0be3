"""Pins: driven open before anything else, whatever opens goes first, contacts read as they stand."""

import pytest

from pattress.controller.drivers.pins import MINIMAL, PATTERNS, RUNNING, STARTING, Inputs, Lamp, Outputs, PowerWarning, Watchdog

from .simulated import Board, Clock


@pytest.fixture()
def board():
    return Board(Clock())


@pytest.mark.parametrize("level", [1, 0])
def test_every_relay_is_driven_open_by_the_constructor(board, level):
    Outputs(board.Pin, [4, 2, 9], level)
    assert board.driven == [(0, 4, 1 - level), (0, 2, 1 - level), (0, 9, 1 - level)]
    assert board.direction == {4: "out", 2: "out", 9: "out"}


@pytest.mark.parametrize("level", [1, 0])
def test_what_opens_goes_before_what_closes(board, level):
    outputs = Outputs(board.Pin, [4, 2, 9], level)
    outputs.drive(0b100)
    del board.driven[:]
    outputs.drive(0b011)
    assert board.driven == [(0, 9, 1 - level), (0, 4, level), (0, 2, level)]
    assert list(outputs.operations) == [1, 1, 1] and outputs.closed == 0b011


def test_a_failing_supply_is_believed_at_the_second_look_and_a_board_without_the_wire_is_never_warned(board):
    warning = PowerWarning(board.Pin, 5)
    assert not warning.is_given()
    board.put(5, 0)
    assert [warning.is_given(), warning.is_given()] == [False, True]
    board.put(5, 1)
    assert not warning.is_given()
    board.put(5, 0)
    assert not warning.is_given()           # a disturbance of one look
    board.put(5, 1)
    assert not warning.is_given() and not PowerWarning(board.Pin, None).is_given()


def test_a_relay_that_stays_is_not_driven_again_and_release_opens_all(board):
    outputs = Outputs(board.Pin, [4, 2], 1)
    outputs.drive(0b01)
    outputs.drive(0b11)
    assert list(outputs.operations) == [1, 1]
    outputs.release()
    assert board.level == {4: 0, 2: 0} and outputs.closed == 0


def test_contacts_are_low_when_closed_and_learnt_as_they_stand(board):
    board.level = {10: 0, 21: 0, 30: 0}
    inputs = Inputs(board.Pin, [10, 11], [[20, 21, 22], [30]])
    assert inputs.learn() == ([1, 0], [0b010, 0b1])
    assert list(inputs.owner) == [0, 1, 0, 0, 0, 1] and list(inputs.number) == [0, 0, 0, 1, 2, 0]
    assert inputs.is_still()
    board.put(11, 0)
    assert not inputs.is_still() and inputs.closed(1) == 1


def test_feedback_comes_last_and_is_not_learnt(board):
    """A line that is live at power-up counts as dead until the first look tells otherwise."""
    board.level = {10: 1, 30: 0, 41: 0}
    inputs = Inputs(board.Pin, [10], [[30]], [(3, 41), (5, 42)])
    assert inputs.learn() == ([0], [0b1])
    assert (inputs.switches, inputs.contacts, inputs.count) == (1, 2, 4)
    assert list(inputs.owner)[2:] == [3, 5] and list(inputs.seen) == [0, 1, 0, 0] and inputs.closed(2) == 1


def lit(lamp, board, tenths):
    """Return what the lamp shows in each tenth of a second."""
    shown = []
    for _ in range(tenths):
        shown.append(board.level[5])
        lamp.advance(100)
    return shown


def test_the_lamp_shows_its_pattern_again_and_again(board):
    lamp = Lamp(board.Pin, 5)
    assert lit(lamp, board, 12) == [1] * 12 and lamp.pattern == STARTING
    lamp.show(MINIMAL)
    assert lit(lamp, board, 20) == ([1] * 5 + [0] * 5) * 2
    lamp.show(RUNNING)
    assert lit(lamp, board, 60) == ([1] + [0] * 29) * 2


def test_no_two_patterns_look_alike_and_each_lasts_three_seconds_at_most():
    looks = [tuple(pattern) for pattern in PATTERNS]
    assert len(set(looks)) == len(looks) and all(sum(look) <= 30 and len(look) % 2 == 0 for look in looks)


def test_a_board_without_lamp_needs_none(board):
    lamp = Lamp(board.Pin, None)
    lamp.show(RUNNING)
    lamp.advance(10_000)
    assert board.driven == []


def test_the_watchdog_is_fed_only_when_the_loop_has_turned():
    class Timer:
        fed = 0

        def feed(self):
            self.fed += 1

    timer = Timer()
    watchdog = Watchdog(timer)
    for turns in (1, 2, 2, 2, 3):
        watchdog.feed(turns)
    assert timer.fed == 3
    Watchdog(None).feed(1)
