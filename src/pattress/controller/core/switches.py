"""Wall switches: when a changed contact is believed, and what it then does.

A latching switch acts each time it is thrown, either way. A retractive one acts when it is
pressed, unless it tells presses apart (see `presses`). The contact must keep its new level for the settling time, so bounce counts once.
"""

from .cells import BY_SWITCH, LEVEL, SETTLE
from .channels import act


def learn(plan, state, switch, closed):
    """Take a switch as it stands at power-up; `closed` holds the level of each."""
    state[plan.switch_at[switch] + LEVEL] = closed[switch]


def contact(plan, state, at, closed, settle_ms):
    """Take the level of the contact whose cells begin at `at`. Telling the same level again changes nothing."""
    if closed == state[at + LEVEL]:
        state[at + SETTLE] = 0
    elif not state[at + SETTLE]:
        state[at + SETTLE] = settle_ms


def advance(plan, state, switch, elapsed):
    """Let time pass for a switch [ms]; a contact that has settled acts."""
    if plan.presses and plan.press_at[switch]:
        plan.presses.advance(plan, state, switch, elapsed)
        return
    at = plan.switch_at[switch]
    if settles(plan, state, at, elapsed):
        if state[at + LEVEL] or plan.latching[switch]:
            act(plan, state, plan.switch_acts[switch], BY_SWITCH)


def settles(plan, state, at, elapsed):
    """Let time pass for the contact whose cells begin at `at` [ms]; return whether it has kept still for long enough, and is believed."""
    left = state[at + SETTLE]
    if not left:
        return False
    if left > elapsed:
        state[at + SETTLE] = left - elapsed
        return False
    state[at + SETTLE] = 0
    state[at + LEVEL] = 1 - state[at + LEVEL]
    return True
