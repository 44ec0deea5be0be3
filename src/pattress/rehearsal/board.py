"""The simulated board: feeds the control program as the real loop does and keeps the log.

It has the clock, the flash and the link that the program itself must not have. The loop wakes
a little late, as a real one does; before any event it tells the time that has passed.
"""

from __future__ import annotations

from array import array
from binascii import crc32
from typing import TypeAlias

from pattress.controller import core
from pattress.controller.core.cells import APPLIED, SAVE
from pattress.controller.replay import tell
from pattress.rehearsal.day import Entry, Kind

FLASH_MS = 45       # erasing one sector of flash takes so long at most; a cut within it leaves the old snapshot

Step: TypeAlias = "tuple[int, tuple[int, ...], int, array[int], array[int]]"     # moment, event, bits answered, state before and after


class Board:
    """One controller board in simulated time [ms since midnight]."""

    def __init__(self, plan: core.Plan) -> None:
        self.plan = plan
        self.state = core.new_state(plan)
        self.log: list[Entry] = []
        self.flash: bytes | None = None
        self.is_alive = False
        self.is_linked = False
        self._clock = 0
        self._writing: tuple[int, bytes] | None = None      # until when, and what

    @property
    def clock(self) -> int:
        """Return the moment up to which the program has been told the time."""
        return self._clock

    def begin(self, at: int, closed: tuple[int, ...], contacts: tuple[int, ...]) -> None:
        """Start the program with what the flash holds and how the controls stand now."""
        core.begin(self.plan, self.state, self.flash, closed, contacts)
        self._clock = at
        self.is_alive, self.is_linked = True, False
        self._note(Entry(at, Kind.BEGIN, snapshot=self.flash, closed=closed, contacts=contacts))
        self._step(at, (core.TIME, 0, 0, 0, 0))     # for what may close without any wait

    def cut(self, at: int) -> bool:
        """Take the power away: relays drop, the state is gone. Return whether a change was not yet saved."""
        self._finish_writing(at)
        is_lost = self.is_alive and (self._writing is not None or self.state[SAVE] > 0)
        self._writing = None
        self.is_alive = self.is_linked = False
        self.log.append(Entry(at, Kind.CUT))
        return is_lost

    def is_lit(self, channel: int) -> bool:
        """Return whether somebody in the room sees the channel on; without power it is dark."""
        return self.is_alive and self.state[self.plan.channel_at[channel] + APPLIED] > 0

    def wakes_at(self) -> int | None:
        """Return when something will happen by itself; None when nothing will."""
        if not self.is_alive:
            return None
        due = core.due_in(self.plan, self.state)
        return None if due < 0 else self._clock + due

    def feed(self, at: int, event: tuple[int, ...] | None = None) -> list[Step]:
        """Tell the program the time, then the event noticed by now, if any. Return what was seen of each step."""
        now = max(self._clock, at)
        steps = []
        if event is None or now > self._clock and self.wakes_at() is not None:      # else no wait runs: time changes nothing
            steps.append(self._step(now, (core.TIME, now - self._clock, 0, 0, 0)))
        if event is not None:
            steps.append(self._step(now, event))
        return steps

    def _step(self, now: int, event: tuple[int, ...]) -> Step:
        before = self.state[:]
        bits = core.step(self.plan, self.state, event)
        self._clock = now
        self._finish_writing(now)
        told = tuple(tell(core, self.plan, self.state)) if self.is_linked else None
        saved = None
        if bits & core.SAVE_NOW:
            snapshot = bytearray(core.size(self.plan))
            core.write(self.plan, self.state, snapshot)
            saved = bytes(snapshot)
            self._writing = (now + FLASH_MS, saved)
        self._note(Entry(now, Kind.STEP, event=event, bits=bits, told=told, saved=saved))
        return now, event, bits, before, self.state[:]

    def _note(self, entry: Entry) -> None:
        """Add to an entry what can be read from the state, and put it in the log."""
        self.log.append(Entry(
            entry.at, entry.kind, entry.event, entry.snapshot, entry.closed, entry.contacts, entry.bits,
            core.due_in(self.plan, self.state), core.relays(self.plan, self.state), crc32(self.state),
            entry.told, entry.saved))

    def _finish_writing(self, now: int) -> None:
        if self._writing is not None and now >= self._writing[0]:
            self.flash = self._writing[1]
            self._writing = None
