import pytest
from hypothesis import given
from hypothesis import strategies as st

from pattress.finding import Figure, Verdict
from pattress.sizing.sensing import (
    collector_current,
    coupled_voltage,
    detection_gap,
    findings,
    idle_level,
    largest_pull_up,
    least_collector_pull_up,
    mains_sensing_power,
    rise_time,
)
from pattress.stock.preferred import value_above

from .invented import PARTS, by_id, choose, make_job

MAINS = dict(voltage=230.0, frequency=50.0)
SWITCH = '[switch.door]\nname = "Door"\nkind = "latching"\ndoes = "toggle pendant"\ncable = "{cable}"\n'


def answers(cable="4 m", **changed):
    job = make_job(**changed | {"rest": SWITCH.format(cable=cable)})
    return by_id(findings(job, choose(job)))


# docs/sources.md, E98: 20 m against three pull-ups.
@pytest.mark.parametrize(("resistance", "printed"), [(47e3, 6.789), (10e3, 1.445), (4.7e3, 0.6792)])
def test_volts_coupled_onto_a_pull_up(resistance, printed):
    assert coupled_voltage(**MAINS, capacitance=2e-9, resistance=resistance) == pytest.approx(printed, rel=1e-3)


# docs/sources.md, E99: lowest idle level with 4.7 kohm and with 2.2 kohm; the input wants 2.475 V.
def test_idle_levels():
    levels = [idle_level(supply=3.3, coupled=coupled_voltage(**MAINS, capacitance=2e-9, resistance=r)) for r in (4.7e3, 2.2e3)]
    assert levels == pytest.approx([2.339, 2.85], abs=0.001)
    assert levels[0] < 2.475 < levels[1]


# docs/sources.md, E100: a dead wire of 10 m read with a 10 Mohm and with a 3 kohm meter.
def test_a_dead_wire_reads_alive():
    read = [coupled_voltage(**MAINS, capacitance=1e-9, resistance=r) for r in (10e6, 3e3)]
    assert read == pytest.approx([219.2, 0.2168], rel=1e-3)


# docs/sources.md, E73 to E75: optocoupler PC817, rank A and unranked, allowances 0.5 x 0.8.
def test_optocoupler_outputs():
    ranked = PARTS["PC817A"].value("transfer_least")
    current = collector_current(led_current=5e-3, transfer=ranked)
    assert current * 1e3 == pytest.approx(1.6)
    least = least_collector_pull_up(supply=3.3, saturation=0.2, current=current)
    assert least == pytest.approx(1938.0, abs=0.51)
    assert value_above(least) == 2000.0
    assert 10e3 / least == pytest.approx(5.161, abs=0.0005)
    unranked = collector_current(led_current=5e-3, transfer=PARTS["PC817"].value("transfer_least"))
    assert least_collector_pull_up(supply=3.3, saturation=0.2, current=unranked) == pytest.approx(3100.0)


# docs/sources.md, E77: 2 x 47 kohm at 230 V.
def test_resistors_of_mains_sensing():
    assert mains_sensing_power(voltage=230.0, resistance=94e3) == pytest.approx(0.5628, abs=5e-5)
    assert mains_sensing_power(voltage=230.0, resistance=94e3) / 2 == pytest.approx(0.2814, abs=5e-5)
    assert detection_gap(50.0) == pytest.approx(20e-3)


def test_the_largest_pull_up_is_where_the_level_just_holds():
    most = largest_pull_up(supply=3.3, high_least=2.475, **MAINS, capacitance=2e-9)
    level = idle_level(supply=3.3, coupled=coupled_voltage(**MAINS, capacitance=2e-9, resistance=most))
    assert level == pytest.approx(2.475)
    assert largest_pull_up(supply=3.3, high_least=2.475, **MAINS, capacitance=0.0) == float("inf")


def test_a_short_cable_is_read_and_the_pins_own_pull_may_not_do():
    found = answers("20 m", board="esp32")["sensing.switch_door"]
    assert found.verdict is not Verdict.FAILS
    assert found.detail == ("Pull-up 2.2 kohm to 3.3 V and 100 ohm in series. "
                            "The pin's own pull of 45 kohm alone would read 0 V: too weak.")


def test_a_very_long_cable_fails_and_says_how_far_it_reaches():
    found = answers("120 m", board="esp32")["sensing.switch_door"]
    assert found.verdict is Verdict.FAILS
    assert found.change[0].startswith("at most 73.4 m of cable beside mains, a screened cable")


def test_an_input_is_asked_what_a_switch_is_asked():
    job = make_job(rest='[switch.door]\nname = "Well"\nkind = "latching"\ndoes = "toggle pendant"\ncable = "40 m"\n\n[input.well]\nname = "Well"\nkind = "float"\ncable = "40 m"\n')
    found = by_id(findings(job, choose(job)))
    assert set(found) == {f"{question}.{thing}" for question in ("sensing", "wetting") for thing in ("switch_door", "input_well")}
    assert found["sensing.input_well"].question == "Does the open contact Well read as open with mains in the same wall?"
    assert found["sensing.switch_door"].question == "Does the open switch Well read as open with mains in the same wall?"
    assert found["sensing.input_well"].subject == "input.well.cable" and found["wetting.input_well"].subject == "input.well"
    for question in ("sensing", "wetting"):
        switch, contact = found[f"{question}.switch_door"], found[f"{question}.input_well"]
        assert (switch.value, switch.limit, switch.verdict, switch.detail) == (contact.value, contact.limit, contact.verdict, contact.detail)


def test_contacts_are_wetted_and_read_low():
    found = answers()["wetting.switch_door"]
    assert found.value == Figure(pytest.approx(3.3 / 2300), "A")
    assert found.verdict is Verdict.HOLDS
    assert found.detail == "It then reads 143 mV, low is below 800 mV."


@given(resistance=st.floats(0, 1e7), more=st.floats(0, 1e7), length=st.floats(0, 500))
def test_a_weaker_pull_never_couples_less(resistance, more, length):
    weak = coupled_voltage(**MAINS, capacitance=length * 1e-10, resistance=resistance + more)
    strong = coupled_voltage(**MAINS, capacitance=length * 1e-10, resistance=resistance)
    assert 0.0 <= strong <= weak * (1 + 1e-12) <= 230.0 * (1 + 1e-9)


def test_errors():
    with pytest.raises(ValueError, match=r"^level must be above 0 and below supply, found 3\.3$"):
        rise_time(resistance=1e3, capacitance=1e-9, supply=3.3, level=3.3)
    with pytest.raises(ValueError, match=r"^high_least must be below supply, found 3\.3$"):
        largest_pull_up(supply=3.3, high_least=3.3, **MAINS, capacitance=1e-9)
