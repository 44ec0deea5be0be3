"""How long a channel is on at most: by the limit or the stay of its rules, and by the longest trace.

The bound follows from `limit-kept`, `stay-kept` and `runs-out`: the time runs from the moment the relays
close, by the time that passes and nothing else, and where it runs out they open. The trace has true
durations; in it the channel is asked for "on" again and again.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from pattress.controller.core.cells import WANTED
from pattress.plural import counted

from ..story import Story
from .controls import Control, controls_of
from .often import SHOWN
from .timed_trace import TimedTrace

if TYPE_CHECKING:
    from pattress.job.wish import Wish
    from pattress.proof.subject import Subject

AGAIN = 7           # askings in the time wished for
PATIENCE = 60       # waits in a row without a closing, before nothing counts as switching it on


def judge_longest(subject: Subject, channel: int, key: str, wish: Wish, has_network: bool) -> tuple[bool, str, Story | None, int]:
    """Return (holds, detail, Story or None, steps) of a wish that a channel is never on longer than so long."""
    limit, name = round(wish.time * 1000), subject.channel_name(channel)
    trace, lasted, asked = _longest_trace(subject, channel, limit, has_network)
    if lasted > limit:
        detail = f"{name} is on for more than {limit / 1000:g} s" + (f", asked for on {counted(asked, 'time')} meanwhile" if asked else "")
        return False, detail, Story(key, wish.says, f"wish about {name}", tuple(trace.steps[:SHOWN]), detail), len(trace.steps)
    rule = subject.rules.get(channel)
    bounds = {"limit": rule["limit_ms"], "time of its stay": 0 if rule["renews"] else rule["stay_ms"]} if rule else {}
    bound = min((one for one in bounds.values() if one), default=None)
    if bound is None or bound > limit:
        above = "not bounded: no rule limits it" if bound is None else f"bounded by {bound} ms"
        return False, f"not decided: on for {lasted} ms was seen, {above}", None, len(trace.steps)
    words = next(words for words, one in bounds.items() if one == bound)
    return True, f"at most {bound} ms by its {words}, from closing to opening; {lasted} ms seen, asked for on {counted(asked, 'time')} meanwhile", None, len(trace.steps)


def _longest_trace(subject: Subject, channel: int, limit: int, has_network: bool) -> tuple[TimedTrace, int, int]:
    """Return (trace, how long the channel was on in it [ms], how often it was asked for on meanwhile); it ends once that is beyond `limit`."""
    own, at, trace, asked = subject.own_relays[channel], subject.channel_at[channel], TimedTrace(subject), 0
    switching_on = [one for one in controls_of(subject, channel, has_network) if "on" in one.asks]
    again = next((one for one in switching_on if "off" not in one.asks), None)
    if not _comes_on(trace, own) and switching_on:
        _operate(trace, again or switching_on[0])
        _comes_on(trace, own)
    stay = subject.rules[channel]["stay_ms"] if channel in subject.rules else 0
    pause = max(1, min(limit // AGAIN, stay * 9 // 10 or limit))          # before the stay is over
    began, next_asking = trace.now, trace.now + pause
    while trace.state[at + WANTED] and trace.now - began <= limit:         # the pause of a change of step is no off
        due = subject.core.due_in(subject.plan, trace.state)
        left = min([began + limit + 1 - trace.now, *([due] if due > 0 else []), *([max(1, next_asking - trace.now)] if again else [])])
        trace.wait(left)
        if again and trace.state[at + WANTED] and trace.now >= next_asking:
            trace.follow(again.edges(trace.state))
            asked, next_asking = asked + 1, trace.now + pause
    return trace, trace.now - began, asked


def _comes_on(trace: TimedTrace, own: int) -> bool:
    """Let waits run out until the channel is on; return whether it is."""
    for _ in range(PATIENCE):
        due = trace.subject.core.due_in(trace.subject.plan, trace.state)
        if trace.relays & own or due < 0:
            break
        trace.wait(due)
    return bool(trace.relays & own)


def _operate(trace: TimedTrace, control: Control) -> None:
    trace.follow(control.edges(trace.state))
    if control.settle:
        trace.wait(control.settle)
