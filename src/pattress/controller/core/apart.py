"""Things that are never on together: of each set one channel at most is on. Loaded only by a plan that has such sets.

Asked for on while another of its set is wanted on, a channel stays off, and whoever asked is told. Asked for while
another has just gone off, it waits: none of its relays closes while one of another is closed, or was within the time
between, after a power cut neither. Off is never held back here, whoever asks.
"""

from array import array

from .cells import APART, APPLIED, GONE, RULED, WANTED


def attach(plan, rows):
    """Take the sets in these rows of the plan's table, and give their channels cells. A channel of several sets rests by the longest time of its own."""
    plan.others, plan.apart_at, plan.between_ms = [array("i") for _ in range(plan.channels)], array("i", [0] * plan.channels), array("i", [0] * plan.channels)
    for row in rows:
        for channel in row["channels"]:
            plan.between_ms[channel] = max(plan.between_ms[channel], row["between_ms"])
            for other in row["channels"]:
                if other != channel:
                    plan.others[channel].extend(array("i", (other, RULED + row["rule"])))
    for channel in range(plan.channels):
        if plan.others[channel]:
            plan.apart_at[channel] = plan.cells
            plan.timers.append(plan.cells + GONE)
            plan.cells += APART


def kept_off_by(plan, state, channel):
    """Return the rule for which a channel must stay off now, as a cause; -1 where none of its sets has another one wanted on."""
    others = plan.others[channel]
    for i in range(0, len(others), 2):
        if state[plan.channel_at[others[i]] + WANTED]:
            return others[i + 1]
    return -1


def is_barred(plan, state, channel):
    """Return whether no relay of a channel may close yet: another is closed, or has only just opened."""
    others = plan.others[channel]
    for i in range(0, len(others), 2):
        if state[plan.channel_at[others[i]] + APPLIED] or state[plan.apart_at[others[i]] + GONE]:
            return True
    return False


def begin(plan, state):
    """Count every channel as just opened, at power-up: nobody knows how long it has been open."""
    for channel in range(plan.channels):
        opened(plan, state, channel)


def opened(plan, state, channel):
    """Note that the relays of a channel open now."""
    if plan.others[channel]:
        state[plan.apart_at[channel] + GONE] = plan.between_ms[channel]


def advance(plan, state, channel, elapsed):
    """Let the time since a channel has opened run [ms]."""
    if plan.others[channel]:
        at = plan.apart_at[channel]
        left = state[at + GONE]
        state[at + GONE] = left - elapsed if left > elapsed else 0
