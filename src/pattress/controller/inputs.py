"""What the network is told of the inputs: where each stands, as the control program believes it. Loaded only by a plan that has some.

An input is told and never asked: it has no topic and no form for that. Imports nothing of the control program.
"""

from array import array


class InputNews:
    """The inputs of one plan beside its `queue`; `rows` are those of the plan's table."""

    def __init__(self, rows, queue):
        self._queue = queue
        self.keys = [row["key"] for row in rows]
        self.names = [row["name"] for row in rows]
        self.level = array("i", [-1] * len(rows))           # 1 closed, 0 open; -1 before anything was told
        self.since = array("i", [0] * len(rows))            # second since power-up of the last change
        self.operations = array("i", [0] * len(rows))       # changes since power-up

    def news(self, place, level):
        """Tell how an input stands; the same again is no news. Allocates nothing."""
        if level != self.level[place]:
            self.level[place] = level
            self.since[place] = self._queue.seconds
            self.operations[place] += 1

    def word(self, place):
        """Return how an input stands, as a word."""
        return "closed" if self.level[place] else "open"

    def record(self, place):
        """Return how an input stands and since when, as JSON."""
        second = self.since[place]
        time = self._queue.time(second)
        return '{{"state":"{}","second":{},"time":{}}}'.format(self.word(place), second, "null" if time is None else time).encode()
