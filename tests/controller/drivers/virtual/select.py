"""Stands before the interpreter's `select`: nothing ever arrives, and waiting makes virtual time pass."""

import time

POLLIN, POLLOUT, POLLERR, POLLHUP = 1, 4, 8, 16


class poll:
    def register(self, stream, events):
        raise OSError("there is no network in virtual time")

    def unregister(self, stream):
        pass

    def ipoll(self, ms):
        if ms < 0:
            raise RuntimeError("every task waits for ever")
        if ms:
            time.pass_us(1000 * ms)
        return ()
