import pytest

from pattress.finding import Figure, Verdict
from pattress.sizing.electrode import findings, largest_electrode, touch_voltage

from .invented import by_id, make_job


def answer(**changed):
    return by_id(findings(make_job(**{"earthing": "TT"} | changed))).get("electrode.lights")


def device(rating):
    return f'{{ rating = "{rating}", type = "A" }}'


# Kyoritsu 6016 manual p. 27: largest R_A at 50 V by rated residual current, whole ohms printed.
@pytest.mark.parametrize("current, printed", [(0.030, 1667), (0.100, 500), (0.300, 167), (0.500, 100), (1.0, 50)])
def test_the_largest_electrode_is_as_printed(current, printed):
    assert largest_electrode(current=current) == pytest.approx(printed, abs=0.5)


def test_worked_on_paper():                  # 80 ohm x 30 mA = 2.4 V; 200 ohm x 250 mA = 50 V
    assert touch_voltage(electrode=80.0, current=0.030) == pytest.approx(2.4)
    assert touch_voltage(electrode=200.0, current=0.250) == pytest.approx(50.0)
    found = answer(electrode="80 ohm")
    assert (found.value, found.limit, found.verdict, found.change) == (Figure(pytest.approx(2.4), "V"), Figure(50.0, "V"), Verdict.HOLDS, ())
    assert found.assumptions == ()


# Measured in the wettest month, 0.7 of the mean, it may become 1.3 of it: 1.3 / 0.7 = 1.857 times. 27 V becomes 50.1 V, 26.9 V 49.96 V.
@pytest.mark.parametrize("electrode, verdict", [("89 ohm", Verdict.HOLDS), ("91 ohm", Verdict.TIGHT), ("166 ohm", Verdict.TIGHT), ("167 ohm", Verdict.FAILS)])
def test_it_holds_only_where_a_dry_month_does_not_bring_it_beyond(electrode, verdict):
    assert answer(electrode=electrode, residual=device("300 mA")).verdict is verdict


# BS 7671, table 41.5, note 2: above 200 ohm an electrode may not keep its resistance. 201 ohm x 30 mA = 6.03 V.
@pytest.mark.parametrize("electrode, verdict", [("200 ohm", Verdict.HOLDS), ("201 ohm", Verdict.TIGHT), ("1660 ohm", Verdict.TIGHT), ("1670 ohm", Verdict.FAILS)])
def test_an_electrode_that_may_not_keep_its_resistance_is_tight(electrode, verdict):
    found = answer(electrode=electrode)
    assert found.verdict is verdict
    assert (found.detail == "An electrode above 200 ohm may not keep its resistance: have it measured again in a dry month.") is (electrode != "200 ohm")
    assert found.change == (() if verdict is Verdict.HOLDS else ("a deeper electrode, or more of them: at most 200 ohm, measured",))


def test_what_to_change_is_the_device_that_is_wanted_anyhow_before_a_deeper_rod():      # 54 % of 50 V = 27 V: 27 V / 300 mA = 90 ohm; 30 mA x 180 ohm = 5.4 V
    found = answer(electrode="180 ohm", residual=device("300 mA"))
    assert (found.verdict, found.change) == (Verdict.FAILS, (
        "a residual-current device of 30 mA ahead of this feed", "a deeper electrode, or more of them: at most 90 ohm, measured"))


def test_an_electrode_nobody_measured_is_a_rod_in_dry_sand():           # 2000 ohm m / 1 m x 30 mA = 60 V; x 10 mA = 20 V
    found = answer()
    assert (found.value.value, found.verdict) == (pytest.approx(60.0), Verdict.UNKNOWN)
    assert [(a.key, a.taken) for a in found.assumptions] == [("supply.earth_electrode", "2 kohm, a rod of 1 m in dry sand or gravel")]
    assert found.change == ("settle the figures above: an electrode of at most 200 ohm holds in a dry month, too",)      # 27 V / 30 mA = 900 ohm, but above 200 ohm it may stray
    assert answer(residual=device("10 mA")).verdict is Verdict.HOLDS


def test_earthing_that_is_not_known_may_be_tt():
    assert answer(earthing="TN-S") is None and answer(earthing="TN-C-S") is None and answer(earthing="IT") is None
    assert answer(earthing="unknown", electrode="80 ohm").verdict is Verdict.HOLDS
    beyond = answer(earthing="unknown", electrode="5 kohm")
    assert (beyond.verdict, beyond.assumptions[0].key) == (Verdict.UNKNOWN, "supply.earthing")


def test_a_device_that_is_not_known_answers_nothing_and_none_is_refused_elsewhere():
    unknown = answer(electrode="80 ohm", residual='"unknown"')
    assert (unknown.verdict, unknown.value, unknown.assumptions[0].key) == (Verdict.UNKNOWN, None, "feed.lights.residual_current_device")
    assert answer(residual='"none"') is None
