import pytest
from hypothesis import given
from hypothesis import strategies as st

from pattress.finding import Figure
from pattress.sizing.demand import corner_factor, demands, least_impedance, steady_current, together
from pattress.stock.loads import behaviour
from tests.stock.inrush_rows import inrush_rows

from .invented import fan_text, load_text, make_job


# docs/sources.md, E07, E09, E11 and E13: steady currents by P = U I cos phi.
@pytest.mark.parametrize(("asked", "printed"), [
    (dict(power=500.0, voltage=230.0), 2.174), (dict(power=75.0, voltage=230.0, power_factor=0.9), 0.3623),
    (dict(power=2300.0, voltage=230.0), 10.0), (dict(power=9.0, count=10, voltage=230.0, power_factor=0.5), 0.7826),
])
def test_steady_currents(asked, printed):
    assert steady_current(**asked) == pytest.approx(printed, rel=5e-4)


# docs/sources.md, E20: 42 luminaires of 75 W, driver efficiency 0.87, on 16 A.
def test_count_by_steady_current():
    one = steady_current(power=75.0 / 0.87, voltage=230.0)
    assert 16.0 / one == pytest.approx(42.69, abs=0.005)
    assert steady_current(power=75.0 / 0.87, count=42, voltage=230.0) <= 16.0 < steady_current(power=75.0 / 0.87, count=43, voltage=230.0)


# docs/sources.md, E11: heater current rises with the mains, 10 A becomes 11 A at 253 V.
def test_a_heater_draws_more_when_the_mains_is_high():
    assert 10.0 * corner_factor(follows="up", tolerance=0.10) == pytest.approx(11.0)


def test_a_driver_draws_more_when_the_mains_is_low():
    demand = demands(make_job(load_text(power="9 W", count=4, power_factor=0.9)))["pendant"]
    assert demand.nominal == pytest.approx(36 / 230 / 0.9)
    assert demand.worst == pytest.approx(36 / 207 / 0.9)
    assert demand.corner == "mains 10 % low, 207 V"


def test_unknown_power_factor_is_named_with_what_would_settle_it():
    demand = demands(make_job(load_text(power="9 W")))["pendant"]
    (assumption,) = demand.assumptions
    assert demand.power_factor == 0.5
    assert assumption.key == "load.pendant.power_factor"
    assert assumption.taken == "0.5"
    assert assumption.why == "the job does not say; of the kind LED driver some are as low"
    assert assumption.measure == "watts and volt-amperes with a plug-in meter, or the type plate"


def test_unknown_inrush_is_the_worst_credible_and_says_so():
    surge = demands(make_job(load_text(power="9 W", count=10), fault="unknown"))["pendant"].inrush
    assert (surge.least, surge.most) == (pytest.approx(30.0), pytest.approx(250.0))
    assert surge.worst == pytest.approx(250.0 * 1.1)
    assert surge.assumptions[0].taken == "25 A of one, the largest published for one of up to 15 W, for 800 us"
    assert surge.assumptions[0].measure == (
        'the line "inrush current" of the data sheet: its peak, and its width at half height, often called T50; '
        "or a current clamp with peak hold over ten switchings")


# docs/sources.md, I04: ten lamps of 25 A behind three impedances, and 24 of them behind 0.5 ohm.
@pytest.mark.parametrize("count, impedance, expected", [(10, 0.2, 219.6), (10, 0.5, 185.7), (10, 1.0, 147.7), (24, 0.5, 318.0), (1, 5.0, 25.0), (10, 0.0, 250.0)])
def test_the_mains_limits_what_many_lamps_draw_together(count, impedance, expected):
    assert together(peak=25.0, count=count, impedance=impedance, crest=325.0) == pytest.approx(expected, abs=0.5)


@given(peak=st.floats(0, 1e3), count=st.integers(1, 200), impedance=st.floats(0, 10))
def test_together_never_exceeds_the_plain_sum_nor_what_the_mains_gives(peak, count, impedance):
    found = together(peak=peak, count=count, impedance=impedance, crest=325.0)
    least = min(peak, 325.0 / impedance) if impedance else peak
    assert least * (1 - 1e-9) <= found <= count * peak * (1 + 1e-9)
    if impedance and count > 1:
        assert found <= count / (count - 1) * 325.0 / impedance * (1 + 1e-9)


# 230 V / 1 kA leaves 0.23 ohm at the least; a loop read as 0.25 ohm may be of another pair of conductors: the lesser counts.
@pytest.mark.parametrize("stated, expected", [(dict(fault="1000 A", loop="0.25 ohm"), 0.23), (dict(fault="unknown", loop="0.25 ohm"), 0.25), (dict(fault="unknown"), 0.0)])
def test_only_a_known_mains_lowers_an_inrush(stated, expected):
    assert least_impedance(make_job(**stated)) == pytest.approx(expected)


# Published rows, one unit each: power [W], mains [V], peak [A]. Sheets of SAL, LEDVANCE, Recom, Tridonic, Ltech, Samsung, Mean Well, Moons
# and others, read in excerpts; the two largest are second-hand. docs/credible.md has them with their titles.
@pytest.mark.parametrize("row", inrush_rows(), ids=lambda row: row.product)
def test_what_is_taken_for_a_lamp_covers_every_published_row(row):
    lamp = behaviour("LED driver").surge(power=row.power, current=row.power / row.voltage / 0.5, voltage=row.voltage)
    assert lamp.least <= row.peak <= lamp.most


def test_known_inrush_counts_for_every_lamp():
    surge = demands(make_job(load_text(count=3, inrush='{ peak = "20 A", duration = "250 us" }'), fault="unknown"))["pendant"].inrush
    assert (surge.least, surge.most, surge.duration, surge.known) == (60.0, 60.0, 250e-6, True)
    assert surge.assumptions == ()


def test_a_fan_behaves_as_its_motor():
    fan = demands(make_job(fan_text()))["ceiling"]
    assert fan.subject == "fan.ceiling"
    assert fan.nominal == pytest.approx(0.3623, abs=1e-4)
    assert fan.behaviour.breaking == "motor"
    assert demands(make_job(fan_text(motor="electronically commutated", steps=1)))["ceiling"].behaviour.breaking == "resistive"


def test_inputs_name_their_keys():
    origins = {i.name: (i.figure, i.origin) for i in demands(make_job())["pendant"].inputs}
    assert origins["power of one"] == (Figure(9.0, "W"), "load.pendant.power")
    assert origins["mains voltage"] == (Figure(230.0, "V"), "supply.system")


@given(power=st.floats(0, 1e5), more=st.floats(0, 1e5), factor=st.floats(0.01, 1), voltage=st.floats(90, 260))
def test_more_power_never_draws_less(power, more, factor, voltage):
    low = steady_current(power=power, voltage=voltage, power_factor=factor)
    assert steady_current(power=power + more, voltage=voltage, power_factor=factor) >= low >= 0


def test_errors_name_quantity_and_value():
    with pytest.raises(ValueError, match=r"^power must be zero or more and finite, found -1\.0$"):
        steady_current(power=-1.0, voltage=230.0)
    with pytest.raises(ValueError, match=r"^power_factor must be above 0 and at most 1, found 0\.0$"):
        steady_current(power=1.0, voltage=230.0, power_factor=0.0)
