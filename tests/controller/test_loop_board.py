"""The loop under the board's interpreter: the same relay timeline as here, and no memory taken by a turn."""

import json
from random import Random

import pytest

from pattress import interpreter
from pattress.controller.core import OFF
from pattress.controller.core.conditions import LOCKS, OF_INPUT
from pattress.controller.digest import CORE, canonical
from pattress.controller.request_queue import STUCK

from ..proof.plans import condition
from .core.home import FAN, LAMP, TABLE
from .drivers import parts
from .drivers.rig import Rig
from .drivers.simulated import PERIOD, Board, Clock, Memory

PARTS = """
import json, sys
sys.path[:0] = ["..", DRIVERS]
from controller import core
from controller.inputs import InputNews
from controller.request_queue import RequestQueue
from controller.drivers.pins import Inputs, Outputs
from controller.drivers.store import Store
from controller.loop import Loop

class parts:
    pass

parts.core, parts.RequestQueue, parts.InputNews, parts.Inputs, parts.Outputs, parts.Store, parts.Loop = core, RequestQueue, InputNews, Inputs, Outputs, Store, Loop
table = json.loads(sys.stdin.readline())
course = json.loads(sys.stdin.readline())
"""

LIVE = PARTS + """
from rig import Rig
from simulated import Board, Clock, Memory
clock = Clock(ms=START)
flash = Memory(clock, 45000)
rig = Rig(parts, Board(clock), table, flash=flash, contacts=[35])
for ms, what, first, second in course:
    rig.run(ms)
    if what == "switch":
        rig.switch(first, second)
    elif what == "sense":
        rig.sense(first, second)
    elif what == "input":
        rig.move(first, second)
    elif what == "ask":
        rig.queue.request(first, rig.parts.core.SET, second)
    else:
        rig.loop.hear(*first)
for row in rig.board.driven:
    print(*row)
print(list(rig.outputs.operations), rig.queue.events(), flash.writes, flash.slots)
print(rig.queue.inputs and [(rig.queue.inputs.record(i).decode(), rig.queue.inputs.operations[i]) for i in range(rig.plan.inputs)])
"""

HOT = PARTS + """
from micropython import heap_lock, heap_unlock
from controller.drivers.infrared_capture import Ear
from controller.infrared.decoder import Decoder
from rig import Wiring

levels = bytearray(b"\\x01" * 64)

class Pin:
    IN, OUT, PULL_UP = 0, 1, 2

    def __init__(self, number, mode, pull=None, value=1):
        self.number = number
        levels[number] = value

    def value(self, level=None):
        if level is None:
            return levels[self.number]
        levels[self.number] = level

class Clock:
    now = 0

    def ms(self):
        return self.now

    def us(self):
        return 1000 * self.now

    def since(self, later, earlier):
        return later - earlier

clock = Clock()
plan = core.Plan(table)
wiring = Wiring(plan)
queue = RequestQueue(core, plan, table)
loop = Loop(plan, Outputs(Pin, wiring.relays, 1), Inputs(Pin, wiring.switches, wiring.regulators, sorted(wiring.feedback.items()), wiring.inputs), clock, queue)
if plan.inputs:
    queue.inputs = InputNews(table["inputs"], queue)
ear = Ear(clock, Decoder(), loop.hear)
receiver = Pin(20, Pin.IN)
loop.begin(None)

def live():
    for ms, what, first, second in course:
        for _ in range(min(ms, 4000)):
            clock.now += 1
            heap_lock()
            loop.turn()
            loop.stand_by()
            LEAK
            heap_unlock()
        if what == "switch":
            levels[wiring.switches[first]] = 1 - second
        elif what == "sense":
            levels[wiring.feedback[first]] = 1 - second
        elif what == "input":
            levels[wiring.inputs[first]] = 1 - second
        elif what == "ask":
            queue.request(first, core.SET, second)
        else:
            loop.hear(*first)
        heap_lock()
        ear.edge(receiver)
        heap_unlock()

live()
print("nothing taken", sum(loop.outputs.operations), loop.has_failed, queue.inputs and list(queue.inputs.operations))
"""


SENSED = TABLE | {"feedback": [dict(channel=LAMP, settle_ms=200), dict(channel=FAN, settle_ms=300)]}

# Two inputs, on one of which a rule waits: the lamp is off while the window is open.
WITH_INPUTS = TABLE | {
    "inputs": [dict(key="window", name="Window", settle_ms=50), dict(key="door", name="Door", settle_ms=200)],
    "conditions": [condition(LOCKS, OF_INPUT, 0, (LAMP, OFF, 0), sense=0, rule=0)], "rule_keys": ["window"]}
TABLES = {"without feedback": TABLE, "with feedback": SENSED, "with inputs": WITH_INPUTS}


def course(count, seed, table=TABLE):
    """Return what happens: after so many ms a switch moves, the network asks, a code is heard, or a line is sensed otherwise."""
    random, rows = Random(seed), []
    for _ in range(count):
        ms = random.choice((1, 4, 30, 120, 800, 3000))
        button = random.choice(TABLE["buttons"])
        rows.append(random.choice((
            [ms, "switch", random.randrange(3), random.randrange(2)],
            [ms, "ask", random.randrange(3), random.randrange(5)],
            [ms, "hear", [button["protocol"], button["address"], button["command"], 2], 0],
            *[[ms, "sense", row["channel"], random.randrange(2)] for row in table.get("feedback", ())],
            *[[ms, "input", place, random.randrange(2)] for place in range(len(table.get("inputs", ())))],
        )))
    return rows


def run(program, rows, table=TABLE, **values):
    text = program.replace("DRIVERS", repr(str(CORE.parents[3] / "tests" / "controller" / "drivers")))
    for name, value in values.items():
        text = text.replace(name, str(value))
    return interpreter.run(text, folder=CORE.parent, lines=[canonical(table).decode(), json.dumps(rows)])


@pytest.mark.parametrize("table", TABLES.values(), ids=TABLES)
@pytest.mark.parametrize("start", [0, PERIOD - 60_000])
def test_both_interpreters_drive_the_same_relays_at_the_same_moments(start, table):
    rows, clock = course(200, "alike", table), Clock(ms=start)
    flash = Memory(clock, 45_000)
    rig = Rig(parts, Board(clock), table, flash=flash, contacts=[35])
    for ms, what, first, second in rows:
        rig.run(ms)
        if what == "switch":
            rig.switch(first, second)
        elif what == "sense":
            rig.sense(first, second)
        elif what == "input":
            rig.move(first, second)
        elif what == "ask":
            rig.queue.request(first, rig.parts.core.SET, second)
        else:
            rig.loop.hear(*first)
    here = [" ".join(map(str, row)) for row in rig.board.driven]
    here.append(f"{list(rig.outputs.operations)} {rig.queue.events()} {flash.writes} {flash.slots}")
    assert len(here) > 60
    assert (STUCK in {event[1] for event in rig.queue.events()}) is (table is SENSED)
    here.append(str(rig.queue.inputs and [(rig.queue.inputs.record(i).decode(), rig.queue.inputs.operations[i]) for i in range(rig.plan.inputs)]))
    assert (here[-1] == "None") is (table is not WITH_INPUTS)
    assert run(LIVE, rows, table, START=start) == tuple(here)


@pytest.mark.parametrize("table", TABLES.values(), ids=TABLES)
def test_a_turn_and_an_interrupt_take_no_memory(table):
    said, = run(HOT, course(300, "hot", table), table, LEAK="pass")
    words = said.split()
    assert words[:2] == ["nothing", "taken"] and int(words[2]) > 30 and words[3] == "False"
    assert ("[" in said) is (table is WITH_INPUTS)


def test_memory_taken_in_a_turn_would_be_noticed():
    with pytest.raises(interpreter.InterpreterError, match="MemoryError"):
        run(HOT, course(5, "hot"), LEAK="[loop]")
