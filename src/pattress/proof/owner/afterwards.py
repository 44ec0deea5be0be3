"""After a power cut a channel stays off: from any snapshot, for as long as nobody asks for it."""

from __future__ import annotations

from array import array
from typing import TYPE_CHECKING

from ..moves import CUT
from ..parts.asking import asked_channels
from ..parts.channel import ChannelPart
from ..properties import Failure

if TYPE_CHECKING:
    from pattress.proof.moves import Move
    from pattress.proof.subject import Subject

NOT_ASKED, ASKED = b"\0", b"\1"


class StaysOffPart(ChannelPart):
    """Explores one channel. The ghost says whether somebody asked since the power came back."""

    tracks_quiet = False

    def __init__(self, subject: Subject, channel: int, claim: str) -> None:
        super().__init__(subject, channel, f"wish about {subject.channel_name(channel)}")
        self.claim = claim

    def judge_begin(self, raw: array[int], snapshot: bytearray | None, ghost: bytes) -> None:
        return None

    def judge(self, old: array[int], raw: array[int], move: Move, elapsed: int,
              todo: int | list[int], before: int, after: int, ghost: bytes) -> tuple[Failure | None, bytes]:
        if move.kind == CUT:
            ghost = NOT_ASKED
        if self.channel in asked_channels(move.asks):
            ghost = ASKED
        if after and ghost == NOT_ASKED:
            return Failure(self.claim, f"{self.row['name']} is on and nobody asked for it since the power came back"), ghost
        return None, ghost
