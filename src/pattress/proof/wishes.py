"""What people want, told a second time: an account of wishes that shares nothing with the core.

The core's `channels.ask` and `snapshot.begin` are compared with this after every transition.
It is written for reading, in terms of "wanted before, wanted after", and does not know relays.
"""

from __future__ import annotations

from array import array
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from pattress.controller.core.cells import (
    AS_IT_WAS,
    CHANNEL,
    COMES_ON,
    DOWN,
    LAST,
    OFF,
    ON,
    RULED,
    SET,
    SHARED,
    TOGGLE,
    TURN,
    UP,
    WANTED,
)
from pattress.proof.moves import Ask

Wished = tuple[int, int, int]       # of a channel that somebody asked: level wanted then, last level, cause


def wish_after(verb: int, level: int, wanted: int, last: int, top: int, start_most: int = 0) -> int:
    """Return the level wanted after one plain wish (a toggle is OFF or ON by then). On is never level 0; from off it comes on at `start_most` at most, 0 = any."""
    then = _wish_after(verb, level, wanted, last, top)
    return then if wanted or not start_most else min(then, start_most)


def _wish_after(verb: int, level: int, wanted: int, last: int, top: int) -> int:
    if verb == OFF:
        return 0
    if verb == SET:
        return level
    if verb == ON or (verb == UP and not wanted):
        return wanted or last or 1
    if verb == UP:
        return min(wanted + 1, top)
    if verb == DOWN:
        return max(wanted - 1, 1) if wanted else 0
    raise ValueError(f"verb must be one of off, on, set, up, down, found {verb!r}")


@dataclass(frozen=True, slots=True)
class Kept:
    """What a rule keeps off: `locks` holds the channels that must be off, with the cause that is kept when somebody asks for on; `apart` by
    channel the others with which it is never on together, and the cause of that; `start_most` at which level each comes on at most, 0 = any."""

    locks: Mapping[int, int]
    apart: Mapping[int, Sequence[tuple[int, int]]]
    start_most: Mapping[int, int]


NOTHING_KEPT = Kept({}, {}, {})


def wishes_after(tops: Sequence[int], old: array[int], asks: Sequence[Ask], elapsed: int, kept: Kept = NOTHING_KEPT) -> dict[int, Wished]:
    """Return {channel: (wanted, last, cause)} for every channel that somebody asked.

    `asks` is what acts in this transition, in order: pairs of (acts, cause) where acts holds
    (channel, verb, level). `elapsed` [ms] has passed before anybody acts.
    """
    return {channel: wished for channel, wished, _ in _each_wish(tops, old, asks, elapsed, kept)}


def refused(tops: Sequence[int], old: array[int], asks: Sequence[Ask], elapsed: int, kept: Kept) -> set[int]:
    """Return the channels that somebody asked for on, and that must be off. What else is asked in the same moment does not matter."""
    return {channel for channel, _, is_refused in _each_wish(tops, old, asks, elapsed, kept) if is_refused}


def heard(tops: Sequence[int], old: array[int], asks: Sequence[Ask], elapsed: int, kept: Kept) -> set[int]:
    """Return the channels that something other than a rule asked, and that were not refused it."""
    return {channel for channel, wished, _ in _each_wish(tops, old, asks, elapsed, kept) if wished[2] < RULED}


def _each_wish(tops: Sequence[int], old: array[int], asks: Sequence[Ask], elapsed: int, kept: Kept) -> Iterator[tuple[int, Wished, bool]]:
    """Yield (channel, how it stands then, whether it was refused) for one act after the other."""
    after: dict[int, Wished] = {}
    for acts, cause in asks:
        lit = any(verb == TOGGLE and _is_lit(old, after, channel, elapsed) for channel, verb, _ in acts)
        for channel, verb, level in acts:
            wanted, last = _now(old, after, channel)
            if verb == TOGGLE:
                verb = OFF if lit else ON
            wanted = wish_after(verb, level, wanted, last, tops[channel], kept.start_most.get(channel, 0))
            rule = _kept_off_by(old, after, channel, kept) if wanted else None
            after[channel] = (wanted, wanted or last, cause) if rule is None else (0, last, rule)
            yield channel, after[channel], rule is not None


def _kept_off_by(old: array[int], after: Mapping[int, Wished], channel: int, kept: Kept) -> int | None:
    """Return the cause for which a channel must be off as it is asked for, None where there is none."""
    if channel in kept.locks:
        return kept.locks[channel]
    return next((rule for other, rule in kept.apart.get(channel, ()) if _now(old, after, other)[0]), None)


def restored(policy: int, wanted: int | None, last: int | None, on_level: int, top: int, start_most: int = 0) -> tuple[int, int]:
    """Return (wanted, last) after a power cut. `wanted` and `last` are as saved, None if lost; it comes on at `start_most` at most, 0 = any."""
    good_last = last if last is not None and 1 <= last <= top else on_level
    if policy == COMES_ON:
        return min(good_last, start_most or top), good_last
    if policy == AS_IT_WAS and wanted is not None and wanted <= top:
        return min(wanted, start_most or top), good_last
    return 0, good_last


def _now(old: array[int], after: Mapping[int, Wished], channel: int) -> tuple[int, int]:
    if channel in after:
        return after[channel][:2]
    at = SHARED + channel * CHANNEL
    return old[at + WANTED], old[at + LAST]


def _is_lit(old: array[int], after: Mapping[int, Wished], channel: int, elapsed: int) -> bool:
    """A channel that waits for its turn is dark to a person; one that was asked waits no more."""
    at = SHARED + channel * CHANNEL
    if channel in after and after[channel][2] < RULED:
        return after[channel][0] > 0
    return _now(old, after, channel)[0] > 0 and old[at + TURN] <= elapsed
