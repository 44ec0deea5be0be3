"""Put on at the wall only: whatever is on was asked for by a switch, a regulator or a remote since it was last off."""

from __future__ import annotations

from array import array
from typing import TYPE_CHECKING

from pattress.controller.core import COMMAND
from pattress.controller.core.cells import BY_REGULATOR, BY_REMOTE, BY_SWITCH, WANTED

from ..moves import CUT
from ..parts.asking import wishes_in
from ..parts.channel import ChannelPart
from ..properties import Failure

if TYPE_CHECKING:
    from pattress.proof.moves import Move
    from pattress.proof.subject import Subject

NOT_BY_HAND, BY_HAND = b"\0", b"\1"
BY_HANDS = (BY_SWITCH, BY_REGULATOR, BY_REMOTE)


class AtTheWallPart(ChannelPart):
    """Explores one channel. The ghost says whether a hand at the wall put it on, or would have."""

    tracks_quiet = False

    def __init__(self, subject: Subject, channel: int, claim: str, has_network: bool) -> None:
        super().__init__(subject, channel, f"wish about {subject.channel_name(channel)}")
        self.claim = claim
        if not has_network:
            self.events = [move for move in self.events if move.row[0] != COMMAND]

    def judge_begin(self, raw: array[int], snapshot: bytearray | None, ghost: bytes) -> None:
        return None

    def judge(self, old: array[int], raw: array[int], move: Move, elapsed: int,
              todo: int | list[int], before: int, after: int, ghost: bytes) -> tuple[Failure | None, bytes]:
        if move.kind == CUT or not raw[self.at + WANTED]:
            ghost = NOT_BY_HAND
        wished = wishes_in(self.subject, self.channels, old, raw, move.asks, elapsed).get(self.channel)
        if wished and raw[self.at + WANTED] and wished[2] in BY_HANDS:
            ghost = BY_HAND
        if after and ghost == NOT_BY_HAND:
            return Failure(self.claim, f"{self.row['name']} is on, and nothing at the wall asked for it"), ghost
        return None, ghost
