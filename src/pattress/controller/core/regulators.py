"""Wall regulators: which position a rotary contact stands in.

On its way from one position to the next the rotor touches no contact or two. So nothing is
believed until the contacts have kept still for the settling time, and two closed contacts
are never a position.
"""

from .cells import BY_REGULATOR, CONTACTS, NOWHERE, POSITION, SET, SETTLE
from .channels import ask


def position(plan, regulator, contacts):
    """Return the position that a set of closed contacts means; NOWHERE if it means none."""
    if contacts == 0:
        return 0 if plan.off_is_open[regulator] else NOWHERE
    if contacts & (contacts - 1):
        return NOWHERE
    place = 0 if not plan.off_is_open[regulator] else 1
    while not contacts & 1:
        contacts >>= 1
        place += 1
    return place


def learn(plan, state, regulator, contacts):
    """Take a regulator as it stands at power-up; `contacts` holds the closed contacts of each."""
    at = plan.regulator_at[regulator]
    state[at + CONTACTS] = contacts[regulator]
    state[at + POSITION] = position(plan, regulator, contacts[regulator])


def contact(plan, state, regulator, number, closed):
    """Take the level of one contact as it is now. Telling the same level again changes nothing."""
    at = plan.regulator_at[regulator]
    contacts = state[at + CONTACTS]
    contacts = contacts | 1 << number if closed else contacts & ~(1 << number)
    if contacts != state[at + CONTACTS]:
        state[at + CONTACTS] = contacts
        state[at + SETTLE] = plan.regulator_settle_ms[regulator]


def advance(plan, state, regulator, elapsed):
    """Let time pass for a regulator [ms]; a position that has settled acts."""
    at = plan.regulator_at[regulator]
    left = state[at + SETTLE]
    if not left:
        return
    if left > elapsed:
        state[at + SETTLE] = left - elapsed
        return
    state[at + SETTLE] = 0
    place = position(plan, regulator, state[at + CONTACTS])
    if place != NOWHERE and place != state[at + POSITION]:
        state[at + POSITION] = place
        channel = plan.regulator_channel[regulator]
        ask(plan, state, channel, SET, plan.levels[regulator][place], BY_REGULATOR)
