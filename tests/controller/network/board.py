"""A desk with a simulated loop behind it, over the invented home of the core's tests."""

from pattress.controller import core
from pattress.controller.core.cells import APPLIED, CAUSE
from pattress.controller.desk import Desk

from ..core.home import FRIDGE_TURN, TABLE, Home

SENSORS = [("hall_air", "Temperature", "°C"), ("hall_damp", "Relative humidity", "%")]


class Board:
    """The home of the core's tests with a desk; `turn` is one turn of its loop."""

    def __init__(self, fresh=False):
        self.home = Home(fresh=fresh)
        self.desk = Desk(core, self.home.plan, TABLE, SENSORS, reset_cause="power")
        self.event = [0] * 5
        self.taken = []
        self.desk.advance(0 if fresh else FRIDGE_TURN)
        self.turn(0)

    def turn(self, elapsed=5):
        self.desk.advance(elapsed)
        self.home.do(core.TIME, elapsed)
        if self.desk.take(self.event):
            self.taken.append(tuple(self.event))
            self.home.do(*self.event)
        channel = core.next_news(self.home.plan, self.home.state)
        while channel >= 0:
            at = self.home.plan.channel_at[channel]
            self.desk.news(channel, self.home.state[at + APPLIED], self.home.state[at + CAUSE])
            channel = core.next_news(self.home.plan, self.home.state)
