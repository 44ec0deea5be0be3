"""Where everything stands in the state: one flat array of whole numbers, changed in place.

The state is shared cells, then one block for each channel, each wall switch, each wall
regulator, each feedback, each channel that goes off by itself, each that is kept apart from others, each wall switch that tells
presses apart, each input, reading and condition, in the order of the plan. Every wait is a cell that holds the milliseconds still to
pass, so the state says nothing about the hour
and two moments that behave alike look alike. `bytes(state)` is the whole truth: it is compared, stored and explored as it is.
"""

# Shared by all channels.
SAVE = 0        # until the snapshot is due [ms]; 0 = nothing to save
KEY = 1         # remote button that is held: 1 + its place in the plan; 0 = none
HELD = 2        # until that button counts as let go [ms]
SHARED = 3

# A channel: one switched output, or one fan with steps. Level 0 is off.
WANTED = 0      # level asked for
APPLIED = 1     # level whose relays are closed now
LAST = 2        # last level above 0, for a plain "on"
SHOWN = 3       # level last handed to the network; NOTHING_SHOWN at power-up
CAUSE = 4       # who asked last
REST = 5        # 1 = the load stands still, so a fan may need its start kick
WAIT = 6        # dead time still to pass before any relay may close [ms]
HOLD = 7        # minimum off time still to pass [ms]
TURN = 8        # until the channel's turn to close after a power cut [ms]
KICK = 9        # start kick still to pass [ms]
CHANNEL = 10

# A wall switch.
LEVEL = 0       # settled contact: 0 open, 1 closed
SETTLE = 1      # until a changed contact is believed [ms]; 0 = nothing changed
SWITCH = 2

# A wall regulator. Its SETTLE is cell 1 too.
CONTACTS = 0    # contacts closed now, bit 0 = first
POSITION = 2    # position last believed: 0 = off; NOWHERE at power-up between contacts
REGULATOR = 3

# The feedback of a channel that has some; a plan without has no such block.
LIVE = 0        # whether the switched line was last sensed live
DOUBT = 1       # until a line that disagrees with the relays is believed [ms]; 0 = it agrees, or is believed
STUCK = 2       # what is believed: STUCK_CLOSED, STUCK_OPEN; 0 = nothing against the contacts
FEEDBACK = 3
SENSED = 5      # the kind of event that tells LIVE, after those of `program`

# The times of a channel whose rules have some.
LIMIT = 0       # until the channel has been on for as long as it may [ms]; 0 = it is off, or has no limit
STAY = 1        # until it goes off by itself [ms]; 0 likewise
WARN = 2        # until it goes dark for a moment as a warning of that [ms]; 0 = it is off, was warned, or is not
RULE = 3

# A channel that is kept apart from others.
GONE = 0        # until another one may close after its relays opened [ms]
APART = 1

# A wall switch that tells presses apart, beside the cells of every switch.
UNDECIDED = 0   # 1 = a press that has not acted yet: it may still become a held one, or the first of two
UNTIL = 1       # while the contact is closed, until the press counts as held; once it is let go, until no second one can come [ms]
PRESS = 2

# An input: a contact that counts by where it stands; its LEVEL and SETTLE are as a switch's.
INPUT = 2
INPUT_MOVED = 6     # the kind of event that tells its level, after SENSED

# A reading of a sensor, as far as a condition needs it.
BEYOND = 0      # whether it was past its begin since it was last past its end
FRESH = 1       # until it is stale [ms]; 0 = it is not known
READING = 2
READ = 7        # the kind of event that tells where it stands

# A condition; these blocks come last.
MET = 0         # whether it counts as met
RUN = 1         # until what is otherwise now is believed [ms]; 0 = nothing is otherwise
TAKEN = 2       # whether what it asks for when it is met was asked for
CONDITION = 3

NOTHING_SHOWN = -1
NOWHERE = -1

# What may be asked of a channel.
OFF, ON, TOGGLE, SET, UP, DOWN = range(6)
VERBS = ("off", "on", "toggle", "set", "up", "down")

# Who asked; and, in what the network is told, why it is not so: no contact ever asks for that.
NOBODY, BY_SWITCH, BY_REGULATOR, BY_REMOTE, BY_NETWORK, BY_RESTORE, STUCK_CLOSED, STUCK_OPEN = range(8)
CAUSES = ("nobody", "switch", "regulator", "remote", "network", "restore", "stuck closed", "stuck open")
RULED = 8         # a cause from here on is a rule of the plan, by its number: it acted, or kept a channel off

# What a channel does after a power cut.
STAYS_OFF, COMES_ON, AS_IT_WAS = range(3)
RESTORES = ("off", "on", "as it was")
