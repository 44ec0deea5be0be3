"""A queue with a simulated loop behind it, over the invented home of the core's tests."""

from pattress.controller import core
from pattress.controller.core.cells import APPLIED, CAUSE
from pattress.controller.request_queue import RequestQueue

from ..core.home import FRIDGE_TURN, TABLE, Home

SENSORS = [("hall_air", "Temperature", "°C"), ("hall_damp", "Relative humidity", "%")]


class Board:
    """The home of the core's tests with a queue; `turn` is one turn of its loop."""

    def __init__(self, fresh=False, table=TABLE):
        self.home = Home(fresh=fresh, table=table)
        self.queue = RequestQueue(core, self.home.plan, table, SENSORS, reset_cause="power")
        self.event = [0] * 5
        self.taken = []
        self.queue.advance(0 if fresh else FRIDGE_TURN)
        self.turn(0)

    def turn(self, elapsed=5):
        self.queue.advance(elapsed)
        self.home.do(core.TIME, elapsed)
        if self.queue.take(self.event):
            self.taken.append(tuple(self.event))
            self.home.do(*self.event)
        channel = core.next_news(self.home.plan, self.home.state)
        while channel >= 0:
            at = self.home.plan.channel_at[channel]
            self.queue.news(channel, self.home.state[at + APPLIED], self.home.state[at + CAUSE])
            channel = core.next_news(self.home.plan, self.home.state)
