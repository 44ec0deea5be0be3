"""Decks written from the netlists of the examples, simulated, and held against what sizing prints of the same circuits.

The simulator knows none of our formulas. A figure at a corner is simulated at that corner: `scale` sets the values. Where a
ratio beyond 2 % is right, the test says why in one line.
"""

from math import log, pi, sin, sqrt

import pytest

from pattress.circuit.model import Kind
from pattress.circuit.spice.models import COIL_TIME, LAMP_CURRENT
from pattress.circuit.spice.node_names import node_of
from pattress.circuit.spice.stimulus import Capacitance, CurrentSource, Line, Resistance, Start, VoltageSource, direct, sine, small_signal, steps
from pattress.design import Design, build
from pattress.fan.design import QUIET_CURRENT
from pattress.fan.network import USUAL_TOLERANCE
from pattress.fan.switching import TOLERANCE, TOUCHABLE
from pattress.sizing import feedback, holdup
from pattress.sizing.contacts import closing
from pattress.sizing.demand import demands
from pattress.sizing.discharge import BLEEDER_TOLERANCE, CAPACITOR_TOLERANCE, TOUCH_TIME
from pattress.sizing.drive import LOGIC, coil_current_most, pin_current, rail_high, rail_low, weak_pull_up
from pattress.sizing.mains import mains_of
from pattress.sizing.sensing import AGEING, COUPLING, WARMTH, high_least
from pattress.sizing.supply import STATUS_LAMP
from pattress.stock.boards import load_boards
from pattress.stock.credible import End
from pattress.stock.parts import Parts

from .simulated import AGREED, COLD, NEUTRALS, PARTS, SEWING, WORKSHOP, agrees, bonded, example, logic, measured, ohms, printed, read, supplied, v, warned

# Coils

def coil(design: Design, key: str, rail: float, parts: Parts = PARTS) -> dict[str, float]:
    """Return current and voltage of a load's coil, cold and of the least resistance."""
    number = next(part.designator for block in design.circuit.blocks if block.name == f"channel {key}" for part in block.components if part.kind is Kind.RELAY)
    blocks = (f"channel {key}", *(block.name for block in design.circuit.blocks if block.name == "driver arrays"))
    return measured(design, blocks, supplied(rail), VoltageSource("pin", f"relay.{key}", direct(LOGIC)), Line(".tran 1m 40m"),
                    Line(f".meas tran amps find i(v.x{number.lower()}.v1) at=39m"), Line(f".meas tran left find par('{v('+5 V')}-{v(f'coil.{key}')}') at=39m"),
                    Line(".meas tran asked find i(vs_pin) at=39m"), parts=parts, scale={number: COLD})


def test_a_coil_draws_the_most_that_sizing_reckons_with():
    chosen = example(SEWING).chosen
    rail = rail_high(chosen.supply.part)
    assert coil(example(SEWING), "pendant", rail)["amps"] == agrees(coil_current_most(chosen.relays["pendant"].part, rail))


def test_a_coil_keeps_the_voltage_that_sizing_prints():
    assert coil(example(SEWING), "pendant", rail_low(example(SEWING).chosen.supply.part))["left"] == agrees(printed(example(SEWING), "drive.pendant"))


def test_a_pin_gives_what_sizing_prints():
    assert -coil(example(SEWING), "pendant", 5.0)["asked"] == agrees(printed(example(SEWING), "drive_pin.controller"))


@pytest.mark.parametrize("driver", ["BC337-40", "ULN2003LV", "ULN2003A"])
def test_other_drivers_leave_the_coil_what_sizing_prints(driver):
    parts = Parts({part.designation: part for part in PARTS if part.kind != "driver" or part.designation == driver})
    design = build(example(SEWING).job, parts, load_boards())
    found = coil(design, "pendant", rail_low(design.chosen.supply.part), parts)
    assert design.chosen.driver.part.designation == driver
    assert found["left"] == agrees(printed(design, "drive.pendant"))
    assert -found["asked"] <= pin_current(design.chosen.driver.part, design.board, found["amps"]) * (1.0 + AGREED)


def test_a_pulled_up_pin_lifts_a_gate_as_far_as_sizing_prints():
    design = example(WORKSHOP)
    found = measured(design, "channel extractor", supplied(5.0), logic(), Resistance("pull", "+3.3 V", "relay.extractor", weak_pull_up(design.board)),
                     Line(".op"), Line(".tran 1m 40m"), Line(f".meas tran gate find {v('gate.extractor')} at=39m"), Line(".meas tran amps find i(v.xk1.v1) at=39m"))
    assert found["gate"] == agrees(printed(design, "drive_reset.controller"))
    assert abs(found["amps"]) < 1e-6


def released(times: float = 1.0) -> dict[str, float]:
    """Return when a coil that is driven from 1 to 61 ms has pulled in and let go [s]; its relay is the one that the fan has, too."""
    design = example(SEWING)
    relay = design.chosen.relays["bench"].part
    assert relay is design.chosen.relays["ceiling"].part
    low = relay.value("release_voltage") / relay.value("coil_resistance")
    return measured(design, "channel bench", supplied(5.0), VoltageSource("mains", "L.lights", direct(100.0)), Resistance("load", "line.bench", "0 V", 1000.0),
                    VoltageSource("pin", "relay.bench", steps((0.0, 0.0), (1e-3, 0.0), (1.001e-3, LOGIC), (61e-3, LOGIC), (61.001e-3, 0.0))),
                    Line(".tran 20u 100m 0 20u"), Line(f".meas tran pulled when {v('line.bench')}=50 rise=1"), Line(f".meas tran opened when {v('line.bench')}=50 fall=1"),
                    Line(f".meas tran fell when i(v.xk2.v1)={low} fall=1"), Line(f".meas tran highest max {v('coil.bench')}"), coil_time=COIL_TIME * times)


def test_a_coil_with_a_diode_lets_go_as_inductance_over_resistance_says():
    """The diode sends the current around: t = L/R ln((V + VF) / (Vrelease + VF)), VF = 1 V at the 10 mA of its record, a little more at the mean current."""
    relay, drop = example(SEWING).chosen.relays["bench"].part, 1.0
    theory = COIL_TIME * log((5.0 + drop) / (relay.value("release_voltage") + drop))
    found = released()
    assert found["fell"] - 61e-3 == agrees(theory)
    assert found["opened"] - 61e-3 == agrees(theory)
    assert found["highest"] == pytest.approx(5.0 + drop, abs=0.15)


@pytest.mark.parametrize("times", [0.5, 1.0, 2.0])
def test_coils_of_2_to_8_milliseconds_let_go_within_the_time_that_sizing_gives_them(times):
    found = released(times)
    assert 0.0 < found["opened"] - 61e-3 < printed(example(SEWING), "drive_release.ceiling")
    assert found["pulled"] - 1e-3 == agrees(COIL_TIME * times * log(1.0 / (1.0 - 3.5 / 5.0)))       # the coil's current at 3.5 V, its operate voltage


# Inputs

def alongside(net: str, length: float) -> Capacitance:
    """Return what couples from mains that lies beside a cable [m]."""
    return Capacitance("beside", "L.lights", net, COUPLING * length)


def test_an_open_switch_beside_mains_reads_the_level_that_sizing_prints():
    design = example(SEWING)
    mains = mains_of(design.job)
    found = measured(design, "switch.bench", logic(), VoltageSource("mains", "L.lights", sine(rms=mains.high, frequency=mains.frequency)),
                     alongside("contact.bench", design.job.switch["bench"].cable), Line(".tran 50u 60m 20m 50u"), Line(f".meas tran lowest min {v('switch.bench')}"))
    assert found["lowest"] == agrees(printed(design, "sensing.switch_bench"))
    assert LOGIC - found["lowest"] == agrees(LOGIC - printed(design, "sensing.switch_bench"))


def test_a_closed_switch_takes_the_current_that_sizing_prints_and_reads_low():
    design = example(SEWING)
    found = measured(design, "switch.bench", logic(), Line(".tran 1m 10m"), Line(".meas tran amps find i(vs_logic) at=9m"),
                     Line(f".meas tran level find {v('switch.bench')} at=9m"), closed=frozenset({"S3"}))
    assert -found["amps"] == agrees(printed(design, "wetting.switch_bench"))
    assert found["level"] == agrees(LOGIC * ohms(design, "R521") / (ohms(design, "R521") + ohms(design, "R522")))       # as printed in the finding: "It then reads 143 mV"
    assert found["level"] < feedback.low_most(design.board)


def test_a_damp_cable_reads_open_down_to_the_leak_that_a_divider_gives():
    design = example(SEWING)
    threshold = high_least(design.board)
    leak = ohms(design, "R522") * threshold / (LOGIC - threshold) - ohms(design, "R521")
    found = measured(design, "switch.bench", logic(), Resistance("damp", "contact.bench", "0 V", leak), Line(".tran 1m 10m"), Line(f".meas tran level find {v('switch.bench')} at=9m"))
    assert found["level"] == agrees(threshold)


def test_one_contact_of_a_regulator_pulls_its_own_wire_alone():
    found = measured(example(SEWING), "regulator.wall", logic(), Line(".tran 1m 10m"), *(
        Line(f".meas tran level{place} find {v(f'regulator.wall.{place}')} at=9m") for place in (1, 2)), closed=frozenset({"S51.2"}))
    assert found["level1"] == pytest.approx(LOGIC) and found["level2"] < 0.2


def test_a_sensor_line_rises_in_the_time_that_sizing_prints():
    design = example(SEWING)
    length = design.job.sensor["room"].cable
    found = measured(design, "sensor.room", logic(), Capacitance("cable", "sensor.room", "0 V", COUPLING * length), Start("sensor.room", 0.0), Start("+3.3 V", LOGIC),
                     Line(".tran 2n 5u uic"), Line(f".meas tran up when {v('sensor.room')}={design.board.taken('input_high_least', End.MOST).value} rise=1"))
    assert found["up"] == agrees(printed(design, "sensor_line.room"))


# Line sense

def sensed(volts: float, *lines: Line, ratio: float = 1.0, capacitor: float = 1.0, until: float = 0.0) -> dict[str, float]:
    """Return what the line sense of the workshop's compressor measures at a mains voltage [V]: 24 cycles, the last 12 of them kept."""
    design = example(WORKSHOP)
    frequency = mains_of(design.job).frequency
    stop = until or 24.0 / frequency
    return measured(design, "line sense compressor", bonded("N.machines"), logic(), VoltageSource("line", "line.compressor", sine(rms=volts, frequency=frequency)),
                    Line(f".tran 20u {stop} {stop - 12.0 / frequency} 20u"), *lines, scale={"U2": ratio, "C22": capacitor})


@pytest.mark.parametrize("corner", ["low", "voltage", "high"])
def test_the_optocoupler_gets_the_mean_current_that_sizing_reckons_with(corner):
    """Sizing takes the diode's voltage for the whole half cycle, a little too much, and at 20 mA: about 1 % more flows."""
    volts = getattr(mains_of(example(WORKSHOP).job), corner)
    part = PARTS["PC817A"]
    found = sensed(volts, Line(".meas tran mean avg i(v.xu2.v1)"))
    assert found["mean"] == agrees(feedback.led_current(volts, 2.0 * ohms(example(WORKSHOP), "R24"), part.value("forward_voltage")))


def test_each_series_resistor_loses_what_sizing_prints():
    found = sensed(mains_of(example(WORKSHOP).job).high, Line(f".meas tran square rms par('{v('line.compressor')}-{v('drop.compressor')}')"))
    assert found["square"] ** 2 / ohms(example(WORKSHOP), "R24") == agrees(printed(example(WORKSHOP), "feedback_heat.compressor"))


def test_the_least_optocoupler_at_the_lowest_mains_gives_what_sizing_prints():
    """Aged, warm and at 1 mA; the mean of what it can pull, which is more than the pull-up lets it."""
    ratio = feedback.LOW_CURRENT * AGEING * WARMTH
    found = sensed(mains_of(example(WORKSHOP).job).low, Line(".meas tran mean avg i(v.xu2.v1)"), ratio=ratio)
    assert found["mean"] * PARTS["PC817A"].value("transfer_least") * ratio == agrees(printed(example(WORKSHOP), "feedback.compressor"))


@pytest.mark.parametrize("corner", ["low", "high"])
def test_the_input_stays_low_from_crest_to_crest(corner):
    """The longest that it rises is the gap of one cycle, less while the optocoupler pulls."""
    design = example(WORKSHOP)
    found = sensed(getattr(mains_of(design.job), corner), Line(f".meas tran highest max {v('feedback.compressor')}"), ratio=feedback.LOW_CURRENT * AGEING * WARMTH, capacitor=feedback.CAPACITOR_LEAST)
    kept, needed = feedback.saturation(PARTS["PC817A"]).value, 1.0 / mains_of(design.job).frequency
    reached = -ohms(design, "R27") * feedback.CAPACITOR_LEAST * design.circuit.by_designator["C22"].figure.value * log((LOGIC - found["highest"]) / (LOGIC - kept))
    assert kept < found["highest"] < feedback.low_most(design.board)
    assert 0.5 * needed < reached <= needed


def rises(capacitor: float, start: float, level: float) -> float:
    """Return how long the sense input of a dead line takes from one level to another [s]."""
    return measured(example(WORKSHOP), "line sense compressor", bonded("N.machines"), bonded_line(), logic(), Start("feedback.compressor", start), Start("+3.3 V", LOGIC),
                    Line(".tran 100u 400m uic"), Line(f".meas tran up when {v('feedback.compressor')}={level} rise=1"), scale={"C22": capacitor})["up"]


def bonded_line() -> VoltageSource:
    return VoltageSource("line", "line.compressor", direct(0.0))


def test_the_input_holds_as_long_as_sizing_prints():
    design = example(WORKSHOP)
    assert rises(feedback.CAPACITOR_LEAST, feedback.saturation(PARTS["PC817A"]).value, feedback.low_most(design.board)) == agrees(printed(design, "feedback_hold.compressor"))


def test_a_dead_line_is_seen_in_the_time_that_sizing_prints():
    design = example(WORKSHOP)
    assert feedback.RELAY + rises(2.0 - feedback.CAPACITOR_LEAST, 0.0, high_least(design.board)) == agrees(printed(design, "feedback_dead.compressor"))


def test_a_line_that_dies_in_use_is_seen_no_later_than_sizing_prints():
    """Sizing begins at 0 V and gives the relay 20 ms: here it begins above the saturation voltage, and the coil needs 5 ms."""
    design = example(WORKSHOP)
    mains = mains_of(design.job)
    time = 10.0 / mains.frequency
    found = measured(design, ("channel compressor", "line sense compressor"), bonded("N.machines"), logic(), supplied(5.0), Resistance("load", "line.compressor", "N.machines", 20.0),
                     VoltageSource("pin", "relay.compressor", steps((0.0, LOGIC), (time, LOGIC), (time + 1e-6, 0.0))),
                     VoltageSource("mains", "L.machines", sine(rms=mains.voltage, frequency=mains.frequency)), Line(".tran 50u 450m 0 50u"),
                     Line(f".meas tran dead trig at={time} targ {v('feedback.compressor')} val={high_least(design.board)} rise=last"), scale={"C22": 2.0 - feedback.CAPACITOR_LEAST})
    assert 0.85 < found["dead"] / (printed(design, "feedback_dead.compressor")) <= 1.0


def test_what_passes_an_open_contact_lifts_the_diode_as_far_as_sizing_prints():
    design = example(WORKSHOP)
    mains, load = mains_of(design.job), demands(design.job)["compressor"]
    length = design.job.load["compressor"].run.length
    found = measured(design, ("channel compressor", "line sense compressor"), bonded("N.machines"), logic(), supplied(5.0),
                     Resistance("load", "line.compressor", "N.machines", mains.voltage / load.least), Capacitance("cable", "L.machines", "line.compressor", COUPLING * length),
                     VoltageSource("mains", "L.machines", sine(rms=mains.high, frequency=mains.frequency)), Line(".tran 20u 100m 50m 20u"),
                     Line(f".meas tran peak max {v('led.compressor')}"), opened=frozenset({"K2"}), scale={"C21": 1.1})
    assert found["peak"] == agrees(printed(design, "feedback_leak.compressor"))


# Mains side

@pytest.mark.parametrize("opened", [(), ("F101",)])
@pytest.mark.parametrize("name", [SEWING, WORKSHOP])
def test_the_inlet_is_left_with_the_voltage_that_sizing_prints(name, opened):
    """With the fuse whole and blown. The varistor takes some microamperes at the crest, which sizing leaves out: a little less is left."""
    crest, neutral = mains_of(example(name).job).crest, NEUTRALS[name]
    found = measured(example(name), "mains inlet", bonded(neutral), Start("L fused", crest), Start("bleed", crest / 2.0), Start(f"L.{neutral[2:]}", crest),
                     Line(".tran 1m 1.1 uic"), Line(f".meas tran left find {v('L fused')} at={TOUCH_TIME}"),
                     opened=frozenset(opened), scale={"C1": 1.0 + CAPACITOR_TOLERANCE, "R1": 1.0 + BLEEDER_TOLERANCE, "R2": 1.0 + BLEEDER_TOLERANCE})
    assert found["left"] == agrees(printed(example(name), "discharge.controller"))


@pytest.mark.parametrize("name, block, relay, capacitor, net, line", [
    (SEWING, "channel machine", "K5", "C51", "L.sockets", "line.machine"), (SEWING, "fan ceiling", "K8", "C81", "L.lights", "line.ceiling"),
    (WORKSHOP, "channel compressor", "K2", "C21", "L.machines", "line.compressor")])
def test_a_snubber_leaks_what_sizing_prints(name, block, relay, capacitor, net, line):
    mains = mains_of(example(name).job)
    found = measured(example(name), block, VoltageSource("mains", net, small_signal(mains.high)), Resistance("load", line, "0 V", 1.0),
                     Line(f".save {v(line)}"), Line(f".ac lin 3 {mains.frequency - 1.0} {mains.frequency + 1.0}"), Line(f".meas ac amps find vm({node_of(line)}) at={mains.frequency}"),
                     opened=frozenset({relay}), scale={capacitor: 1.1})
    assert found["amps"] == agrees(printed(example(name), f"suppression.{block.split()[1]}"))


def test_a_closing_contact_takes_the_peak_that_sizing_prints():
    """The coil pulls in with the mains at its crest; the new contact's 100 milliohm is the difference."""
    design = example(SEWING)
    crest = mains_of(design.job).crest
    found = measured(design, "channel machine", supplied(5.0), VoltageSource("mains", "L.sockets", direct(crest)), Resistance("load", "line.machine", "0 V", 500.0),
                     VoltageSource("pin", "relay.machine", steps((0.0, 0.0), (10e-6, 0.0), (11e-6, LOGIC))), Line(".tran 20n 250u 0 20n"),
                     Line(f".meas tran most min par('{v('L.sockets')}-{v('snub.machine')}')"), coil_time=1e-4)
    amps = -found["most"] / ohms(design, "R53")
    detail = next(one for one in design.findings if one.id == "suppression.machine").detail
    assert f"discharges {amps:.1f} A" in detail
    assert amps == agrees(crest / ohms(design, "R53"))


@pytest.mark.parametrize("place, resistors, capacitor", [(1, ("R64", "R65"), "C61"), (2, ("R74", "R75"), "C71")])
def test_a_fan_capacitor_is_bled_in_the_time_that_the_fan_design_gives(place, resistors, capacitor):
    design = example(SEWING)
    bleed = design.results["fan_designs"]["ceiling"].bleeds[place - 1]
    crest = sqrt(2.0) * bleed.piece_voltage * bleed.pieces
    found = measured(design, "fan ceiling", bonded("line.ceiling"), Start(f"cap.ceiling.{place}", crest), Start(f"bleed.ceiling.{place}", crest / 2.0),
                     Line(".tran 0.5m 1.2 uic"), Line(f".meas tran bled when {v(f'cap.ceiling.{place}')}={TOUCHABLE} fall=1"),
                     scale={capacitor: 1.0 + USUAL_TOLERANCE, **dict.fromkeys(resistors, 1.0 + TOLERANCE)})
    assert found["bled"] == agrees(bleed.time)
    assert found["bled"] <= 1.0


def second_closing(snubber: float) -> dict[str, float]:
    """Return the peak [A] when a fan's second capacitor closes, and its current after 5 us; `snubber` scales the resistor of the snubber across the straight link.

    The first capacitor stands at the crest, the second has 34 V left at the wrong sign, both damping resistors are at their least.
    """
    design = example(SEWING)
    crest = sqrt(2.0) * design.results["fan_designs"]["ceiling"].bleeds[0].piece_voltage * 2
    across = f"par('({v('step.ceiling.2')}-{v('cap.ceiling.2')})/{(1.0 - TOLERANCE) * ohms(design, 'R73')}')"
    return measured(design, "fan ceiling", bonded("line.ceiling"), supplied(5.0), VoltageSource("pin", "relay.ceiling.2", steps((0.0, 0.0), (1e-6, 0.0), (2e-6, LOGIC))),
                    *(Start(net, crest) for net in ("cap.ceiling.1", "step.ceiling.1", "L.lights", "snub.ceiling")), Start("+5 V", 5.0), Start("bleed.ceiling.1", crest / 2.0),
                    *(Start(net, -TOUCHABLE) for net in ("cap.ceiling.2", "step.ceiling.2")), Start("bleed.ceiling.2", -TOUCHABLE / 2.0), Line(".tran 20n 60u 0 20n uic"),
                    Line(f".meas tran peak max {across}"), Line(f".meas tran quiet when {across}=10 fall=last") if snubber == 1.0 else Line(".save all"),
                    Line(f".meas tran closed when {v('step.ceiling.2')}=0 rise=1"),
                    closed=frozenset({"K6"}), scale={"R63": 1.0 - TOLERANCE, "R73": 1.0 - TOLERANCE, "R83": snubber}, coil_time=2e-5)


def test_a_second_capacitor_meets_the_first_with_the_peak_that_the_fan_design_gives():
    """Without the snubber, which the finding leaves out and says so; the contacts' 2 x 100 milliohm are the difference."""
    assert second_closing(1e6)["peak"] == agrees(printed(example(SEWING), "fan_switching.ceiling"))


def test_the_snubber_across_the_straight_link_adds_to_that_peak_for_some_microseconds():
    found, relay = second_closing(1.0), example(SEWING).chosen.relays["ceiling"].part
    assert QUIET_CURRENT < found["peak"] < closing(relay, 200e-6).value
    assert 0.0 < found["quiet"] - found["closed"] < 5e-6


# Supply

def test_the_status_lamp_takes_the_current_that_its_resistor_was_chosen_for():
    """The resistor is the next of E24 above, so that a little less flows than the pin gives, here 4 mA; the supply is reckoned with 5 mA."""
    most = example(SEWING).board.taken("pin_current", End.LEAST).value
    found = measured(example(SEWING), "status lamp", VoltageSource("pin", "status", direct(LOGIC)), Line(".tran 1m 10m"), Line(".meas tran amps find i(vs_pin) at=9m"))
    assert -found["amps"] == agrees((LOGIC - 2.0) / example(SEWING).results["fitted"].lamp)
    assert 0.9 * most < -found["amps"] <= most < STATUS_LAMP == LAMP_CURRENT


def test_the_bulk_capacitor_dips_as_far_as_sizing_allows_when_it_is_as_large_as_needed():
    design = example(SEWING)
    finding = next(one for one in design.findings if one.id == "bulk.controller")
    found = measured(design, "supply", CurrentSource("radio", "+5 V", direct(holdup.radio_step(design.job, design.board))), Start("+5 V", 5.0), Line(".tran 1u 0.4m uic"),
                     Line(f".meas tran rail find {v('+5 V')} at={holdup.REACTION}"), scale={"C2": finding.nominal.value / finding.value.value})
    assert 5.0 - found["rail"] == agrees(holdup.DIP)


def failing(**scale: float) -> float:
    """Return how long the rail lasts [s] from the warning down to the lowest that sizing lets the board run on: the mains stops after five cycles."""
    design = warned()
    start, end, drawn = rail_low(design.chosen.supply.part), read(design, "hold_up.controller", "end"), read(design, "hold_up.controller", "current")
    mains = steps(*((time * 0.5e-3, 325.0 * sin(2.0 * pi * 50.0 * time * 0.5e-3)) for time in range(200)), (0.1, 0.0))
    found = measured(design, "supply", bonded("N.lights"), VoltageSource("mains", "L fused", mains), logic(), Resistance("pull", "+3.3 V", "power_fail", 50e3),
                     CurrentSource("board", "+5 V", steps((0.0, 0.0), (50e-3, 0.0), (51e-3, drawn))), Line(".tran 0.5m 1 0 0.5m"),
                     Line(f".meas tran warned when {v('power_fail')}=1 fall=last"), Line(f".meas tran gone when {v('+5 V')}={end} fall=last"),
                     Line(f".meas tran full find {v('+5 V')} at=95m"), scale={"T1": start / 5.0, **scale})
    assert found["full"] == pytest.approx(start, rel=0.005)
    return found["gone"] - found["warned"]


def test_the_hold_up_lasts_from_the_warning_to_the_lowest_rail_as_long_as_sizing_asks():
    """The capacitor at its least value, and the bulk capacitor, which sizing leaves out, next to nothing."""
    design = warned()
    fitted = printed(design, "hold_up.controller")
    start, end, drawn = rail_low(design.chosen.supply.part), read(design, "hold_up.controller", "end"), read(design, "hold_up.controller", "current")
    needed = holdup.bulk_capacitance(current=drawn, time=holdup.LONGEST_WRITE + holdup.NOTICE_TIME, dip=start - end)
    assert failing(C2=1e-3, C3=needed / fitted) == agrees(holdup.LONGEST_WRITE + holdup.NOTICE_TIME)
    assert failing(C2=holdup.LEAST_LEFT, C3=holdup.LEAST_LEFT) > holdup.LONGEST_WRITE + holdup.NOTICE_TIME


# The whole board

def test_the_mains_brings_up_the_rail_and_a_pin_makes_a_line_live_and_seen():
    """All blocks together, supplied by the supply module itself; the second line, whose pin stays low, stays dead."""
    design = example(WORKSHOP)
    mains = mains_of(design.job)
    found = measured(design, tuple(block.name for block in design.circuit.blocks), *(bonded(net) for net in ("N.machines",)), VoltageSource("lights", "N.lights", direct(0.0)),
                     VoltageSource("mains", "L mains", sine(rms=mains.voltage, frequency=mains.frequency)), logic(), Resistance("load", "line.compressor", "N.machines", 20.0),
                     Resistance("other", "line.extractor", "N.machines", 20.0), VoltageSource("pin", "relay.compressor", steps((0.0, 0.0), (0.1, 0.0), (0.1001, LOGIC))),
                     Line(".tran 0.2m 0.4 0 0.1m"), Line(f".meas tran rail find {v('+5 V')} at=0.09"), Line(f".meas tran before find {v('feedback.compressor')} at=0.09"),
                     Line(f".meas tran after find {v('feedback.compressor')} at=0.39"), Line(f".meas tran line rms {v('line.compressor')} from=0.2 to=0.4"),
                     Line(f".meas tran other rms {v('line.extractor')} from=0.2 to=0.4"))
    assert found["rail"] == agrees(5.0) and found["line"] == agrees(mains.voltage)
    assert found["before"] > high_least(design.board) and found["after"] < feedback.low_most(design.board)
    assert found["other"] < 0.2                                     # past the snubber
