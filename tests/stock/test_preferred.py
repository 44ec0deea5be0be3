import pytest
from hypothesis import given
from hypothesis import strategies as st

from pattress.stock.preferred import SERIES, decade, nearest_value, value_above, value_below

# IEC 60063 (from memory), one decade as the tables of the trade print it.
E12 = (10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82)
E24 = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)
SOME_OF_E96 = (100, 102, 105, 107, 110, 121, 147, 178, 215, 261, 316, 383, 464, 562, 681, 825, 976)


def test_the_series_are_those_of_iec_60063():
    assert decade(12) == E12
    assert decade(24) == E24
    assert set(SOME_OF_E96) <= set(decade(96))
    assert 920 in decade(192) and 919 not in decade(192)
    assert [len(decade(series)) for series in SERIES] == list(SERIES)


# docs/sources.md, E92: each direction as its use needs it.
def test_values_are_taken_in_the_direction_the_use_needs():
    assert nearest_value(37.8) == 39.0
    assert value_below(904e3, 12) == 820e3
    assert value_below(1190.0) == 1100.0
    assert value_above(1937.0) == 2000.0


def test_a_preferred_value_is_its_own_neighbour():
    for number in E24:
        for power in (-9, -6, 0, 3, 5):
            value = float(f"{number}e{power}")
            assert value_below(value) == value_above(value) == nearest_value(value) == value


@given(st.floats(1e-12, 1e9), st.sampled_from(SERIES))
def test_neighbours_enclose_the_value_and_are_neighbours(value, series):
    below, above = value_below(value, series), value_above(value, series)
    assert below <= value * (1 + 1e-9) and above >= value * (1 - 1e-9)
    assert above / below < 10 ** (1.45 / series) + 0.06


def test_the_error_names_the_value():
    with pytest.raises(ValueError, match=r"^value must be above zero and finite, found 0\.0$"):
        value_below(0.0)
    with pytest.raises(ValueError, match=r"^series must be one of 3, 6, 12, 24, 48, 96, 192, found 10$"):
        decade(10)
