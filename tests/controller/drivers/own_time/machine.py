"""Stands for a board that a test works by datagrams, while all else is real.

    press NUMBER MS     throw a contact every so often, from now on; MS 0: no more
    put NUMBER LEVEL    move a line
    frame NUMBER US ... carrier and pauses that a receiver has just heard; each edge comes with its own time

Told is, with our own time [us] and the machine's [ns]: `press`, `move NUMBER LEVEL`, `reset`.
"""

import socket
import utime

import time

level, handlers = {}, {}
home = None             # where the test listens
_link = None
_next = _every = _pressed = 0
_is_busy = False
_looked = 0


def begin(port, heard_at):
    global _link, home
    home = socket.getaddrinfo("127.0.0.1", heard_at)[0][-1]
    _link = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    _link.bind(socket.getaddrinfo("127.0.0.1", port)[0][-1])
    _link.setblocking(False)


def tell(at, *words):
    _link.sendto(" ".join([str(word) for word in list(words) + [at, utime.time_ns()]]).encode(), home)


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
            happen()
            return level[self.number]
        if level.get(self.number) != new:
            level[self.number] = new
            tell(time.us(), "move", self.number, new)

    def irq(self, handler, trigger, hard=False):
        handlers[self.number] = (handler, self)


def happen():
    """Let happen what is due: looked for at each look at a pin, once a millisecond."""
    global _looked, _is_busy, _next
    now = time.us()
    if _is_busy or now - _looked < 1000:
        return
    _looked, _is_busy = now, True
    while _every and now >= _next:
        level[_pressed] = 1 - level.get(_pressed, 1)
        tell(_next, "press")
        _next += _every
    while True:
        try:
            words = _link.recv(2048).decode().split()
        except OSError:
            break
        obey(words[0], [int(word) for word in words[1:]])
    _is_busy = False


def obey(verb, numbers):
    global _next, _every, _pressed
    if verb == "press":
        _pressed, _every = numbers[0], 1000 * numbers[1]
        _next = time.us() + _every
    elif verb == "put":
        level[numbers[0]] = numbers[1]
    elif verb == "frame":
        handler, pin = handlers[numbers[0]]
        at = time.us() - sum(numbers[1:])
        for length in [0] + numbers[1:]:
            at += length
            level[pin.number] = 1 - level[pin.number]
            time.pretended = at
            handler(pin)
        time.pretended = None


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


PWRON_RESET, WDT_RESET = 1, 3


def reset_cause():
    """Each life is a process of its own, and begins with the power."""
    return PWRON_RESET


def reset():
    tell(time.us(), "reset")


def time_pulse_us(pin, wanted, most):
    return -2
