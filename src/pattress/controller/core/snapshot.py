"""The snapshot: what is kept through a power cut, and what a channel does with it afterwards.

Two bytes a channel: the level wanted and the last level above 0; then one for each condition that is kept. How the bytes reach the
flash whole is the driver's business; a lost or strange snapshot means the policy's default.
"""

from . import regulators, switches
from .cells import (
    AS_IT_WAS, BY_RESTORE, CAUSE, COMES_ON, HOLD, LAST, NOTHING_SHOWN, REST, SHOWN, TURN, WAIT, WANTED,
)


def size(plan):
    """Return the length of a snapshot [bytes]."""
    return 2 * plan.channels + len(plan.kept)


def write(plan, state, snapshot):
    """Put what must survive into `snapshot`, a bytearray of `size(plan)`."""
    for channel in range(plan.channels):
        at = plan.channel_at[channel]
        snapshot[2 * channel] = state[at + WANTED]
        snapshot[2 * channel + 1] = state[at + LAST]
    if plan.conditions:
        plan.conditions.keep(plan, state, snapshot)


def begin(plan, state, snapshot, closed, contacts):
    """Set a state to the moment of power-up. Every relay is open.

    `snapshot` is what was last saved, or None; `closed` and `contacts` hold the level of each
    switch, then of each input, and the closed contacts of each regulator as read now: where they stand is
    learnt, not acted upon.
    """
    if snapshot is not None and len(snapshot) != size(plan):
        snapshot = None
    for i in range(plan.cells):
        state[i] = 0
    for channel in range(plan.channels):
        _restore(plan, state, channel, snapshot)
    for switch in range(plan.switches):
        switches.learn(plan, state, switch, closed)
    for regulator in range(plan.regulators):
        regulators.learn(plan, state, regulator, contacts)
    if plan.apart:
        plan.apart.begin(plan, state)
    if plan.conditions:
        plan.conditions.begin(plan, state, snapshot, closed)


def _restore(plan, state, channel, snapshot):
    """Set a channel to the moment of power-up, by its policy."""
    at = plan.channel_at[channel]
    top = plan.top(channel)
    wanted, last = 0, plan.on_level[channel]
    if snapshot is not None:
        if 1 <= snapshot[2 * channel + 1] <= top:
            last = snapshot[2 * channel + 1]
        if snapshot[2 * channel] <= top:
            wanted = snapshot[2 * channel]
    policy = plan.restore[channel]
    if policy == COMES_ON:
        wanted = last
    elif policy != AS_IT_WAS:
        wanted = 0
    if plan.rules and plan.rules.starts_lower(plan, channel, wanted):
        wanted = plan.start_most[channel]
    state[at + WANTED] = wanted
    state[at + LAST] = last
    state[at + SHOWN] = NOTHING_SHOWN
    state[at + CAUSE] = BY_RESTORE
    state[at + REST] = 1
    state[at + WAIT] = plan.dead_ms[channel]
    state[at + HOLD] = plan.minimum_off_ms[channel]
    state[at + TURN] = plan.restore_delay_ms[channel]
