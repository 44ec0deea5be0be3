"""Presses told apart: a short one, one that is held, two in a row; each acts once, at its moment to the millisecond."""

import pytest

from pattress.controller import core
from pattress.controller.core import CONTACT, OFF, ON, TIME, TOGGLE, due_in, size, write

from ...proof.plans import load, plan, presses, switch
from .home import SETTLE, Timed

HALL, PORCH = range(2)
HELD_ONLY, TWICE_ONLY, BOTH, PLAIN = range(4)
HELD, AGAIN = 800, 400
PORCH_ON = (PORCH, ON, 0)
TABLE = plan(
    "hall", [load("hall", 0), load("porch", 1)],
    [switch(name, (HALL, TOGGLE, 0), latching=0) for name in ("held", "twice", "both", "plain")],
) | {"presses": [presses(HELD_ONLY, held=[(HALL, OFF, 0), PORCH_ON]), presses(TWICE_ONLY, twice=[PORCH_ON]),
                 presses(BOTH, held=[PORCH_ON], twice=[(HALL, ON, 0), PORCH_ON])]}


class Hall(Timed):
    """The hall, with every switch open at power-up but those told closed. `acts` counts how often the hall was switched."""

    def __init__(self, closed=(0, 0, 0, 0)):
        self.plan = core.Plan(TABLE)
        self.state = core.new_state(self.plan)
        core.begin(self.plan, self.state, None, closed, ())
        self.do(TIME, 0)

    def do(self, *event):
        before = self.relays & 1 if event[0] == TIME and hasattr(self, "acts") else None
        core.step(self.plan, self.state, event + (0,) * (5 - len(event)))
        self.acts = getattr(self, "acts", 0) + (before is not None and self.relays & 1 != before)

    @property
    def relays(self):
        return core.relays(self.plan, self.state)

    def contact(self, number, closed, then=SETTLE):
        self.do(CONTACT, number, closed)
        self.wait(then)

    def press(self, number, lasting=100):
        self.contact(number, 1, lasting)
        self.contact(number, 0)


def test_a_short_press_of_what_can_be_held_acts_when_it_is_let_go():
    home = Hall()
    home.contact(HELD_ONLY, 1, SETTLE + HELD - 1)
    assert home.relays == 0
    home.do(CONTACT, HELD_ONLY, 0)
    home.do(CONTACT, HELD_ONLY, 1)          # a bounce is no letting go
    home.do(CONTACT, HELD_ONLY, 0)
    assert home.relays == 0


@pytest.mark.parametrize("lasting, relays", [(SETTLE, 1), (100, 1), (HELD - 1, 1), (HELD, 2), (HELD + 1, 2), (60_000, 2)])
def test_a_press_is_held_from_800_ms_on(lasting, relays):
    """The contact opens `lasting` after it closed; both edges are believed as long after."""
    home = Hall()
    home.press(HELD_ONLY, lasting)
    assert home.relays == relays
    home.wait(60_000)
    assert home.relays == relays


def test_a_held_press_acts_while_it_is_held_and_not_again_when_it_is_let_go():
    home = Hall()
    home.press(PLAIN)
    home.contact(HELD_ONLY, 1, SETTLE + HELD - 1)
    assert home.relays == 1
    home.wait(1)
    assert home.relays == 2
    home.wait(60_000)
    home.contact(HELD_ONLY, 0, 60_000)
    assert home.relays == 2 and home.acts == 2      # on by the other switch, off by this one


@pytest.mark.parametrize("number", [TWICE_ONLY, BOTH])
def test_a_short_press_of_what_can_be_pressed_twice_waits_400_ms(number):
    home = Hall()
    home.press(number)
    home.wait(AGAIN - 1)
    assert home.relays == 0
    home.wait(1)
    assert home.relays == 1
    home.wait(60_000)
    assert home.acts == 1


@pytest.mark.parametrize("number, relays", [(TWICE_ONLY, 2), (BOTH, 3)])
@pytest.mark.parametrize("pause", [SETTLE, 100, AGAIN])
def test_a_second_press_within_400_ms_acts_at_once_and_the_first_does_not(number, relays, pause):
    home = Hall()
    home.contact(number, 1, 100)
    home.contact(number, 0, pause)
    home.contact(number, 1, SETTLE - 1)
    assert home.relays == 0
    home.wait(1)
    assert home.relays == relays
    home.wait(60_000)
    home.contact(number, 0, 60_000)
    assert home.relays == relays            # held or let go, it has acted


@pytest.mark.parametrize("number", [TWICE_ONLY, BOTH])
def test_a_second_press_after_400_ms_is_a_first_one(number):
    home = Hall()
    home.contact(number, 1, 100)
    home.contact(number, 0, AGAIN + 1)
    home.contact(number, 1, 100)
    home.contact(number, 0, 60_000)
    assert home.relays == 0 and home.acts == 2          # toggled twice


def test_a_third_press_is_a_first_one():
    home = Hall()
    for _ in range(3):
        home.press(TWICE_ONLY)
    assert home.relays == 2
    home.wait(AGAIN)
    assert home.relays == 3


def test_a_first_press_may_last_where_nothing_is_held():
    home = Hall()
    home.press(TWICE_ONLY, 60_000)
    home.wait(AGAIN)
    assert home.relays == 1


def test_other_switches_act_at_once_while_a_press_waits():
    home = Hall()
    home.press(BOTH)
    home.contact(PLAIN, 1)
    assert home.relays == 1


@pytest.mark.parametrize("number", [HELD_ONLY, TWICE_ONLY, BOTH])
def test_what_is_closed_at_power_up_is_neither_held_nor_let_go(number):
    home = Hall(closed=[int(one == number) for one in range(4)])
    assert due_in(home.plan, home.state) == -1
    home.wait(60_000)
    home.contact(number, 0, 60_000)
    assert home.relays == 0
    home.press(number)
    home.wait(AGAIN)
    assert home.relays == 1


def test_a_power_cut_forgets_a_press_that_is_not_decided():
    home = Hall()
    home.press(BOTH)
    snapshot = bytearray(size(home.plan))
    write(home.plan, home.state, snapshot)
    core.begin(home.plan, home.state, snapshot, (0, 0, 0, 0), ())
    home.wait(60_000)
    assert home.relays == 0


def test_a_plan_without_presses_has_no_cell_more_and_does_not_load_them():
    plain = core.Plan({name: rows for name, rows in TABLE.items() if name != "presses"})
    assert plain.presses is None and core.Plan(TABLE).cells == plain.cells + 6
