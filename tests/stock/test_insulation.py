import pytest

from pattress.stock import insulation


# The chart of rated impulse voltages (IEC 60664-1), rows of 150, 300 and 600 V.
@pytest.mark.parametrize(("voltage", "printed"), [
    (120.0, (800, 1500, 2500, 4000)), (150.0, (800, 1500, 2500, 4000)), (230.0, (1500, 2500, 4000, 6000)),
    (400.0, (2500, 4000, 6000, 8000)),
])
def test_rated_impulse_voltages(voltage, printed):
    assert tuple(insulation.rated_impulse(voltage=voltage, category=c)[0] for c in ("I", "II", "III", "IV")) == printed


def test_clearances_by_impulse_and_one_step_up():
    assert insulation.least_clearance(impulse=2500.0)[0] == pytest.approx(1.5e-3)
    assert insulation.least_clearance(impulse=2500.0, steps_up=1)[0] == pytest.approx(3.0e-3)
    assert insulation.least_clearance(impulse=4000.0, steps_up=1)[0] == pytest.approx(5.5e-3)


# Rows of EN 60664-1 table F.4 as a maker's catalogue prints them.
@pytest.mark.parametrize(("voltage", "degree", "group", "printed"), [
    (230.0, 2, "III", 2.5), (120.0, 2, "III", 1.5), (400.0, 2, "III", 4.0), (250.0, 3, "II", 3.6), (50.0, 2, "I", 0.6),
])
def test_creepages(voltage, degree, group, printed):
    assert insulation.least_creepage(voltage=voltage, degree=degree, group=group)[0] == pytest.approx(printed * 1e-3)


def test_altitude_factors():
    assert insulation.altitude_factor(500.0)[0] == 1.0
    assert insulation.altitude_factor(4000.0)[0] == 1.29
    assert insulation.altitude_factor(3500.0)[0] == pytest.approx(1.215)


# IEC 60364-6 table 6.1.
def test_dead_tests():
    assert insulation.dead_test(voltage=12.0)[:2] == (250.0, 0.5e6)
    assert insulation.dead_test(voltage=230.0)[:2] == (500.0, 1.0e6)


def test_beyond_the_tables_is_refused():
    with pytest.raises(ValueError, match=r"^voltage must be at most 400 V for this table, found 690\.0$"):
        insulation.least_creepage(voltage=690.0)
