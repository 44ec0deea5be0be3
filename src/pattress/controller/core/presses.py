"""Presses told apart: a short one, one that is held, two in a row. Loaded only by a plan in which some switch tells them apart.

A press that is held acts while it is held, once; letting go then does nothing. A short one acts when it is let go or, where a
second one means something else, once no second one has begun in time. A second press acts at once, for both. So each
press acts once, or two act once together.

Both times count from the moment a contact is believed, so the settling time is in neither. Where a time is over in the step
in which a contact is believed, the press counts as held and not as let go, and a second one as in time. A contact that is
closed at power-up is no press.
"""

from array import array

from .cells import BY_SWITCH, LEVEL, PRESS, UNDECIDED, UNTIL
from .channels import act
from .switches import settles


def attach(plan, rows):
    """Take what switches do when they are held or pressed twice from these rows of the plan's table, and give them their cells."""
    told = {row["switch"]: row for row in rows}
    plan.press_held_ms, plan.press_again_ms = [
        array("i", [told[switch][name] if switch in told else 0 for switch in range(plan.switches)]) for name in ("held_ms", "again_ms")]
    plan.held_acts, plan.twice_acts = [
        [array("i", [number for one in told[switch][name] for number in one]) if switch in told else None for switch in range(plan.switches)]
        for name in ("held", "twice")]
    plan.press_at = array("i", [0] * plan.switches)
    for row in rows:
        plan.press_at[row["switch"]] = plan.cells
        plan.timers.append(plan.cells + UNTIL)
        plan.cells += PRESS


def advance(plan, state, switch, elapsed):
    """Let time pass for a switch that tells presses apart [ms]; a press that is decided acts."""
    at = plan.switch_at[switch]
    if state[at + LEVEL]:
        wait(plan, state, switch, elapsed, plan.held_acts[switch])
        if settles(plan, state, at, elapsed):
            let_go(plan, state, switch)
    elif settles(plan, state, at, elapsed):
        pressed(plan, state, switch)
    else:
        wait(plan, state, switch, elapsed, plan.switch_acts[switch])


def wait(plan, state, switch, elapsed, acts):
    """Let time pass for a press that is not decided [ms]; once it is over, the press acts so."""
    at = plan.press_at[switch]
    left = state[at + UNTIL]
    if left > elapsed:
        state[at + UNTIL] = left - elapsed
    elif left:
        decide(plan, state, switch, acts)


def pressed(plan, state, switch):
    """Take a press that is believed: the second of two, or one that is not decided yet."""
    at = plan.press_at[switch]
    if state[at + UNDECIDED]:
        decide(plan, state, switch, plan.twice_acts[switch])
    else:
        state[at + UNDECIDED] = 1
        state[at + UNTIL] = plan.press_held_ms[switch]


def let_go(plan, state, switch):
    """Take that a switch was let go: a press that was not held is a short one, unless a second one may follow."""
    at = plan.press_at[switch]
    if state[at + UNDECIDED]:
        if plan.press_again_ms[switch]:
            state[at + UNTIL] = plan.press_again_ms[switch]
        else:
            decide(plan, state, switch, plan.switch_acts[switch])


def decide(plan, state, switch, acts):
    """Let a press act, once."""
    at = plan.press_at[switch]
    state[at + UNDECIDED] = 0
    state[at + UNTIL] = 0
    act(plan, state, acts, BY_SWITCH)
