"""A bundle on a simulated board: its own start, from its own files, under the board's interpreter, in virtual time.

The interpreter sees a flash with two slots and stand-ins for `machine`, `time` and `select`;
everything else is what would run on a board. What a real board adds is in docs/what-ran-where.md.
"""

import json
import shutil
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from socket import socket
from time import sleep
from urllib.request import urlopen

import pytest

from pattress import interpreter
from pattress.bundle import BundleError, write_bundle
from pattress.bundle.wiring import board_table
from pattress.controller.loop import JOINED_S

from .words import LOOKED_AT, in_bundle_words

VIRTUAL = Path(__file__).parents[1] / "controller" / "drivers" / "virtual"
MS, SECOND = 1000, 1_000_000
SETTLE = 20 * MS
PENDANT, FAN = 0, 6
PWRON_RESET, WDT_RESET = 1, 3       # as RP2040 and RP2350 tell them: a restart by the program, too, is the watchdog's

BOOT = """
import sys
sys.path[:0] = [VIRTUAL]
import json, machine, time
machine.__dict__.update(json.loads(sys.stdin.readline()))
machine.script = [tuple(row) for row in machine.script]
for number in machine.closed:
    machine.level[number] = 0
time.world = machine.World
SEED
import start
try:
    start.run(".")
except SystemExit:
    pass
print(json.dumps([machine.driven, machine.log]))
"""


def wired(room, **more):
    """Return facts with a pin for every wire of the sewing room, in the order of the plan."""
    wires = [f"relay.{channel['key']}" for channel in room["channels"][:-1]]
    wires += [f"relay.ceiling_fan.{number}" for number in (1, 2, 3)]
    wires += [f"switch.{switch['key']}" for switch in room["switches"]]
    wires += [f"regulator.fan_dial.{number}" for number in (1, 2, 3, 4)] + ["infrared", "sensor.room", "status"]
    return {"title": "Sewing room (invented)", "board": "rp2040-wifi", "pins": {wire: pin for pin, wire in enumerate(wires)},
            "sensors": {"room": {"name": "Room", "kind": "22 class"}}, **more}


SEEN = ("RequestQueue", "Loop", "Parts", "advance", "linked", "seconds", "reading", "relays", "sensors", "tend")      # by what is seeded


class OnBoard:
    """A flash with the bundle in slot a, and lives of a board on it."""

    def __init__(self, bundle, flash):
        self.flash, self.bundle = flash, bundle
        for name in ("start.mpy", "main.py"):
            shutil.copyfile(bundle / "root" / name, flash / name)
        self.fill("a")
        self.pins = json.loads((bundle / "board.json").read_text())
        self.log = []

    def fill(self, slot):
        shutil.copytree(self.bundle, self.flash / slot, dirs_exist_ok=True)

    def world(self, script, seconds, closed, more):
        """Return what the simulated world is told, as a line. It is a power-up unless the life before ended by itself."""
        cause = WDT_RESET if self.log and self.log[-1][0] in ("reset", "bitten") else PWRON_RESET
        return json.dumps({"end": int(seconds * SECOND), "script": sorted(script), "closed": list(closed), "cause": cause, **more})

    def live(self, *script, seconds=2.0, seed="", closed=(), **world):
        """Start, follow a script of (us, pin, level), interrupt at the end; keep what was driven."""
        program = BOOT.replace("VIRTUAL", repr(str(VIRTUAL))).replace("SEED", in_bundle_words(seed, *SEEN))
        *said, last = interpreter.run(program, folder=self.flash, lines=[self.world(script, seconds, closed, world)])
        driven, self.log = json.loads(last)
        self.said = said
        self.driven = [tuple(row) for row in driven]
        return self

    def relay(self, number):
        """Return when relay `number` moved and to which level, but for being driven open at both ends."""
        pin = self.pins["relays"][number]
        return [(at, level) for at, moved, level in self.driven if moved == pin][1:]

    def record(self):
        return json.loads((self.flash / "start.json").read_text())


def press(pin, at, length=100 * MS):
    return [(at, pin, 0), (at + length, pin, 1)]


def nec(pin, at, address, command):
    """Return the edges of one frame (timings of the uPD6121 data sheet): carrier pulls the line low."""
    bits = address | (address ^ 0xFF) << 8 | command << 16 | (command ^ 0xFF) << 24
    lengths = [9000, 4500]
    for place in range(32):
        lengths += [562, 1687 if bits >> place & 1 else 562]
    edges, level = [(at, pin, 0)], 0
    for length in [*lengths, 562]:
        at, level = at + length, 1 - level
        edges.append((at, pin, level))
    return edges


# The table of the board.

def test_the_table_of_the_board_is_in_the_order_of_the_plan(room):
    table = board_table(room, wired(room))
    assert table == {
        "board": "rp2040-wifi", "relay_level": 1, "relays": list(range(9)), "switches": [9, 10, 11, 12],
        "regulators": [[13, 14, 15, 16]], "infrared": 17, "status": 19,
        "sensors": [{"key": "room", "name": "Room", "kind": "22 class", "pin": 18}]}


def test_the_switch_that_opens_the_setup_is_named_by_its_place(room):
    key = room["switches"][2]["key"]
    assert board_table(room, wired(room, setup_switch=key))["setup"] == 2


def test_feedback_has_its_channel_and_its_pin(room):
    facts = wired(room)
    facts["pins"]["feedback.pendant"] = 27
    place = [row["key"] for row in room["channels"]].index("pendant")
    assert board_table(room | {"feedback": [dict(channel=place, settle_ms=500)]}, facts)["feedback"] == [[place, 27]]


def test_inputs_are_in_the_order_of_the_plan_and_left_out_where_there_are_none(room):
    facts, plan = wired(room), room | {"inputs": [dict(key="well"), dict(key="door")]}
    facts["pins"] |= {"input.door": 27, "input.well": 26}
    assert board_table(plan, facts)["inputs"] == [26, 27]
    assert "inputs" not in board_table(room | {"inputs": []}, facts) and "inputs" not in board_table(room, facts)
    del facts["pins"]["input.door"]
    with pytest.raises(BundleError, match="^no bundle: no pin for input.door$"):
        board_table(plan, facts)


def test_every_wire_without_a_pin_is_named_and_nothing_is_written(room, tmp_path):
    facts = wired(room)
    del facts["pins"]["relay.ceiling_fan.2"], facts["pins"]["switch.bed"], facts["pins"]["infrared"]
    with pytest.raises(BundleError, match="^no bundle: no pin for relay.ceiling_fan.2, switch.bed, infrared$"):
        write_bundle(tmp_path / "room", room, facts, findings=(), accepted={})
    assert list(tmp_path.iterdir()) == []


# It lives.

def test_relays_are_driven_open_first_and_a_switch_acts_within_the_settling_time(board):
    board.live(*press(board.pins["switches"][0], 300 * MS))
    assert [row[1:] for row in board.driven[:9]] == [(pin, 0) for pin in range(9)]
    closed, *_ = board.relay(PENDANT)
    assert closed[1] == 1 and SETTLE - MS <= closed[0] - 300 * MS <= SETTLE + 5 * MS
    assert board.relay(PENDANT)[-1][1] == 0             # at the console every relay is open
    assert board.log[0][0] == "watchdog" and "bitten" not in dict(board.log)


def test_contacts_are_looked_at_before_infrared_sensor_and_network_are_loaded(board):
    program = (VIRTUAL.with_name("first_look.py")).read_text("utf-8").replace("STANDING_IN", repr([str(VIRTUAL)]))
    found = json.loads(interpreter.run(program, folder=board.flash)[0])
    assert {"a.core", "a.loop", "a.drivers.store"} <= set(found["loaded"])
    assert not [name for name in found["loaded"] if name.split(".")[1] in ("infrared", "network", "console") or "humidity" in name]
    assert found["driven"] >= len(board.pins["relays"])         # every relay was driven open by then


def test_the_remote_the_regulator_and_the_lamp_are_served(board):
    edges = nec(board.pins["infrared"], 400 * MS, 4, 8)
    board.live(*edges, (3 * SECOND, board.pins["regulators"][0][1], 0), seconds=8)
    linear = board.relay(1)[0]
    assert linear[1] == 1 and 0 < linear[0] - edges[-1][0] < 25 * MS
    kicked, moved = board.relay(FAN + 2), board.relay(FAN + 1)      # step 2 after a start kick on step 4
    assert [level for _, level in kicked] == [1, 0] and moved[0][1] == 1 and moved[0][0] - kicked[1][0] >= 59 * MS
    shown = [row for row in board.driven if row[1] == board.pins["status"]]
    assert len(shown) > 4


def test_levels_are_saved_and_come_back_after_a_power_cut_and_a_damaged_slot_costs_nothing_else(board):
    board.live((300 * MS, board.pins["switches"][0], 0), seconds=8)
    assert (board.flash / "snapshot.0").exists()
    board.live(seconds=1, closed=[board.pins["switches"][0]])
    assert [level for _, level in board.relay(PENDANT)] == [1, 0]
    (board.flash / "snapshot.0").write_bytes(b"rust")
    board.live(seconds=1, closed=[board.pins["switches"][0]])
    assert board.relay(PENDANT) == []                   # nothing known: the policy's default


def test_a_sensor_that_holds_the_processor_does_not_hold_a_switch_where_a_timer_interrupts(board):
    """The sensor is asked when no wait of the start is left. The stuck pulse stands for anything that runs long without giving way, such as a handshake."""
    asked = next(at for at, pin, level in board.live(seconds=3).driven if pin == board.pins["sensors"][0]["pin"] and level == 0)
    thrown, stuck = asked + 100 * MS, dict(pulses=[700 * MS], seconds=4)
    script = [(thrown, board.pins["switches"][0], 0)]
    waiting = board.live(*script, **stuck).relay(PENDANT)[0][0] - thrown
    assert waiting > 300 * MS                           # without such a timer it waits
    ready = board.live(*script, has_timer=True, **stuck).relay(PENDANT)[0][0] - thrown
    assert SETTLE - MS <= ready <= SETTLE + 12 * MS
    assert board.relay(PENDANT)[-1][1] == 0             # nor does the timer turn on when a person is at the console


def test_a_sensor_that_answers_is_told_and_one_that_does_not_is_asked_again(board):
    told = "import a.request_queue\nreal = a.request_queue.RequestQueue.reading\n" \
           "def reading(queue, *row):\n    print(queue.sensors[row[0]][0], *row[1:])\n    real(queue, *row)\na.request_queue.RequestQueue.reading = reading"
    bits = [70 if 0x028C015FEE >> place & 1 else 27 for place in range(39, -1, -1)]     # 65.2 %, 35.1 degC
    board.live(pulses=[31, 80, *bits], seconds=3, seed=told)
    assert board.said == ["room.temperature 351 1", "room.humidity 652 1"]
    board.live(seconds=13, seed=told)
    asked = [at for at, pin, level in board.driven if pin == 18 and level == 0]
    assert board.said == [] and [round((after - at) / SECOND) for at, after in zip(asked, asked[1:])] == [5, 5]


def test_a_network_that_cannot_start_is_told_and_does_not_touch_a_switch(board):
    (board.flash / "network.json").write_text(json.dumps({"name": "No such name!", "broker": None}))
    board.live(*press(board.pins["switches"][0], 1400 * MS), seconds=12)
    closed, *_ = board.relay(PENDANT)
    assert SETTLE - MS <= closed[0] - 1400 * MS <= SETTLE + 5 * MS
    assert [line[:29] for line in board.said] == ["task 2: ValueError name must "] * 2       # and tried again after ten seconds


def test_a_task_that_fails_for_want_of_memory_to_tell_it_ends_nothing_else(board):
    (board.flash / "network.json").write_text(json.dumps({"name": "No such name!", "broker": None}))
    seed = "import builtins\nreal = print\ndef lacking(*words):\n    if words[0][:5] == 'task ':\n        raise MemoryError\n    real(*words)\n" \
           "builtins.print = lacking"
    board.live(*press(board.pins["switches"][0], 11 * SECOND), seconds=12, seed=seed)
    assert SETTLE - MS <= board.relay(PENDANT)[0][0] - 11 * SECOND <= SETTLE + 5 * MS
    assert board.log[-1][0] != "reset" and board.said == []


STRAY = """
import asyncio, a.minimal
tend, begun = a.minimal.Parts.tend, []
async def stray():
    raise ValueError("seeded")
def spawn(*given):
    if not begun:
        begun.append(asyncio.create_task(stray()))
    return tend(*given)
a.minimal.Parts.tend = spawn
"""


def test_a_task_that_fails_and_is_none_of_the_programs_own_ends_nothing_else(board):
    """Such as one of the library's own, which serves a connection."""
    board.live(*press(board.pins["switches"][0], SECOND), seed=STRAY)
    assert SETTLE - MS <= board.relay(PENDANT)[0][0] - SECOND <= SETTLE + 5 * MS and board.log[-1][0] != "reset"


PRESENT = """
import sys
sys.path[:0] = [FOLDER]
import json, machine, start
machine.__dict__.update(json.loads(sys.stdin.readline()))
start.run(".")
print(json.dumps(machine.driven))
"""


def test_in_present_time_its_page_is_served_over_a_real_socket_while_a_switch_acts(board):
    with socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    settings = {"name": "sewing-room", "wifi": None, "broker": None, "passphrase": None, "thing": None, "port": port}
    (board.flash / "network.json").write_text(json.dumps(settings))
    world = json.dumps({"end": 4000, "script": [(ms, 9, level) for ms, level in ((1500, 0), (2000, 1), (2500, 0), (3000, 1))]})
    program = PRESENT.replace("FOLDER", repr(str(VIRTUAL.with_name("present"))))
    with ThreadPoolExecutor(1) as beside:
        life = beside.submit(interpreter.run, program, folder=board.flash, lines=[world])
        page = fetched(f"http://127.0.0.1:{port}/", life)
        *_, last = life.result()
    assert "Sewing room (invented)" in page and "Pendant" in page
    moves = [level for _, pin, level in json.loads(last) if pin == 0]
    assert moves == [0, 1, 0, 1, 0]                     # driven open, then one move for each throw of the latching switch


def test_a_switch_held_at_power_up_opens_the_access_point_and_does_nothing_else(room, tmp_path):
    """Through the bundle's own start, in present time; the radio is a stand-in that notes its calls."""
    bed = 1
    write_bundle(tmp_path / "with_setup", room, wired(room, setup_switch=room["switches"][bed]["key"]), findings=(), accepted={})
    (tmp_path / "flash").mkdir()
    board = OnBoard(tmp_path / "with_setup", tmp_path / "flash")
    table = board.pins
    (board.flash / "network.py").write_text(RADIO)
    with socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    settings = {"name": "sewing-room", "wifi": None, "broker": None, "passphrase": None, "setup": "a label's words", "port": port}
    (board.flash / "network.json").write_text(json.dumps(settings))
    pin = table["switches"][bed]
    world = json.dumps({"end": 9000, "script": [(0, pin, 0), (8000, pin, 1)], "level": {}})
    program = PRESENT.replace("FOLDER", repr(str(VIRTUAL.with_name("present")))).replace(
        "start.run", in_bundle_words(f"machine.level[{pin}] = 0\nimport a.network.setup as setup\nsetup.LOCKS[sys.platform] = setup.LOCKS['rp2']\nstart.run", "LOCKS")).replace("print(json", "import network\nprint(network.calls)\nprint(json")
    *_, calls, last = interpreter.run(program, folder=board.flash, lines=[world])
    assert "('ssid', 'sewing-room')" in calls and "a label's words" in calls and "'active', (True,)" in calls
    closed = {number for _, number, level in json.loads(last) if level and number in table["relays"]}
    assert closed <= {table["relays"][5]}               # the fridge comes on by its policy


RADIO = """
STA_IF, AP_IF = 0, 1
calls = []


class WLAN:
    def __init__(self, interface):
        calls.append(("WLAN", interface))

    def isconnected(self):
        return False

    def config(self, *asked, **named):
        if asked:
            return self.security
        self.security = named["security"]
        calls.append(("config", sorted(named.items())))

    def ioctl(self, number, answer):        # the radio's chip of an RP2040 with Wi-Fi: locked with WPA2 and AES
        answer[:4] = (4 if b"wsec" in answer else 0x80).to_bytes(4, "little")

    def active(self, *given):
        calls.append(("active", given))
"""


def fetched(address, life):
    """Return the page as soon as it is served; the life of the board ends the patience."""
    while not life.done():
        try:
            with urlopen(address, timeout=2) as answer:
                return answer.read().decode()
        except OSError:
            sleep(0.05)
    pytest.fail(f"never served: {life.result()}")


def test_it_reports_healthy_after_a_minute(board):
    board.live(seconds=50)
    assert board.record()["tries"] == 1
    board.live(seconds=63)
    assert board.record() == {"slot": "a", "trial": False, "tries": 0, "sags": 0, "returns": 0, "starts": 2, "fell_back": False, "joins": False, "ended": ""}


# A program that came over the network, which the one before had joined.

HURRIED_S = JOINED_S - 10       # seconds of its trial that pass at once here, after the first 65
TRIAL = {"slot": "b", "trial": True, "tries": 0, "sags": 0, "returns": 0, "starts": 1, "fell_back": False, "joins": True, "ended": ""}
ALONE = f"""
import b.request_queue
real = b.request_queue.RequestQueue.advance
def advance(queue, elapsed):
    real(queue, elapsed)
    if queue.seconds in JOINING:
        queue.linked[1] = queue.seconds == JOINING[0]
    if queue.seconds == 65:
        queue.seconds = {HURRIED_S}
b.request_queue.RequestQueue.advance = advance
JOINING = ()
"""
JOINED = ALONE.replace("JOINING = ()", "JOINING = (20, 30)")


@pytest.fixture()
def renewed(board):
    board.fill("b")
    (board.flash / "start.json").write_text(json.dumps(TRIAL))
    return board


def test_one_that_never_joins_gives_way_to_the_former_which_then_stays_without_a_network_too(renewed):
    renewed.live(seconds=80, seed=ALONE)
    assert renewed.record()["trial"] and renewed.record()["ended"] == f"NotJoined: no network in {JOINED_S} s"
    assert renewed.log[-1][0] == "reset" and 0 <= renewed.log[-1][1] - 75 * SECOND < SECOND
    renewed.live(seconds=80, seed=ALONE.replace("b.", "a."))
    record = renewed.record()
    assert renewed.log[-1][0] != "reset"
    assert (record["slot"], record["trial"], record["tries"], record["fell_back"]) == ("a", False, 0, True)


def test_one_that_has_joined_is_healthy_even_if_the_network_is_gone_by_then(renewed):
    renewed.live(seconds=80, seed=JOINED)
    assert renewed.log[-1][0] != "reset" and renewed.record() == TRIAL | {"trial": False, "joins": False, "starts": 2}


def test_one_that_came_over_usb_need_not_join(renewed):
    (renewed.flash / "start.json").write_text(json.dumps(TRIAL | {"joins": False}))
    assert renewed.live(seconds=80, seed=ALONE).record() == TRIAL | {"trial": False, "joins": False, "starts": 2}


def test_crashes_end_in_the_minimal_program_in_which_switches_and_regulator_work(board):
    seed = "import builtins\nreal = builtins.__import__\n" \
           "def refuse(name, *more):\n    if 'store' in name:\n        raise ImportError('seeded')\n    return real(name, *more)\n" \
           "builtins.__import__ = refuse"
    script = [*press(board.pins["switches"][0], 300 * MS), (SECOND, board.pins["regulators"][0][3], 0)]
    for _ in range(3):
        board.live(*script, seed=seed)
        assert board.log[-1][0] == "reset" and board.relay(PENDANT) == []
    board.live(*script, seed=seed, seconds=4)
    closed = board.relay(PENDANT)[0]
    assert closed[1] == 1 and SETTLE - MS <= closed[0] - 300 * MS <= SETTLE + 5 * MS
    assert any(level for _, level in board.relay(FAN + 2))
    assert board.record()["tries"] == 4


def test_a_damaged_module_is_survived_by_the_other_slot(board):
    board.fill("b")
    (board.flash / "a" / "core" / "__init__.mpy").write_bytes(b"rust")
    for _ in range(6):
        assert board.live(seconds=1).log[-1][0] == "reset"
    board.live(*press(board.pins["switches"][0], 300 * MS))
    assert board.record()["slot"] == "b" and board.relay(PENDANT)[0][1] == 1


def test_a_warning_that_the_power_fails_opens_the_relays_and_saves_at_once(board):
    table = json.loads((board.flash / "a" / "board.json").read_text()) | {"power_fail": 30}
    (board.flash / "a" / "board.json").write_text(json.dumps(table))
    board.live((300 * MS, board.pins["switches"][0], 0), (800 * MS, 30, 0), seconds=3)
    (on, _), (off, level) = board.relay(PENDANT)[:2]
    assert level == 0 and 0 < off - 800 * MS < 15 * MS              # as long as sizing/holdup.py reckons with
    assert (board.flash / "snapshot.0").exists() and board.log[-1][0] == "reset"
    board.live(seconds=1, closed=[board.pins["switches"][0]])
    assert [level for _, level in board.relay(PENDANT)] == [1, 0]   # what was on comes on


def test_a_loop_that_stops_is_reset_by_the_watchdog(board):
    seed = "import a.loop\na.loop.Loop.tend = lambda *given: None"
    board.live(seconds=20, seed=seed)
    bitten = dict(board.log)["bitten"]
    assert 7 * SECOND < bitten < 9 * SECOND


def test_a_turn_that_fails_opens_the_relays_and_restarts(board):
    seed = "import a.core\nold = a.core.relays\n" \
           "def relays(plan, state):\n    if machine.us() > 1000000:\n        raise KeyError('seeded')\n    return old(plan, state)\n" \
           "a.core.relays = relays"
    board.live(*press(board.pins["switches"][0], 300 * MS, 2 * SECOND), seconds=4, seed=seed)
    assert [level for _, level in board.relay(PENDANT)] == [1, 0] or board.relay(PENDANT)[-1][1] == 0
    assert board.log[-1][0] == "reset" and any("seeded" in line for line in board.said)


# It lives long.

HOUR = VIRTUAL.with_name("hour.py")


def long_life(board, seconds):
    pins = board.pins
    asked = {"seconds": seconds, "seed": 11, "infrared": pins["infrared"], "switch": pins["switches"][0], "relay": pins["relays"][PENDANT],
             "partition": 0}
    program = in_bundle_words(HOUR.read_text("utf-8"), *LOOKED_AT).replace("STANDING_IN", repr([str(VIRTUAL)]))
    return json.loads(interpreter.run(program, folder=board.flash, lines=[json.dumps(asked)])[-1])


EARLY = 2 * MS      # what a throw may settle early: looks that miss up to three bounces of 0.3 ms, and a clock that counts whole ms


def judge(life):
    weighed, times = life["weighed"], life["times"]
    half = len(weighed) // 2
    assert max(weighed[half:]) <= max(weighed[:half]) + 1024        # memory in use does not grow
    assert SETTLE - EARLY <= min(times) and max(times) <= SETTLE + 5 * MS


def test_under_bounce_codes_noise_and_sensor_the_memory_is_steady_and_every_switch_in_time(board):
    life = long_life(board, 150)
    judge(life)
    assert len(life["times"]) > 15 and len(life["weighed"]) >= 10


@pytest.mark.soak
def test_the_same_for_four_hours(board):
    judge(long_life(board, 4 * 3600))
