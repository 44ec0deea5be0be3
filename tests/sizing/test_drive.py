import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pattress.finding import Figure, Verdict
from pattress.quantity import parse
from pattress.sizing.drive import (
    LOGIC,
    base_current,
    base_resistor,
    coil_current_most,
    driver_verdict,
    findings,
    hot_operate_voltage,
    largest_base_resistor,
    largest_pull_down,
    pull_down,
    pulled_level,
    weak_pull_up,
)
from pattress.stock.preferred import value_below

from .invented import BOARDS, PARTS, by_id, choose, fan_text, load_text, make_job

COIL = 5.0 / 70.0
ROUNDING = 1 + 1e-12


def answers(*things, **changed):
    job = make_job(*things, **changed)
    return by_id(findings(job, choose(job)))


# docs/sources.md, E67 and E68: hFE 100, overdrive 3, VBE 0.75.
def test_a_base_resistor_and_the_overdrive_it_leaves():
    current = base_current(collector_current=COIL, gain=100.0, overdrive=3.0)
    assert current * 1e3 == pytest.approx(2.143, abs=0.0005)
    most = largest_base_resistor(output_high=3.3, base_voltage=0.75, current=current)
    assert most == pytest.approx(1190.0, abs=0.5)
    assert value_below(most) == 1100.0
    left = base_current(collector_current=COIL, gain=100.0, overdrive=2.405)          # what 1100 ohm leave at 2.64 V
    assert largest_base_resistor(output_high=2.64, base_voltage=0.75, current=left) == pytest.approx(1100.0, abs=0.5)


# docs/sources.md, E69 and E70: forced gain of 10; the second is a published example.
def test_forced_gain():
    current = base_current(collector_current=COIL, gain=10.0)
    assert current * 1e3 == pytest.approx(7.143, abs=0.0005)
    assert largest_base_resistor(output_high=3.3, base_voltage=0.7, current=current) == pytest.approx(364.0, abs=0.05)
    published = largest_base_resistor(output_high=3.3, base_voltage=0.7, current=base_current(collector_current=0.1, gain=10.0))
    assert published == pytest.approx(260.0)
    assert value_below(published) == 240.0          # the page takes 220 ohm: a step further down


# docs/sources.md, E71: a published driver for 30 mA.
def test_a_published_driver():
    current = base_current(collector_current=0.030, gain=10.0, overdrive=2.0)
    assert largest_base_resistor(output_high=5.0, base_voltage=0.7, current=current) == pytest.approx(716.7, abs=0.05)


# docs/sources.md, E72: pull-in 3.75 V at 20 degC, coil at 80 degC.
def test_a_hot_coil_needs_more():
    assert hot_operate_voltage(operate_voltage=3.75, temperature=80.0) == pytest.approx(4.634, abs=0.0005)


# docs/sources.md, P01: a weak pull-up of 45 kohm against two pull-downs.
def test_weak_pulls():
    assert pulled_level(supply=3.3, pull_up=45e3, pull_down=10e3) == pytest.approx(0.60)
    assert pulled_level(supply=3.3, pull_up=45e3, pull_down=4.7e3) == pytest.approx(0.31, abs=0.005)
    assert largest_pull_down(supply=3.3, pull_up=45e3, allowed=0.6) == pytest.approx(10e3)


# The coil tables: 79.4 mA at 63 ohm; a coil at the lower end of its resistance draws a ninth more.
def test_coil_currents():
    assert 5.0 / PARTS["G5LE-1A DC5"].value("coil_resistance") == pytest.approx(79.4e-3, abs=5e-5)
    assert coil_current_most(PARTS["G5LE-1A DC5"], 5.0) == pytest.approx(79.4e-3 / 0.9, rel=1e-3)


def test_a_darlington_array_starves_a_hot_5_v_coil():
    relays = [PARTS["G5LE-1A DC5"]]
    assert driver_verdict(PARTS["ULN2003A"], relays, BOARDS["rp2040-wifi"]) is Verdict.FAILS
    assert driver_verdict(PARTS["AO3400A"], relays, BOARDS["rp2040-wifi"]) is not Verdict.FAILS


def test_a_bare_transistor_asks_too_much_of_a_4_ma_pin():
    relays = [PARTS["RT314005"]]
    assert driver_verdict(PARTS["BC337-40"], relays, BOARDS["rp2040-wifi"]) is Verdict.FAILS
    assert driver_verdict(PARTS["BC337-40"], relays, BOARDS["esp32"]) in (Verdict.HOLDS, Verdict.TIGHT)
    assert base_resistor(PARTS["BC337-40"], BOARDS["esp32"], coil_current_most(relays[0], 5.2)) in (330.0, 360.0, 300.0)


def test_the_pull_down_answers_to_the_pins_of_the_board():
    assert weak_pull_up(BOARDS["rp2040-wifi"]) is None
    assert pull_down(PARTS["AO3400A"], BOARDS["rp2040-wifi"]) == 10e3
    assert weak_pull_up(BOARDS["esp32"]) == pytest.approx(27e3)
    assert pull_down(PARTS["AO3400A"], BOARDS["esp32"]) == 3.3e3


def test_every_relay_stays_off_while_the_board_starts():
    found = answers(board="esp32")["drive_reset.controller"]
    assert found.value == Figure(pytest.approx(3.3 * 3.3 / 30.3, abs=0.001), "V")
    assert found.verdict is Verdict.HOLDS
    assert found.assumptions[0].taken == "a weak pull-up of 27 kohm"
    assert found.assumptions[0].measure == "the voltage at a relay pin while the reset button is held: below 400 mV"
    assert answers()["drive_reset.controller"].corner == "no relay pin has a weak pull-up"


def test_a_relay_pulls_in_with_the_rail_low_and_the_coil_hot():
    found = answers(load_text(relay="RT314005"))["drive.pendant"]
    assert found.verdict is Verdict.HOLDS
    assert found.limit == Figure(pytest.approx(3.5 * (1 + 0.00393 * (50 + 40 * 25 / 62 - 20)), abs=0.001), "V")
    warm = answers(load_text(relay="G5LE-1A DC5"), ambient="50 degC")["drive.pendant"]
    assert warm.verdict is Verdict.TIGHT
    hot = answers(load_text(relay="T9AS1D12-5"), ambient="50 degC")["drive.pendant"]
    assert hot.verdict is Verdict.FAILS


def test_pins_together_and_alone():
    found = answers(*(load_text(f"l{i}") for i in range(8)))
    assert found["drive_total.controller"].value == Figure(pytest.approx(8 * 0.3301e-3), "A")     # 3.3 V over 10 kohm, and 100 nA of the gate
    assert found["drive_total.controller"].limit == Figure(0.05, "A")
    assert found["drive_pin.controller"].detail == (
        "AO3400A, 100 ohm in series with each input, pull-down 10 kohm; a diode across every coil.")
    half = answers(board="esp32")["drive_total.controller"]
    assert half.limit == Figure(0.55, "A")
    assert half.detail == "Half of the absolute maximum is allowed: no design value is given."


def test_a_relay_of_a_fan_lets_go_before_the_next_closes():
    found = answers(fan_text())["drive_release.ceiling"]
    assert found.verdict is Verdict.HOLDS
    assert found.value == Figure(pytest.approx(5 * 6e-3 + 4e-3), "s")


@given(up=st.floats(1e3, 1e6), down=st.floats(1e2, 1e6), less=st.floats(0.1, 1.0))
def test_a_smaller_pull_down_never_holds_worse(up, down, less):
    larger = pulled_level(supply=3.3, pull_up=up, pull_down=down)
    assert pulled_level(supply=3.3, pull_up=up, pull_down=down * less) <= larger * ROUNDING


def test_errors():
    with pytest.raises(ValueError, match=r"^output_high must be above base_voltage, found 0\.5$"):
        largest_base_resistor(output_high=0.5, base_voltage=0.7, current=1e-3)
    with pytest.raises(ValueError, match=r"^allowed must be below supply, found 3\.3$"):
        largest_pull_down(supply=3.3, pull_up=1e3, allowed=3.3)


def test_an_input_current_holds_at_the_level_of_a_pin_or_above():
    """0.7 mA at 2.4 V is too little for a pin at 3.3 V: an array then takes about 1.2 mA."""
    stated = {part.designation: parse(found[0], "V") for part in PARTS.of("driver") if (found := re.search(r"[\d.]+ V(?= in\b)", part.rating("input_current").at))}
    assert set(stated) == {"ULN2003LV", "ULN2003A"} and min(stated.values()) >= LOGIC
