"""Conditions: what a rule waits for, and what it does then. Loaded only by a plan that has some.

A condition looks at a channel, an input or a reading. It counts as met once that has been so for `from_ms`,
and no longer once it has been otherwise for `after_ms`. Both are 1 ms at least, so what counts as met changes only
as time passes, and never in the step that changed what it looks at.

HOLD     its channel comes on when it begins and goes off when it ends, unless another one holds the channel
LOCK     its channel is off, whoever asks
REST     the holds of its channel do not begin
WHEN     its acts are carried out when it begins
RELEASE  ends a LOCK that is latched; such a one is kept through a power cut

A hand may switch off what is held, and on what is not: a hold asks once when it begins and once when it ends. One that
was shut out by a LOCK or a REST begins when that is over. Off is never held back here, whoever asks.
"""

from array import array

from .cells import (
    BEYOND, CONDITION, FRESH, HOLD, INPUT, INPUT_MOVED, LEVEL, MET, OFF, READ, READING, RULED, RUN, SETTLE, TAKEN, TURN,
    WANTED,
)
from .channels import act, ask, save_soon
from .switches import contact, settles

HOLDS, LOCKS, RESTS, WHEN, RELEASE = range(5)           # kinds
OF_CHANNEL, OF_INPUT, OF_READING = range(3)             # what one looks at
UNKNOWN, BEFORE, BETWEEN, PAST = range(-1, 3)           # where a reading stands: not past its end, between, past its begin


def attach(plan, table):
    """Take the conditions of a plan's table with what they look at, and give them their cells."""
    inputs, readings, rows = table.get("inputs", ()), table.get("readings", ()), table["conditions"]
    plan.inputs, plan.readings = len(inputs), len(readings)
    plan.input_settle_ms = array("i", [row["settle_ms"] for row in inputs])
    plan.stale_ms = array("i", [row["stale_ms"] for row in readings])
    plan.kind, plan.source, plan.number, plan.sense, plan.from_ms, plan.after_ms, plan.released_by = [
        array("i", [row.get(name, -1) for row in rows])
        for name in ("kind", "source", "number", "sense", "from_ms", "after_ms", "released_by")]
    plan.cause = array("i", [RULED + row["rule"] for row in rows])
    plan.condition_acts = [array("i", [number for one in row["acts"] for number in one]) for row in rows]
    plan.input_at = _places(plan, plan.inputs, INPUT, SETTLE)
    plan.reading_at = _places(plan, plan.readings, READING, FRESH)
    plan.condition_at = _places(plan, len(rows), CONDITION, RUN)
    plan.kept = array("i", [condition for condition in range(len(rows)) if plan.released_by[condition] >= 0])
    plan.holds, plan.locks, plan.rests = [[array("i", [
        condition for condition in range(len(plan.kind))
        if plan.kind[condition] == kind and plan.condition_acts[condition][0] == channel]) for channel in range(plan.channels)]
        for kind in (HOLDS, LOCKS, RESTS)]


def take(plan, state, event):
    """Take an event about an input or a reading. Return whether the plan knows it; an unknown one changes nothing."""
    if event[0] == INPUT_MOVED and 0 <= event[1] < plan.inputs:
        contact(plan, state, plan.input_at[event[1]], 1 if event[2] else 0, plan.input_settle_ms[event[1]])
    elif event[0] == READ and 0 <= event[1] < plan.readings and UNKNOWN <= event[2] <= PAST:
        read(plan, state, event[1], event[2])
    else:
        return False
    return True


def read(plan, state, reading, place):
    """Take where a reading stands now."""
    at = plan.reading_at[reading]
    state[at + FRESH] = 0 if place == UNKNOWN else plan.stale_ms[reading]
    if place != BETWEEN:
        state[at + BEYOND] = 1 if place == PAST else 0


def is_so(plan, state, condition):
    """Return whether what a condition looks at is as it says now, 1 or 0. Of a reading that is not known a LOCK says yes, the others no."""
    number, sense = plan.number[condition], plan.sense[condition]
    if plan.released_by[condition] >= 0 and state[plan.condition_at[condition] + MET]:
        if not state[plan.condition_at[plan.released_by[condition]] + MET]:
            return 1
    if plan.source[condition] == OF_INPUT:
        return 1 if state[plan.input_at[number] + LEVEL] == sense else 0
    if plan.source[condition] == OF_READING:
        at = plan.reading_at[number]
        if not state[at + FRESH]:
            return 1 if plan.kind[condition] == LOCKS else 0
        return state[at + BEYOND]
    at = plan.channel_at[number]
    is_on = state[at + WANTED] and (sense or not (state[at + TURN] or state[at + HOLD]))
    return sense if is_on else 1 - sense


def lock_on(plan, state, channel):
    """Return the first condition for which a channel must be off, whoever asks; -1 where there is none."""
    for condition in plan.locks[channel]:
        if state[plan.condition_at[condition] + MET]:
            return condition
    return -1


def begin(plan, state, snapshot, closed):
    """Learn inputs and conditions at power-up, after the channels.

    A LOCK that was met counts as just ended where it lasts longer than what it looks at; a latched one is as it was saved, met where
    nothing was. A hold begins anew, and what stands at power-up is no moment for WHEN.
    """
    for i in range(plan.inputs):
        learn(plan, state, plan.input_at[i], closed, plan.switches + i)
    for condition in range(len(plan.kind)):
        if plan.kind[condition] != HOLDS and plan.kind[condition] != RELEASE:
            find(plan, state, condition)
    for i in range(len(plan.kept)):
        restore(plan, state, plan.kept[i], snapshot, 2 * plan.channels + i)


def keep(plan, state, snapshot):
    """Put what is latched into a snapshot, behind the channels."""
    for i in range(len(plan.kept)):
        snapshot[2 * plan.channels + i] = state[plan.condition_at[plan.kept[i]] + MET]


def learn(plan, state, at, closed, place):
    """Take an input as it stands."""
    state[at + LEVEL] = closed[place]


def find(plan, state, condition):
    """Take a condition as what it looks at stands."""
    at = plan.condition_at[condition]
    state[at + MET] = is_so(plan, state, condition)
    if plan.kind[condition] == LOCKS and plan.after_ms[condition] > 1:
        state[at + MET] = 1
    elif plan.kind[condition] == WHEN:
        state[at + TAKEN] = state[at + MET]


def restore(plan, state, condition, snapshot, place):
    """Take a latched condition as it was saved."""
    if snapshot is None or snapshot[place]:
        state[plan.condition_at[condition] + MET] = 1


def pass_time(plan, state, elapsed):
    """Let time pass for inputs, readings and conditions [ms]; what begins or ends acts, before any hand that acts in the same moment."""
    for i in range(plan.inputs):
        settles(plan, state, plan.input_at[i], elapsed)
    for reading in range(plan.readings):
        age(plan, state, reading, elapsed)
    for condition in range(len(plan.kind)):
        advance(plan, state, condition, elapsed)
    for channel in range(plan.channels):
        if plan.locks[channel]:
            shut(plan, state, channel)
        if plan.holds[channel]:
            hold(plan, state, channel)
    for condition in range(len(plan.kind)):
        if plan.kind[condition] == WHEN:
            strike(plan, state, condition)


def age(plan, state, reading, elapsed):
    """Let a reading grow old [ms]; one that is stale is not known."""
    at = plan.reading_at[reading]
    left = state[at + FRESH]
    state[at + FRESH] = left - elapsed if left > elapsed else 0
    if not state[at + FRESH]:
        state[at + BEYOND] = 0


def advance(plan, state, condition, elapsed):
    """Let time pass for a condition [ms]: what has been otherwise for long enough is believed."""
    at = plan.condition_at[condition]
    left = state[at + RUN]
    if left > elapsed:
        state[at + RUN] = left - elapsed
    elif left:
        state[at + RUN] = 0
        state[at + MET] = 1 - state[at + MET]
        if plan.released_by[condition] >= 0:
            save_soon(plan, state)


def hold(plan, state, channel):
    """Let the holds of a channel begin and end: on with each that begins, off with the last that ends."""
    is_free = lock_on(plan, state, channel) < 0
    for condition in plan.rests[channel]:
        if state[plan.condition_at[condition] + MET]:
            is_free = False
    begun, ended, is_held = -1, -1, False
    for condition in plan.holds[channel]:
        at = plan.condition_at[condition]
        if not state[at + MET]:
            if state[at + TAKEN]:
                ended = condition
            state[at + TAKEN] = 0
        elif is_free and not state[at + TAKEN]:
            state[at + TAKEN] = 1
            begun = condition
        is_held = is_held or state[at + TAKEN]
    if begun >= 0:
        act(plan, state, plan.condition_acts[begun], plan.cause[begun])
    elif ended >= 0 and not is_held:
        ask(plan, state, channel, OFF, 0, plan.cause[ended])


def strike(plan, state, condition):
    """Carry out the acts of a WHEN that has just begun."""
    at = plan.condition_at[condition]
    if state[at + TAKEN] != state[at + MET]:
        state[at + TAKEN] = state[at + MET]
        if state[at + MET]:
            act(plan, state, plan.condition_acts[condition], plan.cause[condition])


def look(plan, state):
    """See which conditions are otherwise than they count, and switch off what came back with the power and must be off; before `follow`."""
    for channel in range(plan.channels):
        if plan.locks[channel]:
            shut(plan, state, channel)
    for condition in range(len(plan.kind)):
        compare(plan, state, condition)


def shut(plan, state, channel):
    """Switch a channel off that must be off. What holds it begins again when it may."""
    lock = lock_on(plan, state, channel)
    if lock >= 0 and state[plan.channel_at[channel] + WANTED]:
        for condition in plan.holds[channel]:
            state[plan.condition_at[condition] + TAKEN] = 0
        ask(plan, state, channel, OFF, 0, plan.cause[lock])


def compare(plan, state, condition):
    """Begin to doubt a condition that is otherwise than it counts, or cease to."""
    at = plan.condition_at[condition]
    so = is_so(plan, state, condition)
    if so == state[at + MET]:
        state[at + RUN] = 0
    elif not state[at + RUN]:
        state[at + RUN] = plan.from_ms[condition] if so else plan.after_ms[condition]


def _places(plan, count, length, wait):
    """Return where so many blocks of cells stand, at the end of the state; each has a wait."""
    at = array("i", range(plan.cells, plan.cells + count * length, length))
    plan.cells += count * length
    for place in at:
        plan.timers.append(place + wait)
    return at
