"""One channel's wish, the shared save delay, and what lies in the flash: power cuts at any point.

The ghost is what the flash holds of this channel: two bytes, or none before the first save.
Here a snapshot is in the flash as soon as it is due. While the driver still writes it, a cut
finds the older one and leads to the same place as a cut before the step, explored too; so
what comes back is one of the two, whole, if the driver keeps the older until the newer is.
"""

from __future__ import annotations

from array import array
from collections.abc import Sequence
from dataclasses import replace
from random import Random
from typing import TYPE_CHECKING

from pattress.controller.core.cells import (
    APPLIED,
    CAUSE,
    HOLD,
    KICK,
    LAST,
    MET,
    REST,
    RUN,
    SAVE,
    SHOWN,
    TAKEN,
    TURN,
    WAIT,
    WANTED,
)

from ..moves import CUT, Move, over, passing, with_waits
from ..properties import Failure
from ..wishes import restored
from .apart import apart_from
from .asking import asked_channels
from .channel import ChannelPart
from .holding import met_at_power_up, rule_asks

if TYPE_CHECKING:
    from pattress.proof.subject import Subject

FROM_FLASH = "from the flash"


class SavingPart(ChannelPart):
    """Explores one channel with the snapshot."""

    claims = ("no-error", "starts-open", "restore", "learnt", "snapshot-whole", "snapshot-fresh", "snapshot-due", "undisturbed")
    tracks_quiet = watches = False

    def __init__(self, subject: Subject, channel: int) -> None:
        super().__init__(subject, channel, f"saving {subject.channel_name(channel)}",
                         (APPLIED, SHOWN, CAUSE, REST, WAIT, HOLD, KICK))
        at = self.at
        self.live = [(SAVE, SAVE + 1), *self.live]
        self.waits = (SAVE, at + TURN)
        self.live_bytes += 4
        self.own_relays = 0
        self.blank = tuple(at + place for place in (APPLIED, SHOWN, CAUSE, REST, WAIT, HOLD, KICK))
        # Any channel starts the shared delay, so here nothing settles unseen and all who are asked stand somewhere known.
        self.still = frozenset([("switch", switch) for switch in subject.switches]
                               + [("regulator", regulator) for regulator in subject.regulators]
                               + [("rule", channel) for channel in subject.rule_at]
                               + [("condition", number) for number in range(len(subject.conditions))])
        others = tuple((place, 0) for place, _ in met_at_power_up(subject, set(subject.channels) - {channel})[0])
        self.at_power_up = [met + others for met in self.at_power_up]       # nothing else is switched off then
        self.events = [self._with_others_dark(move) for move in self.events if move.known]
        self.times = [self._with_others_dark(move) for move in self.times if len(move.expire) <= 1]
        if channel in subject.rule_at:          # whatever its relays do, it may go off by itself at any moment
            self.times.append(passing([replace(over(subject, channel), poke=())]))

    def expect(self) -> None:
        for level in range(self.top + 1):
            self.expected[("saved", level)] = ("can-save", f"{self.row['name']} saved at level {level}")
            if level <= (self.subject.start_most.get(self.channel) or self.top) and (self.row["restore"] == 2 or (self.row["restore"] == 1 and level)):
                self.expected[("restored", level)] = ("can-save", f"{self.row['name']} back at level {level}")

    def moves(self, running: Sequence[int]) -> list[Move]:
        return with_waits(self.times, running, self.backwards) + self.events + [
            Move("power is cut, and comes back", CUT, snapshot=FROM_FLASH, poke=met) for met in self.at_power_up]

    def _with_others_dark(self, move: Move) -> Move:
        """Return the move with the other channels dark that are asked in it, or that a condition acts on in it; and no rule puts them on or keeps them off."""
        subject, set_before = self.subject, {cell for cell, _ in move.poke}
        others = asked_channels(move.asks) | {channel for channel in subject.channels for one in subject.conditions_on(channel)
                                              if subject.condition_at[one] + RUN in move.expire}
        others |= set(apart_from(subject, others))
        cells = [cell for channel in sorted(others - {self.channel}) for cell in (
            *(subject.channel_at[channel] + place for place in (WANTED, TURN)),
            *(subject.condition_at[one] + place for one in subject.conditions_on(channel) for place in (MET, TAKEN)))]
        return replace(move, poke=move.poke + tuple((cell, 0) for cell in cells if cell not in set_before))

    def snapshot(self, move: Move, old: array[int], ghost: bytes, random: Random) -> bytearray | None:
        if move.snapshot != FROM_FLASH:
            snapshot = super().snapshot(move, old, ghost, random)
            self.flash = b"" if snapshot is None or len(snapshot) != self.subject.snapshot_size else bytes(self.saved)
            return snapshot
        self.flash = ghost
        if not ghost:
            return None
        snapshot = bytearray(random.randrange(256) for _ in range(self.subject.snapshot_size))
        snapshot[2 * self.channel:2 * self.channel + 2] = ghost
        self.saved = ghost[0], ghost[1]
        return snapshot

    def judge(self, old: array[int], raw: array[int], move: Move, elapsed: int,
              todo: int | list[int], before: int, after: int, ghost: bytes) -> tuple[Failure | None, bytes]:
        at, row, subject = self.at, self.row, self.subject
        name, now = row["name"], (raw[at + WANTED], raw[at + LAST])
        if move.kind == CUT:
            ghost = self.flash
            self.seen.add(("restored", now[0]))
        changed = any(raw[subject.condition_at[one] + MET] != old[subject.condition_at[one] + MET] for one in subject.kept) or any(raw[one + WANTED] != old[one + WANTED] or raw[one + LAST] != old[one + LAST] for one in subject.channel_at)
        left = max(0, old[SAVE] - elapsed)
        due = bool(old[SAVE]) and not left
        if bool(todo & subject.core.SAVE_NOW) != due:
            return Failure("snapshot-due", f"{old[SAVE]} ms before it was due, {elapsed} ms passed: "
                                           f"{'not ' if due else ''}told to save"), ghost
        asked_once = sum(len(acts) for acts, _ in (*rule_asks(subject, subject.channels, old, raw), *move.asks)) <= 1
        if raw[SAVE] != (left or (subject.table["save_ms"] if changed else 0)) and (
                left or changed or asked_once or raw[SAVE] != subject.table["save_ms"]):
            return Failure("snapshot-due" if raw[SAVE] else "snapshot-fresh",
                           f"{raw[SAVE]} ms until a snapshot is due, {old[SAVE]} ms before, {elapsed} ms passed, "
                           f"{'something' if changed else 'nothing'} changed"), ghost
        if due:
            snapshot = bytearray(subject.snapshot_size)
            subject.core.write(subject.plan, raw, snapshot)
            moment = [raw[one + place] for one in subject.channel_at for place in (WANTED, LAST)]
            moment += [raw[subject.condition_at[one] + MET] for one in subject.kept]
            if list(snapshot) != moment or subject.core.size(subject.plan) != len(snapshot):
                return Failure("snapshot-whole", f"the moment is {moment}, the snapshot {list(snapshot)}"), ghost
            ghost = bytes(snapshot[2 * self.channel:2 * self.channel + 2])
            self.seen.add(("saved", now[0]))
        if not raw[SAVE]:
            saved: tuple[int | None, int | None] = (ghost[0], ghost[1]) if ghost else (None, None)
            start_most = subject.start_most.get(self.channel, 0)
            would = restored(row["restore"], *saved, row["on_level"], self.top, start_most)
            should = restored(row["restore"], *now, row["on_level"], self.top, start_most)
            if would != should:
                return Failure("snapshot-fresh", f"{name}: a cut would bring back level {would[0]} (last {would[1]}) "
                                                 f"instead of {should[0]} (last {should[1]}), and no snapshot is due"), ghost
        return None, ghost
