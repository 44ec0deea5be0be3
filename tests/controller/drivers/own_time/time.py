"""Stands before the interpreter's `time`: the time of this process alone, what it computed and what it slept.

A machine that is busy with other things wakes a process late and takes the processor from it; no
board does. So a pause counts as long as was asked for, at most, and work as long as it took the
processor (known to the millisecond). The milliseconds begin far ahead of the machine's own, by
which the task queue stamps new tasks: those are due at once.
"""

import utime

PERIOD = 1 << 30
START_US = 4_000_000_000_000_000
slept = 0                       # [us]
pretended = None                # time of an edge that is handed in late [us]


def us():
    """Return the time since the start [us]."""
    return int(utime.clock() * 1000 + 0.5) * 1000 + slept


def pause(asked_us, began):
    """Count a pause that began at `began` on the interpreter's clock."""
    global slept
    slept += min(asked_us, utime.ticks_diff(utime.ticks_us(), began))


def ticks_ms():
    return (START_US + us()) // 1000


def ticks_us():
    return (us() if pretended is None else pretended) % PERIOD


def ticks_diff(later, earlier):
    if later < PERIOD and earlier < PERIOD:
        return ((later - earlier + PERIOD // 2) % PERIOD) - PERIOD // 2
    return later - earlier


def ticks_add(ticks, delta):
    return ticks + delta


def sleep_ms(ms):
    began = utime.ticks_us()
    utime.sleep_ms(ms)
    pause(1000 * ms, began)
