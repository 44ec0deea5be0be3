"""Whether rules are kept in a rehearsed day, by true durations: on for no longer than they allow, and not put out too soon.

Judged from the relays and the time of day, never from the cells that the program counts in. A stay
that each asking renews is judged only for ending too soon: who asked is not seen here.
"""

from __future__ import annotations

from array import array
from collections.abc import Collection, Iterator, Mapping
from typing import Any, NamedTuple

from pattress.controller import core
from pattress.controller.core.cells import APPLIED, CAUSE, RULE, WANTED, WARN
from pattress.rehearsal.stimuli import LATE_MS


class Timed(NamedTuple):
    """A channel that goes off by itself: where it stands in the state, after how long at least and at most [ms], 0 = no such bound; its causes then."""

    channel: int
    at: int
    soonest: int
    latest: int
    causes: Collection[int]


class RuleOracle:
    """Sees every step, and names what was on for too long or too short a time."""

    def __init__(self, plan: core.Plan) -> None:
        self.timed = tuple(_timed(plan))
        self._on_since: dict[int, int] = {}

    def begin(self) -> None:
        """Forget what was on: the power was away."""
        self._on_since.clear()

    def see(self, now: int, after: array[int]) -> Iterator[tuple[int, str]]:
        """Look at the state after a step; yield (channel, words) for what is wrong."""
        for channel, at, soonest, latest, causes in self.timed:
            since = self._on_since.get(channel)
            if since is None:
                if after[at + WANTED] and after[at + APPLIED]:
                    self._on_since[channel] = now
                continue
            if latest and now - since > latest + LATE_MS:
                yield channel, f"is on for {now - since} ms, its rules allow {latest} ms"
                self._on_since[channel] = now           # said once, not at every step from here on
            if not after[at + WANTED]:
                del self._on_since[channel]
                if after[at + CAUSE] in causes and now - since < soonest:
                    yield channel, f"goes off by itself after {now - since} ms, its rules say {soonest} ms"


def is_allowed(plan: core.Plan, channel: int, verb: int, level: int) -> bool:
    """Return whether the network may ask this of a channel: of what is put on at the wall only, nothing but off."""
    is_off = verb == core.OFF or (verb == core.SET and level == 0)
    return not plan.rules or _given(plan)["wall_only"][channel] < (2 if is_off else 1)


def start_most(plan: core.Plan, channel: int) -> int:
    """Return the highest level at which a channel comes on."""
    return int(_given(plan)["start_most"][channel] if plan.rules else 0) or plan.top(channel)


def _timed(plan: core.Plan) -> Iterator[Timed]:
    given = _given(plan) if plan.rules else {}
    for channel in given.get("timed", ()):
        limit, stay = given["limit_ms"][channel], given["stay_ms"][channel]
        bounds = [time for time in (limit, 0 if given["renews"][channel] else stay) if time]
        yield Timed(channel, plan.channel_at[channel], min(time for time in (limit, stay) if time), min(bounds, default=0), times_of(plan, channel))


def times_of(plan: core.Plan, channel: int) -> Collection[int]:
    """Return the causes of the limit and the stay of a channel that goes off by itself; none of another."""
    return _given(plan)["time_cause"][RULE * channel:RULE * channel + WARN] if plan.rules and channel in _given(plan)["timed"] else ()


def _given(plan: core.Plan) -> Mapping[str, Any]:
    """Return what a plan with rules has of them, by name: given to it by core/rules.py."""
    return vars(plan)
