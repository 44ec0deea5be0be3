"""Stands before the interpreter's `machine`: a board in this machine's own time, with its real sockets.

`script` is a list of (ms, pin, level); what is due is done whenever a pin is read. At `end` ms
a person interrupts at the console. `driven` is the history of (ms, pin, level).
"""

import time

script, driven, level = [], [], {}
end = 0
_began = time.ticks_ms()


def ms():
    return time.ticks_diff(time.ticks_ms(), _began)


class Pin:
    IN, OUT, OPEN_DRAIN, PULL_UP = 0, 1, 2, 3
    IRQ_FALLING, IRQ_RISING = 1, 2

    def __init__(self, number, mode, pull=None, value=None):
        self.number = number
        if value is not None:
            self.value(value)
        level.setdefault(number, 1)

    def value(self, new=None):
        global end
        if new is not None:
            if level.get(self.number) != new:
                driven.append((ms(), self.number, new))
            level[self.number] = new
            return None
        while script and script[0][0] <= ms():
            _, number, moved = script.pop(0)
            level[number] = moved
        if end and ms() >= end:
            end = 0
            raise KeyboardInterrupt
        return level[self.number]

    def irq(self, handler, trigger):
        pass


class WDT:
    def __init__(self, timeout):
        pass

    def feed(self):
        pass


class Timer:
    PERIODIC = 1

    def __init__(self, number, period, mode, callback, hard=False):
        if hard:
            raise ValueError("no such timer")


def reset_cause():
    return 0


def reset():
    pass


def time_pulse_us(pin, wanted, most):
    return -2
