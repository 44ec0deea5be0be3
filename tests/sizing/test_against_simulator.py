"""The same circuits in a general circuit simulator (ngspice): it knows none of our formulas."""

import pytest

from pattress.fan.switching import bleed_resistor
from pattress.sizing.holdup import bulk_capacitance
from pattress.sizing.sensing import coupled_voltage, rise_time
from pattress.sizing.suppression import closing_discharge, leakage
from tests.simulator import simulate


def test_a_snubber_leaks_as_much():
    measured = simulate("""100 nF and 47 ohm across an open contact
V1 in 0 dc 0 ac 230
C1 in mid 100n
R1 mid 0 47
.ac lin 3 49 51
.save v(mid)
.meas ac leaks find vm(mid) at=50
.end
""")
    assert leakage(capacitance=100e-9, voltage=230.0, frequency=50.0) == pytest.approx(measured["leaks"] / 47.0, rel=0.001)


def test_a_closing_contact_sees_the_same_peak():
    measured = simulate(f"""charged snubber capacitor meets its own resistor
C1 top 0 100n ic={230.0 * 2 ** 0.5}
R1 top 0 47
.tran 10n 10u uic
.meas tran peak max v(top)
.end
""")
    assert closing_discharge(voltage=230.0, resistance=47.0) == pytest.approx(measured["peak"] / 47.0, rel=0.001)


@pytest.mark.parametrize("pull", [2.2e3, 47e3])
def test_mains_couples_onto_a_wire_as_much(pull):
    measured = simulate(f"""20 m of cable beside mains
V1 live 0 dc 0 ac 230
C1 live wire 2n
R1 wire 0 {pull}
.ac lin 3 49 51
.save v(wire)
.meas ac volts find vm(wire) at=50
.end
""")
    ours = coupled_voltage(voltage=230.0, frequency=50.0, capacitance=2e-9, resistance=pull)
    assert ours == pytest.approx(measured["volts"], rel=0.001)


def test_a_line_rises_as_fast():
    measured = simulate("""pull-up on 20 m of sensor cable
V1 up 0 3.3
R1 up line 5.1k
C1 line 0 2n ic=0
.tran 10n 60u uic
.meas tran up_again when v(line)=2.475 rise=1
.end
""")
    assert rise_time(resistance=5.1e3, capacitance=2e-9, supply=3.3, level=2.475) == pytest.approx(measured["up_again"], rel=0.002)


def test_a_bleed_with_both_parts_at_their_high_limit_reaches_34_volts_when_we_say():
    bleed = bleed_resistor(capacitance=2.2e-6, voltage=253.0)
    measured = simulate(f"""worst bleed
C1 top 0 {2.2e-6 * 1.05} ic={253.0 * 2 ** 0.5}
R1 top 0 {bleed.resistance * 1.05}
.tran 1m 1.2 uic
.meas tran reached when v(top)=34 fall=1
.end
""")
    assert bleed.time == pytest.approx(measured["reached"], rel=0.001)
    assert bleed.time <= 1.0


def test_a_bulk_capacitor_sags_as_far():
    measured = simulate("""0.3 A for 1 ms from 470 uF
C1 rail 0 470u ic=5
I1 rail 0 0.3
.tran 1u 1.1m uic
.meas tran rail_then find v(rail) at=1m
.end
""")
    assert bulk_capacitance(current=0.3, time=1e-3, dip=5.0 - measured["rail_then"]) == pytest.approx(470e-6, rel=0.001)
