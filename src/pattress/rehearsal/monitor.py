"""The monitor reads a log from outside: whether relays and reported states were as they must be.

It sees relays, times and news only, never the state: its verdicts would hold for any program.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import reduce
from itertools import pairwise
from operator import or_

from pattress.controller import core
from pattress.designators import closed
from pattress.rehearsal.day import Entry, Facts, Kind, Names, Problem, Restore
from pattress.rehearsal.oracle import SWITCH, Oracle

RESTLESS = 200      # steps by itself without an end, between two things from outside


@dataclass(frozen=True, slots=True)
class Stretch:
    """A channel at one level from `start` to `end`; `dropped` when a power cut ended it."""

    level: int
    start: int
    end: int
    dropped: bool = False


def level_of(plan: core.Plan, channel: int, relays: int) -> int | None:
    """Return the level a channel is at by its closed relays; None when they mean none."""
    own = relays & _relays_of(plan, channel)
    return next((level for level, mask in enumerate(plan.masks[channel]) if own == mask), None)


def _relays_of(plan: core.Plan, channel: int) -> int:
    return int(reduce(or_, plan.masks[channel]))


def stretches(plan: core.Plan, log: Sequence[Entry], channel: int, length: int) -> tuple[Stretch, ...]:
    """Return when a channel was on, and at which level, in order. Forbidden patterns are left out."""
    found, level, since, relays = [], 0, 0, 0
    for entry in log:
        if entry.relays == relays:
            continue
        relays = entry.relays
        now = level_of(plan, channel, entry.relays) or 0
        if now != level:
            if level:
                found.append(Stretch(level, since, entry.at, entry.kind is Kind.CUT))
            level, since = now, entry.at
    if level:
        found.append(Stretch(level, since, length))
    return tuple(found)


def facts(plan: core.Plan, log: Sequence[Entry], oracle: Oracle, length: int) -> Facts:
    """Return the figures of a day."""
    lit = [stretches(plan, log, channel, length) for channel in range(plan.channels)]
    return Facts(
        closings=_closings(plan, log),
        time_on=tuple(sum(stretch.end - stretch.start for stretch in one) for one in lit),
        saves=sum(entry.saved is not None for entry in log),
        responses=tuple(sorted(
            user_action.response for user_action in oracle.user_actions if user_action.what == SWITCH and user_action.response is not None)),
        late=max(oracle.lates, default=0),
        shortest_off=tuple(min((gap for _, gap in _gaps(one)), default=None) for one in lit),
        shortest_dead=tuple(
            min((later.start - sooner.end for sooner, later in zip(one, one[1:], strict=False)
                 if sooner.level != later.level), default=None)
            for one in lit),
        news=sum(len(entry.told or ()) for entry in log),
        restores=_restores(plan, log, oracle),
        acted_twice=oracle.acted_twice,
        events=sum(entry.kind is not Kind.CUT for entry in log),
    )


def problems(plan: core.Plan, names: Names, log: Sequence[Entry], length: int) -> list[Problem]:
    """Return what relays and news did that they must not."""
    found = [*_patterns(plan, names, log), *_refusals(log), *_unrest(log), *_untruths(plan, names, log)]
    starts = [entry.at for entry in log if entry.kind is Kind.BEGIN]
    for channel, name in enumerate(names.channels):
        dead, minimum_off = plan.dead_ms[channel], plan.minimum_off_ms[channel]
        lit = stretches(plan, log, channel, length)
        since_start = [(one.start, one.start - max(at for at in starts if at <= one.start)) for one in lit]
        for at, gap in sorted({*_gaps(lit), *since_start}):
            if gap < dead:
                found.append(Problem(at, f"{name}: closed {gap} ms after all its relays had opened, "
                                         f"the dead time is {dead} ms"))
            if gap < minimum_off:
                found.append(Problem(at, f"{name}: closed after {gap} ms off, at least {minimum_off} ms are due"))
    return found


def _gaps(lit: Sequence[Stretch]) -> list[tuple[int, int]]:
    """Return the moment of each closing and how long the channel had been open before it."""
    return [(later.start, later.start - sooner.end) for sooner, later in pairwise(lit)]


def _closings(plan: core.Plan, log: Sequence[Entry]) -> tuple[int, ...]:
    """Return how often each relay closed."""
    relays = max((mask.bit_length() for masks in plan.masks for mask in masks), default=0)
    counts, before = [0] * relays, 0
    for entry in log:
        closed = entry.relays & ~before
        while closed:
            counts[(closed & -closed).bit_length() - 1] += 1
            closed &= closed - 1
        before = entry.relays
    return tuple(counts)


def _restores(plan: core.Plan, log: Sequence[Entry], oracle: Oracle) -> tuple[Restore, ...]:
    """Return each start after a power cut with the moment each channel first closed, until the next start."""
    found = []
    ends = [*(at for at, _, _ in oracle.begins[2:]), log[-1].at + 1]
    for (before, _, _), (at, snapshot, level), end in zip(oracle.begins, oracle.begins[1:], ends, strict=False):
        lost = any(is_lost for moment, is_lost in oracle.cuts if before <= moment <= at)
        closings: dict[int, int] = {}
        for entry in log:
            if at <= entry.at < end and entry.kind is Kind.STEP:
                for channel in range(plan.channels):
                    if level[channel] and level_of(plan, channel, entry.relays):
                        closings.setdefault(channel, entry.at)
        found.append(Restore(at, snapshot, lost, level, tuple(sorted(closings.items()))))
    return tuple(found)


def _patterns(plan: core.Plan, names: Names, log: Sequence[Entry]) -> Iterable[Problem]:
    known = 0
    for masks in plan.masks:
        for mask in masks:
            known |= mask
    before = 0
    for entry in log:
        if entry.relays != before:
            for channel, name in enumerate(names.channels):
                if level_of(plan, channel, entry.relays) is None:
                    yield Problem(entry.at, f"{name}: {closed(entry.relays & _relays_of(plan, channel))}, which is none of its levels")
            if entry.relays & ~known:
                yield Problem(entry.at, f"{closed(entry.relays & ~known)}, which belongs to no channel")
        before = entry.relays


def _refusals(log: Sequence[Entry]) -> Iterable[Problem]:
    for sooner, entry in pairwise(log):
        if entry.bits & core.REFUSED and entry.checksum != sooner.checksum:
            yield Problem(entry.at, f"the event {entry.event} was refused and yet changed the state")


def _unrest(log: Sequence[Entry]) -> Iterable[Problem]:
    """Find where the program kept itself awake: it must come to rest in bounded steps."""
    alone = 0
    for entry in log:
        alone = alone + 1 if entry.kind is Kind.STEP and entry.event[0] == core.TIME else 0
        if alone == RESTLESS:
            yield Problem(entry.at, f"did not come to rest in {RESTLESS} steps by itself")


def _untruths(plan: core.Plan, names: Names, log: Sequence[Entry]) -> Iterable[Problem]:
    """Find where all is quiet and the network listens, and yet believes something else."""
    believed: dict[int, int] = {}
    for entry in log:
        believed.update({channel: level for channel, level, _ in entry.told or ()})
        if entry.told is not None and entry.due < 0:
            for channel, name in enumerate(names.channels):
                level = level_of(plan, channel, entry.relays)
                if believed.get(channel) != level:
                    yield Problem(entry.at, f"{name}: stands at {level}, the network was told {believed.get(channel)}")
