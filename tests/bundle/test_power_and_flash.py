"""A bundle on a simulated board whose power is cut, whose supply sags, or whose flash fails: from its own files, by its own start.

Under the board's interpreter, in virtual time, as in `test_on_board`; a cut is the end of a life without a word.
What the chip tells of a reset is as RP2040 and RP2350 tell it.
"""

import json
from random import Random

import pytest

from pattress.controller.loop import HEALTHY_S, LIT_S, RECORD_FAULT, SUPPLY_FAULT
from pattress.controller.request_queue import FAULT

from .test_on_board import MS, PENDANT, PWRON_RESET, SECOND, SETTLE, WDT_RESET, board, nec, press, wired_bundle  # noqa: F401

LINEAR = 1              # switched by the remote
TOLD = f"""
import a.request_queue
note = a.request_queue.RequestQueue.note
def told(queue, kind, first, *more):
    if kind == {FAULT}:
        print("fault", first)
    note(queue, kind, first, *more)
a.request_queue.RequestQueue.note = told
"""
NEVER = """
import builtins
real = builtins.__import__
def refuse(name, *more):
    if "store" in name:
        raise ImportError("seeded")
    return real(name, *more)
builtins.__import__ = refuse
"""


def hurried(*jumps):
    """Return a seed: at each second of `jumps` the counted seconds, by which nothing is switched, go on by as many as it says."""
    return f"""
import a.request_queue
advance = a.request_queue.RequestQueue.advance
jumps = dict({list(jumps)!r})
def hurry(queue, elapsed):
    advance(queue, elapsed)
    queue.seconds += jumps.pop(queue.seconds, 0)
a.request_queue.RequestQueue.advance = hurry
"""


def acts(board, at):                                                                        # noqa: F811
    """Return whether the switch that was thrown moved its relay within the settling time and 5 ms, closed or open."""
    return any(SETTLE - MS <= moved - at <= SETTLE + 5 * MS for moved, _ in board.relay(PENDANT))


def hears(board, edges):                                                                    # noqa: F811
    """Return whether the code of the remote moved its relay: only the full program hears it."""
    return any(0 < moved - edges[-1][0] < 25 * MS for moved, _ in board.relay(LINEAR))


# Power cuts.

def test_three_short_power_ups_leave_the_fourth_start_the_full_program(board):              # noqa: F811
    for seconds in (12, 6, 6):
        board.live(seconds=seconds)
    edges = nec(board.pins["infrared"], 400 * MS, 4, 8)
    assert hears(board.live(*edges, (SECOND, board.pins["switches"][0], 0)), edges) and acts(board, SECOND)
    assert board.record()["tries"] == 1 and board.record()["starts"] == 4


def storm(board, chance):                                                                   # noqa: F811
    """Let up to six cuts come within two minutes; return whether full function stood at once, having shown that it is back after one healthy minute."""
    count = chance.randint(1, 6)
    for _ in range(count):
        board.live(seconds=chance.choice((chance.uniform(0.02, 3), chance.uniform(0.02, 120 / count))))
    at_once = nec(board.pins["infrared"], 3 * SECOND, 4, 8)
    later = nec(board.pins["infrared"], 8 * SECOND, 4, 8)
    board.live(*at_once, *later, (5 * SECOND, board.pins["switches"][0], 0), (5200 * MS, board.pins["switches"][0], 1), seconds=9,
               seed=hurried((6, HEALTHY_S - 6)))
    assert acts(board, 5 * SECOND) and hears(board, later), board.record()
    return hears(board, at_once)


def test_any_few_cuts_within_two_minutes_keep_full_function_or_have_it_back_after_a_healthy_minute(board):      # noqa: F811
    assert storm(board, Random(4))


@pytest.mark.soak
@pytest.mark.parametrize("seed", range(60))
def test_the_same_for_many_patterns(board, seed):                                           # noqa: F811
    storm(board, Random(seed))


def test_a_warning_of_the_supply_is_no_crash_however_often_it_comes(board):                 # noqa: F811
    table = json.loads((board.flash / "a" / "board.json").read_text()) | {"power_fail": 30}
    (board.flash / "a" / "board.json").write_text(json.dumps(table))
    for _ in range(4):
        board.live((500 * MS, 30, 0), seconds=1)
        assert board.log[-1][0] == "reset" and board.record()["tries"] == 0
    assert board.record()["ended"] == "PowerFailed: "


def test_a_program_that_crashes_for_ever_is_tried_again_after_a_minute_then_after_two(board):       # noqa: F811
    for _ in range(3):
        board.live(seed=NEVER)
    crashed = nec(board.pins["infrared"], 400 * MS, 4, 8)
    board.live(*crashed, (SECOND, board.pins["switches"][0], 0), (3 * SECOND, board.pins["switches"][0], 1), seconds=20,
               seed=NEVER + hurried((5, HEALTHY_S - 10)))
    assert acts(board, SECOND) and not hears(board, crashed)
    assert board.log[-1][0] == "reset" and 0 <= board.log[-1][1] - 10 * SECOND < 2 * SECOND
    board.live(seconds=20, seed=NEVER + hurried((5, 2 * HEALTHY_S - 10)))
    assert board.log[-1][0] == "reset" and 0 <= board.log[-1][1] - 10 * SECOND < 2 * SECOND
    assert board.record()["returns"] == 2 and board.record()["ended"] == "ImportError: seeded"
    edges = nec(board.pins["infrared"], 12 * SECOND, 4, 8)
    board.live(*edges, seconds=14, seed=hurried((5, 4 * HEALTHY_S - 10)))       # whatever it was is over
    assert hears(board, edges)


def test_a_load_that_a_hand_switched_on_is_not_dropped_for_the_full_program(board):         # noqa: F811
    for _ in range(3):
        board.live(seed=NEVER)
    board.live((SECOND, board.pins["switches"][0], 0), seconds=12, seed=hurried((5, HEALTHY_S)))
    assert [level for _, level in board.relay(PENDANT)] == [1, 0]               # on until the person at the console
    assert board.relay(PENDANT)[1][0] > 11 * SECOND
    board.live(seconds=0.5, cause=WDT_RESET)                                    # a crash more: the minimal program once more
    board.live((SECOND, board.pins["switches"][0], 0), seconds=12, seed=hurried((5, HEALTHY_S + LIT_S)), cause=WDT_RESET)
    assert 5 * SECOND < board.relay(PENDANT)[1][0] < 8 * SECOND                 # but not for ever


# A supply that sags.

def sagging(board, *, seconds, times):                                                      # noqa: F811
    """Take the power away a moment after the pendant lamp has come back, so often."""
    board.live((300 * MS, board.pins["switches"][0], 0), seconds=8)
    for _ in range(times):
        board.live(seconds=seconds, closed=[board.pins["switches"][0]])
        assert board.relay(PENDANT)[0][1] == 1
        assert board.record()["returns"] == 0


def test_a_supply_that_goes_three_times_as_a_relay_closes_is_a_fault_that_is_told_and_leaves_the_switches(board):       # noqa: F811
    (board.flash / "network.json").write_text(json.dumps({"name": "sewing-room", "broker": None}))
    sagging(board, seconds=1, times=3)
    latching = board.pins["switches"][0]
    again = (4 * SECOND, latching, 0), (4500 * MS, latching, 1)
    board.live(*again, seconds=12, seed=TOLD + hurried((6, HEALTHY_S - 6)) + """
import sys
def radio(*given):
    print("radio", machine.us() // 1000000)
    raise ValueError
sys.modules["network"] = radio
""", closed=())
    assert board.said[0] == f"fault {SUPPLY_FAULT}"
    moves = board.relay(PENDANT)
    assert moves[0][0] > 4 * SECOND and acts(board, 4 * SECOND)                 # off until the switch is thrown
    assert board.said.count(f"fault {SUPPLY_FAULT}") == 2                       # by the full program, too
    assert [level for _, level in moves][-2:] == [1, 0] and 6 * SECOND < moves[-2][0] < 9 * SECOND      # then what was on comes back
    assert board.record()["returns"] == 1


def test_a_supply_that_goes_at_once_again_is_left_alone_for_twice_as_long(board):           # noqa: F811
    sagging(board, seconds=1, times=3)
    pendant = [board.pins["switches"][0]]
    board.live(seconds=8, seed=hurried((4, HEALTHY_S - 4)), closed=pendant)     # the full one, and the pendant, are back for three seconds
    board.live(seconds=8, closed=pendant)
    full = board.record()
    assert full["returns"] == 0 and full["sags"] == 0                           # it had stood it
    sagging(board, seconds=1, times=3)
    board.live(seconds=4.6, seed=hurried((4, HEALTHY_S - 4)), closed=pendant)
    assert board.relay(PENDANT)[0][1] == 1
    board.live(seconds=7, seed=hurried((4, HEALTHY_S - 4)), closed=pendant)
    assert board.relay(PENDANT) == [] and board.record()["returns"] == 1
    board.live(seconds=7, seed=hurried((4, 2 * HEALTHY_S - 4)), closed=pendant)
    assert board.relay(PENDANT)[0][1] == 1


def test_a_supply_that_goes_whenever_a_load_comes_back_after_its_minimum_off_time_is_found(board):          # noqa: F811
    plan = json.loads((board.flash / "a" / "plan.json").read_text())
    fridge = next(place for place, channel in enumerate(plan["channels"]) if channel["minimum_off_ms"])
    plan["channels"][fridge]["minimum_off_ms"] = 20_000
    (board.flash / "a" / "plan.json").write_text(json.dumps(plan))
    board.live(seconds=9)
    assert board.record()["sags"] == 0                                          # steady until that comes near
    for sags in (1, 2, 3):
        board.live(seconds=20.5)
        assert board.relay(fridge)[0][1] == 1 and board.record()["sags"] == sags
    assert board.live(seconds=20.5).relay(fridge) == []


# A flash that fails.

FAILING = """
import sys, builtins, os
opened, left = builtins.open, [FROM]
def is_failing():
    left[0] -= 1
    return left[0] < 0
class Nowhere:
    def __init__(self, is_binary, error):
        self.error = error
    def __enter__(self):
        return self
    def __exit__(self, *given):
        pass
    def write(self, data):
        if self.error:
            raise OSError(self.error)
        return len(data)
    def flush(self):
        pass
    def close(self):
        pass
def failing_open(name, mode="r", *more):
    if mode[0] in "wa+" and is_failing():
        if HOW == "open":
            raise OSError(ERROR)
        return Nowhere("b" in mode, ERROR if HOW == "write" else 0)
    return opened(name, mode, *more)
class Os:
    def __getattr__(self, name):
        return getattr(os, name)
    def rename(self, *names):
        if is_failing():
            if HOW == "nothing":
                return
            raise OSError(ERROR)
        os.rename(*names)
builtins.open = failing_open
sys.modules["os"] = Os()
"""
# What fails, with the error of littlefs (ENOSPC, EROFS, EIO, EILSEQ for a torn directory; from memory); "nothing": it says no word.
WAYS = [("open", 28), ("open", 30), ("write", 28), ("write", 5), ("open", 84), ("rename", 5), ("nothing", 0)]


def failing(how, error, after=0):
    return FAILING.replace("FROM", str(after)).replace("HOW", repr(how)).replace("ERROR", str(error))


def lives_with(board, seed):                                                                # noqa: F811
    """Power up, crash, and start again on a flash that fails: the switches act each time."""
    latching = board.pins["switches"][0]
    throws = (SECOND, latching, 0), (9 * SECOND, latching, 1)
    edges = nec(board.pins["infrared"], 400 * MS, 4, 8)
    board.live(*edges, *throws, seconds=10, seed=seed + TOLD + hurried((5, HEALTHY_S - 5)), cause=PWRON_RESET)
    assert "reset" not in dict(board.log) and "bitten" not in dict(board.log), board.log
    assert acts(board, SECOND) and acts(board, 9 * SECOND) and hears(board, edges)
    told = f"fault {RECORD_FAULT}" in board.said
    late = nec(board.pins["infrared"], 8 * SECOND, 4, 8)
    board.live(throws[0], (3 * SECOND, latching, 1), *late, seconds=9, seed=seed + hurried((5, HEALTHY_S - 5)), cause=WDT_RESET)
    assert acts(board, SECOND) and acts(board, 3 * SECOND) and hears(board, late)       # the full one is back after a minute
    return told


def test_on_a_full_flash_switches_and_remote_work_and_it_is_told(board):                    # noqa: F811
    assert lives_with(board, failing("open", 28))
    assert not (board.flash / "start.json").exists()


def test_on_a_flash_that_loses_what_is_written_without_a_word_they_do_too(board):           # noqa: F811
    assert lives_with(board, failing("nothing", 0))


@pytest.mark.soak
@pytest.mark.parametrize("how, error", WAYS, ids=lambda given: str(given))
@pytest.mark.parametrize("after", range(8))
def test_whatever_fails_from_any_write_on_leaves_switches_and_remote(board, how, error, after):     # noqa: F811
    told = lives_with(board, failing(how, error, after))
    assert told or after


def test_a_program_that_crashes_on_a_flash_that_keeps_no_record_gives_way_to_the_minimal_one(board):        # noqa: F811
    seed = failing("open", 30) + NEVER
    assert board.live(seed=seed).log[-1][0] == "reset"
    board.live(*press(board.pins["switches"][0], 300 * MS), seed=seed)
    assert acts(board, 300 * MS)
