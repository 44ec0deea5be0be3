"""A channel: from what was asked to which relays are closed.

Asking only notes the wish. At the end of every step the relays follow once, as near to the
wish as is allowed, so they move at most once in a step however many asked. The relays of a
channel always open completely, and then stay open for the dead time, before another set
closes; so two sets of capacitors never meet, whatever was asked in between.
"""

from .cells import (
    APPLIED, CAUSE, DOWN, HOLD, KICK, LAST, NOTHING_SHOWN, OFF, ON, REST, RULED, SAVE, SET, SHOWN, TOGGLE, TURN, UP,
    WAIT, WANTED,
)


def is_lit(plan, state, channel):
    """Return whether a person takes the channel to be on.

    A channel that still waits for its turn after a power cut is dark, and is taken as seen.
    """
    at = plan.channel_at[channel]
    return state[at + WANTED] > 0 and not state[at + TURN]


def allows(plan, channel, verb, level):
    """Return whether such a wish means anything to this plan."""
    if not 0 <= channel < plan.channels:
        return False
    if verb == SET:
        return 0 <= level <= plan.top(channel)
    return OFF <= verb <= DOWN


def ask(plan, state, channel, verb, level, cause):
    """Note what a channel shall do; `follow` does it.

    `level` matters to SET only. The wish must be one that `allows` allows. UP from off comes
    on as ON does; DOWN stops at the lowest step and never switches on or off.
    """
    at = plan.channel_at[channel]
    now = state[at + WANTED]
    if verb == OFF or (verb == TOGGLE and is_lit(plan, state, channel)):
        wanted = 0
    elif verb == SET:
        wanted = level
    elif verb == DOWN:
        wanted = now - 1 if now > 1 else now
    elif verb == UP and now:
        wanted = now + 1 if now < plan.top(channel) else now
    else:
        wanted = now or state[at + LAST]
    if plan.rules and not now and plan.rules.starts_lower(plan, channel, wanted):
        wanted = plan.start_most[channel]
    if wanted:
        rule = kept_off_by(plan, state, channel)
        if rule >= 0:
            wanted, cause = 0, rule
            state[at + SHOWN] = NOTHING_SHOWN       # whoever asked is told
    if wanted != now:
        state[at + WANTED] = wanted
        save_soon(plan, state)
    if wanted and wanted != state[at + LAST]:
        state[at + LAST] = wanted
        save_soon(plan, state)
    state[at + CAUSE] = cause
    if cause < RULED:
        state[at + TURN] = 0            # a rule waits for its turn, a person does not
    if wanted and plan.rules:
        plan.rules.asked_on(plan, state, channel)


def kept_off_by(plan, state, channel):
    """Return the rule for which a channel must be off, whoever asks, as a cause; -1 where there is none."""
    if plan.conditions:
        lock = plan.conditions.lock_on(plan, state, channel)
        if lock >= 0:
            return plan.cause[lock]
    return plan.apart.kept_off_by(plan, state, channel) if plan.apart else -1


def act(plan, state, acts, cause):
    """Carry out all acts of one switch or button.

    Toggling several channels together means: if any is on, all go off; else all come on.
    """
    lit = False
    for i in range(0, len(acts), 3):
        if acts[i + 1] == TOGGLE and is_lit(plan, state, acts[i]):
            lit = True
    for i in range(0, len(acts), 3):
        verb = acts[i + 1]
        if verb == TOGGLE:
            verb = OFF if lit else ON
        ask(plan, state, acts[i], verb, acts[i + 2], cause)


def advance(plan, state, channel, elapsed):
    """Let the waits of a channel run [ms]."""
    at = plan.channel_at[channel]
    if not state[at + WAIT] | state[at + HOLD] | state[at + TURN] | state[at + KICK]:
        return                          # as nearly always
    for i in range(at + WAIT, at + KICK + 1):
        left = state[i]
        if left:
            state[i] = left - elapsed if left > elapsed else 0


def follow(plan, state, channel):
    """Bring the relays as near to the wish as is allowed now; the last thing in every step."""
    at = plan.channel_at[channel]
    wanted = state[at + WANTED]
    applied = state[at + APPLIED]
    if applied and applied != wanted and not (wanted and state[at + KICK]):
        state[at + APPLIED] = 0
        state[at + KICK] = 0
        state[at + WAIT] = plan.dead_ms[channel]
        state[at + HOLD] = plan.minimum_off_ms[channel]
        opened(plan, state, channel)
        applied = 0
    if applied:
        return
    if not wanted:
        state[at + REST] = 1
    elif not (state[at + WAIT] or state[at + HOLD] or state[at + TURN]
              or plan.watch and plan.watch.is_barred(plan, state, channel)
              or plan.apart and plan.apart.is_barred(plan, state, channel)):
        if state[at + REST] and wanted <= plan.kick_top[channel]:
            state[at + APPLIED] = plan.kick_level[channel]
            state[at + KICK] = plan.kick_ms[channel]
        else:
            state[at + APPLIED] = wanted
        state[at + REST] = 0


def opened(plan, state, channel):
    """Note that the relays of a channel open now."""
    if plan.apart:
        plan.apart.opened(plan, state, channel)


def relays(plan, state):
    """Return the relays that shall be closed now, bit 0 = relay 0."""
    closed = 0
    for channel in range(plan.channels):
        closed |= plan.masks[channel][state[plan.channel_at[channel] + APPLIED]]
    return closed


def is_news(plan, state, channel):
    """Return whether the network has not yet been told what this channel does.

    The pause inside a change of step, and the kick before it, are not told.
    """
    at = plan.channel_at[channel]
    return state[at + SHOWN] != state[at + APPLIED] and not (state[at + KICK] or (state[at + WAIT] and state[at + WANTED]))


def next_news(plan, state):
    """Return a channel the network must be told about, now counted as told; -1 if none."""
    for channel in range(plan.channels):
        if is_news(plan, state, channel):
            at = plan.channel_at[channel]
            state[at + SHOWN] = state[at + APPLIED]
            return channel
    return -1


def save_soon(plan, state):
    """Note that something changed that the snapshot keeps."""
    if not state[SAVE]:
        state[SAVE] = plan.save_ms
