"""Stands before the interpreter's `select`: the real one, with its waits counted as pauses."""

import uselect
import utime

import time

POLLIN, POLLOUT, POLLERR, POLLHUP = uselect.POLLIN, uselect.POLLOUT, uselect.POLLERR, uselect.POLLHUP


class poll:
    def __init__(self):
        self.real = uselect.poll()
        self.register, self.unregister, self.modify = self.real.register, self.real.unregister, self.real.modify

    def poll(self, ms=-1):
        return list(self.ipoll(ms))

    def ipoll(self, ms=-1, flags=0):
        began = utime.ticks_us()
        found = self.real.poll(ms)
        if ms > 0:
            time.pause(1000 * ms, began)
        return found
