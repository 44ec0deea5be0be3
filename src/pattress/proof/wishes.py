"""What people want, told a second time: an account of wishes that shares nothing with the core.

The core's `channels.ask` and `snapshot.begin` are compared with this after every transition.
It is written for reading, in terms of "wanted before, wanted after", and does not know relays.
"""

from __future__ import annotations

from array import array
from collections.abc import Iterator, Mapping, Sequence

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


def wish_after(verb: int, level: int, wanted: int, last: int, top: int) -> int:
    """Return the level wanted after one plain wish (a toggle is OFF or ON by then). On is never level 0."""
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


def wishes_after(tops: Sequence[int], old: array[int], asks: Sequence[Ask], elapsed: int, locks: Mapping[int, int] | None = None) -> dict[int, Wished]:
    """Return {channel: (wanted, last, cause)} for every channel that somebody asked.

    `asks` is what acts in this transition, in order: pairs of (acts, cause) where acts holds
    (channel, verb, level). `elapsed` [ms] has passed before anybody acts. `locks` holds the channels
    that must be off, with the cause that is kept when somebody asks for on.
    """
    return {channel: wished for channel, wished, _ in _each_wish(tops, old, asks, elapsed, locks or {})}


def refused(tops: Sequence[int], old: array[int], asks: Sequence[Ask], elapsed: int, locks: Mapping[int, int]) -> set[int]:
    """Return the channels that somebody asked for on, and that must be off. What else is asked in the same moment does not matter."""
    return {channel for channel, _, is_refused in _each_wish(tops, old, asks, elapsed, locks) if is_refused}


def heard(tops: Sequence[int], old: array[int], asks: Sequence[Ask], elapsed: int, locks: Mapping[int, int]) -> set[int]:
    """Return the channels that something other than a rule asked, and that were not refused it."""
    return {channel for channel, wished, _ in _each_wish(tops, old, asks, elapsed, locks) if wished[2] < RULED}


def _each_wish(tops: Sequence[int], old: array[int], asks: Sequence[Ask], elapsed: int, locks: Mapping[int, int]) -> Iterator[tuple[int, Wished, bool]]:
    """Yield (channel, how it stands then, whether it was refused) for one act after the other."""
    after: dict[int, Wished] = {}
    for acts, cause in asks:
        lit = any(verb == TOGGLE and _is_lit(old, after, channel, elapsed) for channel, verb, _ in acts)
        for channel, verb, level in acts:
            wanted, last = _now(old, after, channel)
            if verb == TOGGLE:
                verb = OFF if lit else ON
            wanted = wish_after(verb, level, wanted, last, tops[channel])
            is_refused = bool(wanted and channel in locks)
            after[channel] = (0, last, locks[channel]) if is_refused else (wanted, wanted or last, cause)
            yield channel, after[channel], is_refused


def restored(policy: int, wanted: int | None, last: int | None, on_level: int, top: int) -> tuple[int, int]:
    """Return (wanted, last) after a power cut. `wanted` and `last` are as saved, None if lost."""
    good_last = last if last is not None and 1 <= last <= top else on_level
    if policy == COMES_ON:
        return good_last, good_last
    if policy == AS_IT_WAS and wanted is not None and wanted <= top:
        return wanted, good_last
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
