"""Whether what is never on together is kept apart in a rehearsed day: judged from the relays and the time of day."""

from __future__ import annotations

from array import array
from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import Any

from pattress.controller import core
from pattress.controller.core.cells import APPLIED, WANTED
from pattress.rehearsal.day import Names


class ApartOracle:
    """Sees every step, and names what came on beside another one, or too soon after it."""

    def __init__(self, plan: core.Plan, table: Mapping[str, Any], names: Names) -> None:
        self.plan, self.names = plan, names
        self._sets: tuple[tuple[Sequence[int], int], ...] = tuple((row["channels"], row["between_ms"]) for row in table.get("apart", ()))
        self._channels = sorted({channel for channels, _ in self._sets for channel in channels})
        self._off_since: dict[int, int] = {}
        self._on: set[int] = set()

    def begin(self, at: int) -> None:
        """The program has started, with everything open: nobody knows since when."""
        self._off_since, self._on = dict.fromkeys(self._channels, at), set()

    def see(self, at: int, after: array[int]) -> Iterator[tuple[int, str]]:
        """Look at the state after a step; yield (channel, words) for what is wrong."""
        on = {channel for channel in self._channels if after[self.plan.channel_at[channel] + APPLIED]}
        self._off_since |= dict.fromkeys(self._on - on, at)
        for channel in sorted(on - self._on):
            for other, between in self._others(channel):
                if other in on:
                    yield channel, f"is on together with {self.names.channels[other]}"
                elif at - self._off_since[other] < between:
                    yield channel, f"comes on {at - self._off_since[other]} ms after {self.names.channels[other]} went off, and {between} ms should be between"
        self._on = on

    def kept_off(self, before: array[int], acts: array[int]) -> Collection[int]:
        """Return the channels of these acts that stay off, as another one was wanted on before them that the same acts say nothing of."""
        asked = set(acts[0::3])
        return {channel for channel in asked for other, _ in self._others(channel) if other not in asked and before[self.plan.channel_at[other] + WANTED]}

    def _others(self, channel: int) -> Iterator[tuple[int, int]]:
        for channels, between in self._sets:
            if channel in channels:
                yield from ((other, between) for other in channels if other != channel)
