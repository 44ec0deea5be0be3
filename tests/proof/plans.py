"""Plan tables to prove. Every home here is invented."""

from hypothesis import strategies as st

from pattress.controller.core import DOWN, OFF, ON, SET, TOGGLE, UP
from pattress.controller.core.conditions import HOLDS, LOCKS, OF_CHANNEL, OF_INPUT, OF_READING, RELEASE, RESTS, WHEN


def load(name, relay, *, restore=0, delay=0, minimum_off=0, dead=0):
    return dict(name=name, masks=[0, 1 << relay], on_level=1, dead_ms=dead, minimum_off_ms=minimum_off, restore=restore,
                restore_delay_ms=delay, kick_level=0, kick_top=0, kick_ms=0)


def fan(name, relay, *, steps=4, on_level=None, restore=0, delay=0, kick_top=2, dead=60, kick=1500):
    """A fan with capacitors: up to three relays for four steps."""
    masks = [0, *(mask << relay for mask in (0b001, 0b010, 0b011, 0b100)[4 - steps:])]
    return dict(name=name, masks=masks, on_level=on_level or steps, dead_ms=dead, minimum_off_ms=0, restore=restore,
                restore_delay_ms=delay, kick_level=steps, kick_top=kick_top, kick_ms=kick)


def switch(name, *acts, latching=1):
    return dict(name=name, latching=latching, settle_ms=20, acts=[list(act) for act in acts])


def regulator(name, channel, levels, *, off="none"):
    """`off` is "none", "no contact" or "own contact", as in a job file."""
    return dict(name=name, contacts=len(levels) - (off == "no contact"), off_is_open=int(off == "no contact"),
                channel=channel, levels=levels, settle_ms=150)


def button(name, command, *acts):
    return dict(name=f"remote: {name}", protocol=1, address=4, command=command, acts=[list(act) for act in acts])


def plan(title, channels, switches=(), regulators=(), buttons=()):
    return dict(format=1, title=title, channels=list(channels), switches=list(switches), regulators=list(regulators),
                buttons=list(buttons), held_ms=250, save_ms=5000)


TINY = plan(
    "one lamp",
    [load("lamp", 0, restore=2, delay=200)],
    [switch("door", (0, TOGGLE, 0), latching=0)],
)

TWO_LAMPS = plan(
    "two lamps, each with its switch",
    [load("north", 0), load("south", 1)],
    [switch("left", (0, TOGGLE, 0)), switch("right", (1, TOGGLE, 0))],
)


def fan_and_pump(steps):
    return plan(
        f"fan of {steps} steps, pump and lamp",
        [
            fan("fan", 0, steps=steps, on_level=2, restore=2, delay=400, kick_top=steps - 1),
            load("pump", 3, restore=1, delay=700, minimum_off=500),
            load("lamp", 4),
        ],
        [switch("door", (1, TOGGLE, 0)), switch("bed", (0, TOGGLE, 0), (1, TOGGLE, 0), latching=0)],
        [regulator("regulator", 0, list(range(steps + 1)), off="no contact")],
        [button("up", 1, (0, UP, 0)), button("down", 2, (0, DOWN, 0)), button("everything off", 3, (0, OFF, 0), (1, OFF, 0))],
    )


# Small, yet everything the program can do happens in it: most seeded faults run on it.
SMALL = fan_and_pump(2)
MIDDLE = fan_and_pump(3)


def with_feedback(table, title, **settle):
    """The same, with feedback of these channels by name: settling time [ms]."""
    names = [row["name"] for row in table["channels"]]
    return dict(table, title=title, feedback=[dict(channel=names.index(name), settle_ms=ms) for name, ms in settle.items()])


# And a fan and a lamp of it whose lines are sensed.
SENSED = with_feedback(SMALL, "fan of 2 steps and lamp with feedback, pump without", fan=400, lamp=300)
LAMP_SENSED = with_feedback(SMALL, "lamp with feedback, fan of 2 steps and pump without", lamp=300)


def rule(channel, *, limit=0, stay=0, renews=0, wall_only=0):
    return dict(channel=channel, limit_ms=limit, stay_ms=stay, renews=renews, wall_only=wall_only, limit_rule=0, stay_rule=1)


# The fan at most so long, the lamp with everything a rule can say, the pump off by itself.
RULED = dict(
    SMALL, title="fan with a limit, lamp with all rules, pump that goes off by itself",
    switches=[*SMALL["switches"], switch("lamp", (2, TOGGLE, 0))], buttons=[*SMALL["buttons"], button("lamp", 4, (2, ON, 0))], rules=[
        rule(0, limit=1_800_000), rule(2, limit=3_600_000, stay=180_000, renews=1, wall_only=1), rule(1, stay=90_000)])

# The same rules without steps, quick to prove: a heater, a pump that comes on with the power, a lamp; and a porch without any.
TIMED = dict(
    plan("heater with a limit, pump that goes off by itself, lamp with all rules",
         [load("heater", 0, restore=2, delay=400), load("pump", 1, restore=1, delay=700, minimum_off=500), load("lamp", 2), load("porch", 3)],
         [switch("door", (1, TOGGLE, 0)), switch("bed", (0, TOGGLE, 0), (2, TOGGLE, 0), latching=0)], (),
         [button("lamp", 1, (2, ON, 0)), button("everything off", 2, (0, OFF, 0), (1, OFF, 0))]), rules=RULED["rules"])

def condition(kind, source, number, *acts, sense=1, begins=1, ends=1, rule=2, **more):
    """`source` is one of OF_CHANNEL, OF_INPUT, OF_READING."""
    return dict(kind=kind, source=source, number=number, sense=sense, from_ms=begins, after_ms=ends, rule=rule, acts=[list(act) for act in acts], **more)


# An extract that runs on after the bath and follows the damp, a pump that a float keeps off and a leak, until it is reset; a lamp that
# goes off as the door is shut, and beside the bath is let alone.
WATER, DOOR, LEAK, RESET = range(4)
CONDITIONED = dict(
    plan("bath with extract and pump",
         [load("bath", 0, restore=2, delay=400), load("extract", 1), load("pump", 2, restore=2, delay=700, minimum_off=500), load("lamp", 3)],
         [switch("bath", (0, TOGGLE, 0)), switch("extract", (1, TOGGLE, 0), latching=0), switch("pump", (2, ON, 0), latching=0)], (),
         [button("lamp", 1, (3, TOGGLE, 0))]),
    inputs=[dict(name="water", settle_ms=3000), dict(name="door", settle_ms=50), dict(name="leak", settle_ms=1000), dict(name="reset", settle_ms=50)],
    readings=[dict(name="damp", stale_ms=150_000)],
    conditions=[
        condition(HOLDS, OF_CHANNEL, 0, (1, ON, 0), begins=120_000, ends=900_000, rule=0),
        condition(HOLDS, OF_READING, 0, (1, ON, 0), rule=1),
        condition(LOCKS, OF_INPUT, WATER, (2, OFF, 0), sense=0, ends=1_200_000, rule=2),
        condition(LOCKS, OF_INPUT, LEAK, (2, OFF, 0), rule=3, released_by=4),
        condition(RELEASE, OF_INPUT, RESET, begins=2000, rule=3),
        condition(WHEN, OF_INPUT, DOOR, (3, OFF, 0), rule=4),
        condition(HOLDS, OF_INPUT, DOOR, (3, ON, 0), sense=0, begins=500, ends=60_000, rule=5),
        condition(RESTS, OF_CHANNEL, 0, (3, OFF, 0), rule=6),
    ])

# Stairs that are warned of their end and renewed by an asking, a porch that is warned only, a heater without such a rule.
WARNED = dict(
    plan("stairs and porch that go dark for a moment before they go off", [load("stairs", 0), load("porch", 1, restore=2, delay=200), load("heater", 2)],
         [switch("stairs", (0, ON, 0), latching=0), switch("porch", (1, TOGGLE, 0))], (), [button("all off", 1, (0, OFF, 0), (1, OFF, 0))]),
    rules=[dict(rule(0, stay=180_000, renews=1), warn_ms=30_000), dict(rule(1, limit=3_600_000, stay=600_000), warn_ms=20_000), rule(2, stay=60_000)])

# A fan that is at step 3 of 4 at most, starts at step 1 at most with a kick at step 4, and comes back as it was; and one without such rules.
STEPPED = dict(
    plan("fan that starts low and is never at its highest step",
         [dict(fan("fan", 0, restore=2, delay=400, on_level=3), top=3), fan("other", 3, restore=1, delay=700)],
         [switch("door", (0, TOGGLE, 0)), switch("both", (0, ON, 0), (1, UP, 0), latching=0)],
         [regulator("regulator", 0, [0, 1, 2, 3, 3], off="no contact")], [button("up", 1, (0, UP, 0)), button("three", 2, (0, SET, 3))]),
    rules=[dict(rule(0), start_most=1)])

# A heater and an oven, of which one is on at most, and an oven and a fan; switches and a button ask for several in one breath.
APART = dict(
    plan("heater, oven and fan that are never on together",
         [load("heater", 0), load("oven", 1, minimum_off=500), fan("fan", 2, steps=2, kick_top=1), load("lamp", 5, restore=2, delay=200)],
         [switch("heater", (0, TOGGLE, 0)), switch("over", (0, OFF, 0), (1, ON, 0), latching=0)],
         [regulator("regulator", 2, [0, 1, 2], off="no contact")], [button("oven", 1, (1, TOGGLE, 0)), button("both", 2, (1, TOGGLE, 0), (3, TOGGLE, 0))]),
    apart=[dict(channels=[0, 1], between_ms=5000, rule=0), dict(channels=[1, 2], between_ms=700, rule=1)])

# A pump that the rain and a dark lamp start, that its tank and a float keep off, and that rests while somebody is in the cellar: every rule
# is about the one channel, which comes back with the power at once. What looks at the lamp sees it wait for its turn, and stay off for a while.
TANK, RAIN = range(2)
FLOAT, CELLAR = range(2)
GUARDED = dict(
    plan("pump that is started and kept off by rules", [load("pump", 0, restore=2), load("lamp", 1, restore=1, delay=400, minimum_off=300)],
         [switch("pump", (0, TOGGLE, 0)), switch("lamp", (1, TOGGLE, 0))]),
    inputs=[dict(name="float", settle_ms=3000), dict(name="cellar", settle_ms=50)],
    readings=[dict(name="tank", stale_ms=60_000), dict(name="rain", stale_ms=90_000)],
    conditions=[
        condition(LOCKS, OF_READING, TANK, (0, OFF, 0), begins=2000, ends=30_000, rule=0),
        condition(LOCKS, OF_INPUT, FLOAT, (0, OFF, 0), sense=0, ends=2, rule=1),
        condition(HOLDS, OF_READING, RAIN, (0, ON, 0), begins=5000, ends=60_000, rule=2),
        condition(HOLDS, OF_CHANNEL, 1, (0, ON, 0), sense=0, begins=600_000, ends=1000, rule=3),
        condition(RESTS, OF_INPUT, CELLAR, (0, OFF, 0), begins=700, ends=2000, rule=4),
        condition(WHEN, OF_READING, RAIN, (1, TOGGLE, 0), begins=8000, ends=4000, rule=5),
    ])

# A fan that damp sets to its low step, and that is latched off in two ways until somebody resets it.
LATCHED = dict(
    plan("fan that a rule sets, latched off", [fan("fan", 0, steps=2, on_level=2, restore=2, delay=400, kick_top=1), load("lamp", 3, restore=2)],
         [switch("fan", (0, SET, 1), latching=0), switch("lamp", (1, TOGGLE, 0), latching=0)], (), [button("fan", 1, (0, TOGGLE, 0))]),
    inputs=[dict(name="reset", settle_ms=50), dict(name="smoke", settle_ms=20)],
    readings=[dict(name="damp", stale_ms=60_000)],
    conditions=[
        condition(RELEASE, OF_INPUT, 0, begins=3000, ends=10, rule=1),
        condition(LOCKS, OF_INPUT, 1, (0, OFF, 0), begins=30, rule=1, released_by=0),
        condition(LOCKS, OF_CHANNEL, 1, (0, OFF, 0), begins=7_200_000, rule=2, released_by=0),
        condition(HOLDS, OF_READING, 0, (0, SET, 1), begins=20, rule=3),
    ])

def presses(number, *, held=(), twice=()):
    return dict(switch=number, held=[list(act) for act in held], held_ms=800 if held else 0,
                twice=[list(act) for act in twice], again_ms=400 if twice else 0)


# One switch that is held, one that is pressed twice, one that is both, and one that is neither.
PRESSED = dict(
    plan("hall with presses told apart", [load("hall", 0, restore=2, delay=200), fan("fan", 1, steps=2, on_level=1, kick_top=1), load("porch", 4)],
         [switch("hall", (0, TOGGLE, 0), latching=0), switch("fan", (1, TOGGLE, 0), latching=0), switch("bed", (0, TOGGLE, 0), (2, TOGGLE, 0), latching=0),
          switch("door", (2, TOGGLE, 0))]),
    presses=[presses(0, held=((0, OFF, 0), (1, OFF, 0), (2, OFF, 0))), presses(1, twice=((1, SET, 2),)), presses(2, held=((2, ON, 0),), twice=((0, ON, 0), (1, OFF, 0)))])

# Rules that say the same for two reasons, one channel that waits for another which is kept off itself, and nobody but a rule who puts it on.
CHAINED = dict(
    plan("fan that follows two lamps", [load("bath", 0, restore=2, delay=400), load("shower", 1), load("fan", 2)],
         [switch("bath", (0, TOGGLE, 0)), switch("shower", (1, TOGGLE, 0), latching=0)]),
    inputs=[dict(name="water", settle_ms=50)],
    conditions=[
        condition(HOLDS, OF_CHANNEL, 0, (2, ON, 0), begins=1000, rule=0),
        condition(HOLDS, OF_CHANNEL, 1, (2, ON, 0), begins=1000, rule=0),
        condition(LOCKS, OF_INPUT, 0, (2, OFF, 0), rule=0),
        condition(LOCKS, OF_INPUT, 0, (0, OFF, 0), rule=1),
        condition(WHEN, OF_INPUT, 0, (1, OFF, 0), (2, OFF, 0), rule=1),
    ])

SEWING_ROOM = plan(
    "sewing room",
    [
        load("pendant", 0, restore=2, delay=200),
        load("cutting table", 1, restore=2, delay=400),
        load("left wall light", 2, delay=600),
        load("right wall light", 3, delay=800),
        load("iron", 4, delay=1000),
        load("machine", 5, restore=1, delay=1200, minimum_off=3000),
        fan("ceiling fan", 6, restore=2, delay=1500),
    ],
    [
        switch("door, left", (0, TOGGLE, 0)),
        switch("door, right", (2, TOGGLE, 0), (3, TOGGLE, 0)),
        switch("table", (1, TOGGLE, 0), latching=0),
        switch("iron pull", (4, TOGGLE, 0), latching=0),
        switch("window", (0, TOGGLE, 0), (6, TOGGLE, 0), latching=0),
    ],
    [regulator("fan regulator", 6, [1, 2, 3, 4])],
    [
        button("light", 1, (0, TOGGLE, 0)),
        button("table", 2, (1, TOGGLE, 0)),
        button("walls", 3, (2, TOGGLE, 0), (3, TOGGLE, 0)),
        button("fan", 4, (6, TOGGLE, 0)),
        button("faster", 5, (6, UP, 0)),
        button("slower", 6, (6, DOWN, 0)),
        button("machine", 7, (5, ON, 0)),
        button("everything off", 8, *((channel, OFF, 0) for channel in range(7))),
    ],
)

TWO_FANS = plan(
    "landing with two fans",
    [fan("front fan", 0, restore=1, delay=300), fan("back fan", 3, steps=3, restore=2, delay=900, kick_top=1, dead=80)],
    [switch("stairs", (0, TOGGLE, 0), (1, TOGGLE, 0))],
    [regulator("front regulator", 0, [0, 1, 2, 3, 4], off="own contact"), regulator("back regulator", 1, [1, 2, 3])],
    [button("front low", 1, (0, SET, 1)), button("back up", 2, (1, UP, 0))],
)

GROUPS = plan(
    "hall with groups",
    [load("north", 0, restore=2, delay=100), load("south", 1, restore=1, delay=200), load("stair", 2, delay=300, minimum_off=40)],
    [
        switch("north and south", (0, TOGGLE, 0), (1, TOGGLE, 0)),
        switch("south and stair", (1, TOGGLE, 0), (2, TOGGLE, 0), latching=0),
        switch("stair alone", (2, TOGGLE, 0), (0, OFF, 0), (1, OFF, 0)),
        switch("all off", (0, OFF, 0), (1, OFF, 0), (2, OFF, 0), latching=0),
    ],
    [],
    [button("all", 1, (0, TOGGLE, 0), (1, TOGGLE, 0), (2, TOGGLE, 0)), button("stair only", 2, (0, OFF, 0), (2, ON, 0))],
)


# The size to which a proof must stay quick: twelve channels, two of them fans.
TWELVE = plan(
    "ten loads and two fans",
    [
        *(load(f"load {number}", number, restore=number % 3, delay=300 * (number + 1), minimum_off=60_000 * number if number % 4 == 1 else 0)
          for number in range(10)),
        fan("front fan", 10, restore=2, delay=3300),
        fan("back fan", 13, steps=3, restore=2, delay=3600, kick_top=1, dead=80),
    ],
    [
        *(switch(f"switch {number}", (number, TOGGLE, 0), latching=number % 2) for number in range(10)),
        switch("both fans", (10, TOGGLE, 0), (11, TOGGLE, 0), latching=0),
        switch("leaving", *((channel, OFF, 0) for channel in range(12)), latching=0),
    ],
    [regulator("front regulator", 10, [0, 1, 2, 3, 4], off="no contact"), regulator("back regulator", 11, [1, 2, 3])],
    [
        button("everything off", 1, *((channel, OFF, 0) for channel in range(12))),
        button("faster", 2, (10, UP, 0)),
        button("slower", 3, (10, DOWN, 0)),
        button("two lights", 4, (0, TOGGLE, 0), (2, TOGGLE, 0)),
    ],
)

@st.composite
def random_plans(draw):
    """Any small job: loads and fans, switches with any acts, some of which tell presses apart, regulators, buttons."""
    channels, relay, delay = [], 0, 0
    for number in range(draw(st.integers(1, 3))):
        delay += draw(st.integers(150, 900))
        if draw(st.booleans()):
            steps = draw(st.integers(2, 4))
            channels.append(fan(f"fan {number}", relay, steps=steps, restore=draw(st.integers(0, 2)), delay=delay,
                                kick_top=draw(st.integers(0, steps - 1)), dead=draw(st.integers(1, 140))))
            relay += 3
        else:
            channels.append(load(f"load {number}", relay, restore=draw(st.integers(0, 2)), delay=delay,
                                 minimum_off=draw(st.sampled_from((0, 0, 50, 120)))))
            relay += 1

    def acts():
        on = draw(st.lists(st.sampled_from(range(len(channels))), min_size=1, max_size=2, unique=True))
        rows = []
        for channel in on:
            verb = draw(st.sampled_from((OFF, ON, TOGGLE, SET, UP, DOWN)))
            rows.append((channel, verb, draw(st.integers(0, len(channels[channel]["masks"]) - 1)) if verb == SET else 0))
        return rows

    fans = [number for number, channel in enumerate(channels) if len(channel["masks"]) > 2]
    regulators = []
    if fans and draw(st.booleans()):
        top = len(channels[fans[0]]["masks"]) - 1
        off = draw(st.sampled_from(("none", "no contact", "own contact")))
        regulators.append(regulator("regulator", fans[0], list(range(off == "none", top + 1)), off=off))
    apart = draw(st.lists(st.sampled_from(range(len(channels))), min_size=2, max_size=3, unique=True)) if len(channels) > 1 and draw(st.booleans()) else []
    for channel in apart:
        channels[channel]["restore"] = 0
    kept = {"apart": [dict(channels=apart, between_ms=draw(st.integers(1, 2000)), rule=0)]} if apart else {}
    table = kept | plan(
        "any job", channels,
        [switch(f"switch {number}", *acts(), latching=draw(st.integers(0, 1))) for number in range(draw(st.integers(0, 2)))],
        regulators,
        [button(f"button {number}", number, *acts()) for number in range(draw(st.integers(0, 2)))],
    )
    apart = [(number, draw(st.sampled_from(((), ("held",), ("twice",), ("held", "twice")))))
             for number, row in enumerate(table["switches"]) if not row["latching"]]
    rows = [presses(number, **{how: acts() for how in told}) for number, told in apart if told]
    return table | ({"presses": rows} if rows else {})
