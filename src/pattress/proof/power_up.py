"""The moment the mains comes back: is all open and forgotten, and does everything close at once?

The second is run, not explored, with true durations: nobody touches anything, so there is one
course of events. Everything that may come on does. It looks at the delays of the plan as much
as at the core.
"""

from pattress.controller.core import TIME
from pattress.controller.core.cells import CONTACTS, HELD, KEY, LEVEL, SAVE, SETTLE

from .properties import Failure
from .story import Step, Story

ENOUGH = 10_000         # steps in which waits run out, before the run counts as endless


def power_up_run(subject, sentence):
    """Return (Story or None, steps): the mains returns with everything as far on as it goes."""
    core, plan, table = subject.core, subject.plan, subject.table
    snapshot = bytearray(level for top in subject.tops for level in (top, top))
    switches, regulators = [0] * len(subject.switches), [0] * len(subject.regulators)
    state, now, steps, closed = core.new_state(plan), 0, [], 0
    core.begin(plan, state, bytearray(snapshot), switches, regulators)
    begin, wait = (bytes(snapshot), bytes(switches), bytes(regulators)), 0
    while wait >= 0 and len(steps) < ENOUGH:
        now += wait
        row = (TIME, wait, 0, 0, 0)
        core.step(plan, state, row)
        relays = core.relays(plan, state)
        closing = [channel for channel in subject.channels if relays & ~closed & subject.own_relays[channel]
                   and not closed & subject.own_relays[channel]]
        names = ", ".join(subject.channel_name(channel) for channel in closing)
        steps.append(Step(f"{now} ms after the mains returned" if steps else "the mains returns, everything was on",
                          f"closes: {names}" if closing else "", row, begin=None if steps else begin, relays=relays))
        if len({table["channels"][channel]["restore_delay_ms"] for channel in closing}) > 1:
            failure = Failure("one-at-a-time", f"{names} close in the same moment, {now} ms after the mains returned")
            return Story(failure.id, sentence, "power-up", tuple(steps), failure.detail), len(steps)
        closed, wait = relays, core.due_in(plan, state)
        if wait == 0:
            break
    return None, len(steps)


def judge_power_up(subject, raw, closed, contacts):
    """Return the Failure of a moment of power-up as far as it is the same for all parts, or None."""
    relays = subject.core.relays(subject.plan, raw)
    if relays:
        return Failure("starts-open", f"relays {relays:b} (binary) are closed")
    if raw[SAVE] or raw[KEY] or raw[HELD]:
        return Failure("learnt", "something of the life before is left: a snapshot due or a button held")
    for switch, at in enumerate(subject.switch_at):
        if raw[at + LEVEL] != closed[switch] or raw[at + SETTLE]:
            return Failure("learnt", f"{subject.table['switches'][switch]['name']} is not taken as it stands")
    for regulator, at in enumerate(subject.regulator_at):
        if raw[at + CONTACTS] != contacts[regulator] or raw[at + SETTLE]:
            return Failure("learnt", f"{subject.table['regulators'][regulator]['name']} is not taken as it stands")
    return None
