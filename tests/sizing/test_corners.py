"""The corner a finding names is the worst there is: nothing inside the tolerances goes beyond it.

Every question here is monotonic in each of its tolerances, so the corner is exact; these draws
would find a sign that was taken the wrong way.
"""

from hypothesis import given
from hypothesis import strategies as st

from pattress.sizing.conductors import largest_drop, voltage_drop
from pattress.sizing.demand import demands, steady_current
from pattress.sizing.discharge import largest_bleeder, voltage_left
from pattress.sizing.drive import (
    COIL_RISE,
    RAIL,
    drop,
    hot_operate_voltage,
    largest_pull_down,
    pulled_level,
)
from pattress.sizing.drive import (
    findings as drive,
)
from pattress.sizing.mains import Mains, mains_of
from pattress.sizing.protection import fault_current
from pattress.sizing.sensing import coupled_voltage, idle_level
from pattress.sizing.sensing import findings as sensing
from pattress.sizing.supply import budget
from pattress.sizing.supply import findings as supply

from .invented import PARTS, by_id, choose, load_text, make_job

SHARE = st.floats(-1.0, 1.0)
ROUNDING = 1 + 1e-9


@given(inside=SHARE, kind=st.sampled_from(["resistive heater", "tungsten lamp", "LED driver", "motor", "solenoid"]))
def test_no_mains_voltage_inside_the_tolerance_draws_more(inside, kind):
    job = make_job(load_text(kind=kind, power="500 W", power_factor=0.8))
    demand, mains = demands(job)["pendant"], mains_of(job)
    voltage = mains.voltage * (1 + mains.tolerance * inside)
    if demand.behaviour.follows == "up":            # a resistance stays
        drawn = voltage / (mains.voltage / demand.nominal)
    else:                                           # the power stays
        drawn = steady_current(power=500.0, voltage=voltage, power_factor=0.8)
    assert drawn <= demand.worst * ROUNDING


@given(rail=SHARE, resistance=SHARE, warmth=st.floats(0.0, 1.0))
def test_no_rail_coil_or_warmth_inside_leaves_less_to_pull_in(rail, resistance, warmth):
    job = make_job(load_text(relay="RT314005"))
    chosen = choose(job)
    found = by_id(drive(job, chosen))["drive.pendant"]
    relay, driver = PARTS["RT314005"], chosen.driver.part
    volts = RAIL * (1 + 0.05 * rail)
    current = volts / (relay.value("coil_resistance") * (1 + 0.1 * resistance))
    temperature = 30 + warmth * (20 + COIL_RISE * relay.value("coil_voltage") ** 2 / relay.value("coil_resistance"))
    needed = hot_operate_voltage(operate_voltage=relay.value("operate_voltage"), temperature=temperature)
    assert volts - drop(driver, current) >= found.value.value / ROUNDING
    assert needed <= found.limit.value * ROUNDING


@given(rail=st.floats(0.96, 1.04), resistance=SHARE, count=st.integers(1, 8))
def test_no_coil_inside_its_tolerance_draws_more_than_the_budget(rail, resistance, count):
    job = make_job(*(load_text(f"l{i}", relay="RT314005") for i in range(count)))
    chosen = choose(job)
    drawn = count * RAIL * rail / (62.0 * (1 + 0.1 * resistance))
    assert drawn <= budget(job, chosen, RAIL * 1.04)[0].current * ROUNDING
    assert by_id(supply(job, chosen))["supply.controller"].nominal.value <= by_id(supply(job, chosen))["supply.controller"].value.value


@given(inside=SHARE, share=st.floats(0.0, 1.0), pull=st.floats(0.9, 1.0))
def test_no_mains_or_share_of_the_cable_couples_more(inside, share, pull):
    switch = '[switch.door]\nname = "Door"\nkind = "latching"\ndoes = "toggle pendant"\ncable = "15 m"\n'
    job = make_job(rest=switch)
    found = by_id(sensing(job, choose(job)))["sensing.switch_door"]
    ohms = next(i.figure.value for i in found.inputs if i.name == "pull-up")
    coupled = coupled_voltage(voltage=230.0 * (1 + 0.1 * inside), frequency=50.0, capacitance=1.5e-9 * share, resistance=ohms * pull)
    assert idle_level(supply=3.3, coupled=coupled) >= found.value.value / ROUNDING


@given(capacitance=SHARE, resistor=SHARE, inside=SHARE, value=st.sampled_from([1e-6, 2.2e-6, 3.3e-6, 4.7e-6]))
def test_no_capacitor_or_bleed_inside_leaves_more_after_a_second(capacitance, resistor, inside, value):
    crest = Mains(230.0, 50.0).crest
    bleeder = largest_bleeder(capacitance=value, crest=crest, capacitor_tolerance=0.05, bleeder_tolerance=0.05)
    left = voltage_left(start=crest * (1 + 0.1 * inside) / 1.1, time=1.0, resistance=bleeder * (1 + 0.05 * resistor),
                        capacitance=value * (1 + 0.05 * capacitance))
    assert left <= 34.0 * ROUNDING


@given(pull_up=st.floats(27e3, 1e6))
def test_no_weaker_pull_up_lifts_the_input_more(pull_up):
    down = largest_pull_down(supply=3.3, pull_up=27e3, allowed=0.4)
    assert pulled_level(supply=3.3, pull_up=pull_up, pull_down=down) <= 0.4 * ROUNDING


@given(factor=st.floats(0.05, 1.0), current=st.floats(0.01, 30))
def test_no_power_factor_loses_more(factor, current):
    most = largest_drop(current=current, length=30.0, section=4e-6)
    assert voltage_drop(current=current, length=30.0, section=4e-6, power_factor=factor) <= most * ROUNDING
    assert most <= voltage_drop(current=current, length=30.0, section=4e-6) * 1.001


@given(cold=st.floats(0.7, 1.0))
def test_a_cooler_cable_never_lets_a_fault_trip_later(cold):
    hot = fault_current(voltage=0.95 * 230, outside=0.3, resistance=1.0)
    assert fault_current(voltage=0.95 * 230, outside=0.3, resistance=cold) >= hot
