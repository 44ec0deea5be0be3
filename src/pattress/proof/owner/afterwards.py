"""After a power cut a channel stays off: from any snapshot, for as long as nobody asks for it."""

from ..parts.asking import asked_channels
from ..parts.channel import ChannelPart
from ..moves import CUT
from ..properties import Failure

NOT_ASKED, ASKED = b"\0", b"\1"


class StaysOffPart(ChannelPart):
    """Explores one channel. The ghost says whether somebody asked since the power came back."""

    tracks_quiet = False

    def __init__(self, subject, channel, claim):
        super().__init__(subject, channel, f"wish about {subject.channel_name(channel)}")
        self.claim = claim

    def judge_begin(self, raw, snapshot, ghost):
        return None

    def judge(self, old, raw, move, elapsed, todo, before, after, ghost):
        if move.kind == CUT:
            ghost = NOT_ASKED
        if self.channel in asked_channels(move.asks):
            ghost = ASKED
        if after and ghost == NOT_ASKED:
            return Failure(self.claim, f"{self.row['name']} is on and nobody asked for it since the power came back"), ghost
        return None, ghost
