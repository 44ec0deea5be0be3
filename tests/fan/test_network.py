"""Branches, masks and impedances of the regulator."""
import numpy as np
import pytest

from pattress.fan.network import LINK, Branch, Capacitor, Regulator, series_values

OMEGA = 2 * np.pi * 50
TWO = (Branch(capacitance=2.2e-6, resistance=2.2, bleed=470e3), Branch(capacitance=3.3e-6, resistance=2.2, bleed=470e3))


# Reactances as the trade quotes them (electro-tech-online thread 158049): 1 uF "about 3.1 kohm", 2.2 uF 1.5, 3.3 uF 1.
@pytest.mark.parametrize("capacitance, quoted", [(1.0e-6, 3183.0), (2.2e-6, 1447.0), (3.3e-6, 965.0)])
def test_reactance_at_50_hz(capacitance, quoted):
    impedance = Regulator(branches=(Branch(capacitance=capacitance),)).series_impedance(1, OMEGA)
    assert -impedance.imag == pytest.approx(quoted, abs=0.6)
    assert impedance.real == pytest.approx(0.0, abs=1e-9)


def test_parallel_masks_never_close_the_link_beside_a_capacitor():
    regulator = Regulator(branches=TWO + (LINK,))
    assert regulator.relays == 3 and regulator.masks == (1, 2, 3, 4)
    assert regulator.series_impedance(4, OMEGA) == 0.0


def test_capacitors_add_in_parallel_and_their_inverses_in_series():
    bare = tuple(Branch(capacitance=branch.capacitance) for branch in TWO)
    parallel, series = Regulator(branches=bare), Regulator(branches=bare, layout="series")
    assert -1 / (OMEGA * parallel.series_impedance(3, OMEGA).imag) == pytest.approx(5.5e-6)
    assert -1 / (OMEGA * series.series_impedance(0b001, OMEGA).imag) == pytest.approx(1.32e-6)
    assert -1 / (OMEGA * series.series_impedance(0b011, OMEGA).imag) == pytest.approx(3.3e-6)    # first is bridged
    assert series.series_impedance(0b111, OMEGA) == 0.0 and series.relays == 3


@pytest.mark.parametrize("layout", ["parallel", "series"])
def test_currents_add_up_and_voltages_agree(layout):
    regulator, mask, line = Regulator(branches=TWO, layout=layout), (3 if layout == "parallel" else 1), 0.3 + 0.1j
    phasors = regulator.capacitor_phasors(mask, line, OMEGA)
    whole = line * regulator.series_impedance(mask, OMEGA)
    over = {place: voltage + current * TWO[place].resistance for place, (current, voltage) in phasors.items()}
    if layout == "parallel":
        assert sum(current for current, _ in phasors.values()) == pytest.approx(line)
        assert all(each == pytest.approx(whole) for each in over.values())
    else:
        assert all(current == pytest.approx(line) for current, _ in phasors.values())
        assert sum(over.values()) == pytest.approx(whole)


def test_values_of_a_series():
    assert series_values("E6", low=1e-6, high=1e-5) == (1e-6, 1.5e-6, 2.2e-6, 3.3e-6, 4.7e-6, 6.8e-6, 1e-5)
    assert series_values("E12", low=4.7, high=8.2) == (4.7, 5.6, 6.8, 8.2)
    assert {2.25e-6, 2.5e-6, 3.15e-6} <= set(series_values("fan", low=1e-6, high=8.2e-6))


@pytest.mark.parametrize("act, words", [
    (lambda: Capacitor(capacitance=0.0), "capacitance must be more than 0 and finite, found 0.0"),
    (lambda: Capacitor(capacitance=1e-6, tolerance=5.0), "tolerance must be 0 to 1, found 5.0"),
    (lambda: Branch(capacitance=1e-6, bleed=0.0), "bleed must be more than 0, found 0.0"),
    (lambda: Regulator(branches=TWO, layout="ladder"), "layout must be one of parallel, series, found 'ladder'"),
    (lambda: Regulator(branches=()), "branches must hold one or more, found none"),
    (lambda: Regulator(branches=(LINK,), layout="series"), "branches of a series layout must be capacitors, found a link"),
    (lambda: Regulator(branches=TWO).series_impedance(0, OMEGA), "mask must feed the motor through one of 2 relays, found 0"),
    (lambda: Regulator(branches=TWO, layout="series").carrying(2),
     "mask must feed the motor through one of 3 relays, found 2"),
    (lambda: series_values("E7", low=1.0, high=2.0), "series must be one of E6, E12, E24, fan, found 'E7'"),
])
def test_what_cannot_be_is_refused_by_name_and_value(act, words):
    with pytest.raises(ValueError) as caught:
        act()
    assert str(caught.value) == words
