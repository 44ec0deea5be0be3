"""Whether two sensors can tell which air is damper."""

from random import Random

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pattress.controller.readings import water
from pattress.finding import Verdict
from pattress.job.model import Sensor
from pattress.quantity import show
from pattress.sizing.damp import ACCURACY, BEST, INSIDE, OUTSIDE, Air, error_of_difference, findings, told_between

from .invented import by_id, load_text, make_job

KINDS = ("11 class", "22 class")

# Of the table that the rules were proposed with, from PsychroLib 2.5.0 and the accuracies of the sheets (from memory), to half of the last digit:
TOLD = [("22 class", 12.3, 13.9), ("11 class", 10.7, 15.8)]         # at 24 degC and 60 %, which is 13.061 g/m3
TOGETHER = 1.2                                                      # two of the 22 class, against 5 degC and 90 %, which is 6.117 g/m3


def job(says="lamp is on while bath is damper than yard by 3 g/m3, until 1.5 g/m3", bath="22 class", yard="22 class", more=""):
    return make_job(load_text("lamp"), rest=f'[sensor.bath]\nname = "Bath"\nkind = "{bath}"\n[sensor.yard]\nname = "Yard"\nkind = "{yard}"\n[rule.dry]\nsays = "{says}"\n{more}')


def answer(begin=3.0, end=1.5, bath="22 class", yard="22 class"):
    return by_id(findings(job(f"lamp is on while bath is damper than yard by {begin:g} g/m3, until {end:g} g/m3", bath, yard)))["damp.dry"]


@pytest.mark.parametrize("kind, least, most", TOLD)
def test_what_a_sensor_may_tell_of_indoor_air(kind, least, most):
    assert INSIDE.water == pytest.approx(13.061, abs=0.0005) and OUTSIDE.water == pytest.approx(6.117, abs=0.0005)
    assert told_between(kind=kind, air=INSIDE) == (pytest.approx(least, abs=0.05), pytest.approx(most, abs=0.05))


def test_two_of_the_22_class_compare_to_a_gram_and_a_bit():
    assert error_of_difference(inside="22 class", outside="22 class") == pytest.approx(TOGETHER, abs=0.05)


@pytest.mark.parametrize("inside", KINDS)
@pytest.mark.parametrize("outside", KINDS)
def test_no_pair_of_sensors_within_their_sheets_is_further_off(inside, outside):
    """Drawn at random, and reckoned as the board does it, in whole numbers."""
    draw, worst = Random(7), 0.0
    true = water(240, 600) - water(50, 900)
    for _ in range(4000):
        (kelvin_in, share_in), (kelvin_out, share_out) = ((10 * kelvin * draw.choice((-1, 1, draw.uniform(-1, 1))), 1000 * share * draw.choice((-1, 1, draw.uniform(-1, 1))))
                                                          for kelvin, share in (ACCURACY[inside], ACCURACY[outside]))
        told = water(round(240 + kelvin_in), round(600 + share_in)) - water(round(50 + kelvin_out), round(900 + share_out))
        worst = max(worst, abs(told - true) / 100)
    error = error_of_difference(inside=inside, outside=outside)
    assert 0.97 * error < worst < error + 0.05           # what whole tenths of the readings and hundredths of the table come to


def test_air_that_is_wet_is_never_told_wetter_than_wet():
    _, most = told_between(kind="11 class", air=Air(20.0, 0.99))
    assert most == pytest.approx(Air(22.0, 1.0).water)
    least, _ = told_between(kind="11 class", air=Air(20.0, 0.01))
    assert least == 0.0


def test_every_class_of_sensor_has_its_accuracy():
    assert set(ACCURACY) == set(Sensor.model_fields["kind"].annotation.__args__) and BEST in ACCURACY


@pytest.mark.parametrize("begin, end, verdict", [
    (3.0, 1.5, Verdict.HOLDS), (2.6, 1.3, Verdict.HOLDS), (2.5, 1.2, Verdict.TIGHT), (3.0, 1.0, Verdict.FAILS), (2.0, 1.5, Verdict.FAILS), (0.5, 0.2, Verdict.FAILS), (9.0, 1.0, Verdict.FAILS),
])
def test_each_figure_and_what_lies_between_them_is_wider_than_the_error(begin, end, verdict):
    found = answer(begin, end)
    assert (found.verdict, found.subject, found.safety, found.stops) == (verdict, "rule.dry.says", False, False)
    assert found.value.value == pytest.approx(min(end, begin - end)) and found.limit.value == error_of_difference(inside="22 class", outside="22 class")


def test_words_of_one_that_cannot_be_over():
    found = answer(3.0, 1.0)
    assert found.question == "Can Bath and Yard tell which air is damper?"
    assert found.detail == ("They may be 1.2 g/m3 wrong about the difference between 24 degC and 60 % inside and 5 degC and 90 % outside. "
                            "Below that they may never see that it is over.")
    assert found.change == ("in the rule, by 3 g/m3, until 1.3 g/m3",)
    assert [(one.name, one.figure if isinstance(one.figure, str) else show(one.figure.value, one.figure.unit)) for one in found.inputs] == [
        ("figures", "by 3 g/m3, until 1 g/m3"), ("bath", "22 class, 0.5 K and 2 %"), ("yard", "22 class, 0.5 K and 2 %"), ("error", "1.15 g/m3")]
    assert str(found.inputs[1].source) == "11 class and 22 class sensor sheets, 2 K and 5 %, 0.5 K and 2 % (from memory)"


def test_words_of_one_that_begins_and_ends_for_nothing():
    found = answer(2.0, 1.5)
    assert found.detail.endswith("Closer together than that, the rule begins and ends though nothing has changed.")
    assert found.change == ("in the rule, by 2.6 g/m3, until 1.3 g/m3",)
    assert answer(3.0, 1.5).change == () and answer(3.0, 1.5).detail.endswith("outside.")


@pytest.mark.parametrize("begin, end", [(3.0, 1.5), (8.0, 4.0), (40.0, 20.0)])
def test_two_of_the_11_class_cannot_be_compared_at_all(begin, end):
    found = answer(begin, end, "11 class", "11 class")
    assert found.verdict is Verdict.FAILS and not found.stops
    assert found.detail == ("They may be 3.8 g/m3 wrong about the 6.9 g/m3 between 24 degC and 60 % inside and 5 degC and 90 % outside, "
                            "so no two figures can be told apart there.")
    assert found.change == ("two sensors of the 22 class, which are 1.2 g/m3 wrong at most",)


@pytest.mark.parametrize("bath, yard, figures", [("22 class", "11 class", "by 4.6 g/m3, until 2.3 g/m3"), ("11 class", "22 class", "by 7 g/m3, until 3.5 g/m3")])
def test_one_of_each_class_wants_figures_further_apart(bath, yard, figures):
    assert answer(3.0, 1.5, bath, yard).change == (f"in the rule, {figures}", "two sensors of the 22 class, which are 1.2 g/m3 wrong at most")


@given(begin=st.floats(0.2, 50), part=st.floats(0.01, 0.99), bath=st.sampled_from(KINDS), yard=st.sampled_from(KINDS))
def test_what_is_to_be_changed_holds_once_it_is(begin, part, bath, yard):
    begin = round(begin, 1)
    end = round(max(0.05, begin * part), 2)
    assume(end < begin)
    found = answer(begin, end, bath, yard)
    if found.verdict is Verdict.FAILS and found.change[0].startswith("in the rule"):
        words = found.change[0].split()
        assert answer(float(words[4]), float(words[7]), bath, yard).verdict is Verdict.HOLDS


def test_only_rules_that_compare_two_sensors_are_asked():
    assert by_id(findings(job("lamp is on while bath is above 60 %, until 55 %"))) == {}
    assert list(by_id(findings(job("lamp stays off while bath is damper than yard by 1 g/m3, until 0.5 g/m3", more=(
        '[rule.warm]\nsays = "lamp is on while bath is above 60 %, until 55 %"\n'
        '[rule.rest]\nsays = "while bath is damper than yard by 6 g/m3, until 5 g/m3, the rules of lamp rest"\n'))))) == ["damp.dry", "damp.rest"]