"""How long a channel takes to follow its wall switch or regulator: bounded from above and from below.

From above: in every reachable state the control settles while every running wait has its whole
duration still to pass, which is the worst there can be. From below: traces with true durations
in which the channel is asked for things as quickly as the program allows.
"""

from __future__ import annotations

from array import array
from collections import deque
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

from pattress.controller.core import TIME
from pattress.controller.core.cells import APPLIED, DOUBT, HOLD, KICK, LEVEL, LIMIT, LIVE, STAY, TURN, UNTIL, WAIT, WANTED

from ..moves import passing, regulator_settlings, switch_settlings, with_neighbours
from ..story import Story
from .controls import controls_of
from .timed_trace import TimedTrace

if TYPE_CHECKING:
    from pattress.job.wish import Wish
    from pattress.proof.exploration import Exploration
    from pattress.proof.moves import Move, Settling
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
        late = "".join(f"; {words}" for words in dict.fromkeys(one.words for one in _operated(subject, channel, wish.control)) if words)
        sensed = "; a step closes only onto a dead line, and here no contact sticks" if _is_barred(subject, channel) else ""
        apart = f"; while {' or '.join(subject.channel_name(other) for other, _ in others)} is on it is refused" if others else ""
        return True, f"at most {bound} ms from the last edge of the contact, by the program{late}{sensed}{apart}", None
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
    operated = [(move, one.time) for one in _operated(subject, channel, control) for move in one.moves]
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


@dataclass(frozen=True, slots=True)
class _Operation:
    """One way to operate a control: `time` from its last edge until it acts [ms], `words` why that is longer than the settling time."""

    moves: list[Move]
    time: int
    words: str = ""


def _operated(subject: Subject, channel: int, control: str) -> list[_Operation]:
    """Return the ways in which somebody asks a channel by a control of this kind."""
    ways = []
    for kind, rows, settlings in (("switch", subject.switches, switch_settlings), ("regulator", subject.regulators, regulator_settlings)):
        for number in rows if kind == control else ():
            settle = int(subject.table["switches" if kind == "switch" else "regulators"][number]["settle_ms"])
            for one in settlings(subject, number):
                if any(channel == asked for asked, _, _ in (one.ask or ((), 0))[0]):
                    late, words = _waited(subject, number, one) if kind == "switch" else (0, "")
                    moves = with_neighbours(subject, frozenset((channel,)), passing((one,)))
                    ways.append(_Operation(moves, settle + late, words))
    return ways


def _waited(subject: Subject, switch: int, settling: Settling) -> tuple[int, str]:
    """Return how long a press waits until it is decided, after it is believed [ms], and why."""
    if switch not in subject.press_at or settling.cell != subject.press_at[switch] + UNTIL:
        return 0, ""
    row, name = subject.presses[switch], subject.table["switches"][switch]["name"]
    if dict(settling.poke)[subject.switch_at[switch] + LEVEL]:
        return row["held_ms"], f"{name} must be held for {row['held_ms']} ms"
    return row["again_ms"], f"a short press of {name} waits {row['again_ms']} ms for a second one"


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
            later.follow(one.edges(later.state))
            if between:             # somebody asks for something just before the contact is believed
                later.wait(one.settle - 1)
                later.follow(between.edges(later.state))
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
                later.follow(one.release)
                later.wait(one.settle)
            queue.append((later, depth + 1))
        due = subject.core.due_in(subject.plan, trace.state)
        if due > 0:
            later = trace.copy()
            later.wait(due)
            queue.append((later, depth + 1))
    return slowest, longest
