"""The moment the mains comes back: is all open and forgotten, and does everything close at once?

The second is run, not explored, with true durations: nobody touches anything, so there is one
sequence of events. Everything that may come on does. It looks at the delays of the plan as much
as at the core.
"""

from __future__ import annotations

from array import array
from collections.abc import Sequence
from typing import TYPE_CHECKING

from pattress.controller.core import TIME
from pattress.controller.core.cells import CAUSE, CONTACTS, HELD, KEY, LAST, LEVEL, RULED, SAVE, SETTLE, UNDECIDED, UNTIL, WANTED
from pattress.designators import together

from .properties import CLAIMS, Failure
from .story import Step, Story

if TYPE_CHECKING:
    from pattress.proof.subject import Subject

BROWN_OUT = "brown-out" # the run, as stories name it
ENOUGH = 10_000         # steps in which waits run out, before the run counts as endless


def power_up_run(subject: Subject) -> tuple[Story | None, int]:
    """Return (Story or None, steps): the mains returns with everything as far on as it goes."""
    steps: list[Step] = []
    try:
        failure = _run(subject, steps)
    except Exception as error:          # as in the exploration: a broken core may do anything
        failure = Failure("no-error", f"{type(error).__name__}: {error}")
    if failure is None:
        return None, len(steps)
    return Story(failure.id, CLAIMS[failure.id].sentence, "power-up", tuple(steps), failure.detail), len(steps)


def _run(subject: Subject, steps: list[Step]) -> Failure | None:
    """Let the mains return and all waits run out, noting each step. Return the Failure, or None."""
    core, plan, table = subject.core, subject.plan, subject.table
    snapshot = _flash(subject, None)
    switches, regulators = bytes(len(subject.switches) + len(subject.inputs)), bytes(len(subject.regulators))
    state, now, wait, closed = core.new_state(plan), 0, 0, 0
    core.begin(plan, state, bytearray(snapshot), list(switches), list(regulators))
    while len(steps) < ENOUGH and (wait > 0 or not steps):
        now += wait
        row = (TIME, wait, 0, 0, 0)
        core.step(plan, state, row)
        relays = core.relays(plan, state)
        closing = [channel for channel in subject.channels
                   if relays & subject.own_relays[channel] and not closed & subject.own_relays[channel]]
        names = ", ".join(subject.channel_name(channel) for channel in closing)
        steps.append(Step(
            f"{now} ms after the mains returned" if steps else "the mains returns, everything was on",
            f"closes: {names}" if closing else "", row, relays=relays,
            begin=None if steps else (snapshot, switches, regulators),
        ))
        if len({table["channels"][channel]["restore_delay_ms"] for channel in closing}) > 1:
            return Failure("one-at-a-time", f"{names} close in the same moment, {now} ms after the mains returned")
        closed, wait = relays, core.due_in(plan, state)
    return None


def brown_out_run(subject: Subject) -> tuple[Story | None, int]:
    """Return (Story or None, steps): the mains comes back and goes again, after every time that makes a difference.

    What comes back depends on the flash only. So when one return moves no relay before its waits
    have passed, saves nothing and would bring back the same again, so does any row of them, however quick.
    """
    steps: list[Step] = []
    try:
        for saved in (0, None):
            failure = _brown_out(subject, steps, saved)
            if failure is not None:
                break
    except Exception as error:
        failure = Failure("no-error", f"{type(error).__name__}: {error}")
    if failure is None:
        return None, len(steps)
    return Story(failure.id, CLAIMS[failure.id].sentence, BROWN_OUT, tuple(steps), failure.detail), len(steps)


def _brown_out(subject: Subject, steps: list[Step], saved: int | None) -> Failure | None:
    """Let the mains return to channels saved at this level (None: as far on as each goes), note each step, judge. Return the Failure, or None."""
    core, plan, rows = subject.core, subject.plan, subject.table["channels"]
    flash = _flash(subject, saved)
    switches, regulators = bytes(len(subject.switches) + len(subject.inputs)), bytes(len(subject.regulators))
    state, again, now, wait = core.new_state(plan), core.new_state(plan), 0, 0
    core.begin(plan, state, bytearray(flash), list(switches), list(regulators))
    back = [(state[at + WANTED], state[at + LAST]) for at in subject.channel_at]
    steps.clear()
    while len(steps) < ENOUGH and (wait > 0 or not steps):
        now += wait
        todo = core.step(plan, state, (TIME, wait, 0, 0, 0))
        relays = core.relays(plan, state)
        steps.append(Step(f"{now} ms after the mains returned" if steps else "the mains returns", _on(subject, relays),
                          (TIME, wait, 0, 0, 0), relays=relays, begin=None if steps else (flash, switches, regulators)))
        for channel, row in enumerate(rows):
            quiet = max(row["dead_ms"], row["minimum_off_ms"], row["restore_delay_ms"])
            if relays & subject.own_relays[channel] and now < quiet:
                return Failure("brown-out", f"{row['name']} closes {now} ms after the mains returned, {quiet} ms would be right")
        if any(state[at + CAUSE] >= RULED for at in subject.channel_at):
            break           # something is on or off by itself, as the owner wants: from there on it is another moment than the return
        if todo & core.SAVE_NOW or state[SAVE]:
            return Failure("brown-out", "nobody touched anything, and a snapshot is written each time the mains returns")
        snapshot = bytearray(core.size(plan))
        core.write(plan, state, snapshot)
        for kept in (bytearray(flash), snapshot):       # the next cut finds the old one, or this moment
            core.begin(plan, again, kept, list(switches), list(regulators))
            if [(again[at + WANTED], again[at + LAST]) for at in subject.channel_at] != back:
                return Failure("brown-out", f"cut {now} ms after it returned, the mains brings back something else the next time")
        wait = core.due_in(plan, state)
    return None


def _flash(subject: Subject, saved: int | None) -> bytes:
    """Return a snapshot with every channel at this level (None: as far on as each goes), last on as far as it goes, and nothing latched."""
    return bytes(byte for top in subject.tops for byte in (top if saved is None else saved, top)) + bytes(len(subject.kept))


def _on(subject: Subject, relays: int) -> str:
    """Return which channels are on."""
    names = [subject.channel_name(channel) for channel in subject.channels if relays & subject.own_relays[channel]]
    return f"on: {', '.join(names)}" if names else ""


def judge_power_up(subject: Subject, raw: array[int], closed: Sequence[int], contacts: Sequence[int]) -> Failure | None:
    """Return the Failure of a moment of power-up as far as it is the same for all parts, or None."""
    relays = subject.core.relays(subject.plan, raw)
    if relays:
        return Failure("starts-open", f"{together(relays)} closed")
    if raw[SAVE] or raw[KEY] or raw[HELD]:
        return Failure("learnt", "something of the life before is left: a snapshot due or a button held")
    for switch, at in enumerate(subject.switch_at):
        if raw[at + LEVEL] != closed[switch] or raw[at + SETTLE]:
            return Failure("learnt", f"{subject.table['switches'][switch]['name']} is not taken as it stands")
    for switch, at in subject.press_at.items():
        if raw[at + UNDECIDED] or raw[at + UNTIL]:
            return Failure("learnt", f"{subject.table['switches'][switch]['name']} counts as pressed before anybody pressed it")
    for number, at in enumerate(subject.input_at):
        if raw[at + LEVEL] != closed[len(subject.switches) + number] or raw[at + SETTLE]:
            return Failure("learnt", f"{subject.input_name(number)} is not taken as it stands")
    for regulator, at in enumerate(subject.regulator_at):
        if raw[at + CONTACTS] != contacts[regulator] or raw[at + SETTLE]:
            return Failure("learnt", f"{subject.table['regulators'][regulator]['name']} is not taken as it stands")
    return None


RUNS = {"one-at-a-time": power_up_run, BROWN_OUT: brown_out_run}      # by the claim that each judges
