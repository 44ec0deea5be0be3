"""A sewing room as a plan table. Invented for these tests, like every name and code in it."""

from pattress.controller.core import AS_IT_WAS, COMES_ON, DOWN, OFF, SET, STAYS_OFF, TOGGLE, UP
from pattress.controller.infrared.protocols import NEC, RC5, SIRC12

PENDANT, LINEAR, WALL_LIGHTS, IRON, MACHINE, FRIDGE, FAN = range(7)
DOOR, BED, IRON_SWITCH, LEAVING = range(4)


def load(name, relay, *, restore=STAYS_OFF, restore_delay_ms=0, minimum_off_ms=0):
    """Return a channel of one relay."""
    return dict(
        key=name.lower().replace(" ", "_"), name=name, masks=[0, 1 << relay], on_level=1, dead_ms=0,
        minimum_off_ms=minimum_off_ms, restore=restore, restore_delay_ms=restore_delay_ms,
        kick_level=0, kick_top=0, kick_ms=0)


def sewing_room():
    """Return a room with six loads, a fan of four steps, switches of both kinds and a remote."""
    everything = [[channel, OFF, 0] for channel in range(7)]
    return dict(
        format=1, title="Sewing room (invented)",
        channels=[
            load("Pendant", 0, restore=AS_IT_WAS, restore_delay_ms=0),
            load("Linear lamp", 1, restore=AS_IT_WAS, restore_delay_ms=300),
            load("Wall lights", 2, restore=STAYS_OFF, restore_delay_ms=600),
            load("Ironing socket", 3, restore=STAYS_OFF, restore_delay_ms=900),
            load("Sewing machine", 4, restore=STAYS_OFF, restore_delay_ms=1200),
            load("Fridge", 5, restore=COMES_ON, restore_delay_ms=1500, minimum_off_ms=180_000),
            dict(key="ceiling_fan", name="Ceiling fan", masks=[0, 1 << 6, 1 << 7, 3 << 6, 1 << 8], on_level=2,
                 dead_ms=60, minimum_off_ms=0, restore=AS_IT_WAS, restore_delay_ms=1800,
                 kick_level=4, kick_top=2, kick_ms=1500),
        ],
        switches=[
            dict(key="door", name="Door", latching=1, settle_ms=20, acts=[[PENDANT, TOGGLE, 0]]),
            dict(key="bed", name="Bed side", latching=0, settle_ms=20,
                 acts=[[PENDANT, TOGGLE, 0], [WALL_LIGHTS, TOGGLE, 0]]),
            dict(key="iron", name="Ironing board", latching=1, settle_ms=20, acts=[[IRON, TOGGLE, 0]]),
            dict(key="leaving", name="Leaving", latching=0, settle_ms=20, acts=everything),
        ],
        regulators=[
            dict(key="fan_dial", name="Fan dial", contacts=4, off_is_open=1, channel=FAN, levels=[0, 1, 2, 3, 4],
                 settle_ms=150),
        ],
        buttons=[
            dict(key="hand.light", name="Hand remote: light", protocol=NEC, address=4, command=8,
                 acts=[[LINEAR, TOGGLE, 0]]),
            dict(key="hand.faster", name="Hand remote: faster", protocol=NEC, address=4, command=9,
                 acts=[[FAN, UP, 0]]),
            dict(key="hand.slower", name="Hand remote: slower", protocol=NEC, address=4, command=10,
                 acts=[[FAN, DOWN, 0]]),
            dict(key="old.machine", name="Old remote: machine", protocol=SIRC12, address=3, command=21,
                 acts=[[MACHINE, TOGGLE, 0]]),
            dict(key="flat.breeze", name="Flat remote: breeze", protocol=RC5, address=5, command=12,
                 acts=[[FAN, SET, 1]]),
        ],
        held_ms=250, save_ms=5000)


def one_lamp():
    """Return the smallest plan: one lamp, one switch, no regulator, no remote."""
    table = sewing_room()
    return table | dict(title="One lamp (invented)", channels=table["channels"][:1], switches=table["switches"][:1],
                        regulators=[], buttons=[])
