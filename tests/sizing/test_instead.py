"""What stands in for a relay: the first of the stock that is large enough, by the category of what it breaks."""

import pytest

from pattress.sizing.instead import contactor_for, limiter_for, such_as
from pattress.stock.parts import load_parts

PARTS = load_parts()


# Type LC1D09: 9 A in category AC-3, 25 A in AC-1; LC1D18: 18 A and 32 A (datasheets, from memory).
@pytest.mark.parametrize("current, breaking, designation", [
    (9.0, "motor", "LC1D09"), (9.1, "motor", "LC1D18"), (20.0, "resistive", "LC1D09"), (20.0, "inductive", "LC1D32"), (33.0, "resistive", "LC1D32")])
def test_a_contactor_is_named_by_the_category_of_its_circuit(current, breaking, designation):
    assert contactor_for(current=current, breaking=breaking, parts=PARTS).designation == designation


def test_no_contactor_is_named_beyond_the_stock():
    assert contactor_for(current=51.0, breaking="resistive", parts=PARTS) is None
    assert such_as(None, ("motor_current", "A")) == ""


# Worked on paper: 47 ohm less 25 % is 35.25 ohm when cold at worst.
@pytest.mark.parametrize("resistance, current, designation", [
    (7.5, 5.0, "CL-60"), (7.6, 1.0, "CL-70"), (35.25, 1.0, "CL-80"), (35.3, 1.0, "CL-90"), (7.5, 5.1, None), (90.1, 0.1, None)])
def test_a_limiter_holds_back_enough_at_the_low_end_of_its_tolerance_and_bears_the_current(resistance, current, designation):
    found = limiter_for(resistance=resistance, current=current, parts=PARTS)
    assert (found and found.designation) == designation


def test_figures_that_were_not_read_say_so():
    assert such_as(PARTS["CL-60"], ("cold_resistance", "ohm"), ("rated_current", "A")) == " such as CL-60 (10 ohm, 5 A, from memory)"


def test_what_is_named_is_never_chosen():
    relays = {part.designation for part in PARTS.of("relay")}
    assert not relays & {part.designation for kind in ("contactor", "inrush limiter") for part in PARTS.of(kind)}
