"""The whole loop on a simulated board, for both interpreters.

`parts` is a module or class with `core`, `RequestQueue`, `InputNews`, `Loop`, `Inputs`, `Outputs` and `Store`: the
workbench and the board find them under different names.
"""

TAG = 7


class Wiring:
    """Which pins a plan's relays and contacts get here: relays from 0, contacts from 32."""

    def __init__(self, plan):
        most = max([mask for masks in plan.masks for mask in masks])
        count = 0
        while most >> count:
            count += 1
        self.relays = list(range(count))
        self.switches = list(range(32, 32 + plan.switches))
        free, self.regulators = 32 + plan.switches, []
        for contacts in plan.contacts:
            self.regulators.append(list(range(free, free + contacts)))
            free += contacts
        self.feedback = {}
        for channel in range(plan.channels if plan.watch else 0):
            if plan.feedback_at[channel]:
                self.feedback[channel] = free
                free += 1
        self.inputs = list(range(free, free + plan.inputs))


class Rig:
    """A board that lives in simulated time; each turn takes `cost` us, and a task may be late."""

    def __init__(self, parts, board, table, snapshot=None, flash=None, cost=300, level=1, contacts=()):
        self.parts, self.board, self.clock, self.cost = parts, board, board.clock, cost
        self.plan = parts.core.Plan(table)
        self.wiring = Wiring(self.plan)
        self.level = level
        for number in contacts:
            board.level[number] = 0
        self.outputs = parts.Outputs(board.Pin, self.wiring.relays, level)
        self.inputs = parts.Inputs(board.Pin, self.wiring.switches, self.wiring.regulators, sorted(self.wiring.feedback.items()), self.wiring.inputs)
        self.queue = parts.RequestQueue(parts.core, self.plan, table)
        if self.plan.inputs:
            self.queue.inputs = parts.InputNews(table["inputs"], self.queue)
        self.store = None if flash is None else parts.Store(flash, TAG, parts.core.size(self.plan))
        if self.store:
            snapshot = self.store.restore()
        self.loop = parts.Loop(self.plan, self.outputs, self.inputs, self.clock, self.queue, self.store)
        self.loop.begin(snapshot)
        self.is_silent = True
        self._tend_at = self.clock.now

    def run(self, ms, late=0):
        """Live for a time; each wake comes `late` us after it was due."""
        end = self.clock.now + 1000 * ms
        while True:
            wait = 1000 * self.loop.turn() + late + self.cost
            if self.clock.now >= self._tend_at:
                self.loop.tend(self.is_silent)
                self._tend_at = self.clock.now + 50_000
            if self.clock.now + wait > end:
                if end > self.clock.now:
                    self.clock.wait(end - self.clock.now)
                return
            self.clock.wait(wait)

    def put(self, number, closed):
        """Move a contact."""
        self.board.put(number, 0 if closed else 1)

    def switch(self, number, closed):
        self.put(self.wiring.switches[number], closed)

    def sense(self, channel, live):
        """Let the line of a channel be live or dead."""
        self.put(self.wiring.feedback[channel], live)

    def move(self, place, closed):
        """Move the contact of an input."""
        self.put(self.wiring.inputs[place], closed)

    def relays(self):
        """Return the relays closed on the pins, as bits."""
        closed = 0
        for i in range(len(self.wiring.relays)):
            if self.board.level[self.wiring.relays[i]] == self.level:
                closed |= 1 << i
        return closed

    def moves_since(self, us):
        """Return (us after `us`, relay, is closed) of every relay move from then on."""
        return [(at - us, number, level == self.level) for at, number, level in self.board.driven
                if at >= us and number in self.wiring.relays]
