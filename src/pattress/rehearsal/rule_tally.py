"""What each rule did in a year: counted from what channels are asked to be, and the cause that is told of it."""

from collections.abc import Sequence
from dataclasses import dataclass

from pattress.controller import core
from pattress.controller.core.cells import APPLIED, CAUSE, RULED, WANTED

NOBODY = -1


@dataclass(frozen=True, slots=True)
class RuleCounts:
    """How often a rule put something on, put it off, and refused a hand; how long each channel was on by it [ms].

    What a rule has put on is on by it until it goes off or somebody else asks something of it.
    """

    put_on: int
    put_off: int
    refused: int
    time_on: tuple[int, ...]


class RuleTally:
    """Counts what the rules of a plan do, so many in all."""

    def __init__(self, plan: core.Plan, rules: int) -> None:
        self._at = tuple(plan.channel_at)
        self._put_on, self._put_off = [0] * rules, [0] * rules
        self._time_on = [[0] * plan.channels for _ in range(rules)]
        self._by = [NOBODY] * plan.channels         # the rule by which each channel is on
        self._since = [0] * plan.channels

    def see(self, now: int, before: Sequence[int], after: Sequence[int]) -> None:
        """Look at one step."""
        for channel, at in enumerate(self._at):
            rule = after[at + CAUSE] - RULED
            if rule >= 0:
                if after[at + WANTED] and not before[at + WANTED]:
                    self._put_on[rule] += 1
                elif before[at + APPLIED] and before[at + WANTED] and not after[at + WANTED]:
                    self._put_off[rule] += 1
            by = rule if rule >= 0 and after[at + APPLIED] else NOBODY
            if by != self._by[channel]:
                self._close(now, channel)
                self._by[channel], self._since[channel] = by, now

    def end(self, now: int) -> None:
        """Let every channel go off: the power goes, or the year is over."""
        for channel in range(len(self._at)):
            self._close(now, channel)
            self._by[channel] = NOBODY

    def counts(self, refusals: Sequence[int]) -> tuple[RuleCounts, ...]:
        """Return what each rule did; `refusals` are those that the oracle has seen."""
        rows = zip(self._put_on, self._put_off, refusals, self._time_on, strict=True)
        return tuple(RuleCounts(put_on, put_off, refused, tuple(time_on)) for put_on, put_off, refused, time_on in rows)

    def _close(self, now: int, channel: int) -> None:
        if self._by[channel] >= 0:
            self._time_on[self._by[channel]][channel] += now - self._since[channel]
