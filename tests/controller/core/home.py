"""An invented home to try the control program in: a lamp, a fan and a fridge, with true durations.

Acts as the real caller does: tells the time before each event and when a wait is over.
"""

from pattress.controller import core
from pattress.controller.core import CODE, COMMAND, CONTACT, NEW_PRESS, ROTOR, SET, TIME, TOGGLE, UP, Plan, begin, step
from pattress.controller.core.cells import APPLIED, CAUSE, RULED, WANTED

from ...proof.plans import button, fan, load, plan, regulator, switch

LAMP, FAN, FRIDGE = range(3)
DOOR, BED, HALL = range(3)
LIGHT, FASTER = range(2)
SETTLE, DEAD, KICK, MINIMUM_OFF = 20, 60, 1500, 180_000
FAN_TURN, FRIDGE_TURN = 400, 190_000
OPEN, LOW, MEDIUM, HIGH, FULL = 0, 0b0001, 0b0010, 0b0011, 0b0100       # the fan's relays, beside the lamp's 0b1000
LIT, COLD = 0b1000, 0b10000

TABLE = plan(
    "home",
    [load("lamp", 3, restore=2), fan("fan", 0, restore=2, delay=FAN_TURN, dead=DEAD, kick=KICK),
     load("fridge", 4, restore=1, delay=FRIDGE_TURN, minimum_off=MINIMUM_OFF)],
    [switch("door", (LAMP, TOGGLE, 0)), switch("bed", (LAMP, TOGGLE, 0), latching=0),
     switch("hall", (LAMP, TOGGLE, 0), (FAN, TOGGLE, 0), latching=0)],
    [regulator("regulator", FAN, [0, 1, 2, 3, 4], off="own contact")],
    [button("light", 1, (LAMP, TOGGLE, 0)), button("faster", 2, (FAN, UP, 0))],
)


class Timed:
    """What waits as the board's loop does: until the next time due, told step by step."""

    def wait(self, ms):
        while ms:
            due = core.due_in(self.plan, self.state)
            now = min(ms, due) if due > 0 else ms
            self.do(TIME, now)
            ms -= now


class Home(Timed):
    """The home from the moment the mains comes on; past the first waits unless `fresh`."""

    def __init__(self, snapshot=None, fresh=False, closed=(0, 0, 0), contacts=(1,), table=TABLE):
        self.plan, self.rules = Plan(table), table.get("rule_keys", ("limit", "stay"))
        self.state = core.new_state(self.plan)
        self.power_up(snapshot, closed, contacts)
        if not fresh:
            self.wait(FRIDGE_TURN)

    def power_up(self, snapshot=None, closed=(0, 0, 0), contacts=(1,)):
        begin(self.plan, self.state, snapshot, closed, contacts)
        self.saves = []
        self.do(TIME, 0)

    def do(self, *event):
        bits = step(self.plan, self.state, event + (0,) * (5 - len(event)))
        if bits & core.SAVE_NOW:
            snapshot = bytearray(core.size(self.plan))
            core.write(self.plan, self.state, snapshot)
            self.saves.append(snapshot)
        return bits

    def throw(self, number, closed):
        self.do(CONTACT, number, closed)
        self.wait(SETTLE)

    def press(self, number):
        self.throw(number, 1)
        self.throw(number, 0)

    def turn(self, position, settle=150):
        for contact in range(5):
            self.do(ROTOR, 0, contact, 0)
        self.do(ROTOR, 0, position, 1)
        self.wait(settle)

    def key(self, number, freshness=NEW_PRESS):
        return self.do(CODE, 1, 4, number + 1, freshness)

    def ask(self, channel, verb, level=0):
        return self.do(COMMAND, channel, verb, level)

    def run_fan(self, step):
        """Bring the fan to a step, past kick and dead time."""
        self.ask(FAN, SET, step)
        self.wait(KICK + DEAD)

    @property
    def relays(self):
        return core.relays(self.plan, self.state)

    def fan(self):
        return self.relays & 0b111

    def wanted(self, channel):
        return self.state[self.plan.channel_at[channel] + WANTED]

    def level(self, channel):
        return self.state[self.plan.channel_at[channel] + APPLIED]

    def cause(self, channel):
        cause = self.state[self.plan.channel_at[channel] + CAUSE]
        return core.CAUSES[cause] if cause < RULED else f"rule {self.rules[cause - RULED]}"

    def news(self):
        told = []
        while (channel := core.next_news(self.plan, self.state)) >= 0:
            told.append((channel, self.level(channel)))
        return told
