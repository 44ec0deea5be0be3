"""What must hold of the feedback of one channel: told a second time, from the relays and what was sensed.

The line may be sensed live or dead at any moment, whatever the relays do: late, never, or
bouncing. So every contact that sticks, frees itself or bounces is among what is explored.
"""

from __future__ import annotations

from array import array
from typing import TYPE_CHECKING

from pattress.controller.core.cells import DOUBT, FEEDBACK, LIVE, SENSED, STUCK, STUCK_CLOSED, STUCK_OPEN
from pattress.designators import together

from ..moves import CUT
from ..properties import Failure

if TYPE_CHECKING:
    from pattress.proof.moves import Move
    from pattress.proof.subject import Subject

STUCK_WORDS = {STUCK_CLOSED: "stuck closed", STUCK_OPEN: "stuck open"}


class FeedbackMonitor:
    """The feedback of one channel, judged in every transition of the channel."""

    def __init__(self, subject: Subject, channel: int) -> None:
        self.at, self.settle, self.channel = subject.feedback_at[channel], subject.feedback_ms[channel], channel
        self.name, self.has_sets = subject.channel_name(channel), subject.tops[channel] > 1
        self.seen: set[object] = set()
        self.expected: dict[object, tuple[str, str]] = {("stuck", one): ("can-stick", f"{self.name}, {words}") for one, words in STUCK_WORDS.items()}
        self.expected[("freed", STUCK_CLOSED)] = ("can-free", f"{self.name}, {STUCK_WORDS[STUCK_CLOSED]}")
        self.expected[("freed", STUCK_OPEN)] = ("can-free", f"{self.name}, {STUCK_WORDS[STUCK_OPEN]}")
        if self.has_sets:
            self.expected[("closes", "dead")] = ("can-close-again", f"{self.name}, once its line is dead")

    def is_barred(self, is_live: int) -> bool:
        """Return whether nothing may close for the line being live."""
        return bool(self.has_sets and is_live)

    def judge_begin(self, raw: array[int]) -> Failure | None:
        """Return the Failure of a moment of power-up, or None: the line counts as dead, and nothing is believed."""
        if any(raw[self.at:self.at + FEEDBACK]):
            return Failure("feedback-settles", f"{self.name}: something is believed of its contact before anything was sensed")
        return None

    def judge(self, old: array[int], raw: array[int], move: Move, elapsed: int, before: int, after: int, was_live: int) -> tuple[Failure | None, int]:
        """Return (Failure or None, whether the line is live now), of a transition. `was_live` is as last told before it."""
        at, name = self.at, self.name
        old_stuck, old_doubt = (0, 0) if move.kind == CUT else (old[at + STUCK], old[at + DOUBT])
        is_told = move.row[0] == SENSED and move.row[1] == self.channel
        is_live = move.row[2] if is_told else was_live
        if raw[at + LIVE] != is_live:
            return Failure("feedback-settles", f"{name}: its line is {'live' if is_live else 'dead'} and taken for the other"), is_live
        if not before and after and self.is_barred(is_live):
            return Failure("stuck-barred", f"{name}: {together(after)} closes though the line is live with all open"), is_live
        changed = is_live != was_live
        lasted = not changed and 0 < old_doubt <= elapsed
        stuck = 0 if changed else (STUCK_CLOSED if is_live else STUCK_OPEN) if lasted else old_stuck
        if raw[at + STUCK] != stuck:
            claim = "stuck-kept" if old_stuck else "feedback-settles"
            return Failure(claim, f"{name}: believed is {STUCK_WORDS.get(raw[at + STUCK], 'nothing')}, "
                                  f"{STUCK_WORDS.get(stuck, 'nothing')} would be right"), is_live
        disagrees = bool(after) != bool(is_live)
        left = max(0, old_doubt - elapsed) if bool(before) != bool(was_live) and not changed else 0
        doubt = (left or self.settle) if disagrees and not stuck else 0
        if raw[at + DOUBT] != doubt:
            return Failure("feedback-settles", f"{name}: {raw[at + DOUBT]} ms until its feedback is believed, {doubt} ms would be right"), is_live
        if stuck:
            self.seen.add(("stuck", stuck))
        elif old_stuck:
            self.seen.add(("freed", old_stuck))
        if changed and not is_live and after and not before:
            self.seen.add(("closes", "dead"))
        return None, is_live
