"""What is told to every open tab at once, as server-sent events."""

import asyncio
import json
from collections.abc import AsyncIterator, Callable
from typing import Any

MOST_WAITING = 64            # messages a slow tab may lag behind before the oldest is dropped
HEARTBEAT = 15.0             # s between signs of life, so that a dead tab or a dead connection is noticed
RETRY = 1000                 # ms until a tab asks again after the server went


class News:
    """Messages to all tabs. `tell` may be called from any thread once the loop is running."""

    def __init__(self) -> None:
        self._tabs: set[asyncio.Queue[str | None]] = set()
        self._loop: asyncio.AbstractEventLoop | None = None

    def begin(self) -> None:
        """Take the running loop as the one the tabs wait in."""
        self._loop = asyncio.get_running_loop()

    def tell(self, event: str, facts: Any) -> None:
        """Send an event with plain facts to every tab."""
        if self._loop is not None and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self._put, _lines(event, facts))

    def end(self) -> None:
        """Close every stream, so that the server can stop."""
        if self._loop is not None and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self._put, None)

    async def stream(self, now: Callable[[], str]) -> AsyncIterator[str]:
        """Yield the lines of one tab's stream until the end; `now` returns the state it is told first."""
        queue: asyncio.Queue[str | None] = asyncio.Queue(MOST_WAITING)
        self._tabs.add(queue)
        try:
            yield f"retry: {RETRY}\n\n" + _lines("change", {"state": now()})
            while True:
                try:
                    message = await asyncio.wait_for(queue.get(), HEARTBEAT)
                except TimeoutError:
                    message = _lines("beat", {})
                if message is None:
                    return
                yield message
        finally:
            self._tabs.discard(queue)

    def _put(self, message: str | None) -> None:
        for queue in self._tabs:
            if queue.full():
                queue.get_nowait()
            queue.put_nowait(message)


def _lines(event: str, facts: Any) -> str:
    return f"event: {event}\ndata: {json.dumps(facts)}\n\n"
