"""Water in moist air, against a published library, published tables and what the board makes of the same air."""

import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pattress.controller.readings import water
from pattress.sizing.moist_air import GAS_CONSTANT, TRIPLE_POINT, grams_of_water, saturation_pressure

psychrolib.SetUnitSystem(psychrolib.SI)
SAME = 1e-12

# ASHRAE Handbook, Fundamentals, 2017, chapter 1, table 3, as the tests of PsychroLib quote it, to 300 ppm there.
HANDBOOK = [(5, 872.6), (25, 3169.7), (50, 12351.3)]
# Pws [Pa] and water [g/m3], worked out with PsychroLib 2.5.0: rows of the table that the rules were proposed with, to half of its last digit.
TABLE = [(5, 0.90, 872.5, 6.117), (0, 1.00, 611.2, 4.848), (-5, 0.80, 401.8, 2.597), (18, 0.80, 2064.3, 12.291), (20, 0.50, 2338.8, 8.644),
         (22, 0.55, 2644.8, 10.679), (24, 0.60, 2985.1, 13.061), (24, 0.95, 2985.1, 20.680), (30, 0.40, 4246.0, 12.140), (35, 0.60, 5627.8, 23.744)]


@pytest.mark.parametrize("temperature, pressure", HANDBOOK)
def test_pressure_follows_the_handbook(temperature, pressure):
    assert saturation_pressure(temperature=temperature) == pytest.approx(pressure, rel=3e-4)


@pytest.mark.parametrize("temperature, humidity, pressure, grams", TABLE)
def test_rows_of_the_table(temperature, humidity, pressure, grams):
    assert saturation_pressure(temperature=temperature) == pytest.approx(pressure, abs=0.05)
    assert grams_of_water(temperature=temperature, humidity=humidity) == pytest.approx(grams, abs=0.0006)


@given(temperature=st.floats(-100, 200))
def test_pressure_is_that_of_the_library(temperature):
    assert saturation_pressure(temperature=temperature) == pytest.approx(psychrolib.GetSatVapPres(temperature), rel=SAME)


# Of 1 kg dry air the library gives the volume and the water: another way to water per cubic metre, with a gas constant of its own.
@given(temperature=st.floats(-40, 80), humidity=st.floats(0, 1))
def test_water_is_that_of_the_library_by_way_of_the_humidity_ratio(temperature, humidity):
    ratio = psychrolib.GetHumRatioFromRelHum(temperature, humidity, 101325)
    if humidity > 1e-4:         # the library knows no ratio below 1e-7
        expected = 1000 * ratio / psychrolib.GetMoistAirVolume(temperature, ratio, 101325)
        assert grams_of_water(temperature=temperature, humidity=humidity) == pytest.approx(expected, rel=1e-3)


@given(tenths=st.integers(-200, 600), tenths_of_a_per_cent=st.integers(0, 1000))
def test_the_board_finds_the_same(tenths, tenths_of_a_per_cent):
    """To 0.1 % and a hundredth of a gram."""
    exact = grams_of_water(temperature=tenths / 10, humidity=tenths_of_a_per_cent / 1000)
    assert water(tenths, tenths_of_a_per_cent) / 100 == pytest.approx(exact, rel=1e-3, abs=0.01 + 1e-3 * exact)


@given(temperature=st.floats(-40, 80), warmer=st.floats(0.1, 10), humidity=st.floats(0.01, 1))
def test_warmer_air_holds_more_and_half_the_humidity_is_half_the_water(temperature, warmer, humidity):
    held = grams_of_water(temperature=temperature, humidity=humidity)
    assert grams_of_water(temperature=temperature + warmer, humidity=humidity) > held
    assert grams_of_water(temperature=temperature, humidity=humidity / 2) == pytest.approx(held / 2)


def test_the_two_formulas_meet_at_the_triple_point():
    assert saturation_pressure(temperature=TRIPLE_POINT) == pytest.approx(saturation_pressure(temperature=TRIPLE_POINT + 1e-9), rel=2e-5)
    assert saturation_pressure(temperature=TRIPLE_POINT) == pytest.approx(611.657, abs=0.1)        # of water, as everybody has it (from memory)
    assert pytest.approx(8.314462618 / 18.015268e-3, abs=0.05) == GAS_CONSTANT         # R over the molar mass of water (from memory)


@pytest.mark.parametrize("given_, words", [
    (dict(temperature=-101.0, humidity=0.5), r"^temperature must be -100 to 200 degC, found -101\.0$"),
    (dict(temperature=float("nan"), humidity=0.5), r"^temperature must be -100 to 200 degC, found nan$"),
    (dict(temperature=20.0, humidity=60.0), r"^humidity must be 0 to 1, found 60\.0$"),
    (dict(temperature=20.0, humidity=float("nan")), r"^humidity must be 0 to 1, found nan$"),
])
def test_the_error_names_the_quantity_and_the_value(given_, words):
    with pytest.raises(ValueError, match=words):
        grams_of_water(**given_)
