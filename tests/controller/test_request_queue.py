"""The queue between loop and network: nothing is lost, nothing is forced, nobody waits."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pattress import interpreter
from pattress.controller import request_queue
from pattress.controller.core import COMMAND, OFF, ON, SET, TOGGLE
from pattress.controller.core.cells import BY_NETWORK, BY_SWITCH, CAUSES, STUCK_CLOSED, STUCK_OPEN
from pattress.controller.digest import CORE, canonical
from pattress.controller.network.records import counted, event_kinds, event_record

from .core.home import FAN, FRIDGE, LAMP, TABLE
from .network.board import Board

HOT = """
import json, sys
from micropython import heap_lock, heap_unlock
import core
from request_queue import RequestQueue

table = json.loads(sys.stdin.readline())
queue = RequestQueue(core, core.Plan(table), table, [("air", "Air", "C")])
event = [0] * 5

def live():
    for i in range(100):
        queue.advance(700)
        queue.take(event)
        queue.news(0, i & 1, 1)
        queue.reading(0, 200 + i, i % 3 != 0)
        queue.note(0, 1, 2, 3)
    LEAK

live()
for i in range(12):
    queue.request(i % 3, core.SET, 1)
heap_lock()
live()
heap_unlock()
print("nothing taken, {} requests left".format(sum(1 for _ in range(20) if queue.take(event))))
"""


def test_a_request_reaches_the_loop_and_comes_back_as_news():
    board = Board()
    assert board.queue.request(LAMP, ON)
    assert board.queue.level[LAMP] == 0          # asked is not done
    for _ in range(20):
        board.turn()
    assert board.taken == [(COMMAND, LAMP, ON, 0, 0)]
    assert board.queue.level[LAMP] == 1 and board.queue.cause[LAMP] == BY_NETWORK
    assert board.queue.operations[LAMP] == 2     # told at power-up, then moved


@pytest.mark.parametrize("channel, verb, level", [(-1, ON, 0), (3, ON, 0), (LAMP, SET, 2), (FAN, SET, 5), (FAN, SET, -1), (LAMP, 6, 0)])
def test_what_the_plan_does_not_know_is_refused(channel, verb, level):
    board = Board()
    assert not board.queue.request(channel, verb, level)
    assert board.queue.reason == request_queue.UNKNOWN
    board.turn()
    assert board.taken == [] and board.queue.counts[request_queue.REFUSED] == 1


def test_a_channel_is_not_moved_more_than_once_a_second_for_long():
    board = Board()
    taken = 0
    for _ in range(200):                        # ten seconds, twenty requests in each
        taken += board.queue.request(LAMP, TOGGLE)
        board.queue.advance(50)
        board.queue.take(board.event)
    assert taken == request_queue.BURST + 9
    assert board.queue.reason == request_queue.TOO_OFTEN
    assert board.queue.request(FAN, ON)          # another channel is not held up


@given(st.lists(st.tuples(st.integers(0, 9_000), st.integers(1, 8)), max_size=60))
def test_whatever_the_times_a_channel_takes_burst_at_once_and_one_a_second(asked):
    """Against a bucket of tokens that holds BURST and gets one each whole second, whatever was asked before."""
    board, tokens, filled, milliseconds = Board(), request_queue.BURST, 0, 0
    noted = board.queue.noted
    for pause, times in asked:
        milliseconds += pause
        board.queue.advance(pause)
        tokens, filled = min(request_queue.BURST, tokens + milliseconds // 1000 - filled), milliseconds // 1000
        for _ in range(times):
            board.queue.take(board.event)
            assert board.queue.request(LAMP, ON) == (tokens > 0)
            assert tokens or board.queue.reason == request_queue.TOO_OFTEN
            tokens = max(0, tokens - 1)
    assert board.queue.noted == noted           # an event for each would wash out the others


def test_what_is_refused_for_want_of_room_takes_nothing_from_a_channel():
    board = Board()
    for _ in range(20):
        for channel in (FAN, FRIDGE):
            board.queue.request(channel, ON)
        board.queue.advance(1000)
    assert not board.queue.request(LAMP, ON) and board.queue.reason == request_queue.BUSY
    while board.queue.take(board.event):
        pass
    assert [board.queue.request(LAMP, ON) for _ in range(request_queue.BURST + 1)] == [True] * request_queue.BURST + [False]


def allowed(an_hour, a_day):
    """Return the board with so many closings of its lamp."""
    channels = [row | ({"closings_an_hour": an_hour, "closings_a_day": a_day} if row["name"] == "lamp" else {}) for row in TABLE["channels"]]
    return Board(table=TABLE | {"channels": channels})


def closed_by_the_network(board, seconds, every=1):
    """Ask on and off in turn, and return how often the lamp closed."""
    closed = 0
    for second in range(0, seconds, every):
        board.queue.advance(1000 * every)
        before = board.queue.level[LAMP]
        board.queue.request(LAMP, OFF if before else ON)
        for _ in range(3):
            board.turn()
        closed += board.queue.level[LAMP] > before
    return closed


def test_the_network_closes_a_contact_as_often_as_its_plan_allows_and_that_is_told_once():
    """Allowed 6 an hour: 6 at once and one more every 600 s. Allowed 20 a day: 20 at once and one every 4320 s, 20 more in the rest of the day."""
    board = allowed(6, 1000)
    assert closed_by_the_network(board, 3600) in (6 + 5, 6 + 6)
    assert board.queue.reason == request_queue.WORN or board.queue.level[LAMP]
    board = allowed(1000, 20)
    assert closed_by_the_network(board, 3600) == 20
    told = [event for event in board.queue.events() if event_kinds()[event[1]] == "closings used up"]
    assert [event[2] for event in told] == [LAMP] and not board.queue.request(LAMP, ON) and board.queue.reason == request_queue.WORN
    assert closed_by_the_network(board, 82_800, every=10) in (19, 20)
    assert board.queue.request(FAN, ON)          # another channel is not held up, nor one whose plan says nothing


def test_a_hand_has_no_allowance_and_takes_none():
    board = allowed(2, 2)
    for number in range(50):
        board.queue.news(LAMP, number & 1, BY_SWITCH)
    assert board.queue.closings[LAMP] == 0 and board.queue.request(LAMP, ON)


@pytest.mark.parametrize("verb, level", [(OFF, 0), (SET, 0), (TOGGLE, 0)])
def test_off_is_never_refused_held_up_or_counted(verb, level):
    board = allowed(1, 1)
    assert board.queue.request(LAMP, ON)
    for _ in range(3):
        board.turn()
    assert board.queue.level[LAMP] == 1 and not board.queue.request(LAMP, ON)
    for _ in range(request_queue.BURST):
        board.queue.request(FAN, ON), board.queue.request(FRIDGE, ON)
    for channel in (FAN, FRIDGE):               # fill the ring
        while board.queue.reason != request_queue.BUSY:
            board.queue.advance(1000)
            board.queue.request(channel, ON)
    for _ in range(1000):
        assert board.queue.request(LAMP, verb, level) and board.queue.reason == request_queue.WELCOME
    came_out = []
    while board.queue.take(board.event):
        came_out.append(tuple(board.event[1:4]))
    assert came_out.count((LAMP, OFF, 0)) == 1 and len(came_out) == request_queue.ROOM + 1


def test_off_takes_the_place_of_what_waits_for_the_same_channel():
    board = Board()
    for channel in (LAMP, FAN, LAMP):
        board.queue.request(channel, ON)
    board.queue.request(LAMP, OFF)
    board.queue.request(LAMP, ON)
    came_out = []
    while board.queue.take(board.event):
        came_out.append(tuple(board.event[1:3]))
    assert came_out == [(LAMP, OFF), (FAN, ON), (LAMP, OFF), (LAMP, ON)]


@pytest.mark.parametrize("look", range(3))
def test_off_is_not_lost_when_the_loop_takes_what_waits_meanwhile(look):
    """The loop may run in an interrupt: here it takes the only waiting request at the first, second or third look at the ring."""
    board, came_out, looks = Board(), [], []

    class Watched(list):
        def __getitem__(self, place):
            looks.append(place)
            if len(looks) == look + 1 and board.queue._out != board.queue._in:
                board.queue._asked = list(self)
                board.queue.take(board.event)
                came_out.append(tuple(board.event[1:3]))
                board.queue._asked = self
            return list.__getitem__(self, place)

    board.queue.request(LAMP, ON)
    board.queue._asked = Watched(board.queue._asked)
    board.queue.request(LAMP, OFF)
    board.queue._asked = list(board.queue._asked)
    while board.queue.take(board.event):
        came_out.append(tuple(board.event[1:3]))
    assert came_out[-1] == (LAMP, OFF)


def test_a_loop_that_takes_nothing_fills_the_ring_and_the_rest_is_refused():
    board = Board()
    for _ in range(4):
        for channel in (LAMP, FAN, FRIDGE):
            for _ in range(request_queue.BURST):
                board.queue.request(channel, ON)
        board.queue.advance(60_000)
    assert board.queue.reason == request_queue.BUSY and board.queue.counts[request_queue.DROPPED] > 0
    held = 0
    while board.queue.take(board.event):
        held += 1
    assert held == request_queue.ROOM
    assert board.queue.request(LAMP, ON)         # and then there is room again


def test_requests_come_out_in_their_order_however_often_the_ring_goes_round():
    board, came_out = Board(), []
    wishes = [(number % 3, SET, number % 2) for number in range(100)]
    for wish in wishes:
        assert board.queue.request(*wish)
        board.queue.advance(1000)
        board.queue.take(board.event)
        came_out.append(tuple(board.event[1:4]))
    assert came_out == [(channel, SET, 1) if level else (channel, OFF, 0) for channel, _, level in wishes]


def test_a_stale_reading_is_marked_and_told_once():
    board = Board()
    board.queue.reading(0, 215, 1)
    board.queue.advance(30_000)
    board.queue.reading(0, 215, 0)
    noted = board.queue.noted
    board.queue.reading(0, 215, 0)
    assert board.queue.noted == noted and not board.queue.fresh[0]
    kinds = [event_kinds()[event[1]] for event in board.queue.events()]
    assert kinds[:2] == ["sensor lost", "sensor back"]
    assert board.queue.read_at[0] == board.queue.seconds - 30


def test_the_ring_of_events_keeps_the_last_ones_newest_first():
    board = Board()
    for number in range(1000):
        board.queue.note(request_queue.FAULT, number, 0, 0)
        held = [event[2] for event in board.queue.events() if event[1] == request_queue.FAULT]
        assert held == list(range(number, max(-1, number - 32), -1))


def test_the_hour_is_known_only_after_it_was_set():
    board = Board()
    assert board.queue.time(3) is None
    board.queue.clock = 1_800_000_000
    assert board.queue.time(3) == 1_800_000_003


def run_hot(leak):
    return interpreter.run(HOT.replace("LEAK", leak), folder=CORE.parent, lines=[canonical(TABLE).decode()])


def test_the_loop_side_takes_no_memory_on_the_board():
    """Twelve requests lie there when a hundred turns of the loop run without a heap."""
    assert run_hot("pass") == ("nothing taken, 0 requests left",)


def test_memory_taken_would_be_noticed():
    with pytest.raises(interpreter.InterpreterError, match="MemoryError"):
        run_hot("[event]")


def test_there_is_a_word_for_every_kind_of_event_and_every_counter():
    assert request_queue.STICKS == STUCK_CLOSED < STUCK_OPEN and len(CAUSES) == STUCK_OPEN + 1
    assert len(event_kinds()) == request_queue.USED_UP + 1 and len(counted()) == request_queue.COUNTS == request_queue.TOO_LONG + 1
    assert event_kinds()[request_queue.SENSOR_LOST] == "sensor lost" and counted()[request_queue.HEAP_LOW] == "least free heap [B]"


# What anybody can cause.

def test_refusals_are_merged_and_wash_nothing_out_and_nothing_washes_them_out():
    queue = Board().queue
    queue.note(request_queue.FAULT, 7, 0, 0)
    for number in range(5000):
        queue.advance(400)
        queue.refused_login()
        queue.note(request_queue.PROGRAM_REFUSED, number % 2, 0, 0)
    kinds = [event_kinds()[event[1]] for event in queue.events()]
    assert kinds.count("fault") == 1 and (kinds.count("login refused"), kinds.count("program refused")) == (1, 2)
    for number in range(100):
        queue.news(LAMP, number % 2, 1)
    assert [(event_kinds()[kind], number, times) for _, kind, number, times, _ in queue.refusals] == [
        ("program refused", 1, 2500), ("login refused", 0, 5000), ("program refused", 0, 2500)]


def test_refusals_are_an_event_again_after_an_hour_and_say_how_many_there_were():
    queue = Board().queue
    for _ in range(3):
        for _ in range(10):
            queue.refused_login()
        queue.advance(1000 * request_queue.TOLD_S)
    assert [event_record(queue, event).decode().partition('"kind"')[2] for event in queue.events()[:3]] == [
        f':"login refused","number":0,"times":{times}}}' for times in (21, 11, 1)]


def test_of_more_kinds_of_refusals_than_are_kept_apart_the_oldest_makes_room():
    queue = Board().queue
    for number in range(2 * request_queue.REFUSALS):
        queue.note(request_queue.PROGRAM_REFUSED, number, 0, 0)
    assert [number for _, _, number, _, _ in queue.refusals] == list(range(2 * request_queue.REFUSALS))[:request_queue.REFUSALS - 1:-1]
