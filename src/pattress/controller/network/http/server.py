"""The page's sockets: few connections, each with an end; a slow phone waits alone.

HTTP/1.1 (RFC 9110, 9112) with one request for each connection, and server-sent events (WHATWG
HTML, server-sent events; all from memory).
"""

import asyncio
import socket

from .. import reach
from ..telling import Telling
from ..topics import Topics
from .login import Tries
from .requests import BadRequest, Reader
from .site import ALWAYS, Reply

CONNECTIONS = 8         # at once; a further one is told to come back
AT_ONCE, EACH_S = 40, 10        # connections of one peer, and more each second; further ones are closed at once
ACCEPT_S = 0.025        # between two looks for new ones
LISTENERS = 4           # of those may stay for the news
REQUEST_S = 6           # a request must be whole by then
WRITE_S = 6             # and each part of the reply taken
SWALLOW_S, SWALLOWED = 2, 1024      # after a refusal: so long for each part, so many parts
STILL_S = 4             # a quiet listener is told that the controller is still there
READ, PART = 256, 512
LOOK_S = 0.05
RETRY = b"retry: 2000\n\n"


class Server:
    """Serves a `site.Site`; `open` counts the connections now, `listeners` those that get the news."""

    def __init__(self, queue, site):
        self._queue, self._site = queue, site
        self._rates, self._visits = Tries(AT_ONCE, 1, EACH_S), []
        self.open = self.listeners = self.turned_away = 0

    async def run(self, host="0.0.0.0", port=80):
        """Serve until cancelled."""
        door = reach.listening(port, host, socket.SOCK_STREAM)
        try:
            door.listen(CONNECTIONS)
            door.setblocking(False)
            while True:
                await asyncio.sleep(ACCEPT_S)
                self._visits = [visit for visit in self._visits if not visit.done()]
                for _ in range(CONNECTIONS):
                    try:
                        link, peer = door.accept()
                    except OSError:             # nobody more
                        break
                    # The address alone: the interpreter on a PC gives it packed, behind family and port.
                    peer, now = peer[0] if isinstance(peer, tuple) else bytes(peer[4:8]), self._queue.seconds
                    if self._rates.wait(peer, now):
                        link.close()            # it has too many; this costs next to nothing
                        continue
                    self._rates.count(peer, now)
                    link.setblocking(False)
                    self._visits.append(asyncio.create_task(self._connected(link, peer)))
                    break                       # one at a time, so that many at once do not add up
        finally:
            door.close()
            for visit in self._visits:
                visit.cancel()

    async def _connected(self, link, peer):
        reader, writer = await reach.stream(link)
        self.open += 1
        try:
            if self.open > CONNECTIONS:
                self.turned_away += 1
                await self._send(writer, Reply(503, lines="Retry-After: 2\r\n"), False)
            else:
                await self._serve(reader, writer, peer)
        except (OSError, reach.Unreachable, ValueError, MemoryError, asyncio.TimeoutError):
            pass                        # the other side went away or is too slow: that is its own affair
        finally:
            await reach.finish(writer)
            self.open -= 1

    async def _serve(self, reader, writer, peer):
        try:
            request = await asyncio.wait_for(_whole(reader), REQUEST_S)
        except BadRequest as error:
            await self._send(writer, Reply(error.status, parts=(error.reason,)), False)
            return
        if request is None:
            return                      # it left, or said nothing
        request.fields["peer"] = peer
        if request.is_streamed:
            request.read = rest_of(request, reader)
        reply = await self._site.reply(request)
        if not reply.is_stream or request.method == "HEAD":
            await self._send(writer, reply, request.method == "HEAD")
            if request.is_streamed:
                await self._swallow(request)
        elif self.listeners >= LISTENERS:
            await self._send(writer, Reply(503, lines="Retry-After: 5\r\n"), False)
        else:
            self.listeners += 1         # before any wait, so that listeners who come at once are counted too
            try:
                await self._send(writer, reply, False)
                await self._tell(writer, reply.may_stay)
            finally:
                self.listeners -= 1

    async def _send(self, writer, reply, head_only):
        """Send a reply; its first line ends with the number: words after it are for people, who see none of it."""
        head = "HTTP/1.1 {} \r\n".format(reply.status) + reply.lines + ALWAYS
        if reply.status not in (204, 303):
            head += "Content-Type: " + reply.kind + "\r\n"
        if not reply.parts and not reply.is_stream and reply.status != 204:
            head += "Content-Length: 0\r\n"
        if "Cache-Control" not in reply.lines:
            head += "Cache-Control: no-store\r\n"
        await self._write(writer, (head + "\r\n").encode())
        if not head_only:
            for part in reply.parts:
                await self._write(writer, part.encode() if isinstance(part, str) else part)

    async def _tell(self, writer, may_stay):
        """Tell the news until the listener goes away, takes nothing more or has left the session.

        It gets the newest, not all there was.
        """
        queue = self._queue
        topics = Topics("", queue.keys, [sensor[0] for sensor in queue.sensors], base="")
        telling = Telling(queue, topics)
        await self._write(writer, RETRY)
        told_at = queue.seconds
        while True:
            message = telling.next()
            if message is None and queue.seconds - told_at < STILL_S:
                await asyncio.sleep(LOOK_S)
                continue
            if not may_stay():
                return
            told_at = queue.seconds
            if message is None:
                await self._write(writer, b"event: still\ndata:\n\n")
            else:
                what, mark, topic, record, _ = message
                await self._write(writer, b"event: " + topic + b"\ndata: " + record + b"\n\n")
                telling.told(what, mark)

    async def _swallow(self, request):
        """Take what is still under way, for a while: a connection closed before would take the reply with it."""
        for _ in range(SWALLOWED):
            if not await asyncio.wait_for(request.read(PART), SWALLOW_S):
                return

    async def _write(self, writer, data):
        writer.write(data)
        await reach.drain(writer, WRITE_S)


def rest_of(request, reader):
    """Return what reads the body of a request to its end, first what came with the head."""
    left = [request.length - len(request.body)]

    async def read(most):
        data, request.body = request.body, b""
        if not data and left[0] > 0:
            data = await reader.read(min(most, left[0]))
            left[0] -= len(data)
        return data

    return read


async def _whole(reader):
    """Return the request, None when the other side left before it was whole. Raises BadRequest."""
    parser = Reader()
    while True:
        data = await reader.read(READ)
        if not data:
            return None
        request = parser.feed(data)
        if request is not None:
            return request
