"""The edge to the network: open a connection, close it. Nothing here blocks.

The interpreter's own connect would hold the whole board until the network answers; so sockets are
looked at twenty times a second. `lookup` asks for names.
"""

import asyncio
import os
import select
import socket
import sys

ON_BOARD = sys.implementation.name == "micropython"
LOOK_S = 0.05
LONGEST_PAUSE_S = 120
MULTICAST = ("224.0.0.251", 5353)   # RFC 6762, section 3: who answers for names under .local


class Unreachable(Exception):
    """No connection: the name is not known, nobody answers, or it was refused."""


def pause(failures, chance):
    """Return how long to wait before trying again [s]: doubled each time, the upper half left to chance (0 to 1)."""
    whole = min(LONGEST_PAUSE_S, 1 << min(failures, 10))
    return whole * (0.5 + 0.5 * chance)


def any_chance():
    """Return a random number of 0 to 1."""
    return os.urandom(1)[0] / 255


def is_address(host):
    """Return whether a text is an IPv4 address."""
    parts = host.split(".")
    return len(parts) == 4 and all([part.isdigit() and len(part) <= 3 and int(part) < 256 for part in parts])


async def addresses(radio):
    """Return our address, that of the name server and that of the router, as soon as the radio has them."""
    if radio is None:
        return "127.0.0.1", None, None
    while not radio.isconnected():
        await asyncio.sleep(0.5)
    address, _, router, name_server = radio.ifconfig()
    return address, name_server, router


async def open_stream(address, port, host="", tls=None, seconds=10.0):
    """Return (reader, writer) of a connection, with TLS to `host` when a context is given. Raises Unreachable or OSError."""
    link = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        await _connect(link, address, port, seconds)
        return await stream(link, host, tls, seconds)
    except BaseException:               # a cancelled task must give the socket back too
        link.close()
        raise


async def finish(writer):
    """Close a connection after what was written; give the other side a second to take it."""
    await close(writer, at_once=False)


async def close(writer, at_once=True):
    """Close a connection, however the other side behaves."""
    try:
        if at_once and not ON_BOARD:
            writer.transport.abort()
        writer.close()
        await asyncio.wait_for(writer.wait_closed(), 1)
    except (OSError, asyncio.TimeoutError):
        if not ON_BOARD:
            writer.transport.abort()


async def drain(writer, seconds):
    """Wait until what was written is under way; raise Unreachable when the other side does not read."""
    try:
        await asyncio.wait_for(writer.drain(), seconds)
    except asyncio.TimeoutError:
        raise Unreachable("the other side does not read")


def listening(port, host="0.0.0.0", kind=socket.SOCK_DGRAM):
    """Return a socket for what comes to a port, datagrams or connections. Raises OSError when it is not to be had."""
    link = socket.socket(socket.AF_INET, kind)
    try:
        link.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        link.bind(resolved(host, port))
    except OSError:
        link.close()
        raise
    return link


def resolved(address, port):
    """Return a socket address in the interpreter's own form; a number needs no look-up."""
    return socket.getaddrinfo(address, port)[0][-1]


async def _connect(link, address, port, seconds):
    link.setblocking(False)
    try:
        link.connect(resolved(address, port))
    except OSError as error:
        if error.errno not in (115, 119, 11, 36):   # under way, in the numbers of Linux, lwIP and the BSDs
            raise
    watch = select.poll()
    watch.register(link, select.POLLOUT)
    for _ in range(int(seconds / LOOK_S)):
        for _, found in watch.poll(0):
            if found & (select.POLLERR | select.POLLHUP):
                raise Unreachable("{} refuses port {}".format(address, port))
            return
        await asyncio.sleep(LOOK_S)
    raise Unreachable("{} does not answer".format(address))


async def stream(link, host="", tls=None, seconds=0):
    """Return (reader, writer) of a socket that is connected, with TLS to `host` when a context is given."""
    if ON_BOARD:
        if tls is not None:
            link = tls.wrap_socket(link, server_hostname=host, do_handshake_on_connect=False)
        stream = asyncio.StreamReader(link)
        return stream, stream
    if tls is None:
        return await asyncio.open_connection(sock=link)
    return await asyncio.open_connection(sock=link, ssl=tls, server_hostname=host, ssl_handshake_timeout=seconds)
