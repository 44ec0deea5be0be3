"""The queue between the loop and the network: all that the network may see, and all that it may do.

The loop writes the status (`news`, `reading`, `note`, `counts`) and takes requests (`take`). The
network reads the status and puts a request into a ring that was made once. Neither side
waits for the other: the loop's calls allocate nothing, a full ring refuses, and a network
task looks for news by itself. Each index of the ring is
written by one side only, so the loop may run as a task, in an interrupt or on another core.

Relays wear, and motors mind being switched to and fro: a channel takes BURST requests at
once and one a second after that, and closes for the network only as often in an hour and in a
day as its plan allows. To switch off is never refused, held up or counted: it takes the place of
all that waits for the same channel.

Imports nothing of the control program: whoever starts the board passes it in.
"""

from array import array

ROOM = 16           # requests that may wait for the loop
BURST = 5           # requests a channel takes at once; one more is allowed each second

# What happened, in the ring of events: at_s, kind and three numbers that depend on the kind.
# The words for them are in `network/records`, as only the network tells them.
STARTED, MOVED, SENSOR_LOST, SENSOR_BACK, LINK_UP, LINK_DOWN, LOGIN_REFUSED, FAULT, PROGRAM_REFUSED, PROGRAM_TAKEN, STUCK, FREED, USED_UP = range(13)
EVENT = 5
REFUSALS, TOLD_S = 12, 3600     # kinds of refused logins and programs that are kept apart; each is an event once in so long
STICKS, RULED = 6, 8        # causes from the one on say that a contact sticks, from the other which rule acted (`core/cells`)

# What is counted. The loop and the drivers write what concerns them by `counts[...] = ...`.
REFUSED, DROPPED, TURNS, WORST_US, HEAP_LOW, STARTS, SAVES, FROZEN, TOO_LONG = range(9)
COUNTS = 9

WELCOME, UNKNOWN, TOO_OFTEN, BUSY = "", "unknown channel, verb or level", "asked too often", "too many requests waiting"
WORN = "closed as often as its contacts bear; a switch or the remote still acts"
WALL_ONLY = "its rules leave that to a hand at the wall"
HOUR, DAY = 3600, 86400


def readings(sensors):
    """Return (key, name, unit) of each reading of the sensors in a board's table: two values each."""
    rows = []
    for sensor in sensors:
        rows.append((sensor["key"] + ".temperature", sensor["name"] + ", temperature", "°C"))
        rows.append((sensor["key"] + ".humidity", sensor["name"] + ", relative humidity", "%"))
    return rows


class RequestQueue:
    """One queue for one plan.

    `core` is the control program's package, `table` the plan's table with the keys and names,
    `sensors` a list of (key, name, unit); a reading is a whole number of tenths of the unit.
    `reset_cause` is a word for why the board started. `clock` is the Unix time at power-up [s],
    None until somebody knows it.
    """

    def __init__(self, core, plan, table, sensors=(), reset_cause="unknown", events=32):
        self.core, self.plan, self.title = core, plan, table.get("title", "")
        self.keys = [row.get("key", row["name"]) for row in table["channels"]]
        self.names = [row["name"] for row in table["channels"]]
        self.rules = table.get("rule_keys", ())
        self.tops = [plan.top(channel) for channel in range(plan.channels)]
        self.level = array("i", [0] * plan.channels)
        self.cause = array("i", [0] * plan.channels)
        self.since = array("i", [0] * plan.channels)            # second since power-up of the last news
        self.operations = array("i", [0] * plan.channels)       # news of a channel since power-up
        self.sensors = list(sensors)
        self.value = array("i", [0] * len(self.sensors))        # tenths of the unit
        self.fresh = array("i", [0] * len(self.sensors))        # 0: stale or never read; never shown as a value
        self.read_at = array("i", [0] * len(self.sensors))
        self.inputs = None                                      # as in `inputs`, where the plan has some
        self.reset_cause, self.clock = reset_cause, None
        self.seconds, self._ms = 0, 0
        self.linked = array("i", [0, 0])                        # broker, radio
        self.counts = array("i", [0] * COUNTS)
        self.reason = WELCOME
        self.declined, self.declines = None, 0                  # the last that was refused but for a channel's request, and how many
        self._size = ROOM + plan.channels + 1           # one more for each channel's "off"
        self._asked, self._in, self._out = array("i", [0] * 3 * self._size), 0, 0
        self.closings = array("i", [0] * plan.channels)         # for the network, since power-up
        self._taken = array("i", [0] * plan.channels)           # requests but for those to switch off, since power-up
        self._allowed = [_Allowance(self._taken, [BURST] * plan.channels, BURST, TOO_OFTEN)] + [
            _Allowance(self.closings, [row.get(word, 0) for row in table["channels"]], period, WORN)
            for word, period in (("closings_an_hour", HOUR), ("closings_a_day", DAY))]
        self._events, self._rows = array("i", [0] * EVENT * events), events
        self.refusals = []          # logins and programs since power-up, newest first: [last second, kind, number, times, second of the last event]
        self.noted = 0              # events since power-up; the last `events` of them are kept

    # For the loop: nothing here allocates or waits.

    def advance(self, elapsed):
        """Let time pass [ms]."""
        self._ms += elapsed
        while self._ms >= 1000:
            self._ms -= 1000
            self.seconds += 1

    def take(self, event):
        """Fill `event`, a list of five, with the oldest request as a COMMAND row; return whether there was one.

        One in each turn of the loop is enough, and keeps the turn short.
        """
        if self._out == self._in:
            return False
        at = 3 * self._out
        event[0], event[4] = self.core.COMMAND, 0
        event[1], event[2], event[3] = self._asked[at], self._asked[at + 1], self._asked[at + 2]
        self._out = self._after(self._out)
        return True

    def news(self, channel, level, cause):
        """Tell what a channel does now, and who asked for it, or that its contact sticks."""
        kind = MOVED
        was = self.cause[channel]
        if cause != was:
            if STICKS <= cause < RULED:
                kind = STUCK
            elif STICKS <= was < RULED:
                kind = FREED
        if kind == MOVED or level != self.level[channel]:
            self.operations[channel] += 1
            if level and cause == self.core.BY_NETWORK:
                self.closings[channel] += 1
        self.level[channel] = level
        self.cause[channel] = cause
        self.since[channel] = self.seconds
        self.note(kind, channel, level, cause)

    def cause_word(self, cause):
        """Return who asked, that the contact sticks, or which rule acted, as a word."""
        return self.core.CAUSES[cause] if cause < RULED else "rule " + self.rules[cause - RULED]

    def reading(self, sensor, tenths, fresh):
        """Tell what a sensor reads [tenths of its unit]; `fresh` is 0 when it no longer answers."""
        if fresh != self.fresh[sensor]:
            self.note(SENSOR_BACK if fresh else SENSOR_LOST, sensor, 0, 0)
        if fresh:
            self.read_at[sensor] = self.seconds
        self.fresh[sensor] = fresh
        self.value[sensor] = tenths

    def note(self, kind, first, second, third):
        """Write one row into the ring of the last events.

        Refused logins and programs, which anybody can cause, are merged in `refusals`, too, which allocates.
        """
        if kind == LOGIN_REFUSED or kind == PROGRAM_REFUSED:
            second = self._refused(kind, first)
            if not second:
                return
        at = EVENT * (self.noted % self._rows)
        rows = self._events
        rows[at], rows[at + 1] = self.seconds, kind      # in two steps: a longer row would be made as a tuple
        rows[at + 2], rows[at + 3], rows[at + 4] = first, second, third
        self.noted += 1

    # For the network.

    def request(self, channel, verb, level=0):
        """Put a request where the loop will find it; return whether it was taken. `reason` says why not."""
        if not self.core.allows(self.plan, channel, verb, level):
            return self._decline(UNKNOWN)
        if verb != self.core.SET:
            level = 0
        if verb == self.core.SET and not level or verb == self.core.TOGGLE and self.level[channel]:
            verb = self.core.OFF
        if self.plan.rules and self.plan.rules.bars(self.plan, channel, verb, level):
            return self._decline(WALL_ONLY)
        if verb == self.core.OFF:
            self._put_off(channel)
            self.reason = WELCOME
            return True
        for allowance in self._allowed:
            if allowance.is_used_up(channel, self.seconds):
                if allowance.reason == WORN and not allowance.told[channel]:
                    allowance.told[channel] = 1
                    self.note(USED_UP, channel, 0, 0)
                return self._decline(allowance.reason)
        if (self._in - self._out) % self._size >= ROOM:
            self.counts[DROPPED] += 1
            return self._decline(BUSY)
        self._taken[channel] += 1
        self._put(channel, verb, level)
        self.reason = WELCOME
        return True

    def link(self, up, number=0):
        """Tell that a connection stands or is gone; 0 is the broker, 1 the radio."""
        self.linked[number] = 1 if up else 0
        self.note(LINK_UP if up else LINK_DOWN, number, 0, 0)

    def refused_login(self):
        self.note(LOGIN_REFUSED, 0, 0, 0)

    def decline(self, topic, found, reason, allowed):
        """Tell that something was refused that is no channel request: the broker hears of it on the error topic."""
        self.declined = topic, found, reason, allowed
        self.declines += 1

    def tell_time(self, now):
        """Take the Unix time of this moment [s]. Nothing is decided by it; all stamps are told by it from here on."""
        self.clock = now - self.seconds

    def time(self, second):
        """Return the Unix time of a second since power-up, None when the clock was never set."""
        return None if self.clock is None else self.clock + second

    def events(self):
        """Return the last events, newest first, each (second, kind, first, second number, third)."""
        return [self._row(number) for number in range(self.noted - 1, self._oldest() - 1, -1)]

    def event_after(self, heard):
        """Return (heard then, event): the oldest that is kept and not among the first `heard`."""
        number = max(heard, self._oldest())
        return number + 1, self._row(number)

    def _refused(self, kind, number):
        """Count a refusal; return how many there were of its kind and number if that is to be an event, else 0."""
        now, row = self.seconds, [0, kind, number, 0, -TOLD_S]
        for known in self.refusals:
            if known[1] == kind and known[2] == number:
                row = known
        row[0] = now
        row[3] += 1
        self.refusals = [row] + [known for known in self.refusals if known is not row][:REFUSALS - 1]
        if now - row[4] < TOLD_S:
            return 0
        row[4] = now
        return row[3]

    def _oldest(self):
        return max(0, self.noted - self._rows)

    def _row(self, number):
        at = EVENT * (number % self._rows)
        return tuple(self._events[at:at + EVENT])

    def _decline(self, reason):
        self.counts[REFUSED] += 1
        self.reason = reason
        return False

    def _put(self, channel, verb, level):
        at = 3 * self._in
        self._asked[at], self._asked[at + 1] = channel, verb
        self._asked[at + 2] = level
        self._in = self._after(self._in)        # last: only now may the loop see it

    def _put_off(self, channel):
        """Let a channel's waiting requests be "off", or one more where none waits: a place for it is always left."""
        out, waits = -1, False
        while out != self._out:                 # the loop may take one meanwhile: that one is not waiting any more
            at = out = self._out
            waits = False
            while at != self._in:
                if self._asked[3 * at] == channel:
                    self._asked[3 * at + 1] = self.core.OFF
                    waits = True
                at = self._after(at)
        if not waits:
            self._put(channel, self.core.OFF, 0)

    def _after(self, place):
        return place + 1 if place + 1 < self._size else 0


class _Allowance:
    """How often each channel may do in a period [s] what `done` counts: what it did is forgiven evenly over the period.

    `most` are the times for each channel, 0 for as often as is asked; `reason` is what is said when they are used
    up, and `told` whether that was an event since the channel was last free.
    """

    def __init__(self, done, most, period, reason):
        self._done, self._most, self._period, self.reason = done, most, period, reason
        self._forgiven, self._at, self.told = [array("i", [0] * len(most)) for _ in range(3)]

    def is_used_up(self, channel, now):
        """Return whether a channel may not do it again now [s]."""
        most, done = self._most[channel], self._done[channel]
        if not most:
            return False
        back = (now - self._at[channel]) * most // self._period
        self._forgiven[channel] = min(done, self._forgiven[channel] + back)
        self._at[channel] += back * self._period // most
        if done - self._forgiven[channel] >= most:
            return True
        self.told[channel] = 0
        return False
