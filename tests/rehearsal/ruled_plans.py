"""The sewing room with rules of every kind. Invented, like the room."""

from pattress.controller.core import OFF, ON, SET
from pattress.controller.core.conditions import HOLDS, LOCKS, OF_CHANNEL, OF_INPUT, OF_READING, RELEASE, RESTS, WHEN
from pattress.controller.readings import DAMPER, HUMIDITY, TEMPERATURE

from ..proof.plans import condition, rule
from .plans import FAN, FRIDGE, IRON, LINEAR, MACHINE, PENDANT, WALL_LIGHTS, sewing_room

WINDOW, LEAK, RESET, FLOAT = range(4)
COLD, DAMP, STUFFY = range(3)


def inputs(*rows):
    return [dict(key=name.lower(), name=name, settle_ms=settle_ms) for name, settle_ms in rows]


def reading(name, quantity, begin, end, *, sensor=0, outside=-1, is_below=0, stale_ms=180_000):
    return dict(name=name, quantity=quantity, sensor=sensor, outside=outside, is_below=is_below, begin=begin, end=end, stale_ms=stale_ms)


def ruled_room():
    """Return the sewing room with a rule of each kind; a rule's name says what it waits for."""
    return sewing_room() | dict(
        rule_keys=["bed time", "cold", "damp", "dry", "empty", "leak", "open", "stuffy", "wall limit", "machine time"],
        rules=[rule(WALL_LIGHTS, limit=3_600_000) | dict(limit_rule=8), rule(MACHINE, stay=2_700_000) | dict(stay_rule=9)],
        inputs=inputs(("Window", 50), ("Leak", 1000), ("Reset", 50), ("Float", 3000)),
        readings=[reading("room below", TEMPERATURE, 190, 200, is_below=1), reading("room damper", DAMPER, 300, 150, outside=1), reading("room above", HUMIDITY, 700, 600)],
        conditions=[
            condition(HOLDS, OF_CHANNEL, PENDANT, (LINEAR, ON, 0), rule=0, begins=120_000, ends=900_000),
            condition(HOLDS, OF_INPUT, FLOAT, (LINEAR, ON, 0), rule=4, begins=2000, ends=40_000),
            condition(HOLDS, OF_READING, COLD, (IRON, ON, 0), rule=1),
            condition(HOLDS, OF_READING, DAMP, (FAN, SET, 2), rule=2, begins=30_000, ends=300_000),
            condition(LOCKS, OF_INPUT, WINDOW, (IRON, OFF, 0), rule=6, sense=0, begins=60_000, ends=120_000),
            condition(LOCKS, OF_INPUT, FLOAT, (FRIDGE, OFF, 0), rule=4, ends=600_000),
            condition(LOCKS, OF_INPUT, LEAK, (MACHINE, OFF, 0), rule=5, begins=1000, released_by=7),
            condition(RELEASE, OF_INPUT, RESET, rule=5, begins=2000),
            condition(LOCKS, OF_READING, STUFFY, (FAN, OFF, 0), rule=7, sense=1, ends=60_000),
            condition(RESTS, OF_CHANNEL, WALL_LIGHTS, (FAN, OFF, 0), rule=3),
            condition(WHEN, OF_INPUT, WINDOW, (WALL_LIGHTS, ON, 0), rule=6, begins=500),
            condition(WHEN, OF_CHANNEL, FRIDGE, (PENDANT, OFF, 0), (WALL_LIGHTS, OFF, 0), rule=3, sense=0, begins=300_000),
        ])


def thirty_rules():
    """Return the room with thirty rules: those of `ruled_room`, then holds, locks and moments in turn, spread over all channels."""
    room = ruled_room()
    keys = [*room["rule_keys"], *(f"{('follows', 'shut by', 'moment of')[number % 3]} {number}" for number in range(len(room["rule_keys"]), 30))]
    rows, pairs = list(room["conditions"]), [(one, other) for one in range(7) for other in range(one + 1, 7)]
    for number in range(len(room["rule_keys"]), 30):
        one, other = pairs[5 * number % len(pairs)]
        contact = number % len(room["inputs"])
        rows.append((
            condition(HOLDS, OF_CHANNEL, one, (other, ON, 0), rule=number, sense=number % 2, begins=5_000 * number, ends=60_000 * number),
            condition(LOCKS, OF_INPUT, contact, (other, OFF, 0), rule=number, sense=number // 2 % 2, begins=600_000, ends=1000 * number),
            condition(WHEN, OF_INPUT, contact, (one, OFF, 0), (other, ON, 0), rule=number, begins=2000 * number),
        )[number % 3])
    return room | dict(rule_keys=keys, conditions=rows)
