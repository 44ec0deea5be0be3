"""Judging wishes: did everybody who asked in a transition get what was asked, and nobody else?"""

from __future__ import annotations

from array import array
from collections.abc import Sequence
from collections.abc import Set as AbstractSet
from typing import TYPE_CHECKING

from pattress.controller.core.cells import (
    BY_NETWORK,
    BY_REGULATOR,
    BY_REMOTE,
    BY_SWITCH,
    CAUSE,
    CAUSES,
    LAST,
    RULED,
    TOGGLE,
    TURN,
    WANTED,
)
from pattress.proof.moves import Ask

from ..properties import Failure
from ..wishes import Kept, Wished, heard, refused, wishes_after
from .apart import all_asked
from .holding import rule_asks
from .rules import times_over

if TYPE_CHECKING:
    from pattress.proof.subject import Subject

ASKED = {BY_SWITCH: "switch-acts", BY_REGULATOR: "regulator-obeyed", BY_REMOTE: "button-acts", BY_NETWORK: "network-acts"}


def hands_heard(subject: Subject, channels: AbstractSet[int], old: array[int], raw: array[int], asks: Sequence[Ask], elapsed: int) -> set[int]:
    """Return the channels that something other than a rule asked in a transition, and that were not refused it."""
    asks = (*_rules_ask(subject, channels, old, raw), *asks)
    return heard(subject.tops, old, asks, elapsed, _kept(subject, raw)) if asks else set()


def wishes_in(subject: Subject, channels: AbstractSet[int], old: array[int], raw: array[int], asks: Sequence[Ask], elapsed: int) -> dict[int, Wished]:
    """Return what somebody asks of channels in a transition, the conditions of the rules of `channels` included, before what a time of their rules ends."""
    asks = (*_rules_ask(subject, channels, old, raw), *asks)
    return wishes_after(subject.tops, old, asks, elapsed, _kept(subject, raw)) if asks else {}


def refused_in(subject: Subject, channels: AbstractSet[int], old: array[int], raw: array[int], asks: Sequence[Ask], elapsed: int) -> set[int]:
    """Return which of `channels` somebody asks for on in a transition though a rule keeps them off."""
    asks = (*_rules_ask(subject, channels, old, raw), *asks)
    return refused(subject.tops, old, asks, elapsed, _kept(subject, raw)) & channels if subject.conditions or subject.apart else set()


def _rules_ask(subject: Subject, channels: AbstractSet[int], old: array[int], raw: array[int]) -> tuple[Ask, ...]:
    """Return what conditions ask, before any hand, of these channels and of what is kept apart from them."""
    return rule_asks(subject, sorted(all_asked(subject, channels)), old, raw)


def _kept(subject: Subject, raw: array[int]) -> Kept:
    return Kept(subject.locks_in(raw) if subject.conditions else {}, subject.apart, subject.start_most)


def judge_wishes(subject: Subject, channels: frozenset[int], old: array[int], raw: array[int], asks: Sequence[Ask], elapsed: int) -> Failure | None:
    """Return the Failure of the wishes of `channels` in a transition, or None."""
    expected = wishes_in(subject, channels, old, raw, asks, elapsed)
    for channel in channels:
        at, name = subject.channel_at[channel], subject.channel_name(channel)
        wished = expected.get(channel)
        over = times_over(subject, channel, old, wished, elapsed)
        if over:                            # after everybody else who asks in this step
            wanted, last = wished[:2] if wished else (old[at + WANTED], old[at + LAST])
            wished = (0, last, subject.time_cause(channel, min(over))) if wanted else wished
        if wished:
            wanted, last, cause = wished
            if raw[at + WANTED] != wanted or raw[at + LAST] != last or (raw[at + TURN] and cause < RULED):
                return Failure(_asked_by(cause, over), f"{name}: level {wanted} should be wanted, "
                                             f"it is {raw[at + WANTED]} (last {raw[at + LAST]})")
            if raw[at + CAUSE] != cause:
                unheard = raw[at + CAUSE] == old[at + CAUSE] and (wanted, last) == (old[at + WANTED], old[at + LAST])
                return Failure(_asked_by(cause, over) if unheard else "cause",
                               f"{name}: asked by {CAUSES[cause] if cause < RULED else 'a rule'}, kept is cause {raw[at + CAUSE]}")
        elif raw[at + WANTED] != old[at + WANTED] or raw[at + LAST] != old[at + LAST]:
            return Failure("wish-kept", f"{name}: wanted goes from {old[at + WANTED]} to {raw[at + WANTED]} though nobody asked")
        elif raw[at + CAUSE] != old[at + CAUSE]:
            return Failure("wish-kept", f"{name}: the cause goes from {old[at + CAUSE]} to {raw[at + CAUSE]} though nobody asked")
    return None


def _asked_by(cause: int, over: AbstractSet[str]) -> str:
    """Return the claim that is broken when who asked so is not heard."""
    return ASKED[cause] if cause < RULED else "runs-out" if over else "rule-acts"


def asked_channels(asks: Sequence[Ask]) -> set[int]:
    """Return the channels that somebody asks."""
    return {channel for acts, _ in asks for channel, _, _ in acts}


def still_around(subject: Subject, channels: AbstractSet[int]) -> set[tuple[str, int]]:
    """Return the switches and regulators that ask one of these channels, one kept apart from them or one toggled together with it."""
    asked = all_asked(subject, channels)
    near = set(asked)
    for acts in subject.hand_acts:
        toggled = {channel for channel, verb, _ in acts if verb == TOGGLE}
        if toggled & asked:
            near |= toggled
    triggers = [("switch", switch) for switch in subject.switches]
    triggers += [("regulator", regulator) for regulator in subject.regulators]
    triggers += [("condition", condition) for condition in range(len(subject.conditions))]
    return {trigger for trigger in triggers if near & subject.trigger_channels(*trigger)}
