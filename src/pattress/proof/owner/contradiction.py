"""A wish to follow a switch at once, and a wish to be switched seldom: no program can keep both if somebody keeps switching."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pattress.controller.core import CONTACT
from pattress.controller.core.cells import TOGGLE

from ..story import Story
from .often import HOUR, SHOWN
from .timed_trace import TimedTrace

if TYPE_CHECKING:
    from pattress.job.wish import Wish
    from pattress.proof.subject import Subject


def follow_against_times(subject: Subject, channel: int, key: str, sentence: str, follow: Wish, most: Wish) -> tuple[Story | None, str]:
    """Return (Story, detail) when the two wishes contradict each other, else (None, "").

    A switch that toggles the channel is operated each time the first wish has had its time: it
    then asks for one closing in two of these times.
    """
    time = round(follow.time * 1000)
    for switch in subject.switches:
        if all((one, verb) != (channel, TOGGLE) for one, verb, _ in subject.switch_acts[switch]):
            continue
        row, again = subject.table["switches"][switch], subject.presses.get(switch, {}).get("again_ms", 0)
        pause = max(time, row["settle_ms"] * (1 if row["latching"] else 2) + again)
        lasts = (2 * most.times + 1) * pause
        if lasts >= HOUR:
            continue
        trace, closed = TimedTrace(subject), 0
        while len(trace.steps) < SHOWN:
            closed = 1 - closed if row["latching"] else 1
            trace.tell(f"{row['name']} is {'thrown' if row['latching'] else 'pressed'}", (CONTACT, switch, closed, 0, 0))
            trace.wait(row["settle_ms"])
            if not row["latching"]:
                trace.tell(f"{row['name']} is let go", (CONTACT, switch, 0, 0, 0))
            trace.wait(pause - row["settle_ms"])
        detail = (f"{row['name']}, operated every {pause} ms, asks for {most.times + 1} closings in {lasts / 1000:g} s; "
                  f"one wish wants each within {time} ms, the other no more than {most.times} an hour")
        return Story(key, sentence, f"wishes about {subject.channel_name(channel)}", tuple(trace.steps[:SHOWN]), detail), detail
    return None, ""
