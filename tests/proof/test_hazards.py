"""Hazards of rules that the control program makes impossible, whatever the rules say; and sets of rules that do no harm, proven.

What is told in the sentences already stands in tests/job/test_hazards.py. Here rules of the owner's become a plan, and it is run with true
durations, or explored.
"""

from itertools import permutations

import pytest

from pattress.controller import core
from pattress.controller.core import COMMAND, OFF, ON, TIME
from pattress.controller.core.cells import INPUT_MOVED, READ, WANTED
from pattress.controller.core.conditions import BEFORE, BETWEEN, PAST, UNKNOWN
from pattress.design.defaults import default_ms
from pattress.design.plan import plan_table
from pattress.proof import prove
from tests.controller.core.home import Timed
from tests.job.rule_sets import FAN, INPUTS, LOADS, harmless, home_with
from tests.sizing.invented import drives

S, MINUTE, HOUR = 1000, 60_000, 3_600_000
STALE_MS = default_ms("sensor", "stale")
COLD = "heater is on while room is below 19 degC, until 20 degC"


def table_of(rules):
    job = home_with(rules)
    return plan_table(job, drives(job), {}, {})


class Home(Timed):
    """A home with rules from the moment the mains comes on, as the board's loop runs it. `closed` are the inputs that are."""

    def __init__(self, *rules, closed=(), restore=None):
        table = table_of(rules)
        for key, policy in (restore or {}).items():
            table["channels"][LOADS.index(key)]["restore"] = policy
        self.plan = core.Plan(table)
        self.state = core.new_state(self.plan)
        self.ever = set()
        self.power_up(None, closed)

    def power_up(self, snapshot, closed=()):
        self.saved, self.ever = snapshot, set()
        core.begin(self.plan, self.state, snapshot, [int(key in closed) for key in INPUTS], [])
        self.do(TIME, 0)

    def do(self, *event):
        bits = core.step(self.plan, self.state, [*event, 0, 0, 0, 0][:5])
        if bits & core.SAVE_NOW:
            self.saved = bytearray(core.size(self.plan))
            core.write(self.plan, self.state, self.saved)
        self.ever |= self.on
        return bits

    def ask(self, key, verb=ON):
        self.do(COMMAND, [*LOADS, FAN].index(key), verb)
        self.wait(S)

    def close(self, key, closed=1):
        self.do(INPUT_MOVED, list(INPUTS).index(key), closed)
        self.wait(5 * S)

    def read(self, place, reading=0):
        self.do(READ, reading, place)
        self.wait(S)

    @property
    def on(self):
        """Return the keys of what is on now."""
        return {key for number, key in enumerate([*LOADS, FAN]) if self.state[self.plan.channel_at[number] + WANTED] and core.relays(self.plan, self.state)}


def test_asking_again_does_not_defeat_a_limit():
    home = Home("heater is on for at most 30 min")
    home.ask("heater")
    for _ in range(5):
        home.wait(5 * MINUTE)
        home.ask("heater")
    home.wait(5 * MINUTE - 7 * S)
    assert home.on == {"heater"}
    home.wait(2 * S)
    assert home.on == set()


def test_a_rule_that_holds_does_not_defeat_a_limit():
    """What is still cold after the limit stays off, and however often the sensor says so; it begins anew once it was over."""
    home = Home("heater is on for at most 30 min", COLD)
    for _ in range(90):
        home.read(PAST)
        home.wait(MINUTE)
        assert (home.on == {"heater"}) is (_ < 29), _
    home.read(BEFORE)
    home.read(PAST)
    assert home.on == {"heater"}


def test_a_lock_that_comes_and_goes_does_not_defeat_a_limit():
    home = Home("heater is on for at most 30 min", COLD, "heater stays off while window is open", closed=["window"])
    for _ in range(32):
        home.read(PAST)
        home.wait(MINUTE)
    assert home.on == set() and home.ever == {"heater"}
    home.close("window", 0), home.close("window", 1)
    assert home.on == set()


def test_a_reading_that_is_stale_is_not_obeyed():
    home = Home(COLD)
    home.read(PAST)
    home.wait(STALE_MS - 2 * S)
    assert home.on == {"heater"}
    home.wait(2 * S)
    assert home.on == set()
    home.read(PAST)
    home.read(UNKNOWN)
    assert home.on == set()


def test_a_reading_that_is_not_known_shuts_what_it_could_shut():
    home = Home("heater is on only while room is below 25 degC, until 26 degC")
    home.ask("heater")
    assert home.on == set() == home.ever
    home.read(PAST)
    assert home.on == set()                 # past the begin of what shuts: above 26 degC
    home.read(BEFORE)
    home.ask("heater")
    assert home.on == {"heater"}
    home.wait(STALE_MS)
    assert home.on == set()


@pytest.mark.parametrize("says, closed", [
    ("pump stays off while well is open", []), ("pump stays off while leak is closed", ["leak"]), ("pump is on only while well is closed", []),
    ("pump stays off once leak was closed for 1 s, until reset is closed for 2 s", ["leak"]),
    ("pump stays off while room is above 26 degC, until 24.5 degC", []), ("pump stays off while motion is open, and for 20 min after", ["motion"]),
])
def test_no_lock_comes_too_late_at_power_up(says, closed):
    """The pump comes back with the power: not for one step, though no input has moved and no sensor has told anything."""
    home = Home(says, closed=closed, restore={"pump": 1})
    home.wait(10 * MINUTE)
    assert home.ever == set()
    assert Home(restore={"pump": 1}).ever == {"pump"}


def test_nothing_that_waits_for_a_person_comes_back_with_the_power():
    """A moment that stands at power-up is none, what was held begins by its condition only, and a latch is kept."""
    home = Home("when door closes, on lamp", COLD, "pump stays off once leak was closed for 1 s, until reset is closed for 2 s")
    home.close("reset"), home.wait(5 * S), home.close("reset", 0)        # a board without a snapshot begins latched
    home.ask("pump")
    home.read(PAST)
    home.close("door")
    assert home.on == {"lamp", "heater", "pump"}
    home.close("leak"), home.close("leak", 0)
    home.wait(MINUTE)
    home.power_up(home.saved, closed=["door"])
    home.wait(10 * MINUTE)
    assert home.ever == set()
    home.ask("pump")
    assert home.on == set()
    home.close("reset")
    home.ask("pump")
    assert home.on == {"pump"}


def test_no_rule_undoes_at_once_what_a_hand_did():
    home = Home(COLD, "lamp is on while motion is closed, and for 10 min after")
    home.read(PAST), home.close("motion")
    assert home.on == {"heater", "lamp"}
    home.ask("heater", OFF), home.ask("lamp", OFF)
    for _ in range(60):
        home.read(PAST)
        home.wait(MINUTE)
    assert home.on == set()
    home.ask("lamp")
    home.wait(HOUR)
    assert home.on == {"lamp"}


def test_a_reading_between_the_two_figures_moves_nothing():
    """However often it comes and goes between them: the figures stand for what a noisy sensor does."""
    home = Home(COLD)
    for place, on in ((BETWEEN, set()), (PAST, {"heater"}), (BETWEEN, {"heater"}), (BEFORE, set()), (BETWEEN, set())):
        for _ in range(20):
            home.read(place)
            home.read(BETWEEN)
        assert home.on == on, place


def test_a_contact_that_bounces_moves_nothing():
    home = Home("pump is on while well is closed")
    for number in range(400):
        home.do(INPUT_MOVED, list(INPUTS).index("well"), number % 2)
        home.wait(100)
    assert home.ever == set()
    home.close("well")
    assert home.on == {"pump"}


ORDERED = {"cold": COLD, "limit": "heater is on for at most 2 h", "shut": "heater stays off while window is open", "airing": "when window opens, off everything",
           "door": "when door opens, on lamp"}


def test_the_order_in_the_file_means_nothing():
    tables = [table_of(dict(order)) for order in permutations(ORDERED.items())]
    assert len(tables) == 120 and all(table == tables[0] for table in tables)


def test_of_two_moments_that_fall_together_off_has_the_last_word_in_any_order():
    for rules in permutations(("when door opens, on lamp", "when window opens, off lamp")):
        home = Home(*rules, closed=["door", "window"])
        for key in ("door", "window"):
            home.do(INPUT_MOVED, list(INPUTS).index(key), 0)
        home.wait(MINUTE)
        assert home.on == set()


def proven(seed):
    proof = prove(table_of(harmless(seed)))
    assert proof.holds, (harmless(seed), [prop.id for prop in (*proof.failed, *proof.undecided)])
    assert proof.transitions > 5000


@pytest.mark.parametrize("seed", range(5, 200, 33))
def test_rules_that_do_no_harm_are_proven(seed):
    proven(seed)


@pytest.mark.soak
@pytest.mark.parametrize("seed", range(200))
def test_two_hundred_sets_that_do_no_harm_are_proven(seed):
    proven(seed)
