"""What a control can ask for, and that nothing else counts as reached."""

import pytest

from pattress.controller.core import DOWN, OFF, ON, SET, TOGGLE, UP
from pattress.proof import prove
from pattress.proof.reach import askable

from .plans import CHAINED, TWO_LAMPS, button, fan, load, plan, regulator, switch


def found(table, **how):
    return {prop.id: prop for prop in prove(table, **how).properties}


ONE = plan("one lamp with a switch, one without", [load("north", 0), load("south", 1)], [switch("left", (0, TOGGLE, 0))])


def test_a_lamp_without_a_control_is_not_reached_where_there_is_no_network():
    alone = found(ONE, has_network=False)["can-reach"]
    assert alone.verdict == "fails" and "south at level 0, which no control of this job can ask for" in alone.detail
    assert found(ONE)["can-reach"].holds and found(TWO_LAMPS, has_network=False)["can-reach"].holds


def test_what_a_rule_puts_on_it_puts_off_again_without_a_network():
    assert found(CHAINED, has_network=False)["can-reach"].holds


def test_a_policy_that_brings_it_back_is_no_control():
    table = plan("a lamp that comes on by itself", [load("lamp", 0, restore=1)], [switch("left", (0, OFF, 0))])
    assert "lamp at level 1, which no control" in found(table, has_network=False)["can-reach"].detail


@pytest.mark.parametrize("acts, restore, levels", [
    ([(0, TOGGLE, 0)], 0, {0, 4}), ([(0, ON, 0)], 0, {4}), ([(0, OFF, 0)], 1, {0}), ([(0, SET, 2)], 0, {2}), ([(0, SET, 2), (0, TOGGLE, 0)], 0, {0, 2, 4}),
    ([(0, DOWN, 0)], 0, set()), ([(0, DOWN, 0)], 1, {1, 2, 3}), ([(0, UP, 0)], 0, {4}), ([(0, UP, 0), (0, DOWN, 0)], 0, {1, 2, 3, 4}), ([], 2, set()),
])
def test_the_levels_that_a_button_can_ask_for(acts, restore, levels):
    table = plan("a fan", [fan("fan", 0, restore=restore)], buttons=[button(f"b{n}", n, act) for n, act in enumerate(acts)])
    assert askable(table, False) == [levels] and askable(table) == [{0, 1, 2, 3, 4}]


def test_a_regulator_asks_for_its_positions():
    table = plan("a fan", [fan("fan", 0)], regulators=[regulator("wall", 0, [0, 2, 4], off="no contact")])
    assert askable(table, False) == [{0, 2, 4}]
    assert "fan at level 1, which no control" in found(table, has_network=False)["can-reach"].detail
