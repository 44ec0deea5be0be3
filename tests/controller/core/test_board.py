"""The same program on the board's interpreter: the same answers, and no memory taken while it runs."""

from random import Random

import pytest

from pattress import interpreter
from pattress.controller import core
from pattress.controller.core import CODE, COMMAND, CONTACT, OFF, ON, ROTOR, TIME
from pattress.controller.digest import CORE, canonical
from pattress.controller.replay import answers, begin_line, step_line

from ...proof.plans import SEWING_ROOM, presses, rule
from .home import BED, FAN, FRIDGE, HALL, LAMP, TABLE

HOT = """
import json, sys
from micropython import heap_lock, heap_unlock
import core

plan = core.Plan(json.loads(sys.stdin.readline()))
state = core.new_state(plan)
core.begin(plan, state, None, bytes(plan.switches), bytes(plan.regulators))
events = [tuple([int(word) for word in line.split()]) for line in sys.stdin]
snapshot = bytearray(core.size(plan))

def live():
    for event in events:
        todo = core.step(plan, state, event)
        if todo & core.SAVE_NOW:
            core.write(plan, state, snapshot)
        if todo & core.NEWS:
            while core.next_news(plan, state) >= 0:
                pass
        core.relays(plan, state)
        core.due_in(plan, state)

live()
heap_lock()
live()
LEAK
heap_unlock()
print("nothing taken")
"""


def day(table, count, seed):
    """Return a random course of events, time between them; some mean nothing to the plan."""
    random, events = Random(seed), []
    while len(events) < count:
        events.append((TIME, random.choice((1, 5, 20, 60, 150, 250, 400, 800, 1500, 5000, 200_000)), 0, 0, 0))
        button = random.choice(table["buttons"])
        events.append(random.choice((
            (CONTACT, random.randrange(len(table["switches"]) + 1), random.randrange(2), 0, 0),
            (ROTOR, 0, random.randrange(4), random.randrange(2), 0),
            (CODE, button["protocol"], button["address"], button["command"] + random.choice((0, 0, 0, 40)), random.randrange(3)),
            (COMMAND, random.randrange(len(table["channels"]) + 1), random.randrange(7), random.randrange(6), 0),
        )))
    return events


APARTED = dict(TABLE, title="home with two apart", channels=[dict(row, restore=0) for row in TABLE["channels"]],
               apart=[dict(channels=[LAMP, FAN], between_ms=1200, rule=0)])
RULED = TABLE | {"title": "home with rules", "rules": [rule(LAMP, limit=200_000, stay=1500, renews=1), rule(FAN, limit=5000), rule(FRIDGE, stay=5000, wall_only=1)]}
PRESSED = TABLE | {"title": "home with presses told apart", "presses": [
    presses(BED, held=[(LAMP, OFF, 0)]), presses(HALL, held=[(FAN, ON, 0)], twice=[(FAN, OFF, 0)])]}


def run_hot(leak, table=TABLE):
    lines = [canonical(table).decode(), *(" ".join(map(str, event)) for event in day(table, 1500, "hot"))]
    return interpreter.run(HOT.replace("LEAK", leak), folder=CORE.parent, lines=lines)


@pytest.mark.parametrize("table", [TABLE, RULED, APARTED, PRESSED], ids=lambda table: table["title"])
def test_running_takes_no_memory(table):
    assert run_hot("", table) == ("nothing taken",)


def test_memory_taken_would_be_noticed():
    with pytest.raises(interpreter.InterpreterError, match="MemoryError"):
        run_hot("[state]")


@pytest.mark.parametrize("table", [TABLE, RULED, APARTED, PRESSED, SEWING_ROOM], ids=lambda table: table["title"])
def test_both_interpreters_answer_alike(table):
    snapshot = bytes(level for channel in table["channels"] for level in (1, len(channel["masks"]) - 1))
    questions = [begin_line(snapshot, bytes(len(table["switches"])), bytes(len(table["regulators"])))]
    for number, event in enumerate(day(table, 4000, table["title"])):
        questions.append(step_line(event, tell=number % 3 == 0, save=True))
    here = tuple(answers(core, core.Plan(table), questions))
    assert len(set(here)) > 1000            # the day is eventful
    assert interpreter.ask(questions, folder=CORE.parent, table=canonical(table).decode()) == here
