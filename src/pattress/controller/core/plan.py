"""The plan: every fact of one job that the control program needs, as tables of whole numbers.

A plan is made from a plain table (what `plan.json` in the bundle holds) and never changes.
Lists inside it are indexed by channel, switch, regulator or remote button, in plan order.
"""

from array import array

from .cells import CHANNEL, HELD, KICK, REGULATOR, SAVE, SETTLE, SHARED, SWITCH, WAIT


class Plan:
    """A plan ready for use.

    The table holds::

        channels    name, masks (relays closed at each level, level 0 first, bit 0 = relay 0), top (the highest
                    level that may be asked for, left out where it is the last of the masks), on_level, dead_ms, minimum_off_ms, restore (0 off, 1 on, 2 as it was),
                    restore_delay_ms, kick_level, kick_top (levels 1..kick_top are kicked), kick_ms
        switches    latching, settle_ms, acts
        regulators  contacts (how many), off_is_open, channel, levels (by position, 0 first), settle_ms
        buttons     protocol, address, command, acts
        feedback    channel, settle_ms; left out where no channel has any
        rules       channel, limit_ms, stay_ms (0 = none), renews (each asking for on begins the stay anew),
                    wall_only (the network may only switch it off), limit_rule and stay_rule (their numbers), start_most
                    where it comes on at no level above that, warn_ms where it goes dark for a moment so long before its stay is over;
                    left out where no channel has any
        apart       channels, between_ms (1 at least), rule (its number): sets of which one channel at most is on; left out where there are none
        presses     switch, held and held_ms, twice and again_ms: what a switch does when it is held for so long, or pressed again in that
                    time (see `presses`; no acts, and 0, where it tells no such press apart); left out where no switch does
        conditions  kind, source, number, sense (1: while it is on or closed), from_ms, after_ms (1 at least), acts, rule (its number); released_by
                    where it is latched (see `conditions`); left out where there are none
        inputs      settle_ms; only with conditions, as are
        readings    stale_ms
        held_ms     a remote button counts as let go this long after its last frame
        save_ms     the snapshot is due this long after the first change

    where `acts`, `held` and `twice` are lists of [channel, verb, level]; `everything` beside acts says that they are "off everything", as do
    `held_everything` and `twice_everything` (only the proof asks). Raises KeyError when an entry is missing.
    """

    def __init__(self, table):
        channels = table["channels"]
        self.channels = len(channels)
        self.masks = [array("i", channel["masks"]) for channel in channels]
        self.tops = array("i", [top_of(channel) for channel in channels])
        self.on_level = _column(channels, "on_level")
        self.dead_ms = _column(channels, "dead_ms")
        self.minimum_off_ms = _column(channels, "minimum_off_ms")
        self.restore = _column(channels, "restore")
        self.restore_delay_ms = _column(channels, "restore_delay_ms")
        self.kick_level = _column(channels, "kick_level")
        self.kick_top = _column(channels, "kick_top")
        self.kick_ms = _column(channels, "kick_ms")

        switches = table["switches"]
        self.switches = len(switches)
        self.latching = _column(switches, "latching")
        self.switch_settle_ms = _column(switches, "settle_ms")
        self.switch_acts = [_acts(switch["acts"]) for switch in switches]

        regulators = table["regulators"]
        self.regulators = len(regulators)
        self.contacts = _column(regulators, "contacts")
        self.off_is_open = _column(regulators, "off_is_open")
        self.regulator_channel = _column(regulators, "channel")
        self.levels = [array("i", regulator["levels"]) for regulator in regulators]
        self.regulator_settle_ms = _column(regulators, "settle_ms")

        buttons = table["buttons"]
        self.buttons = len(buttons)
        self.protocol = _column(buttons, "protocol")
        self.address = _column(buttons, "address")
        self.command = _column(buttons, "command")
        self.button_acts = [_acts(button["acts"]) for button in buttons]
        self.held_ms = table["held_ms"]
        self.save_ms = table["save_ms"]

        at = SHARED
        self.channel_at = array("i", range(at, at + self.channels * CHANNEL, CHANNEL))
        at += self.channels * CHANNEL
        self.switch_at = array("i", range(at, at + self.switches * SWITCH, SWITCH))
        at += self.switches * SWITCH
        self.regulator_at = array("i", range(at, at + self.regulators * REGULATOR, REGULATOR))
        self.cells = at + self.regulators * REGULATOR
        self.timers = array("i", (SAVE, HELD))
        for at in self.channel_at:
            self.timers.extend(array("i", range(at + WAIT, at + KICK + 1)))
        for at in self.switch_at:
            self.timers.append(at + SETTLE)
        for at in self.regulator_at:
            self.timers.append(at + SETTLE)
        self.watch = None           # the module that looks at feedback, where there is some
        if table.get("feedback"):
            from . import feedback

            feedback.attach(self, table["feedback"])
            self.watch = feedback
        self.rules = None           # the module that keeps the rules, where there are some
        if table.get("rules"):
            from . import rules

            rules.attach(self, table["rules"])
            self.rules = rules
        self.apart = None           # the module that keeps channels apart, where there are some
        if table.get("apart"):
            from . import apart

            apart.attach(self, table["apart"])
            self.apart = apart
        self.presses = None         # the module that tells presses apart, where some switch does
        if table.get("presses"):
            from . import presses

            presses.attach(self, table["presses"])
            self.presses = presses
        self.inputs = 0
        self.conditions = None      # the module that looks at conditions, where there are some
        self.kept = b""             # conditions that are kept through a power cut
        if table.get("conditions"):
            from . import conditions

            conditions.attach(self, table)
            self.conditions = conditions

    def top(self, channel):
        """Return the highest level that may be asked of a channel."""
        return self.tops[channel]


def top_of(channel):
    """Return the highest level that may be asked of a channel of the plan's table; a start kick may be higher."""
    return channel.get("top", len(channel["masks"]) - 1)


def _column(rows, name):
    return array("i", [int(row[name]) for row in rows])


def _acts(rows):
    """Pack acts into one array, three numbers each: channel, verb, level."""
    return array("i", [number for row in rows for number in row])
