import pytest
from hypothesis import given
from hypothesis import strategies as st

from pattress.finding import Figure, Verdict
from pattress.sizing.discharge import bleeder_loss, findings, largest_bleeder, voltage_left
from pattress.stock.preferred import value_below

from .invented import PARTS, by_id, make_job


# docs/sources.md, E83, E84, E86 and E87: 34 V after 1 s, and 60 V after 2 s; 0.47 uF and 3.3 uF.
@pytest.mark.parametrize(("asked", "printed"), [
    (dict(capacitance=0.47e-6, crest=357.8), 904e3),
    (dict(capacitance=0.47e-6, crest=357.8, left=60.0, time=2.0), 2.383e6),
    (dict(capacitance=0.47e-6, crest=325.27), 942.2e3),
    (dict(capacitance=3.3e-6, crest=325.27), 134.2e3),
    (dict(capacitance=0.47e-6, crest=357.8, capacitor_tolerance=0.2, bleeder_tolerance=0.05), 717.5e3),
])
def test_bleeders(asked, printed):
    assert largest_bleeder(**asked) == pytest.approx(printed, rel=5e-4)


# docs/sources.md, E83, E85 and E86.
def test_the_next_value_below_and_what_it_leaves_and_loses():
    assert value_below(904e3, 12) == 820e3
    assert voltage_left(start=357.8, time=1.0, resistance=820e3, capacitance=0.47e-6) == pytest.approx(26.72, abs=0.01)
    assert bleeder_loss(voltage=253.0, resistance=820e3) * 1e3 == pytest.approx(78.06, abs=0.005)
    assert bleeder_loss(voltage=230.0, resistance=134.2e3) == pytest.approx(0.3942, abs=5e-5)


def test_a_small_capacitor_is_exempt_and_still_bled():
    found = by_id(findings(make_job(), PARTS))["discharge.controller"]
    assert found.verdict is Verdict.HOLDS
    assert found.limit == Figure(34.0, "V") and 20.0 < found.value.value <= 34.0
    assert found.detail == ("X2 100 nF 310 V is exempt, being 100 nF or less; with 2 x 1.6 Mohm in series across it, it loses 20 mW.")


@given(capacitance=st.floats(1e-9, 1e-4), crest=st.floats(35, 400))
def test_the_largest_bleeder_just_does_it(capacitance, crest):
    bleeder = largest_bleeder(capacitance=capacitance, crest=crest)
    assert voltage_left(start=crest, time=1.0, resistance=bleeder, capacitance=capacitance) == pytest.approx(34.0)


def test_the_error_names_the_quantity():
    with pytest.raises(ValueError, match=r"^left must be below crest, found 400\.0$"):
        largest_bleeder(capacitance=1e-6, crest=325.0, left=400.0)
