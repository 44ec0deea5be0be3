"""The address of a name in the network: asked for over UDP, so that nothing waits but who asks.

The interpreter's own look-up would hold the whole board until the network answers. Loaded for each
look-up and let go: that is seldom, and costs memory.
"""

import asyncio
import os
import socket

from .domain_names import A, BadPacket, address_of, labels, question
from .reach import LOOK_S, MULTICAST, Unreachable, resolved

TRIES, TRY_S = 3, 2.0               # a name is asked for so often, so long each time
NAME_PORT = 53
PARTS = ("lookup", "domain_names")  # what a look-up loads


async def look_up(host, name_server=None, seconds=TRY_S):
    """Return the IPv4 address of a name; names under .local are asked of everyone (RFC 6762, 5.1).

    `name_server` is an address, with `:port` when it is not the usual one; each of the TRIES
    waits so many seconds. Raises Unreachable.
    """
    name = labels(host)
    if name[-1] == b"local":
        server = MULTICAST
    elif name_server is None:
        raise Unreachable("there is no name server to ask for {}".format(host))
    else:
        address, _, port = name_server.partition(":")
        server = address, int(port or NAME_PORT)
    for _ in range(TRIES):
        number = int.from_bytes(os.urandom(2), "big")
        address = await asked(question(number, name, A), server, lambda packet, number=number: _answer(packet, number, name), seconds)
        if address == "":
            raise Unreachable("the name server does not know {}".format(host))
        if address is not None:
            return address
    raise Unreachable("nobody answers for the name {}".format(host))


async def asked(packet, server, read, seconds):
    """Send a datagram and return what `read` finds in an answer, None when it finds nothing in any for so many seconds."""
    link = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    try:
        link.setblocking(False)
        link.sendto(packet, resolved(*server))
        for _ in range(int(seconds / LOOK_S)):
            await asyncio.sleep(LOOK_S)
            try:
                answer = link.recv(512)
            except OSError:             # nothing there yet
                continue
            found = read(answer)
            if found is not None:
                return found
    finally:
        link.close()
    return None


def _answer(packet, number, name):
    try:
        return address_of(packet, number, name)
    except BadPacket:
        return None
