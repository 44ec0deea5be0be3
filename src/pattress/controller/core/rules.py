"""Rules: what a channel does by itself after a time, and who may put it on. Loaded only by a plan that has some.

A limit and a stay both run from the moment a channel came on, and open it when they run out. A
limit is longer only when the channel was off in between; a change of step is no off. A stay may
be one that each asking for "on" begins anew. Both come after everybody who asks in the same
moment, so a limit outranks a hand, and a hand that renews a stay outranks the stay. Before a stay ends it may be
warned of: the relays open for DIP_MS, which is no off, and close again.

Off is never held back here, whoever asks.
"""

from array import array

from .cells import APPLIED, LIMIT, OFF, RULE, RULED, SET, STAY, WAIT, WANTED, WARN
from .channels import ask, opened

DIP_MS = 400        # how long a warning is dark: 0.3 to 0.5 s (common practice, no source)


def attach(plan, rows):
    """Take the rules in these rows of the plan's table, and give those with a time their cells."""
    plan.rule_at, plan.limit_ms, plan.stay_ms, plan.renews, plan.wall_only, plan.start_most, plan.warn_ms = [array("i", [0] * plan.channels) for _ in range(7)]
    plan.time_cause = array("i", [0] * RULE * plan.channels)
    plan.timed = array("i", [row["channel"] for row in rows if row["limit_ms"] or row["stay_ms"]])
    for row in rows:
        channel = row["channel"]
        plan.limit_ms[channel], plan.stay_ms[channel] = row["limit_ms"], row["stay_ms"]
        plan.renews[channel], plan.wall_only[channel] = row["renews"], row["wall_only"]
        plan.start_most[channel], plan.warn_ms[channel] = row.get("start_most", 0), row.get("warn_ms", 0)
        for place, name in ((LIMIT, "limit_rule"), (STAY, "stay_rule")):
            plan.time_cause[RULE * channel + place] = RULED + row[name]
    for channel in plan.timed:
        plan.rule_at[channel] = plan.cells
        plan.timers.extend(array("i", range(plan.cells, plan.cells + RULE)))
        plan.cells += RULE


def bars(plan, channel, verb, level):
    """Return whether the network may not ask this: anything but off, of what is put on at the wall only; anything at all of what is not its own."""
    return plan.wall_only[channel] > 1 or plan.wall_only[channel] and verb != OFF and (verb != SET or level)


def starts_lower(plan, channel, level):
    """Return whether a channel may come on from off at a lower level only than this; who asks for more gets that, and may ask again."""
    return 0 < plan.start_most[channel] < level


def asked_on(plan, state, channel):
    """Note that somebody asked for a channel to be on: a stay that is renewed begins anew in `look`."""
    if plan.renews[channel]:
        state[plan.rule_at[channel] + STAY] = 0


def pass_time(plan, state, elapsed):
    """Let the times of all channels run [ms], after everybody who asks has been heard."""
    for channel in plan.timed:
        advance(plan, state, channel, elapsed)


def advance(plan, state, channel, elapsed):
    """Let the times of a channel run [ms]; one that runs out asks for off."""
    at = plan.rule_at[channel]
    for i in range(RULE):
        left = state[at + i]
        if left > elapsed:
            state[at + i] = left - elapsed
        elif left and state[plan.channel_at[channel] + WANTED]:
            if i == WARN:
                state[at + i] = 0
                warn(plan, state, channel)
            else:
                ask(plan, state, channel, OFF, 0, plan.time_cause[RULE * channel + i])          # `begin` then ends all


def warn(plan, state, channel):
    """Open the relays of a channel for a moment."""
    at = plan.channel_at[channel]
    if state[at + APPLIED]:
        state[at + APPLIED] = 0
        state[at + WAIT] = DIP_MS
        opened(plan, state, channel)


def look(plan, state):
    """Begin the times of what has come on, and end those of what is off; after `follow`."""
    for channel in plan.timed:
        begin(plan, state, channel)


def begin(plan, state, channel):
    """Begin the times of a channel that is on and has none running; end those of one that is off."""
    at = plan.rule_at[channel]
    if not state[plan.channel_at[channel] + WANTED]:
        state[at + LIMIT] = 0
        state[at + STAY] = 0
        state[at + WARN] = 0
    elif state[plan.channel_at[channel] + APPLIED]:
        if not state[at + LIMIT]:
            state[at + LIMIT] = plan.limit_ms[channel]
        if not state[at + STAY]:
            state[at + STAY] = plan.stay_ms[channel]
            if plan.warn_ms[channel]:
                state[at + WARN] = plan.stay_ms[channel] - plan.warn_ms[channel]
