"""One channel and everything that may ask it: relays, dead time, minimum off time, kick, turn, restore.

Live are all cells of the channel but what was last told and the cause, which are written only.
The ghost is one byte: 1 while the load stands still, kept here from the relays themselves; and
2 more while the line of a channel with feedback was last sensed live (see `feedback`).
"""

from __future__ import annotations

from array import array
from collections.abc import Iterable, Sequence
from random import Random
from typing import TYPE_CHECKING

from pattress.controller.core.cells import (
    BY_RESTORE,
    CAUSE,
    CHANNEL,
    DOWN,
    FEEDBACK,
    HOLD,
    KICK,
    LAST,
    NOTHING_SHOWN,
    RULE,
    RUN,
    SHOWN,
    TURN,
    WAIT,
    WANTED,
)
from pattress.controller.core.rules import DIP_MS
from pattress.designators import closed, together

from ..exploration import Part
from ..moves import (
    BACKWARDS,
    CUT,
    PASS,
    Move,
    commands_on,
    foreign_moves,
    passing,
    presses_on,
    sensed_on,
    with_neighbours,
    with_waits,
)
from ..properties import Failure
from ..wishes import restored
from .apart import ApartMonitor, all_asked, beside, settlings_beside
from .asking import asked_channels, hands_heard, judge_wishes, still_around, wishes_in
from .feedback import FeedbackMonitor
from .holding import ConditionMonitor, live_of, met_at_power_up
from .rules import RuleMonitor

if TYPE_CHECKING:
    from pattress.proof.subject import Subject

AS_SAVED_NOW = "as saved now"
MOVING, STANDING = b"\0", b"\1"


class ChannelPart(Part):
    """Explores one channel."""

    claims: tuple[str, ...] = (
        "no-error", "starts-open", "pattern", "sets-never-meet", "dead-time", "minimum-off", "start-kick", "off-at-once",
        "wish-applied", "wish-kept", "switch-acts", "regulator-obeyed", "button-acts", "network-acts", "cause",
        "unknown-refused", "restore", "learnt", "turn", "told-in-the-end", "undisturbed", "becomes-quiet",
        "feedback-settles", "stuck-kept", "stuck-barred", "limit-kept", "stay-kept", "warned", "runs-out", "wall-only",
        "kept-off", "held", "rule-acts", "never-together",
    )
    tracks_quiet = True
    saved: tuple[int, int]     # level and last level that the snapshot of a power cut holds
    watches = True          # its feedback and its rules, where it has some

    def __init__(self, subject: Subject, channel: int, name: str = "", blank: Sequence[int] = (SHOWN, CAUSE)) -> None:
        at = subject.channel_at[channel]
        self.monitor = FeedbackMonitor(subject, channel) if self.watches and channel in subject.feedback_at else None
        live, hidden = [(at, at + CHANNEL)], [at + place for place in blank]
        if self.monitor:
            live.append((self.monitor.at, self.monitor.at + FEEDBACK))
        self.times_kept = RuleMonitor(subject, channel) if self.watches and channel in subject.rule_at else None
        if self.times_kept:
            live.append((self.times_kept.at, self.times_kept.at + RULE))
        live += live_of(subject, channel)
        self.conditions = ConditionMonitor(subject, channel) if self.watches and subject.conditions_on(channel) else None
        self.apart = ApartMonitor(subject, channel) if self.watches and channel in subject.apart else None
        self.at_power_up = met_at_power_up(subject, (channel,))
        super().__init__(subject, name or f"channel {subject.channel_name(channel)}", live, {channel},
                         still_around(subject, {channel}), hidden)
        self.channel, self.at = channel, at
        self.row = row = subject.table["channels"][channel]
        self.top = subject.tops[channel]
        self.masks = subject.masks[channel]
        self.patterns = frozenset(self.masks)
        self.kicks = row["kick_top"] > 0 and row["kick_ms"] > 0
        near = all_asked(subject, self.channels)
        foreign = foreign_moves(subject, near)
        self.events = self.beside([
            *commands_on(subject, channel), *(sensed_on(subject, channel) if self.monitor else ()),
            *(move for press in presses_on(subject, near) for move in with_neighbours(subject, near, press)),
            *(move for move in foreign if move.kind != PASS),
        ])
        self.times = self.beside([
            *(move for settled in settlings_beside(subject, self.channels) for move in with_neighbours(subject, near, passing(settled))),
            *(move for move in foreign if move.kind == PASS),
        ])
        self.backwards = self.beside(BACKWARDS)
        self.expect()

    def beside(self, moves: Iterable[Move]) -> list[Move]:
        """Return moves with what else may be on meanwhile, where the part looks at what its rules keep apart."""
        return beside(self.subject, self.channels, moves) if self.watches else list(moves)

    def expect(self) -> None:
        for level in range(self.top + 1):
            nobody = "" if level in self.subject.askable[self.channel] else ", which no control of this job can ask for"
            self.expected[("reach", level)] = ("can-reach", f"{self.row['name']} at level {level}{nobody}")
        if self.kicks:
            self.expected["kick"] = ("can-kick", self.row["name"])
        for move in (*self.events, *self.times):
            verbs = {verb for acts, _ in move.asks for one, verb, _ in acts if one == self.channel}
            if move.mover and verbs and not (self.top == 1 and verbs == {DOWN}):
                self.expected[move.mover] = ("can-operate", f"{move.mover}, moving {self.row['name']}")
        if self.monitor:
            self.expected |= self.monitor.expected
        if self.times_kept:
            self.expected |= self.times_kept.expected
        if self.conditions:
            self.expected |= self.conditions.expected
        if self.apart:
            self.expected |= self.apart.expected

    def starts(self) -> list[Move]:
        levels = range(self.top + 2)
        words = "power comes on, snapshot"
        return [Move(f"{words} lost or none", CUT, poke=met) for met in self.at_power_up] + [
            Move(f"{words} says level {wanted}, last {last}", CUT, snapshot=(wanted, last), poke=met)
            for last in levels for wanted in levels for met in self.at_power_up
        ]

    def moves(self, running: Sequence[int]) -> list[Move]:
        cuts = [Move("power is cut right after a snapshot, and comes back", CUT, snapshot=AS_SAVED_NOW, poke=met) for met in self.at_power_up]
        return with_waits(self.times, running, self.backwards) + self.events + cuts

    def snapshot(self, move: Move, old: array[int], ghost: bytes, random: Random) -> bytearray | None:
        if move.snapshot is None:
            return random.choice((None, bytearray(1), bytearray(self.subject.snapshot_size + 1)))
        snapshot = bytearray(random.randrange(256) for _ in range(self.subject.snapshot_size))
        if move.snapshot == AS_SAVED_NOW:
            self.subject.core.write(self.subject.plan, old, snapshot)
            self.saved = old[self.at + WANTED], old[self.at + LAST]
        else:
            self.saved = move.snapshot
            snapshot[2 * self.channel:2 * self.channel + 2] = bytes(move.snapshot)
        return snapshot

    def judge_begin(self, raw: array[int], snapshot: bytearray | None, ghost: bytes) -> Failure | None:
        at, row = self.at, self.row
        saved: tuple[int | None, int | None] = self.saved if snapshot is not None and len(snapshot) == self.subject.snapshot_size else (None, None)
        wanted, last = restored(row["restore"], *saved, row["on_level"], self.top, self.subject.start_most.get(self.channel, 0))
        if (raw[at + WANTED], raw[at + LAST], raw[at + CAUSE]) != (wanted, last, BY_RESTORE):
            return Failure("restore", f"{row['name']}: level {wanted} (last {last}) should be restored, "
                                      f"it is {raw[at + WANTED]} (last {raw[at + LAST]})")
        if raw[at + TURN] != row["restore_delay_ms"]:
            return Failure("turn", f"{row['name']}: its turn comes after {raw[at + TURN]} ms")
        if raw[at + WAIT] != row["dead_ms"] or raw[at + HOLD] != row["minimum_off_ms"]:
            return Failure("dead-time" if raw[at + WAIT] != row["dead_ms"] else "minimum-off",
                           f"{row['name']}: after power-up it is counted from {raw[at + WAIT]} ms and {raw[at + HOLD]} ms")
        if raw[at + SHOWN] != NOTHING_SHOWN:
            return Failure("told-in-the-end", f"{row['name']}: counts as told before anything was")
        failure = (self.monitor.judge_begin(raw) if self.monitor else None) or (self.apart.judge_begin(raw) if self.apart else None)
        return failure or (self.times_kept.judge_begin(raw) if self.times_kept else None)

    def judge(self, old: array[int], raw: array[int], move: Move, elapsed: int,
              todo: int | list[int], before: int, after: int, ghost: bytes) -> tuple[Failure | None, bytes]:
        if move.kind == CUT:
            ghost = STANDING
        is_live, ghost = ghost[0] >> 1, bytes((ghost[0] & 1,))
        wished = wishes_in(self.subject, self.channels, old, raw, move.asks, elapsed).get(self.channel)
        failure, is_barred = None, False
        if self.monitor:
            failure, is_live = self.monitor.judge(old, raw, move, elapsed, before, after, is_live)
            is_barred = self.monitor.is_barred(is_live)
        if self.times_kept and failure is None:
            failure = self.times_kept.judge(old, raw, wished, elapsed, before, after)
        if self.conditions and failure is None:
            failure = self.conditions.judge(old, raw, wished[2] if wished else None, before, after)
        if self.apart and failure is None:
            failure = self.apart.judge(old, raw, wished[2] if wished else None, elapsed, before, after)
            is_barred = is_barred or self.apart.is_barred(raw)
        dips = bool(self.times_kept and before and self.times_kept.dips(old, raw, elapsed))
        failure = failure or judge_wishes(self.subject, self.channels, old, raw, move.asks, elapsed) or self.judge_relays(
            old, raw, elapsed, before, after, ghost,
            self.channel in hands_heard(self.subject, self.channels, old, raw, move.asks, elapsed), is_barred, dips)
        if failure is not None:
            return failure, ghost
        wanted, kick = raw[self.at + WANTED], raw[self.at + KICK]
        reached = wanted if after else 0
        if reached in self.subject.askable[self.channel]:          # what a snapshot alone can bring about is not reached
            self.seen.add("kick" if kick else ("reach", reached))
        if after:
            ghost = MOVING
        elif not wanted:
            ghost = STANDING
        if before != after and move.mover and self.is_action_of(move):
            self.seen.add(move.mover)
        if self.monitor:
            self.seen |= self.monitor.seen
        if self.times_kept:
            self.seen |= self.times_kept.seen
        if self.conditions:
            self.seen |= self.conditions.seen
        if self.apart:
            self.seen |= self.apart.seen
        return None, bytes((ghost[0] | is_live << 1,))

    def is_action_of(self, move: Move) -> bool:
        """Return whether what the relays do in a move comes from a request in it, and not from a wait that ran out."""
        own = [*range(self.at, self.at + CHANNEL), *(range(self.times_kept.at, self.times_kept.at + RULE) if self.times_kept else ()),
               *(self.subject.condition_at[one] + RUN for one in self.subject.conditions_on(self.channel))]
        return self.channel in asked_channels(move.asks) and not any(cell in own for cell in move.expire)

    def judge_relays(self, old: array[int], raw: array[int], elapsed: int, before: int, after: int, ghost: bytes, asked: bool, is_barred: bool = False, dips: bool = False) -> Failure | None:
        """Return the Failure of the relays and the waits of a transition, or None."""
        at, row = self.at, self.row
        wanted, kick = raw[at + WANTED], raw[at + KICK]
        opens, closes = bool(before and not after), bool(after and not before)
        if after not in self.patterns:
            return Failure("pattern", f"{row['name']}: {closed(after)}, which is no level of it")
        if before and after and before != after:
            return Failure("sets-never-meet", f"{row['name']}: from {together(before)} straight to {together(after)}")
        if dips and not opens:
            return Failure("warned", f"{row['name']}: it is warned of its end, and does not go dark")
        failure = (
            self.judge_wait("warned" if dips else "dead-time", WAIT, old, raw, elapsed, DIP_MS if dips else row["dead_ms"] if opens else None, closes)
            or self.judge_wait("minimum-off", HOLD, old, raw, elapsed, row["minimum_off_ms"] if opens and not dips else None, closes)
            or self.judge_wait("turn", TURN, old, raw, elapsed, 0 if asked else None, closes)
        )
        if failure is not None:
            return failure
        if not wanted:
            return Failure("off-at-once", f"{row['name']}: nobody wants it on and it is") if after else None
        if before and before != after and not dips:
            if old[at + KICK] > elapsed:
                return Failure("start-kick", f"{row['name']}: the kick is broken off {old[at + KICK] - elapsed} ms before its end")
            if before == self.masks[wanted]:
                return Failure("wish-applied", f"{row['name']}: level {wanted} is wanted, was on, and goes off")
        if closes:
            kicked = ghost == STANDING and wanted <= row["kick_top"]
            if after != self.masks[row["kick_level"] if kicked else wanted] or kick != (row["kick_ms"] if kicked else 0):
                return Failure("start-kick", f"{row['name']}: from {'rest' if ghost == STANDING else 'running'} to level "
                                             f"{wanted} with {closed(after)} and a kick of {kick} ms")
        else:
            failure = self.judge_wait("start-kick", KICK, old, raw, elapsed, None if after else 0)
            if failure is not None:
                return failure
        waits = raw[at + WAIT] or raw[at + HOLD] or raw[at + TURN] or is_barred
        if after != self.masks[row["kick_level"] if kick else wanted] and (after or not waits):
            return Failure("wish-applied", f"{row['name']}: level {wanted} is wanted, {closed(after)}")
        return None

    def judge_wait(self, claim: str, place: int, old: array[int], raw: array[int], elapsed: int, begun: int | None, closes: bool = False) -> Failure | None:
        """Return the Failure of one wait, or None. It is `begun` anew, or runs by what has passed; nothing closes in it."""
        was, left = old[self.at + place], raw[self.at + place]
        should = max(0, was - elapsed) if begun is None else begun
        if left == should and not (closes and left):
            return None
        return Failure(claim, f"{self.row['name']}: {left} ms still to pass, {should} ms would be right "
                              f"({was} ms before, {elapsed} ms passed){', and its relays close' if closes else ''}")
