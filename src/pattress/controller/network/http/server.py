"""The page's sockets: few connections, each with an end; a slow phone waits alone.

What speaks with a visitor is loaded for the first one, a module at a time while nothing stirs, and let go when nobody
has come for a while: a board has little memory, and most of the time nobody looks at its page.

Who has proven something, by a session, a signed announcement or the cookie of a device that logged in before, keeps the place. Who has not has one budget, of
seconds and of the bytes of a head, and gives way when all places are taken: the oldest connection of the address that
holds most of them. So one that floods pushes out its own, and the owner's next request finds a place.
"""

import asyncio
import socket
import sys

from .. import let_go, reach
from .tries import Memory, Tries

PARTS = ("requests", "login", "web_page", "site", "exchange")       # loaded for visitors, in this order

CONNECTIONS = 8         # at once; one more takes the place of one that has proven nothing, else it is told to come back
AT_ONCE, EACH_S = 40, 10        # connections of one peer, and more each second; further ones are closed at once
ACCEPT_S = 0.025        # between two looks for new ones
CALM_S, LOADED_S = 2, 0.02      # each part is loaded in a quiet moment if one comes within so long; pause after it
IDLE_S = 60             # after the last visit
TURNED_AWAY = b"HTTP/1.1 503 \r\nRetry-After: 2\r\nContent-Length: 0\r\nConnection: close\r\n\r\n"
UNPROVEN_S = 30         # a connection that proves nothing is over by then, whatever it does


class Place:
    """One connection; `peer` is the address of the other side, `since` the second in which it came."""

    def __init__(self, peer, since):
        self.peer, self.since, self.task = peer, since, asyncio.current_task()
        self.is_proven = False


class Server:
    """Serves the `site.Site` that `site_of` makes; `is_calm` tells whether nothing would mind the processor being held."""

    def __init__(self, queue, site_of, is_calm=lambda: True):
        self._queue, self._site_of, self._is_calm = queue, site_of, is_calm
        self._exchange, self._is_loading, self._left = None, False, 0
        self._rates, self._visits = Tries(AT_ONCE, 1, EACH_S), []
        self._places = []               # in the order in which they were taken
        self.turned_away = 0

    @property
    def open(self):
        """Return how many connections there are."""
        return len(self._places)

    @property
    def listeners(self):
        """Return how many connections get the news."""
        return self._exchange.listeners if self._exchange else 0

    async def run(self, host="0.0.0.0", port=80):
        """Serve until cancelled."""
        listening = reach.listening(port, host, socket.SOCK_STREAM)
        try:
            listening.listen(CONNECTIONS)
            listening.setblocking(False)
            while True:
                await asyncio.sleep(ACCEPT_S)
                for place in self._places[:]:
                    if not place.is_proven and self._queue.seconds - place.since > UNPROVEN_S:
                        self._clear(place)
                if self._exchange and not self._places and self._queue.seconds - self._left > IDLE_S:
                    self._let_go()
                self._visits = [visit for visit in self._visits if not visit.done()]
                for _ in range(CONNECTIONS):
                    try:
                        link, peer = listening.accept()
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
            listening.close()
            for visit in self._visits:
                visit.cancel()

    async def _connected(self, link, peer):
        reader, writer = await reach.stream(link)
        place = Place(peer, self._queue.seconds)
        self._places.append(place)
        try:
            if self.open > CONNECTIONS and self._is_last(place):
                self.turned_away += 1
                writer.write(TURNED_AWAY)
                await reach.drain(writer, 1)
            else:
                exchange = await self._loaded()
                await exchange.serve(place, reader, writer)
        except (OSError, reach.Unreachable, ValueError, MemoryError, asyncio.TimeoutError):
            pass                        # the other side went away or is too slow: that is its own affair
        finally:
            self._left = self._queue.seconds
            if place in self._places:
                self._places.remove(place)
                await reach.finish(writer)
            else:
                await reach.close(writer)

    def _is_last(self, newest):
        """Return whether the newest connection is the one that must give way; if another must, it is cleared away."""
        unproven = [place for place in self._places if not place.is_proven]
        held = [sum([other.peer == place.peer for other in unproven]) for place in unproven]
        place = unproven[held.index(max(held))]
        if place is not newest:
            self._clear(place)
        return place is newest

    def _clear(self, place):
        self._places.remove(place)
        place.task.cancel()

    async def _loaded(self):
        """Return what speaks with visitors, loaded if it is not there. Raises MemoryError when there is no room: the visitor comes again."""
        while self._is_loading:
            await asyncio.sleep(LOADED_S)
        if self._exchange is None:
            self._is_loading = True
            try:
                for part in PARTS:
                    until = self._queue.seconds + CALM_S
                    while not self._is_calm() and self._queue.seconds < until:
                        await asyncio.sleep(LOADED_S)
                    __import__(_name_of(part))
                    await asyncio.sleep(LOADED_S)
                self._exchange = sys.modules[_name_of(PARTS[-1])].Exchange(self._queue, self._site_of())
            finally:
                self._is_loading = False
        return self._exchange

    def _let_go(self):
        self._exchange = None
        let_go("packed", "host_names", *["http." + part for part in PARTS], "http.renewing")


def site_maker(program, settings, thing):
    """Return what makes the `site.Site` of a program; what must outlive it is kept here. `thing` as in `site.Site`."""
    memory, announcements = Memory(), []

    def site_of():
        from . import site              # loaded for visitors

        return site.site_of(program, settings, thing, memory, announcements)

    return site_of


def _name_of(part):
    return __name__.rpartition(".")[0] + "." + part
