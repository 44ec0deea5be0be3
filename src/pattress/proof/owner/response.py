"""How long a channel takes to follow its wall switch or regulator: bounded from above and from below.

From above: in every reachable state the control settles while every running wait has its whole
duration still to pass, which is the worst there can be. From below: traces with true durations
in which the channel is asked for things as quickly as the program allows.
"""

from __future__ import annotations

from array import array
from collections import deque
from collections.abc import Sequence
from itertools import product
from typing import TYPE_CHECKING

from pattress.controller.core import TIME
from pattress.controller.core.cells import APPLIED, DOUBT, HOLD, KICK, LIMIT, LIVE, STAY, TURN, WAIT, WANTED

from ..moves import passing, regulator_settlings, switch_settling, with_neighbours
from ..story import Story
from .controls import controls_of
from .timed_trace import TimedTrace

if TYPE_CHECKING:
    from pattress.job.wish import Wish
    from pattress.proof.exploration import Exploration
    from pattress.proof.moves import Move
    from pattress.proof.subject import Subject

DEEPEST = 5             # controls operated one after the other in a trace
MOST_COURSES = 4_000
ENDLESS = 10_000        # waits that run out one after the other, before a channel counts as never following


def judge_response(subject: Subject, explored: Exploration, channel: int, key: str, wish: Wish, has_network: bool) -> tuple[bool, str, Story | None]:
    """Return (holds, detail, Story or None) of a wish that a channel follows its control in time."""
    limit = round(wish.time * 1000)
    if not _operated(subject, channel, wish.control):
        return False, f"no {wish.control} acts on {subject.channel_name(channel)}", None
    bound = _longest(subject, explored, channel, wish.control)
    others = subject.apart.get(channel, ())
    if bound is not None:
        bound += max((subject.between_ms[other] for other, _ in others), default=0)
    if bound is not None and bound <= limit:
        sensed = "; a step closes only onto a dead line, and here no contact sticks" if _is_barred(subject, channel) else ""
        apart = f"; while {' or '.join(subject.channel_name(other) for other, _ in others)} is on it is refused" if others else ""
        return True, f"at most {bound} ms from the last edge of the contact, by the program{sensed}{apart}", None
    trace, found = _slowest_trace(subject, channel, wish.control, limit, has_network)
    if found > limit:
        detail = f"{subject.channel_name(channel)} has not followed its {wish.control} {limit} ms after the last edge"
        return False, detail, Story(key, wish.says, f"wish about {subject.channel_name(channel)}", tuple(trace.steps), detail)
    above = "not bounded" if bound is None else f"bounded by {bound} ms"
    return False, f"not decided: {found} ms were seen, {limit} ms are wished for, {above}", None


def _has_followed(state: array[int], at: int) -> bool:
    return state[at + APPLIED] == state[at + WANTED] or state[at + KICK] > 0


def _is_barred(subject: Subject, channel: int) -> bool:
    """Return whether feedback may keep a channel from closing: it has some, and several sets."""
    return channel in subject.feedback_at and subject.tops[channel] > 1


def _let_go(subject: Subject, state: array[int], channel: int) -> None:
    """Let the line of a channel be dead when all its relays are open: no contact sticks."""
    if channel in subject.feedback_at and not state[subject.channel_at[channel] + APPLIED]:
        state[subject.feedback_at[channel] + LIVE] = 0


def _longest(subject: Subject, explored: Exploration, channel: int, control: str) -> int | None:
    """Return the longest time from the last edge of a control until the channel has followed [ms]; None if without end."""
    core, plan, part = subject.core, subject.plan, explored.part
    at, row = subject.channel_at[channel], subject.table["channels"][channel]
    whole = {at + WAIT: row["dead_ms"], at + HOLD: row["minimum_off_ms"], at + TURN: row["restore_delay_ms"], at + KICK: row["kick_ms"]}
    if channel in subject.feedback_at:
        whole[subject.feedback_at[channel] + DOUBT] = subject.feedback_ms[channel]
    if channel in subject.rule_at:
        at_rule, rule = subject.rule_at[channel], subject.rules[channel]
        whole |= {at_rule + LIMIT: rule["limit_ms"], at_rule + STAY: rule["stay_ms"]}
    operated = [(move, _settle(subject, move)) for move in _operated(subject, channel, control)]
    state, longest = subject.reference(), 0
    view, reference = memoryview(state).cast("B"), bytes(memoryview(subject.reference()).cast("B"))
    for found in explored.queue:
        for move, settle in operated:
            view[:] = reference
            for start, stop, first, last in explored.copies:
                view[start:stop] = found[first:last]
            for cell in part.waits:
                if state[cell]:
                    state[cell] = whole[cell]
            for cell, value in move.poke:
                state[cell] = value
            for cell in move.expire:
                state[cell] = 1
            _let_go(subject, state, channel)
            core.step(plan, state, (TIME, 1, 0, 0, 0))
            passed, waited = settle, 0
            while not _has_followed(state, at):
                left = [state[cell] for cell in whole if state[cell]]
                waited += 1
                if not left or waited > ENDLESS:
                    return None
                passed += min(left)
                _let_go(subject, state, channel)
                core.step(plan, state, (TIME, min(left), 0, 0, 0))
            longest = max(longest, passed)
    return longest


def _operated(subject: Subject, channel: int, control: str) -> list[Move]:
    if control == "switch":
        settled = [switch_settling(subject, switch) for switch in subject.switches
                   if channel in subject.trigger_channels("switch", switch)]
    else:
        settled = [one for regulator in subject.regulators if channel in subject.trigger_channels("regulator", regulator)
                   for one in regulator_settlings(subject, regulator)]
    return [move for one in settled for move in with_neighbours(subject, frozenset((channel,)), passing((one,)))]


def _settle(subject: Subject, move: Move) -> int:
    """Return the settling time of the control that a move settles [ms]."""
    rows = subject.table["switches"] + subject.table["regulators"]
    places = subject.switch_at + subject.regulator_at
    return next(int(row["settle_ms"]) for row, at in zip(rows, places, strict=True) if at + 1 == move.expire[0])


def _slowest_trace(subject: Subject, channel: int, control: str, limit: int, has_network: bool) -> tuple[TimedTrace, int]:
    """Return (trace, time): the shortest trace that takes longer than `limit`, or the slowest seen [ms]."""
    at, controls = subject.channel_at[channel], controls_of(subject, channel, has_network)
    start = TimedTrace(subject)
    slowest, longest, queue = start, 0, deque([(start, 0)])
    seen: set[bytes] = set()
    while queue and len(seen) < MOST_COURSES:
        trace, depth = queue.popleft()
        if bytes(trace.state) in seen or depth > DEEPEST:
            continue
        seen.add(bytes(trace.state))
        for one, between in product(controls, (None, *(quick for quick in controls if not quick.settle))):
            if between and (one.kind != control or one.settle < 2):
                continue
            later = trace.copy()
            _tell(later, one.edges(later.state))
            if between:             # somebody asks for something just before the contact is believed
                later.wait(one.settle - 1)
                _tell(later, between.edges(later.state))
            later.wait(1 if between else one.settle)
            if one.kind == control:
                passed = one.settle
                while not _has_followed(later.state, at) and passed <= limit:
                    left = [later.state[cell] for cell in (at + WAIT, at + HOLD, at + TURN, at + KICK) if later.state[cell]]
                    if not left:
                        passed = limit + 1
                        break
                    wait = min(min(left), limit + 1 - passed)
                    later.wait(wait)
                    passed += wait
                if passed > longest:
                    slowest, longest = later, passed
                if passed > limit:
                    return slowest, longest
            if one.release:
                _tell(later, one.release)
                later.wait(one.settle)
            queue.append((later, depth + 1))
        due = subject.core.due_in(subject.plan, trace.state)
        if due > 0:
            later = trace.copy()
            later.wait(due)
            queue.append((later, depth + 1))
    return slowest, longest


def _tell(trace: TimedTrace, edges: Sequence[tuple[str, tuple[int, ...]]]) -> None:
    for words, row in edges:
        trace.tell(words, row)
