"""A bundle on a simulated board whose power is cut, whose supply sags, or whose flash fails: from its own files, by its own start.

Under the board's interpreter, in virtual time, as in `test_on_board`; a cut is the end of a life without a word.
What the chip tells of a reset is as RP2040 and RP2350 tell it.
"""

import json
from random import Random

import pytest

from pattress.controller.loop import HEALTHY_S, LIT_S, RECORD_FAULT, SUPPLY_FAULT
from pattress.controller.request_queue import FAULT
from pattress.controller.start import FULL_TRIES

from .test_on_board import MS, PENDANT, SECOND, SETTLE, nec, press

LINEAR = 1              # switched by the remote
SAMPLE = 9              # of the storms
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


def acts(board, at):
    """Return whether the switch that was thrown moved its relay within the settling time and 5 ms, closed or open."""
    return any(SETTLE - MS <= moved - at <= SETTLE + 5 * MS for moved, _ in board.relay(PENDANT))


def hears(board, edges):
    """Return whether the code of the remote moved its relay: only the full program hears it."""
    return any(0 < moved - edges[-1][0] < 25 * MS for moved, _ in board.relay(LINEAR))


# Power cuts.

def test_three_short_power_ups_leave_the_fourth_start_the_full_program(board):
    for seconds in (12, 6, 6):
        board.live(seconds=seconds)
    edges = nec(board.pins["infrared"], 400 * MS, 4, 8)
    assert hears(board.live(*edges, (SECOND, board.pins["switches"][0], 0), seconds=1.5), edges) and acts(board, SECOND)
    assert board.record()["tries"] == 1 and board.record()["starts"] == 4


def storm(board, chance):
    """Let up to six cuts come within two minutes; return how many there were, having shown full function, or that it is back after one healthy minute."""
    count, left = chance.randint(1, 6), 120.0
    for _ in range(count):
        seconds = chance.choice((chance.uniform(0.02, 3), chance.uniform(0.02, left)))
        left -= seconds
        board.live(seconds=seconds)
    later = nec(board.pins["infrared"], 5 * SECOND, 4, 8)
    board.live(*later, (SECOND, board.pins["switches"][0], 0), (1500 * MS, board.pins["switches"][0], 1), seconds=6,
               seed=hurried((3, HEALTHY_S - 3)))
    assert acts(board, SECOND) and hears(board, later), board.record()
    return count


def test_any_few_cuts_within_two_minutes_keep_full_function_or_have_it_back_after_a_healthy_minute(board):
    assert storm(board, Random(SAMPLE)) > 3


@pytest.mark.soak
@pytest.mark.parametrize("seed", range(60), ids=str)
def test_the_same_for_many_patterns(board, seed):
    storm(board, Random(seed))


def test_a_warning_of_the_supply_is_no_crash(board):
    table = json.loads((board.flash / "a" / "board.json").read_text()) | {"power_fail": 30}
    (board.flash / "a" / "board.json").write_text(json.dumps(table))
    for _ in range(2):
        board.live((500 * MS, 30, 0), seconds=1)
        assert board.log[-1][0] == "reset" and board.record()["tries"] == 0
    assert board.record()["ended"] == "PowerFailed: "


def crashed(board, tries=FULL_TRIES, **more):
    """Let the next start be that after so many crashes."""
    (board.flash / "start.json").write_text(json.dumps({"slot": "a", "tries": tries, **more}))
    board.log = [("reset", 0)]


def test_a_program_that_crashes_for_ever_is_tried_again_after_a_minute_then_after_two(board):
    for _ in range(FULL_TRIES):
        board.live(seconds=0.5, seed=NEVER)
    deaf = nec(board.pins["infrared"], 400 * MS, 4, 8)
    board.live(*deaf, (SECOND, board.pins["switches"][0], 0), (3 * SECOND, board.pins["switches"][0], 1), seconds=20,
               seed=NEVER + hurried((4, HEALTHY_S - 6)))
    assert acts(board, SECOND) and not hears(board, deaf)
    assert board.log[-1][0] == "reset" and 0 <= board.log[-1][1] - 6 * SECOND < 2 * SECOND
    assert board.record()["returns"] == 1 and board.record()["ended"] == "ImportError: seeded"
    edges = nec(board.pins["infrared"], 8 * SECOND, 4, 8)
    board.live(*deaf, *edges, seconds=9, seed=hurried((4, 2 * HEALTHY_S - 6)))      # whatever it was is over
    assert not hears(board, deaf) and hears(board, edges)


def test_a_load_that_a_hand_switched_on_is_not_dropped_for_the_full_program(board):
    throw = (500 * MS, board.pins["switches"][0], 0)
    for more, is_dropped in ((0, False), (LIT_S, True)):                            # but not for ever
        crashed(board)
        board.live(throw, seconds=5, seed=hurried((2, HEALTHY_S + more)))
        (_, on), (at, off) = board.relay(PENDANT)[:2]
        assert (on, off) == (1, 0) and (at < 4 * SECOND) == is_dropped


@pytest.mark.soak
@pytest.mark.parametrize("returns, seconds", [(1, 120), (6, 3840), (20, 3840)])
def test_the_time_of_the_minimal_program_doubles_up_to_an_hour(board, returns, seconds):
    crashed(board, returns=returns)
    board.live(seconds=4, seed=hurried((1, seconds - 3)))
    assert board.record()["returns"] == returns + 1 and board.record()["tries"] == FULL_TRIES
    crashed(board, returns=returns)
    board.live(seconds=3, seed=hurried((1, seconds - 4)))
    assert board.record()["returns"] == returns


# A supply that sags.

def sagging(board):
    """Take the power away three times, a moment after the pendant lamp has come back; leave its switch closed."""
    board.live((300 * MS, board.pins["switches"][0], 0), seconds=6.5)
    for sags in (1, 2, 3):
        board.live(seconds=0.5, closed=[board.pins["switches"][0]])
        assert board.relay(PENDANT)[0][1] == 1 and board.record()["sags"] == sags


def test_a_supply_that_goes_three_times_as_a_relay_closes_is_a_fault_that_is_told_and_leaves_the_switches(board):
    (board.flash / "network.json").write_text(json.dumps({"name": "sewing-room", "broker": None, "port": 0}))
    sagging(board)
    latching = board.pins["switches"][0]
    (board.flash / "network.py").write_text("STA_IF = 0\ndef WLAN(kind):\n    import machine\n    print('radio', machine.us() // 1000000)\n")
    board.live((2 * SECOND, latching, 1), (4 * SECOND, latching, 0), seconds=8, seed=TOLD + hurried((5, HEALTHY_S - 5)), closed=[latching])
    off, on = 4 * SECOND, board.relay(PENDANT)[0][0]
    assert 2 * SECOND < on and acts(board, 2 * SECOND) and acts(board, off)         # off until the switch is thrown
    told = [line for line in board.said if line.startswith(("fault", "radio"))]
    assert told == [f"fault {SUPPLY_FAULT}", f"fault {SUPPLY_FAULT}", "radio 5"]    # by the full program, too; and the radio was held back until then
    assert board.relay(PENDANT)[2][1] == 1 and board.relay(PENDANT)[2][0] > 5 * SECOND          # and what was on comes back
    assert board.record()["returns"] == 1


@pytest.mark.soak
def test_a_supply_that_goes_at_once_again_is_left_alone_for_twice_as_long(board):
    sagging(board)
    pendant = [board.pins["switches"][0]]
    board.live(seconds=3, seed=hurried((2, HEALTHY_S - 2)), closed=pendant)
    assert board.relay(PENDANT)[0][1] == 1                  # and with it the power goes again
    board.live(seconds=3, seed=hurried((2, HEALTHY_S - 2)), closed=pendant)
    assert board.relay(PENDANT) == [] and board.record()["returns"] == 1
    board.live(seconds=7, seed=hurried((2, 2 * HEALTHY_S - 2)), closed=pendant)
    assert board.relay(PENDANT)[0][1] == 1 and board.record()["sags"] == 0          # it stands it now
    board.live(seconds=0.5, closed=pendant)
    assert board.record()["returns"] == 0


@pytest.mark.soak
def test_a_supply_that_goes_whenever_a_load_comes_back_after_its_minimum_off_time_is_found(board):
    plan = json.loads((board.flash / "a" / "plan.json").read_text())
    fridge = next(place for place, channel in enumerate(plan["channels"]) if channel["minimum_off_ms"])
    plan["channels"][fridge]["minimum_off_ms"] = 14_000
    (board.flash / "a" / "plan.json").write_text(json.dumps(plan))
    board.live(seconds=3.7)
    assert board.record()["sags"] == 0                      # steady until that comes near
    for sags in (1, 2, 3):
        board.live(seconds=14.3)
        assert board.relay(fridge)[0][1] == 1 and board.record()["sags"] == sags
    assert board.live(seconds=14.3).relay(fridge) == []


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


def lives_with(board, seed):
    """Power up and crash on a flash that fails: the switches act each time. Return whether the fault is told."""
    latching = board.pins["switches"][0]
    edges, late = (nec(board.pins["infrared"], at, 4, 8) for at in (400 * MS, 5 * SECOND))
    board.live(*edges, (SECOND, latching, 0), (6 * SECOND, latching, 1), seconds=7, seed=seed + TOLD + hurried((4, HEALTHY_S - 4)))
    assert board.log[-1][0] not in ("reset", "bitten")
    assert acts(board, SECOND) and acts(board, 6 * SECOND) and hears(board, edges)
    told = f"fault {RECORD_FAULT}" in board.said
    board.log = [("bitten", 0)]
    board.live((SECOND, latching, 0), (2 * SECOND, latching, 1), *late, seconds=6, seed=seed + hurried((3, HEALTHY_S - 3)))
    assert acts(board, SECOND) and acts(board, 2 * SECOND) and hears(board, late)           # the full one is back after a minute
    return told


def test_on_a_full_flash_switches_and_remote_work_and_it_is_told(board):
    assert lives_with(board, failing("open", 28))
    assert not (board.flash / "start.json").exists()


@pytest.mark.soak
@pytest.mark.parametrize("how, error", WAYS, ids=lambda given: str(given))
@pytest.mark.parametrize("after", range(8))
def test_whatever_fails_from_any_write_on_leaves_switches_and_remote(board, how, error, after):
    told = lives_with(board, failing(how, error, after))
    assert told or after


def test_a_program_that_crashes_on_a_flash_that_keeps_no_record_gives_way_to_the_minimal_one(board):
    seed = failing("open", 30) + NEVER
    assert board.live(seconds=0.5, seed=seed).log[-1][0] == "reset"
    board.live(*press(board.pins["switches"][0], 300 * MS), seconds=0.5, seed=seed)
    assert acts(board, 300 * MS)


DAMAGED = {"loop.mpy": lambda data: b"?" + data[1:], "core/__init__.mpy": lambda data: b"", "board.json": lambda data: data[:9], "plan.json": lambda data: b"{}"}


@pytest.mark.parametrize("name", DAMAGED)
def test_on_a_flash_that_keeps_no_record_a_damaged_slot_gives_way_to_the_other(board, name):
    """No count leads away from the damaged one: what fails there has to be followed in the same life. In what then runs, a minute later, the remote is heard."""
    board.fill("b")
    lost = board.flash / "a" / name
    lost.write_bytes(DAMAGED[name](lost.read_bytes()))
    latching = board.pins["switches"][0]
    lives = 0
    while board.live((SECOND, latching, 0), seconds=2, seed=failing("open", 30)).log[-1][0] == "reset" and lives < 3:
        lives += 1
    assert acts(board, SECOND) and lives < 2
    board.log = [("bitten", 0)]
    late = nec(board.pins["infrared"], 5 * SECOND, 4, 8)
    board.live((SECOND, latching, 0), (2 * SECOND, latching, 1), *late, seconds=6, seed=failing("open", 30) + hurried((3, HEALTHY_S - 3)).replace("a.request", "b.request"))
    assert acts(board, SECOND) and hears(board, late)
    assert not (board.flash / "start.json").exists()
