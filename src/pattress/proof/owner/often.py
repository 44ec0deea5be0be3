"""How often a channel can be switched in an hour: by its minimum off time and dead time, and by the quickest trace.

Every closing comes at least that long after the opening before it, across power cuts too, since
both waits begin anew at power-up. That is proven as `minimum-off` and `dead-time`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from pattress.plural import counted

from ..story import Story
from .controls import controls_of
from .timed_trace import TimedTrace

if TYPE_CHECKING:
    from pattress.job.wish import Wish
    from pattress.proof.owner.controls import Control
    from pattress.proof.subject import Subject

HOUR = 3_600_000        # [ms]
SHOWN = 9               # steps of a story; after them it goes on in the same way
PATIENCE = 60           # waits in a row without a closing, before the trace counts as stuck


def judge_times(subject: Subject, channel: int, key: str, wish: Wish, has_network: bool) -> tuple[bool, str, Story | None, int]:
    """Return (holds, detail, Story or None, steps) of a wish that a channel is switched at most so often an hour."""
    row = subject.table["channels"][channel]
    pause = max(row["minimum_off_ms"], row["dead_ms"])
    most = -(-HOUR // pause) if pause else None
    if most is not None and most <= wish.times:
        return True, f"at most {counted(most, 'time')}: off for at least {pause} ms each time", None, 1
    trace, closings = _quickest(subject, channel, wish.times + 1, has_network)
    if len(closings) > wish.times and closings[-1] - closings[0] < HOUR:
        detail = (f"{row['name']} is switched {len(closings)} times in {(closings[-1] - closings[0]) / 1000:g} s, "
                  "going on as in the first steps told here")
        steps = tuple(trace.steps[:SHOWN])
        return False, detail, Story(key, wish.says, f"wish about {row['name']}", steps, detail), len(trace.steps)
    above = f"bounded by {most}" if most else "not bounded: no minimum off time"
    return False, f"not decided: {counted(len(closings), 'time')} in an hour {'was' if len(closings) == 1 else 'were'} seen, {above}", None, len(trace.steps)


def _quickest(subject: Subject, channel: int, times: int, has_network: bool) -> tuple[TimedTrace, list[int]]:
    """Return a trace that switches a channel on and off as quickly as it can, and the moments of its closings [ms]."""
    controls, own = controls_of(subject, channel, has_network), subject.own_relays[channel]
    trace = TimedTrace(subject)
    closings: list[int] = []
    ways: dict[str, Control] = {}
    for goal in ("on", "off"):
        able = [one for one in controls if goal in one.asks]
        if not able:
            return trace, closings
        ways[goal] = min(able, key=lambda one: one.settle)
    while len(closings) < times:
        for goal in ("on", "off"):
            _operate(trace, ways[goal])
            for _ in range(PATIENCE):
                if bool(trace.relays & own) == (goal == "on"):
                    break
                due = subject.core.due_in(subject.plan, trace.state)
                if due < 0:
                    return trace, closings
                trace.wait(due)
            else:
                return trace, closings
            if goal == "on":
                closings.append(trace.now)
    return trace, closings


def _operate(trace: TimedTrace, control: Control) -> None:
    trace.follow(control.edges(trace.state))
    trace.wait(control.settle)
    for words, row in control.release:      # before it can be pressed again
        trace.tell(words, row)
        trace.wait(control.settle)
