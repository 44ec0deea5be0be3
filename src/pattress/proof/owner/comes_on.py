"""After a power cut a channel comes on: from any snapshot, when its waits are over, and until somebody or a rule asks otherwise."""

from __future__ import annotations

from array import array
from typing import TYPE_CHECKING

from pattress.controller.core.cells import KICK, LIVE, WAIT, WANTED

from ..moves import CUT
from ..parts.asking import asked_channels
from ..parts.channel import ChannelPart
from ..parts.holding import rule_asks
from ..parts.rules import times_over
from ..properties import Failure

if TYPE_CHECKING:
    from pattress.proof.moves import Move
    from pattress.proof.subject import Subject

DARK, LIT, ASKED = b"\0", b"\1", b"\2"


class ComesOnPart(ChannelPart):
    """Explores one channel. The ghost says whether it has come on since the power came back, or somebody asked before or after.

    That its waits run out is proven as `turn`, `dead-time` and `minimum-off`; that nothing begins them anew without end, as `becomes-quiet`.
    """

    tracks_quiet = False

    def __init__(self, subject: Subject, channel: int, claim: str) -> None:
        super().__init__(subject, channel, f"wish about {subject.channel_name(channel)}")
        self.claim, self.name = claim, subject.channel_name(channel)

    def judge_begin(self, raw: array[int], snapshot: bytearray | None, ghost: bytes) -> None:
        return None

    def judge(self, old: array[int], raw: array[int], move: Move, elapsed: int,
              todo: int | list[int], before: int, after: int, ghost: bytes) -> tuple[Failure | None, bytes]:
        ghost = DARK if move.kind == CUT else ghost
        lock = self.subject.lock_in(raw, self.channel)
        by_rule = rule_asks(self.subject, self.channels, old, raw)
        if ghost == DARK and lock is not None and self.channel not in asked_channels(move.asks):
            return Failure(self.claim, f"{self.name} is off since the power came back, and {self.subject.condition_name(lock)} keeps it so"), ghost
        if self.channel in asked_channels((*by_rule, *move.asks)) or ghost == LIT and times_over(self.subject, self.channel, old, None, elapsed):
            ghost = ASKED
        if ghost == ASKED:
            return None, ghost
        if not raw[self.at + WANTED]:
            return Failure(self.claim, f"{self.name} is {'off again' if ghost == LIT else 'off'} after the power came back, and nobody asked for that"), ghost
        if not after and not any(raw[self.at + WAIT:self.at + KICK + 1]) and not self._is_barred(raw):
            return Failure(self.claim, f"{self.name} stays off after the power came back, and nothing more is waited for"), ghost
        return None, LIT if after else ghost

    def _is_barred(self, raw: array[int]) -> bool:
        """Return whether the line of a fan is live with all its relays open: a contact sticks, or did."""
        return self.is_sensed and bool(raw[self.subject.feedback_at[self.channel] + LIVE])

    @property
    def is_sensed(self) -> bool:
        """Return whether a set of it closes only onto a dead line."""
        return self.channel in self.subject.feedback_at and self.top > 1
