"""A board that is not there, for both interpreters: its clock, its pins, and a flash in memory.

The clock wraps as the board's does. A pin remembers when it was driven, and calls its
interrupt handler when the world moves it.
"""

PERIOD = 1 << 30        # where the board's counters wrap


class Clock:
    """Time that passes when told; `us` is the truth, `ms` follows."""

    def __init__(self, ms=0):
        self.now = 1000 * ms        # us since the counters were zero

    def ms(self):
        return self.now // 1000 % PERIOD

    def us(self):
        return self.now % PERIOD

    def since(self, later, earlier):
        return ((later - earlier + PERIOD // 2) % PERIOD) - PERIOD // 2

    def after(self, earlier, elapsed):
        return (earlier + elapsed) % PERIOD

    def wait(self, us):
        self.now += us


class Board:
    """All pins of one board: `level` by number, `driven` the history of (us, number, level)."""

    def __init__(self, clock):
        self.clock = clock
        self.level, self.direction, self.handlers, self.driven = {}, {}, {}, []
        board = self

        class Pin:
            IN, OUT, OPEN_DRAIN, PULL_UP = "in", "out", "open drain", "pull-up"
            IRQ_FALLING, IRQ_RISING = 1, 2

            def __init__(self, number, mode, pull=None, value=None):
                self.number = number
                if mode != Pin.IN and value is not None:
                    board.drive(number, value)
                board.direction[number] = mode
                board.level.setdefault(number, 1)

            def value(self, level=None):
                if level is None:
                    return board.level[self.number]
                board.drive(self.number, level)

            def irq(self, handler, trigger, hard=False):
                board.handlers[self.number] = handler

        self.Pin = Pin

    def drive(self, number, level):
        if self.level.get(number) != level or number not in self.direction:
            self.driven.append((self.clock.now, number, level))
        self.level[number] = level

    def put(self, number, level):
        """The world moves a line."""
        if self.level.get(number, 1) != level:
            self.level[number] = level
            if number in self.handlers:
                self.handlers[number](self.Pin(number, self.Pin.IN))


class Memory:
    """A flash edge that holds what is written; each write takes its time."""

    def __init__(self, clock=None, us=0):
        self.slots, self.clock, self.us, self.writes = [b"", b""], clock, us, []

    def read(self, slot):
        return self.slots[slot]

    def write(self, slot, record):
        if self.clock:
            self.writes.append(self.clock.now)
            self.clock.wait(self.us)
        self.slots[slot] = bytes(record)
