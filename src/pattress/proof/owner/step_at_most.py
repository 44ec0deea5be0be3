"""A fan reaches a step at most: its relays stay in none above it, whatever this program may have saved. A start kick does not count."""

from __future__ import annotations

from array import array
from typing import TYPE_CHECKING

from pattress.controller.core import COMMAND
from pattress.controller.core.cells import KICK, WANTED

from ..moves import CUT, Move
from ..parts.channel import ChannelPart
from ..properties import Failure

if TYPE_CHECKING:
    from pattress.proof.subject import Subject


class StepAtMostPart(ChannelPart):
    """Explores one channel from a lost snapshot on, so that each one found later was written by this program."""

    tracks_quiet = False

    def __init__(self, subject: Subject, channel: int, claim: str, step: int, has_network: bool) -> None:
        super().__init__(subject, channel, f"wish about {subject.channel_name(channel)}")
        self.claim, self.step = claim, step
        if not has_network:
            self.events = [move for move in self.events if move.row[0] != COMMAND]

    def starts(self) -> list[Move]:
        return [Move("power comes on, snapshot lost or none", CUT, poke=met) for met in self.at_power_up]

    def judge_begin(self, raw: array[int], snapshot: bytearray | None, ghost: bytes) -> None:
        return None

    def judge(self, old: array[int], raw: array[int], move: Move, elapsed: int,
              todo: int | list[int], before: int, after: int, ghost: bytes) -> tuple[Failure | None, bytes]:
        is_kicked = raw[self.at + KICK] and after == self.masks[self.row["kick_level"]]
        step = raw[self.at + WANTED] if is_kicked else max((level for level, mask in enumerate(self.masks) if mask == after), default=self.top)
        if after and step > self.step:
            return Failure(self.claim, f"{self.row['name']} reaches step {step}"), ghost
        return None, ghost

    @property
    def kick_told(self) -> str:
        """Return what a start kick above the step does, "" where there is none."""
        row = self.row
        if not self.kicks or row["kick_level"] <= self.step:
            return ""
        return f"but for a start kick of {row['kick_ms']} ms in step {row['kick_level']}, which does not count"
