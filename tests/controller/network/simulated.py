"""A simulated board for the tests, run by both interpreters: the loop polls every 5 ms and measures its own turns.

Lamp, fan and fridge are those of the plan in the folder. Nothing here ships.
"""

import asyncio
import json
import os
import time
from array import array

import core
from request_queue import RequestQueue

if hasattr(time, "ticks_us"):
    ticks_us, apart = time.ticks_us, time.ticks_diff

    def work_us():
        """Return the processor time this process has used."""
        return int(time.clock() * 1_000_000)
else:
    def work_us():
        return time.process_time_ns() // 1000

    def ticks_us():
        return time.perf_counter_ns() // 1000

    def apart(after, before):
        return after - before

POLL_MS = 5
KEPT = 16384        # turns whose figures are kept, 82 s; made at the start, so that measuring takes no memory
START = 25          # turns in which the others start; not among the figures
MOVED = 200         # turns after which an input stands otherwise, 1 s
SENSORS = [("hall_air", "Temperature", "°C"), ("hall_damp", "Relative humidity", "%")]


class Board:
    def __init__(self, sensors=SENSORS):
        with open("plan.json") as file:
            table = json.load(file)
        self.plan = core.Plan(table)
        self.state = core.new_state(self.plan)
        core.begin(self.plan, self.state, None, bytes(self.plan.switches + self.plan.inputs), bytes(self.plan.regulators))
        self.queue = RequestQueue(core, self.plan, table, sensors, "power")
        if self.plan.inputs:
            from inputs import InputNews

            self.queue.inputs = InputNews(table["inputs"], self.queue)
        self.event, self.tick = [0] * 5, [core.TIME, 0, 0, 0, 0]
        self.moves = []                     # what the relays did
        self.turns = 0
        self.late = array("i", [0] * KEPT)  # how late each turn came [us]: what a person would notice
        self.held = array("i", [0] * KEPT)  # work of others between two turns [us]: what we answer for on a busy machine

    async def loop(self):
        """The loop: never awaits anything but its own next turn."""
        last = ticks_us()
        due = last
        rest = 0
        worked = work_us()
        while True:
            now = ticks_us()
            if self.turns >= START:
                self.held[self.turns % KEPT] = work_us() - worked
                self.late[self.turns % KEPT] = max(0, apart(now, due))
            self.turns += 1
            rest += apart(now, last)
            last = now
            self.turn(rest // 1000)
            rest %= 1000
            due = now + POLL_MS * 1000
            worked = work_us()
            await asyncio.sleep(POLL_MS / 1000)

    def turn(self, elapsed):
        self.queue.advance(elapsed)
        self.tick[1] = elapsed
        before = core.relays(self.plan, self.state)
        core.step(self.plan, self.state, self.tick)
        for place in range(self.plan.inputs):
            if self.turns % MOVED == 0:
                core.step(self.plan, self.state, [6, place, self.turns // MOVED % 2, 0, 0])      # INPUT_MOVED
            self.queue.inputs.news(place, self.state[self.plan.input_at[place]])
        if self.queue.take(self.event):
            core.step(self.plan, self.state, self.event)
        channel = core.next_news(self.plan, self.state)
        while channel >= 0:
            at = self.plan.channel_at[channel]
            self.queue.news(channel, self.state[at + core.APPLIED], self.state[at + core.CAUSE])
            channel = core.next_news(self.plan, self.state)
        after = core.relays(self.plan, self.state)
        if after != before:
            self.moves.append(after)

    def report(self, **more):
        count = min(self.turns, KEPT)
        for name, figures in (("late", sorted(self.late[:count])), ("held", sorted(self.held[:count]))):
            more[name] = {"p999_us": figures[min(count - 1, count * 999 // 1000)], "worst_us": figures[-1]}
        more["moves"] = self.moves
        more["turns"] = self.turns
        more["refused"] = self.queue.counts[0]
        print(json.dumps(more))


async def live(board, stop, *others):
    """Run the loop and other tasks until there is a file of the name `stop`, half a minute at most."""
    tasks = [asyncio.create_task(board.loop())] + [asyncio.create_task(other) for other in others]
    for _ in range(1500):
        await asyncio.sleep(0.02)
        try:
            os.stat(stop)
            break
        except OSError:
            pass
    for task in tasks:
        task.cancel()
    await asyncio.sleep(0.1)
