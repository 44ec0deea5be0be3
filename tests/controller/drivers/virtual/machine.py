"""Stands before the interpreter's `machine`: a board whose world follows a script in virtual time.

`script` is a list of (us, pin, level) to come, in order; `driven` the history of (us, pin,
level), both counted from power-up. A pin's interrupt handler is called when the world moves it.
At `end` us a person interrupts at the console. With `has_timer` a timer's interrupt may come at once.
"""

import time

PWRON_RESET, WDT_RESET = 1, 3
LOOK_US = 2             # reading a pin

script, driven, level, handlers, log = [], [], {}, {}, []
end, has_timer, cause = None, False, PWRON_RESET
source = None           # gives the next rows of the script when it has run out
pulses = []             # high pulses to come from a sensor [us]
_timers, _watchdogs = [], []


class Pin:
    IN, OUT, OPEN_DRAIN, PULL_UP = 0, 1, 2, 3
    IRQ_FALLING, IRQ_RISING = 1, 2

    def __init__(self, number, mode, pull=None, value=None):
        self.number = number
        if value is not None:
            self.value(value)
        level.setdefault(number, 1)

    def value(self, new=None):
        if new is None:
            time.pass_us(LOOK_US)
            return level[self.number]
        if level.get(self.number) != new:
            driven.append((us(), self.number, new))
        level[self.number] = new

    def irq(self, handler, trigger, hard=False):
        handlers[self.number] = (handler, self)


class WDT:
    def __init__(self, timeout):
        self.timeout = 1000 * timeout
        self.feed()
        _watchdogs.append(self)
        log.append(("watchdog", us()))

    def feed(self):
        self.due = time.now + self.timeout


class Timer:
    PERIODIC = 1

    def __init__(self, number, period, mode, callback, hard=False):
        if hard and not has_timer:
            raise ValueError("no such timer")
        self.period, self.callback, self.is_running = 1000 * period, callback, False
        self.due = time.now + self.period
        _timers.append(self)

    def deinit(self):
        _timers.remove(self)


def us():
    return time.now - time.START_US


def reset_cause():
    return cause


def reset():
    log.append(("reset", us()))


def time_pulse_us(pin, wanted, most):
    if not pulses:
        time.pass_us(most)
        return -2
    time.pass_us(50 + pulses[0])
    return pulses.pop(0)


class World:
    def due():
        if not script and source:
            script.extend(source())
        due = time.FAR
        if script:
            due = time.START_US + script[0][0]
        for one in _timers + _watchdogs:
            due = min(due, one.due)
        return due if end is None else min(due, time.START_US + end)

    def happen():
        global end
        while script and script[0][0] <= us():
            _, number, new = script.pop(0)
            if level.get(number, 1) != new:
                level[number] = new
                if number in handlers:
                    handler, pin = handlers[number]
                    handler(pin)
        for one in _timers:
            if time.now >= one.due:
                one.due = time.now + one.period
                if not one.is_running:
                    one.is_running = True
                    one.callback(one)
                    one.is_running = False
        for one in _watchdogs:
            if time.now >= one.due:
                one.due = time.FAR
                log.append(("bitten", us()))
                raise SystemExit
        if end is not None and us() >= end:
            end = None
            raise KeyboardInterrupt


time.world = World
