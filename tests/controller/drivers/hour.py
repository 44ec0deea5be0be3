"""Runs under MicroPython beside a flash: a board lives through simulated activity, and its memory is weighed.

Reads one line of JSON: `seconds`, `seed`, `infrared`, `switch`, `relay`, `sensor`. Prints JSON:
bytes in use after each collection beyond what the stand-ins take, times from a switch to its
relay [us], turns, the time of this machine that a turn took [us], and the modules' package: with
`partition` the board has one of so many bytes, and the modules run in it.
"""

import sys

sys.path[:0] = STANDING_IN
import asyncio
import gc
import json

import machine
import os
import time
import utime

from array import array


LOOK_S = 10     # as loop.MEMORY_MS


class Column:
    """Numbers in room that was made once, so that keeping them does not weigh."""

    def __init__(self, room):
        self.room, self.count = array("q", [0] * room), 0

    def append(self, number):
        self.room[self.count] = number
        self.count += 1

    def list(self):
        return list(self.room[:self.count])


class Chance:
    """Numbers that look random: the "minimal standard" generator of Park and Miller (1988), from memory."""

    def __init__(self, seed):
        self.seed = seed

    def below(self, end):
        self.seed = 16807 * self.seed % 2147483647
        return self.seed % end

    def between(self, least, end):
        return least + self.below(end - least)


asked = json.loads(sys.stdin.readline())
chance = Chance(asked["seed"])
pressed, times, weighed, spent, level = [], Column(20_000), Column(4000), [0], [1]


def press(at):
    """The door switch is thrown, and bounces."""
    rows = []
    for _ in range(chance.below(4)):
        rows.append((at, asked["switch"], 1 - level[0]))
        rows.append((at + 150, asked["switch"], level[0]))
        at += 300
    level[0] = 1 - level[0]
    rows.append((at, asked["switch"], level[0]))
    pressed.append(at)
    return rows


def frame(at):
    """One frame of a remote (timings of the uPD6121 data sheet); now and then it is noise instead."""
    if chance.below(10) < 3:
        lengths = [chance.between(60, 3000) for _ in range(41)]
    else:
        bits = 4 | 0xFB << 8 | 8 << 16 | 0xF7 << 24
        lengths = [9000, 4500]
        for place in range(32):
            lengths += [562, 1687 if bits >> place & 1 else 562]
        lengths.append(562)
    line = 0
    yield at, asked["infrared"], line
    for length in lengths:
        at, line = at + length, 1 - line
        yield at, asked["infrared"], line


def life():
    """Give what happens, one thing after the other and each only when it is wanted: what is still to come must not weigh."""
    while True:
        at = machine.us() + chance.between(200_000, 6_000_000)
        machine.pulses[:] = [31, 80] + [70 if 0x028C015FEE >> place & 1 else 27 for place in range(39, -1, -1)]
        yield from press(at) if chance.below(2) else frame(at)


class Seen:
    """Takes the place of the list of what was driven."""

    def append(self, row):
        at, number, _ = row
        if number == asked["relay"] and pressed and at >= pressed[0]:
            times.append(at - pressed.pop(0))


coming = life()
machine.end, machine.source = 1_000_000 * asked["seconds"], lambda: (next(coming),)
is_narrow = hasattr(asyncio, "Begun")       # that build is told a line at a time what to do, and when to collect garbage
if is_narrow:
    gc.disable()
if asked["partition"]:
    import partition

    partition.have(bytearray(asked["partition"]))       # weighed out with the other stand-ins: on a board it is flash


def note(loop):
    asked["taken_over"], asked["worst_gap"], asked["turns"] = loop.taken_over, loop.worst_gap, loop.queue.counts[2]


def weigh():
    gc.collect()
    weighed.append(gc.mem_alloc() - before)


def tend(loop, *given):
    """Tend as the loop does, and look at it as often as it looks at its memory."""
    real_tend(loop, *given)
    asked["loop"] = loop
    if loop.queue.seconds - asked["noted"] >= LOOK_S:
        asked["noted"] = loop.queue.seconds
        if not is_narrow:
            weigh()


def timed(loop):
    started = utime.ticks_us()
    wait = turn(loop)
    spent[0] += utime.ticks_us() - started
    return wait


def load(slots, package, module):
    """Load as `start` does, and watch the loop that comes with the full program."""
    global turn, real_tend
    loaded = real_load(slots, package, module)
    if module == "full":
        asked["package"], asked["noted"] = package, 0
        loop = sys.modules[package + ".loop"].Loop
        turn, real_tend = loop.turn, loop.tend
        loop.turn, loop.tend, machine.driven = timed, tend, Seen()
        if is_narrow:
            loaded.Program.end = lambda program: None
    return loaded


def weigh_out():
    """Weigh what was there before the board starts."""
    global before
    gc.collect()
    before = gc.mem_alloc()


def begin():
    """Start the board; in the build with narrow numbers this comes back as soon as its tasks are there."""
    global real_load
    import start

    real_load = start.Slots.load
    start.Slots.load = load
    try:
        start.run(".")
    except getattr(asyncio, "Begun", ()):
        pass


def tell():
    note(asked["loop"])
    print(json.dumps({"weighed": weighed.list(), "times": times.list(), "turns": asked["turns"],
                      "turn_us": spent[0] / asked["turns"], "worst_gap": asked["worst_gap"], "package": asked["package"]}))


if not is_narrow:
    weigh_out()
    begin()
    tell()
