"""The control program: `step(plan, state, event)` and nothing else moves the state.

Pure: no clock, no pins, no waiting. One file set for CPython and the board. An event is a
row of five whole numbers, its kind first:

    TIME     elapsed_ms                           time has passed since the last TIME
    CONTACT  switch, closed                       level of a wall switch now
    ROTOR    regulator, contact, closed           level of one regulator contact now
    CODE     protocol, address, command, freshness   a remote was received
    COMMAND  channel, verb, level                 the network asks
    SENSED   channel, live                        level of a channel's feedback now (see `feedback`)
    INPUT_MOVED  input, closed                    level of an input now (see `conditions`)
    READ     reading, place                       where a reading stands now: -1 not known, 0 past its end, 1 between, 2 past its begin

`step` returns what the caller must see to, as bits: SAVE_NOW (write a snapshot), NEWS (ask
`next_news` what to publish), REFUSED (the event means nothing to this plan; nothing changed).
The relays that shall be closed are always `relays(plan, state)`.

A line counts as dead from `begin` on, until SENSED tells otherwise.
The caller steps TIME 0 right after `begin`, for what may close without any wait; TIME before
any other event with what has passed, so that a wait begun by that event has lost nothing;
and TIME again when `due_in` is over.
"""

from array import array

from . import regulators, remote, switches
from .cells import BY_NETWORK, SAVE
from .channels import advance, allows, ask, follow, is_news

TIME, CONTACT, ROTOR, CODE, COMMAND = range(5)

SAVE_NOW, NEWS, REFUSED = 1, 2, 4


def new_state(plan):
    """Return a state of the right size, to be filled by `begin`."""
    return array("i", [0] * plan.cells)


def step(plan, state, event):
    """Change the state by one event; return the bits that say what to see to."""
    kind = event[0]
    todo = 0
    if kind == TIME:
        todo = _pass_time(plan, state, event[1])
    elif kind == CONTACT and 0 <= event[1] < plan.switches:
        switches.contact(plan, state, plan.switch_at[event[1]], 1 if event[2] else 0, plan.switch_settle_ms[event[1]])
    elif (kind == ROTOR and 0 <= event[1] < plan.regulators
            and 0 <= event[2] < plan.contacts[event[1]]):
        regulators.contact(plan, state, event[1], event[2], event[3])
    elif kind == CODE and remote.code(plan, state, event[1], event[2], event[3], event[4]):
        pass
    elif (kind == COMMAND and allows(plan, event[1], event[2], event[3])
            and not (plan.rules and plan.rules.bars(plan, event[1], event[2], event[3]))):
        ask(plan, state, event[1], event[2], event[3], BY_NETWORK)
    elif plan.watch and plan.watch.knows(plan, event):
        plan.watch.sensed(plan, state, event[1], 1 if event[2] else 0)
    elif plan.conditions and plan.conditions.take(plan, state, event):
        pass
    else:
        return REFUSED
    if plan.conditions:
        plan.conditions.look(plan, state)
    for channel in range(plan.channels):
        follow(plan, state, channel)
    if plan.rules:
        plan.rules.look(plan, state)
    if plan.watch:
        plan.watch.look(plan, state, event[1] if kind == TIME else 0)
    for channel in range(plan.channels):        # after all relays are decided: what is told cannot change what is done
        if is_news(plan, state, channel):
            todo |= NEWS
    return todo


def due_in(plan, state):
    """Return the time until something happens by itself [ms]; -1 when nothing will."""
    soonest = -1
    for i in plan.timers:
        left = state[i]
        if left and (soonest < 0 or left < soonest):
            soonest = left
    return soonest


def _pass_time(plan, state, elapsed):
    """Let all waits run, and what has settled act.

    The waits of channels come first: one begun by a switch or regulator has lost nothing yet. What conditions ask for
    comes before any hand, and a limit that runs out has the last word.
    """
    if elapsed <= 0:
        return 0
    todo = _save_by(plan, state, elapsed)
    remote.advance(plan, state, elapsed)
    for channel in range(plan.channels):
        advance(plan, state, channel, elapsed)
        if plan.apart:
            plan.apart.advance(plan, state, channel, elapsed)
    if plan.conditions:
        plan.conditions.pass_time(plan, state, elapsed)
    for switch in range(plan.switches):
        switches.advance(plan, state, switch, elapsed)
    for regulator in range(plan.regulators):
        regulators.advance(plan, state, regulator, elapsed)
    if plan.rules:
        plan.rules.pass_time(plan, state, elapsed)
    return todo


def _save_by(plan, state, elapsed):
    """Let time pass for the snapshot [ms]; return SAVE_NOW when it is due."""
    left = state[SAVE]
    if left > elapsed:
        state[SAVE] = left - elapsed
    elif left:
        state[SAVE] = 0
        return SAVE_NOW
    return 0
