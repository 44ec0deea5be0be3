"""Feedback: whether a channel's switched line is as live as its relays say. Loaded only by a plan that has some.

What is sensed may disagree with the relays for a while: contacts take time, and so does the
sensing. Only a disagreement that has lasted for the settling time is believed: the channel is
stuck. It stays so until the line is sensed otherwise; that somebody asked for what sticks
anyway is no proof that the contact works again. Either way the channel counts as not told.

A line that is sensed live though everything is open bars the next set of a channel that has
several: two sets would meet in it. Nothing else waits for feedback, and nothing opens later.
"""

from array import array

from .cells import APPLIED, CAUSE, DOUBT, FEEDBACK, LIVE, NOTHING_SHOWN, SENSED, SHOWN, STUCK, STUCK_CLOSED, STUCK_OPEN


def attach(plan, rows):
    """Give the feedback in these rows of the plan's table its cells."""
    plan.feedback_at, plan.feedback_ms = array("i", [0] * plan.channels), array("i", [0] * plan.channels)
    for row in rows:
        plan.feedback_at[row["channel"]], plan.feedback_ms[row["channel"]] = plan.cells, row["settle_ms"]
        plan.timers.append(plan.cells + DOUBT)
        plan.cells += FEEDBACK


def knows(plan, event):
    """Return whether an event is about feedback that the plan has."""
    return event[0] == SENSED and 0 <= event[1] < plan.channels and plan.feedback_at[event[1]]


def sensed(plan, state, channel, live):
    """Take what the line is sensed to be now, 1 live, 0 dead. Telling the same again changes nothing."""
    at = plan.feedback_at[channel]
    if live != state[at + LIVE]:
        state[at + LIVE] = live
        state[at + DOUBT] = 0
        if state[at + STUCK]:
            state[at + STUCK] = 0
            state[plan.channel_at[channel] + SHOWN] = NOTHING_SHOWN


def look(plan, state, elapsed):
    """Let time pass for all feedback [ms], and compare it with the relays; after `follow`."""
    for channel in range(plan.channels):
        if plan.feedback_at[channel]:
            if elapsed > 0:
                advance(plan, state, channel, elapsed)
            compare(plan, state, channel)


def advance(plan, state, channel, elapsed):
    """Let time pass for the feedback of a channel [ms]; a disagreement that has lasted is believed."""
    at = plan.feedback_at[channel]
    left = state[at + DOUBT]
    if left > elapsed:
        state[at + DOUBT] = left - elapsed
    elif left:
        state[at + DOUBT] = 0
        state[at + STUCK] = STUCK_CLOSED if state[at + LIVE] else STUCK_OPEN
        state[plan.channel_at[channel] + SHOWN] = NOTHING_SHOWN


def compare(plan, state, channel):
    """Begin to doubt a channel whose line disagrees with its relays, or cease to."""
    at = plan.feedback_at[channel]
    if state[at + LIVE] == (1 if state[plan.channel_at[channel] + APPLIED] else 0):
        state[at + DOUBT] = 0
    elif not (state[at + DOUBT] or state[at + STUCK]):
        state[at + DOUBT] = plan.feedback_ms[channel]


def is_barred(plan, state, channel):
    """Return whether no set may close now: the line is live with all open, and another set could meet the one that sticks."""
    at = plan.feedback_at[channel]
    return at and plan.top(channel) > 1 and state[at + LIVE]


def cause(plan, state, channel):
    """Return what to tell as the cause: that the channel is stuck, if it is, or else who asked last."""
    at = plan.feedback_at[channel]
    return at and state[at + STUCK] or state[plan.channel_at[channel] + CAUSE]
