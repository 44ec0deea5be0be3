"""The time of day, asked of a time server for the stamps of what is told (SNTPv4, RFC 4330). No decision depends on it.

A server that is silent, wrong or strange costs one packet now and then, ever more seldom.
"""

import asyncio
import os

from . import let_go
from .reach import Unreachable, is_address

PORT = 123
LENGTH = 48                     # of a message without authentication (section 4)
REQUEST = 0x23                  # no warning, version 4, client
SERVER, UNKNOWN = 4, 3          # the mode of an answer; a warning: the server itself does not know the time
MOST_STRATUM = 15               # 0 is a server that wants to be left alone
SENT, RETURNED, STAMP = 40, 24, 8       # where the time of sending stands; where a server returns that of the question
ERA, UNIX = 1 << 32, 2_208_988_800      # seconds until the stamp wraps in 2036 (section 3); from 1900 to 1970
ANSWER_S = 2.0
FIRST_S, MOST_S = 16, 4096      # waits after no answer: never under 15 s, doubled each time (section 10)
AGAIN_S = 43_200                # twice a day: a watch crystal strays a few seconds by then
EPOCH_2000 = 946_684_800        # Unix time at which the clock of some boards begins


def question(nonce):
    """Return the message to a server; `nonce`, 8 bytes, stands where our time would: it must come back and tells nothing."""
    return bytes((REQUEST,)) + bytes(SENT - 1) + nonce


def time_of(message, nonce):
    """Return the Unix time [s] in a server's message, None when it is no answer to our question or not to be relied on (section 5)."""
    if len(message) < LENGTH or message[RETURNED:RETURNED + STAMP] != nonce:
        return None
    second = int.from_bytes(message[SENT:SENT + 4], "big")
    if message[0] & 7 != SERVER or message[0] >> 6 == UNKNOWN or not 1 <= message[1] <= MOST_STRATUM or not second:
        return None
    return second - UNIX + (0 if second & 0x8000_0000 else ERA)


async def ask(server, name_server=None, seconds=ANSWER_S):
    """Return the Unix time that a server tells [s]. `server` is a host, with `:port` when it is not the usual one.

    Raises Unreachable or OSError.
    """
    host, _, port = server.partition(":")
    nonce = os.urandom(STAMP)
    from .lookup import PARTS, asked, look_up

    try:
        address = host if is_address(host) else await look_up(host, name_server)
        told = await asked(question(nonce), (address, int(port or PORT)), lambda packet: time_of(packet, nonce), seconds)
    finally:
        let_go(*PARTS)
    if told is None:
        raise Unreachable("{} tells no time".format(server))
    return told


async def keep(queue, server, name_server=None, set_clock=None):
    """Keep a queue's clock by a server, for good; `set_clock` is told the Unix time each time."""
    wait = FIRST_S
    while True:
        try:
            told = await ask(server, name_server)
            queue.tell_time(told)
            if set_clock is not None:
                set_clock(told)
            wait, pause = FIRST_S, AGAIN_S
        except (Unreachable, OSError, ValueError):
            pause, wait = wait, min(2 * wait, MOST_S)
        await asyncio.sleep(pause + pause * os.urandom(1)[0] // 256)        # many controllers in a home do not ask at once


def clock_of(machine):
    """Return what sets the board's own clock, by which TLS judges dates; None when it has none."""
    if not hasattr(machine, "RTC"):
        return None
    from time import gmtime

    def set_clock(now):
        date = gmtime(now - (EPOCH_2000 if gmtime(0)[0] == 2000 else 0))
        machine.RTC().datetime((date[0], date[1], date[2], date[6], date[3], date[4], date[5], 0))

    return set_clock
