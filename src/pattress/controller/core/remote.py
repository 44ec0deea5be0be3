"""Remote buttons: which received code is a press, which only says that a button is still held.

A held button acts once. Some remotes send a short repeat mark, some a toggle bit, some the
whole frame again; the decoder says which it saw. Where it cannot tell, the same code before
the button counts as let go is the same press.
"""

from .cells import BY_REMOTE, HELD, KEY
from .channels import act

# What the decoder knows about a frame.
CANNOT_TELL, REPEAT, NEW_PRESS = range(3)


def find(plan, protocol, address, command):
    """Return the place of a code in the plan, -1 when the plan does not know it."""
    for i in range(plan.buttons):
        if (plan.command[i] == command and plan.address[i] == address
                and plan.protocol[i] == protocol):
            return i
    return -1


def code(plan, state, protocol, address, command, freshness):
    """Take a received code. Return whether the plan knows it; an unknown one changes nothing."""
    button = find(plan, protocol, address, command)
    if button < 0:
        return False
    is_held = state[KEY] == button + 1 and state[HELD] > 0
    if freshness == REPEAT and not is_held:
        return True
    state[KEY] = button + 1
    state[HELD] = plan.held_ms
    if freshness == NEW_PRESS or not is_held:
        act(plan, state, plan.button_acts[button], BY_REMOTE)
    return True


def advance(plan, state, elapsed):
    """Let time pass for the held button [ms]."""
    left = state[HELD]
    if left > elapsed:
        state[HELD] = left - elapsed
    elif left:
        state[HELD] = 0
        state[KEY] = 0
