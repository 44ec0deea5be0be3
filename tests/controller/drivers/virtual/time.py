"""Stands before the interpreter's `time`: time passes only when somebody sleeps or looks at it.

`LOOK_US` passes with each look at the microseconds, so that work takes its time too. The
microseconds wrap as the board's do. The milliseconds begin far ahead of the machine's own, by
which the task queue stamps new tasks: those are due at once. They do not wrap here; that is
tested on the loop itself. Where numbers are 32 bits wide they begin at zero: that build has a
task queue of ours.
"""

import sys

PERIOD = 1 << 30
LOOK_US = 15
START_US = 4_000_000_000_000_000 if sys.maxsize >> 32 else 0
FAR = 1 << 60
now = START_US


class world:
    """What else happens in time; replaced by whoever simulates it."""

    def due():
        """Return when the next thing happens, on the scale of `now`."""
        return FAR

    def happen():
        """Let happen what is due now."""


def ticks_ms():
    return now // 1000


def ticks_us():
    pass_us(LOOK_US)
    return now % PERIOD


def ticks_diff(later, earlier):
    if later < PERIOD and earlier < PERIOD:
        return ((later - earlier + PERIOD // 2) % PERIOD) - PERIOD // 2
    return later - earlier


def ticks_add(ticks, delta):
    return ticks + delta


def pass_us(us):
    """Let time pass from one happening to the next."""
    global now
    until = now + us
    while True:
        due = world.due()
        if due > until:
            break
        now = max(now, due)
        world.happen()
    now = max(now, until)


def sleep_ms(ms):
    pass_us(1000 * ms)
