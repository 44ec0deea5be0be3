"""Postconditions: what an action must have brought about, judged from the state before and after it.

Written from what the program promises, not from its code, so that it is a second opinion.
"""

from __future__ import annotations

from array import array
from collections.abc import Collection, Iterable, Iterator
from enum import StrEnum

from pattress.controller import core
from pattress.controller.core.cells import APPLIED, TURN, WANTED
from pattress.rehearsal.rules import start_most


class Effect(StrEnum):
    """How far an act has come at once."""

    MOVED = "a relay moved"
    NOTED = "the request is noted, a wait forbids the relay"
    NONE = "nothing changed"
    KEPT_OFF = "a rule keeps it off"
    WRONG = "what was asked for did not come about"


def effect(plan: core.Plan, before: array[int], after: array[int], acts: array[int], kept_off: Collection[int] = ()) -> Effect:
    """Return what acts (packed as in a plan: channel, verb, level) have brought about; a rule keeps the channels `kept_off` off."""
    is_refused = False
    for channel, verb, level in _decided(plan, before, acts):
        if channel in kept_off and asks_for_on(plan, before, channel, verb, level):
            is_refused, verb = True, core.OFF
        if not is_kept(plan, before, after, channel, verb, level):
            return Effect.WRONG
    places = [plan.channel_at[channel] for channel in acts[0::3]]
    if any([before[at + APPLIED] != after[at + APPLIED] for at in places]):
        return Effect.MOVED
    if is_refused:
        return Effect.KEPT_OFF
    if any([before[at + cell] != after[at + cell] for at in places for cell in (WANTED, TURN)]):
        return Effect.NOTED
    return Effect.NONE


def _decided(plan: core.Plan, before: array[int], acts: array[int]) -> Iterable[tuple[int, int, int]]:
    """Return the acts with each toggle decided: if any of them is on, all go off; else all on.

    Of several acts on one channel the last one counts.
    """
    toggled = [channel for channel, verb, _ in _unpacked(acts) if verb == core.TOGGLE]
    is_any_on = any(_is_on(plan, before, channel) for channel in toggled)
    last = {}
    for channel, verb, level in _unpacked(acts):
        if verb == core.TOGGLE:
            verb = core.OFF if is_any_on else core.ON
        last[channel] = (channel, verb, level)
    return last.values()


def asks_for_on(plan: core.Plan, before: array[int], channel: int, verb: int, level: int) -> bool:
    """Return whether an act, no toggle, would have a channel on."""
    return verb in (core.ON, core.UP) or verb == core.SET and level > 0 or verb == core.DOWN and _cell(plan, before, channel, WANTED) > 0


def is_kept(plan: core.Plan, before: array[int], after: array[int], channel: int, verb: int, level: int) -> bool:
    """Return whether an act, no toggle, has come about."""
    was, now = (_cell(plan, state, channel, WANTED) for state in (before, after))
    top = plan.top(channel)
    highest = start_most(plan, channel) if not was else top           # it comes on at that level at most
    match verb:
        case core.OFF:
            return now == 0
        case core.ON:
            return 0 < now <= highest and (not was or now == was)
        case core.SET:
            return now == min(level, highest)
        case core.UP:
            return now == min(was + 1, top) if was else 0 < now <= highest
        case core.DOWN:
            return now == (was - 1 if was > 1 else was)
    return False


def _is_on(plan: core.Plan, state: array[int], channel: int) -> bool:
    """Return whether a person takes a channel to be on; one still waiting its turn after a cut is dark."""
    return _cell(plan, state, channel, WANTED) > 0 and not _cell(plan, state, channel, TURN)


def _cell(plan: core.Plan, state: array[int], channel: int, cell: int) -> int:
    return int(state[plan.channel_at[channel] + cell])


def _unpacked(acts: array[int]) -> Iterator[tuple[int, int, int]]:
    return zip(acts[0::3], acts[1::3], acts[2::3], strict=True)
