"""The edge to the network: look a name up, open a connection, close it. Nothing here blocks.

The interpreter's own look-up and connect would hold the whole board until the network
answers; so names are asked for over UDP, and sockets are looked at twenty times a second.
"""

import asyncio
import os
import select
import socket
import sys

from .domain_names import A, BadPacket, address_of, is_address, labels, question

ON_BOARD = sys.implementation.name == "micropython"
LOOK_S = 0.05
TRIES, TRY_S = 3, 2.0               # a name is asked for so often, so long each time
MULTICAST = ("224.0.0.251", 5353)   # RFC 6762, section 3: who answers for names under .local
NAME_PORT = 53
LONGEST_PAUSE_S = 120


class Unreachable(Exception):
    """No connection: the name is not known, nobody answers, or it was refused."""


def pause(failures, chance):
    """Return how long to wait before trying again [s]: doubled each time, the upper half left to chance (0 to 1)."""
    whole = min(LONGEST_PAUSE_S, 1 << min(failures, 10))
    return whole * (0.5 + 0.5 * chance)


def any_chance():
    """Return a random number of 0 to 1."""
    return os.urandom(1)[0] / 255


async def open_stream(host, port, tls=None, name_server=None, seconds=10.0):
    """Return (reader, writer) of a connection, with TLS when a context is given.

    `name_server` is the address of the home's name server. Raises Unreachable or OSError.
    """
    address = host if is_address(host) else await look_up(host, name_server)
    link = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        await _connect(link, address, port, seconds)
        return await stream(link, host, tls, seconds)
    except BaseException:               # a cancelled task must give the socket back too
        link.close()
        raise


def trusting(authority):
    """Return a TLS context that trusts one authority alone, whose certificate is given in DER.

    The name in the server's certificate must be the one that was asked for. The interpreter
    on the board judges dates by its own clock; a board that never learnt the time may refuse.
    """
    import ssl      # costs memory; only for those who use it

    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.verify_mode = ssl.CERT_REQUIRED
    context.load_verify_locations(cadata=authority)
    return context


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


def is_taken(port):
    """Return whether somebody on this board listens for datagrams at a port and lets nobody else."""
    try:
        listening(port).close()
    except OSError as error:
        if error.errno not in (98, 112, 48):        # in use, in the numbers of Linux, lwIP and the BSDs
            raise
        return True
    return False


def resolved(address, port):
    """Return a socket address in the interpreter's own form; a number needs no look-up."""
    return socket.getaddrinfo(address, port)[0][-1]


def _answer(packet, number, name):
    try:
        return address_of(packet, number, name)
    except BadPacket:
        return None


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
