"""What the broker has not been told yet. The queue itself is the outbox.

For each topic that holds a state there is one number: which state the broker has
acknowledged. So however long the broker was away and however much happened, there is at most
one message for each topic, it is made when it is sent, and it is the newest.
"""

from .records import (
    channel_record, counts_record, error_record, event_record, availability_record, sensor_record,
)

COUNTS_S = 60       # counters are told once a minute
UNTOLD = -1

AVAILABILITY, CHANNEL, SENSOR, ERROR, EVENT, COUNTS, INPUT = range(7)


class Telling:
    """What is still to be told about a queue on its topics."""

    def __init__(self, queue, topics):
        self._queue, self._topics = queue, topics
        self._error, self._erred = None, UNTOLD
        self.stale = []                 # channels whose kept request was found at the broker and taken away
        self._heard = queue.noted        # events before the broker was first reached are not news
        self.start()

    def start(self):
        """A new session: every state that is kept by the broker is told again."""
        self._available = False
        self._channels = [UNTOLD] * len(self._queue.keys)
        self._sensors = [UNTOLD] * len(self._queue.sensors)
        self._inputs = [UNTOLD] * len(self._topics.inputs)
        self._counted = UNTOLD

    def decline(self, topic, found, reason, allowed):
        """Remember why a request was refused; only the last one is kept."""
        self._error = topic, found, reason, allowed

    def next(self):
        """Return (what, mark, topic, payload, kept) of the next message, None when all is told.

        `kept` messages are retained and acknowledged; hand `what` and `mark` to `told` then.
        """
        queue, topics = self._queue, self._topics
        if not self._available:
            return (AVAILABILITY, 0), 0, topics.availability, availability_record(queue), True
        for channel, told in enumerate(self._channels):
            now = (128 * queue.operations[channel] + queue.cause[channel]) * 2 + self._dated()      # one that sticks has not moved
            if told != now:
                return (CHANNEL, channel), now, topics.channels[channel], channel_record(queue, channel), True
        for sensor, told in enumerate(self._sensors):
            now = self._reading(sensor)
            if told != now:
                return (SENSOR, sensor), now, topics.sensors[sensor], sensor_record(queue, sensor), True
        for place, told in enumerate(self._inputs):
            now = 2 * queue.inputs.operations[place] + self._dated()
            if told != now:
                return (INPUT, place), now, topics.inputs[place], queue.inputs.record(place), True
        if self._error is not None and self._erred != queue.seconds:     # one a second is enough to learn from
            return (ERROR, 0), 0, topics.error, error_record(*self._error), False
        if self._heard != queue.noted:
            at, event = queue.event_after(self._heard)
            return (EVENT, 0), at, topics.events, event_record(queue, event), False
        if self._counted == UNTOLD or queue.seconds - self._counted >= COUNTS_S:
            return (COUNTS, 0), queue.seconds, topics.counts, counts_record(queue), False
        return None

    def told(self, what, mark):
        """The broker has it."""
        kind, place = what
        if kind == AVAILABILITY:
            self._available = True
        elif kind == CHANNEL:
            self._channels[place] = mark
        elif kind == SENSOR:
            self._sensors[place] = mark
        elif kind == INPUT:
            self._inputs[place] = mark
        elif kind == ERROR:
            self._error, self._erred = None, self._queue.seconds
        elif kind == EVENT:
            self._heard = mark
        else:
            self._counted = mark

    def _reading(self, sensor):
        """Return a number that changes with what is told of a sensor."""
        queue = self._queue
        return 4 * (queue.value[sensor] + 100_000) + 2 * queue.fresh[sensor] + self._dated() if queue.fresh[sensor] else self._dated()

    def _dated(self):
        """Return 1 when the time is known: what the broker keeps is then told once more, with it."""
        return 0 if self._queue.clock is None else 1
