"""The broker: connects, keeps one conversation going, and after its end tries again later.

One task reads and one writes, a little at a time. Whatever the broker does, the worst is that
the connection is closed.
"""

import asyncio

from .. import let_go, reach
from ..telling import Telling
from ..reach import any_chance, pause
from . import packets
from .conversation import Conversation, Refused

LOOK_S = 0.05
READ = 256              # bytes taken from the connection at once
STEADY_S = 60           # a connection that held so long was a good one: back-off begins anew


class Settings:
    """How the broker is reached.

    `user` and `password` are bytes or None, `tls` an SSL context or None, `name_server` the
    address of the home's name server. `keep_alive` and `answer`, the longest wait for any
    answer, are in seconds.
    """

    def __init__(self, host, port=1883, user=None, password=None, tls=None, name_server=None, keep_alive=30, answer=10):
        self.host, self.port, self.tls, self.name_server = host, port, tls, name_server
        self.user, self.password, self.keep_alive, self.answer = user, password, keep_alive, answer


class Client:
    """One client of one broker. `run` never returns; cancel it to stop.

    `thing` is the name of the file with the Thing Description, None when there is none. `calm`
    returns whether nobody would mind the processor being held: the arithmetic of a TLS
    handshake cannot be cut in pieces, and a look-up has to be loaded, so either is begun at a calm moment only.
    `why` says why the last connection ended, `sessions` counts those that were accepted.
    """

    def __init__(self, queue, topics, settings, thing=None, chance=any_chance, calm=None):
        self._queue, self._topics, self._settings, self._thing = queue, topics, settings, thing
        self._chance, self._calm = chance, calm
        self._telling = Telling(queue, topics)
        self._broken = None             # why the reading task gave up
        self._accepted_at = -1
        self.why, self.sessions = "", 0

    async def run(self):
        failures = 0
        while True:
            self._accepted_at = -1
            try:
                await self._session()
            except (OSError, reach.Unreachable, Refused, ValueError, MemoryError, asyncio.TimeoutError) as error:
                self.why = str(error) or "the connection was lost"
            if self._accepted_at < 0:
                failures += 1
            else:
                self._queue.link(False)
                failures = 0 if self._queue.seconds - self._accepted_at >= STEADY_S else failures + 1
            await asyncio.sleep(pause(failures, self._chance()))

    async def _session(self):
        settings = self._settings
        while (settings.tls is not None or not reach.is_address(settings.host)) and self._calm is not None and not self._calm():
            await asyncio.sleep(LOOK_S)
        address = settings.host if reach.is_address(settings.host) else await _looked_up(settings)
        reader, writer = await reach.open_stream(address, settings.port, settings.host, settings.tls, settings.answer)
        receiving = None
        try:
            talk = Conversation(self._queue, self._topics, self._telling, settings.keep_alive, settings.answer, packets.Reader())
            await self._write(writer, talk.opening(settings.user, settings.password))
            self._broken = None
            receiving = asyncio.create_task(self._receive(reader, talk))
            await self._speak(writer, talk)
        finally:
            if receiving is not None:
                receiving.cancel()
            await reach.close(writer)

    async def _receive(self, reader, talk):
        try:
            while True:
                data = await reader.read(READ)
                if not data:
                    raise OSError("the broker closed the connection")
                talk.take(data)
                await asyncio.sleep(0)          # a flood must not hold the others up
                while not talk.has_room():
                    await asyncio.sleep(LOOK_S)
        except (OSError, Refused, packets.Malformed, ValueError, MemoryError) as error:
            self._broken = str(error) or "the connection was lost"

    async def _speak(self, writer, talk):
        thing_told = self._thing is None
        while self._broken is None:
            if talk.accepted and self._accepted_at < 0:
                self._accepted_at = self._queue.seconds
                self.sessions += 1
                self._queue.link(True)
            packet = talk.next()
            if packet is not None:
                await self._write(writer, packet)
            elif not thing_told and talk.is_idle():
                thing_told = True
                await self._tell_thing(writer)
            else:
                await asyncio.sleep(LOOK_S)
        raise OSError(self._broken)

    async def _tell_thing(self, writer):
        """Send the Thing Description, retained, a part of its file at a time."""
        from .. import packed                   # once in a connection

        try:
            length = packed.length(self._thing)
        except OSError:
            return                              # a board without the file says nothing of itself
        await self._write(writer, packets.publish_head(self._topics.thing, length, 0, True))
        for part in packed.parts(self._thing):
            await self._write(writer, part)
        let_go("packed")

    async def _write(self, writer, data):
        writer.write(data)
        await reach.drain(writer, self._settings.answer)


async def _looked_up(settings):
    from ..lookup import PARTS, look_up

    try:
        return await look_up(settings.host, settings.name_server)
    finally:
        let_go(*PARTS)
