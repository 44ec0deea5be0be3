"""One visit of the page: a request read whole, its reply sent, the news for those who stay.

HTTP/1.1 (RFC 9110, 9112) with one request for each connection, and server-sent events (WHATWG
HTML, server-sent events; all from memory). Loaded for the first visitor and let go with the last, by `server`.
"""

import asyncio

from .. import reach
from ..telling import Telling
from ..topics import topics_of
from .requests import BadRequest, Reader
from .site import ALWAYS, Reply

LISTENERS = 4           # connections that may stay for the news
REQUEST_S = 6           # a request must be whole by then
WRITE_S = 6             # and each part of the reply taken
SWALLOW_S = 2           # what is still under way after a refusal is taken for so long
STILL_S = 4             # a quiet listener is told that the controller is still there
READ, PART = 256, 512
LOOK_S = 0.05
RETRY = b"retry: 2000\n\n"


class Exchange:
    """Speaks with the visitors of a `site.Site`; `listeners` counts those that get the news."""

    def __init__(self, queue, site):
        self._queue, self._site = queue, site
        self.listeners = 0

    async def serve(self, place, reader, writer):
        """Answer the one request of a connection; `place` as in `server`."""
        try:
            request = await asyncio.wait_for(_whole(reader), REQUEST_S)
        except BadRequest as error:
            await self._send(writer, Reply(error.status, parts=(error.reason,)), False)
            return
        if request is None:
            return                      # it left, or said nothing
        request.fields["peer"] = place.peer
        place.is_proven = self._site.is_known(request)
        if request.is_streamed:
            request.read, request.go_on = rest_of(request, reader), lambda: self._go_on(place, request, writer)
        reply = await self._site.reply(request)
        if not reply.is_stream or request.method == "HEAD":
            await self._send(writer, reply, request.method == "HEAD")
            if request.is_streamed and place.is_proven:
                await self._swallow(request)
        elif self.listeners >= LISTENERS:
            await self._send(writer, Reply(503, lines="Retry-After: 5\r\n"), False)
        else:
            self.listeners += 1         # before any wait, so that listeners who come at once are counted too
            place.is_proven = True      # they are few, and may stay
            try:
                await self._send(writer, reply, False)
                await self._tell(writer, reply.may_stay)
            finally:
                self.listeners -= 1

    async def _go_on(self, place, request, writer):
        """Let the rest of a request come: its head has proven who sends it."""
        place.is_proven = True
        if "expect" in request.fields:
            await self._write(writer, b"HTTP/1.1 100 \r\n\r\n")

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
        telling = Telling(queue, topics_of(queue, "", base=""))
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
        until = self._queue.seconds + SWALLOW_S
        while self._queue.seconds < until:
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
