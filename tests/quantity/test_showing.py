"""A float as people write it."""

import pytest

from pattress.quantity import in_unit, show, unbroken


@pytest.mark.parametrize("value, unit, printed", [
    (2.2e-6, "F", "2.2 uF"), (1.5e-6, "m2", "1.5 mm²"), (1.5e-6, "mm2", "1.5 mm²"), (6.97, "V", "6.97 V"),
    (0.1, "%", "10 %"), (0.1, "", "0.1"), (2200.0, "W", "2.2 kW"), (54.0, "W", "54 W"), (230.0, "V", "230 V"),
    (0.03, "A", "30 mA"), (180.0, "s", "3 min"), (100.0, "s", "100 s"), (5400.0, "s", "90 min"), (0.09, "s", "90 ms"),
    (0.25, "ms", "250 ms"), (0.0055, "m", "5.5 mm"), (25.0, "m", "25 m"), (0.02, "m2", "0.02 m²"),
    (2200e-6, "F", "2200 uF"), (1e-7, "F", "100 nF"), (4700.0, "ohm", "4.7 kohm"), (70.0, "ohm", "70 ohm"),
    (30.0, "degC", "30 degC"), (1447.3, "rpm", "1447 rpm"), (0.0121, "ohm/m", "0.0121 ohm/m"), (1.2, "K/W", "1.2 K/W"),
    (0.0, "V", "0 V"), (-0.07, "V", "-70 mV"), (-0.0, "A", "0 A"), (999.96, "V", "1 kV"), (0.99999, "A", "1 A"),
    (float("inf"), "s", "infinite s"), (-float("inf"), "A", "minus infinite A"), (2e-16, "V", "2.00e-13 mV"),
])
def test_for_people(value, unit, printed):
    assert show(value, unit) == printed


def test_figures_are_kept_after_the_point_only():
    assert show(6.9666, "V", 2) == "7 V" and show(6.9666, "V", 4) == "6.967 V" and show(1234.56, "rpm", 2) == "1235 rpm"


def test_not_a_number_is_refused():
    with pytest.raises(ValueError, match=r"^a value in V must be a number, found nan$"):
        show(float("nan"), "V")


@pytest.mark.parametrize("words, kept", [
    ("resistive heater, 2.2 kW", "resistive heater, 2.2~kW"), ("tungsten lamp, 2 x 40 W", "tungsten lamp, 2~x~40~W"), ("within 1 s", "within 1~s"),
    ("2.5 mm\u00b2 of 3 steps, +45 %", "2.5~mm\u00b2 of 3 steps, +45~%"), ("30 mA, 1.5 mm2, 20 degC", "30~mA, 1.5~mm2, 20~degC"), ("16 Americans, 3 strands", "16 Americans, 3 strands"),
])
def test_a_number_and_its_unit_stay_on_one_line(words, kept):
    assert unbroken(words) == kept.replace("~", "\u00a0")


def test_a_value_becomes_a_number_of_a_unit():
    assert in_unit(1.5e-6, "mm2") == pytest.approx(1.5) and in_unit(2.2e-6, "uF") == pytest.approx(2.2) and in_unit(0.5, "N m") == 0.5
