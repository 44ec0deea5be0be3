"""One channel and the network that fetches its news, or does not for as long as it likes.

The ghost of a channel with feedback is one byte: what was last told of its being stuck.
"""

from __future__ import annotations

from array import array
from collections.abc import Sequence
from typing import TYPE_CHECKING

from pattress.controller.core.cells import APPLIED, CAUSE, KICK, NOTHING_SHOWN, SHOWN, STUCK, WAIT, WANTED

from ..moves import CUT, TELL, Move, changing, commands_on, ending, foreign_moves, passing, presses_on, sensed_on, settlings_on, with_neighbours, with_waits
from ..properties import Failure
from .asking import refused_in
from .channel import ChannelPart
from .feedback import STUCK_WORDS

if TYPE_CHECKING:
    from pattress.proof.subject import Subject


class PublishingPart(ChannelPart):
    """Explores one channel with what was last told. Who asks does not matter here: the network stands for all."""

    claims = ("no-error", "starts-open", "told-truly", "told-in-the-end", "stuck-told", "undisturbed")
    tracks_quiet = False

    def __init__(self, subject: Subject, channel: int) -> None:
        super().__init__(subject, channel, f"publishing {subject.channel_name(channel)}", (CAUSE,))
        self.events = [*(move for move in commands_on(subject, channel) if move.known), *sensed_on(subject, channel),
                       Move("the network fetches its news", TELL)]
        own = [condition for condition in range(len(subject.conditions)) if channel in subject.trigger_channels("condition", condition)]
        self.times = [passing(), *(passing([one]) for condition in own for one in (changing(subject, condition), *ending(subject, condition)))]
        if subject.is_wall_only(channel):       # there the network does not stand for all
            self.events += [move for press in presses_on(subject, self.channels) for move in with_neighbours(subject, self.channels, press)]
            self.times += [move for settled in settlings_on(subject, self.channels) for move in with_neighbours(subject, self.channels, passing(settled))]
        self.events, self.times, self.foreign = (
            self.beside(moves) for moves in (self.events, self.times, foreign_moves(subject, self.channels)))

    def expect(self) -> None:
        for level in range(self.top + 1):
            self.expected[level] = ("can-tell", f"{self.row['name']} at level {level}")

    def moves(self, running: Sequence[int]) -> list[Move]:
        return with_waits(self.times, running, self.backwards) + self.events

    def judge(self, old: array[int], raw: array[int], move: Move, elapsed: int,
              todo: int | list[int], before: int, after: int, ghost: bytes) -> tuple[Failure | None, bytes]:
        at, name = self.at, self.row["name"]
        shown, level = raw[at + SHOWN], raw[at + APPLIED]
        stuck, known, was_stuck = self._stuck(old, raw, move, ghost)
        quiet = not (raw[at + KICK] or (raw[at + WAIT] and raw[at + WANTED]))
        if isinstance(todo, list):              # the channels told: the network has fetched its news
            if len(todo) > len(self.subject.channels) or len(set(todo)) != len(todo):
                return Failure("told-truly", f"news without end: {todo}"), ghost
            told = self.channel in todo
            if told and (shown != level or old[at + SHOWN] == shown):
                return Failure("told-truly", f"{name}: level {shown} is told, level {level} is on, told before was {old[at + SHOWN]}"), ghost
            if told and (raw[at + KICK] or (raw[at + WAIT] and raw[at + WANTED])):
                return Failure("told-truly", f"{name}: level {shown} is told in the middle of a change"), ghost
            if quiet and shown != level:
                return Failure("told-in-the-end", f"{name}: level {level} is on, level {shown} stays told"), ghost
            if quiet and not told and known != stuck:
                return Failure("stuck-told", f"{name}: it is {_words(stuck)}, {_words(known)} stays told"), ghost
            if told and self.subject.feedback_at:
                cause, known = self.subject.plan.watch.cause(self.subject.plan, raw, self.channel), stuck
                if cause != (stuck or raw[at + CAUSE]):
                    return Failure("stuck-told", f"{name}: it is {_words(stuck)}, and {_words(cause)} is told"), ghost
            if not told and shown != old[at + SHOWN]:
                return Failure("told-truly", f"{name}: counts as told and was not"), ghost
            if told:
                self.seen.add(level)
        else:
            # What a caller does after each step: it fetches news only when the step says there is some.
            if quiet and shown != level and not todo & self.subject.core.NEWS:
                return Failure("told-in-the-end", f"{name}: level {level} is on, level {shown} was told, no news is waiting"), ghost
            if quiet and known != stuck and not todo & self.subject.core.NEWS:
                return Failure("stuck-told", f"{name}: it is {_words(stuck)}, told was {_words(known)}, no news is waiting"), ghost
            is_refused = move.kind != CUT and self.channel in refused_in(self.subject, self.channels, old, raw, move.asks, elapsed)
            if shown != (NOTHING_SHOWN if stuck != was_stuck or is_refused else old[at + SHOWN]):
                return Failure("told-truly", f"{name}: counts as told and was not, or the other way round"), ghost
        return None, bytes((known,)) if self.monitor else b""

    def _stuck(self, old: array[int], raw: array[int], move: Move, ghost: bytes) -> tuple[int, ...]:
        """Return what is believed of a stuck contact, what was told of it, and what was believed before."""
        if not self.monitor:
            return 0, 0, 0
        place = self.monitor.at + STUCK
        return raw[place], 0 if move.kind == CUT else ghost[0], old[place]


def _words(believed: int) -> str:
    return STUCK_WORDS.get(believed, "not stuck")
