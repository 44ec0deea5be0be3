import pytest

from pattress.stock import devices


# docs/sources.md, E16 and E18.
def test_bands_are_those_of_iec_60898_1():
    c, b, d = (devices.instantaneous_band(curve) for curve in "CBD")
    assert (16 * c.none, 16 * c.sure) == (80.0, 160.0)
    assert (10 * b.none, 10 * b.sure) == (30.0, 50.0)
    assert (d.none, d.sure) == (10.0, 20.0)


# docs/sources.md, E17 and E18.
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


# The table is from memory; here beside the currents for 0.4 s that the manual of a loop tester prints (KT64, p. 25), which
# must be somewhat less.
@pytest.mark.parametrize("rating, in_four_tenths", [
    (6, 47), (10, 82), (16, 110), (20, 147), (25, 183), (32, 275), (40, 320), (50, 470), (63, 550), (80, 840), (100, 1020)])
def test_a_fuse_link_takes_more_to_melt_in_a_tenth_of_a_second_than_in_four(rating, in_four_tenths):
    assert in_four_tenths * 1.2 < devices.melts_at_once(rating)[0] < in_four_tenths * 1.6


def test_melting_at_once_between_and_beyond_the_printed_ratings():
    assert devices.melts_at_once(13.0)[0] == 150.0
    assert devices.melts_at_once(250.0)[0] == pytest.approx(2 * 1910.0)
    currents = [devices.melts_at_once(rating)[0] for rating in devices.ratings()]
    assert currents == sorted(currents)


def test_a_larger_fuse_link_needs_more_to_melt():
    integrals = [devices.least_melting_integral(rating)[0] for rating in devices.ratings()]
    assert integrals == sorted(integrals)
    assert devices.least_melting_integral(16.0)[0] == 300.0
