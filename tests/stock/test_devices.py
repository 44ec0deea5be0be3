import pytest

from pattress.stock import devices


# E16 and E18 of the reference (IEC 60898-1).
def test_bands_are_those_of_iec_60898_1():
    c, b, d = (devices.instantaneous_band(curve) for curve in "CBD")
    assert (16 * c.none, 16 * c.sure) == (80.0, 160.0)
    assert (10 * b.none, 10 * b.sure) == (30.0, 50.0)
    assert (d.none, d.sure) == (10.0, 20.0)


# E17 and E18.
def test_conventional_currents_are_those_of_iec_60898_1():
    thermal = devices.conventional_currents(curve="C", rating=16.0)
    assert 16 * thermal.none == pytest.approx(18.08)
    assert 16 * thermal.sure == pytest.approx(23.2)
    assert 10 * devices.conventional_currents(curve="B", rating=10.0).sure == pytest.approx(14.5)


def test_a_small_fuse_link_takes_more_to_melt():
    assert devices.conventional_currents(curve="gG", rating=4.0).sure == 2.1
    assert devices.conventional_currents(curve="gG", rating=10.0).sure == 1.9
    assert devices.conventional_currents(curve="gG", rating=16.0).sure == 1.6


# An electricians' forum prints the 10 kA line of class 3: type B 70 000, type C 84 000 A²s.
def test_let_through_of_class_3():
    assert devices.let_through(curve="B", rating=16.0, fault_current=10e3)[0] == 70e3
    assert devices.let_through(curve="C", rating=16.0, fault_current=10e3)[0] == 84e3
    assert devices.let_through(curve="B", rating=10.0, fault_current=5e3)[0] == 35e3
    assert devices.let_through(curve="B", rating=40.0, fault_current=5e3) is None
    assert devices.let_through(curve="C", rating=10.0, fault_current=11e3) is None


def test_let_through_of_fuse_links():
    assert devices.let_through(curve="gG", rating=16.0, fault_current=6e3)[0] == 2000.0
    assert devices.let_through(curve="gG", rating=6.0, fault_current=6e3)[0] == 2000.0      # no less is known
    assert devices.let_through(curve="gG", rating=80.0, fault_current=6e3) is None


def test_a_larger_fuse_link_needs_more_to_melt():
    integrals = [devices.least_melting_integral(rating)[0] for rating in devices.ratings()]
    assert integrals == sorted(integrals)
    assert devices.least_melting_integral(16.0)[0] == 300.0
