from dataclasses import replace
from math import exp, pi, sin, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pattress.finding import Verdict
from pattress.sizing.feedback import (
    BLEED,
    PULL_UP,
    SETTLE,
    WAKES,
    circuit,
    diode_for,
    findings,
    hold_capacitor,
    led_current,
    mean_half_wave,
    optocoupler,
    series_resistor,
)
from pattress.sizing.mains import Mains, mains_of
from pattress.stock.parts import Parts
from pattress.stock.record import Rating

from .invented import BOARDS, PARTS, by_id, choose, fan_text, load_text, make_job

HEATER = dict(key="heater", kind="resistive heater", power="1 kW")
STEPS = 20_000       # of a cycle, counted out


def answers(*things, parts=PARTS, **changed):
    job = make_job(*things, **changed)
    return by_id(findings(job, parts, choose(job)))


def test_mean_of_half_waves_is_that_of_a_cycle_counted_out():
    """The mean over a whole cycle of sqrt2 U sin wt / R where it is above 0, summed."""
    counted = sum(max(0.0, sqrt(2) * 230.0 * sin(2 * pi * step / STEPS) / 86e3) for step in range(STEPS)) / STEPS
    assert mean_half_wave(voltage=230.0, resistance=86e3) == pytest.approx(counted, rel=1e-6)


# On paper: 207 V, sqrt2 207 / (pi 1 mA) / 2 = 46.6 kohm, E24 below: 43 kohm. 114 V: 25.7 kohm, 24 kohm.
@pytest.mark.parametrize(("mains", "resistor"), [(Mains(230.0, 50.0, 0.10), 43e3), (Mains(120.0, 60.0, 0.05), 24e3)])
def test_series_resistors_worked_on_paper(mains, resistor):
    assert series_resistor(mains) == resistor


def test_live_line_worked_on_paper():
    """86 kohm at 207 V: 1.0835 mA mean, less 1.2 V / 86 kohm / 2 = 0.0070 mA and 1.2 V / 4.7 kohm / 2 = 0.1277 mA: 0.9489 mA.

    x 0.8 x 0.5 x 0.5 x 0.8 = 151.8 uA; 3.1 V / 47 kohm = 66 uA. At 230 V 1.2039 - 0.1346 = 1.0693 mA, new and cool x 0.4 = 427.7 uA.
    """
    finding = answers(load_text(**HEATER, feedback="mains"))["feedback.heater"]
    assert finding.value.value == pytest.approx(151.8e-6, abs=0.05e-6) and finding.limit.value == pytest.approx(66e-6, abs=0.1e-6)
    assert finding.nominal.value == pytest.approx(427.7e-6, abs=0.05e-6)
    assert finding.verdict is Verdict.HOLDS


@pytest.mark.parametrize(("voltage", "resistance"), [(207.0, 86e3), (108.0, 48e3), (253.0, 86e3)])
def test_the_diode_current_is_that_of_a_cycle_counted_out(voltage, resistance):
    """(u - 1.2 V) / R - 1.2 V / 4.7 kohm, where it is above 0, summed over a cycle."""
    counted = sum(max(0.0, (sqrt(2) * voltage * sin(2 * pi * step / STEPS) - 1.2) / resistance - 1.2 / 4.7e3) for step in range(STEPS)) / STEPS
    assert led_current(voltage, resistance, 1.2) == pytest.approx(counted, rel=0.01)
    assert led_current(voltage, resistance, 1.2) <= counted


@given(st.sampled_from(sorted(BOARDS)), st.sampled_from([50.0, 60.0]), st.floats(0.8, 1.2))
def test_input_stays_low_from_crest_to_crest_and_is_high_before_it_is_believed(board, frequency, tolerance):
    """Charged step by step over a whole cycle through the pull-up, the input is still low; in the settling time it is high."""
    board, mains = BOARDS[board], Mains(230.0, frequency)
    capacitor, low, high = hold_capacitor(board, mains, 0.2) * tolerance, board.figures["input_low_most"].value or 0.825, board.figures["input_high_least"].value or 2.475

    def level(time):
        return 3.3 - 3.1 * exp(-time / (PULL_UP * capacitor))

    assert level(1 / frequency) <= low
    assert level(SETTLE - 0.02) >= high


def test_the_diode_bears_the_half_cycle_it_takes():
    """Crest of 253 V through 86 kohm: 357.8 V / 86 kohm = 4.16 mA; in its own half cycle the light-emitting diode leaves it 1.4 V."""
    found = circuit(PARTS, BOARDS["rp2040-wifi"], Mains(230.0, 50.0, 0.10)).diode
    assert found.designation == "1N4148"
    assert found.value("forward_current") >= 2 * 4.16e-3 and found.value("reverse_voltage") >= 2 * 1.4
    assert diode_for(PARTS, crest=0.076, voltage=1.4) is None         # 150 mA twice over
    assert diode_for(PARTS, crest=4e-3, voltage=38.0) is None         # 75 V twice over


# Pan Jit 1N4148 datasheet, rev. 0.2: 75 V at 5 uA, 150 mA mean, 500 mA below 1 s, 1 V at 10 mA.
def test_the_diode_has_the_figures_of_its_sheet():
    part = PARTS.by_designation["1N4148"]
    assert [part.value(name) for name in ("reverse_voltage", "forward_current", "surge_current", "forward_voltage_most")] == [75.0, 0.15, 0.5, 1.0]
    assert part.input("forward_current").source.read


def test_open_contact_worked_on_paper():
    """No load and 7 m of cable: 700 pF at 253 V pass 55.6 uA; of 90.7 kohm that is 5.05 V, sqrt2 x 4.7 / 90.7 of it 0.370 V."""
    finding = answers(load_text(length="7 m", feedback="mains"))["feedback_leak.pendant"]
    assert finding.value.value == pytest.approx(0.370, abs=0.001) and finding.limit.value == WAKES
    assert finding.corner.endswith("no load connected") and finding.verdict is Verdict.HOLDS


def test_a_long_run_without_a_load_that_conducts_would_be_read_as_live():
    assert answers(load_text(length="40 m", feedback="mains"))["feedback_leak.pendant"].verdict is Verdict.FAILS
    assert answers(load_text(**HEATER, length="40 m", feedback="mains"))["feedback_leak.heater"].verdict is Verdict.HOLDS


def test_a_snubber_counts_and_a_motor_bridges_it():
    finding = answers(load_text("pump", kind="motor", power="200 W", power_factor=0.6, feedback="mains"))["feedback_leak.pump"]
    across = next(given.figure.value for given in finding.inputs if given.name == "across the contact")
    # 200 W at 0.6: 1.449 A, 158.7 ohm; beside 90.7 kohm 158.4 ohm. 253 V, 110.5 nF: x = 5.499e-3, 1.391 V, x sqrt2 x 4.7 / 90.7 = 0.1020 V.
    # Nominal, 230 V and 100.5 nF: x = 5.002e-3, 1.1504 V, 0.0843 V.
    assert (finding.value.value, finding.nominal.value) == (pytest.approx(0.1020, abs=5e-5), pytest.approx(0.0843, abs=5e-5))
    assert across > 50e-9 and finding.verdict is Verdict.HOLDS and "unplugged" in finding.covers_not
    # Where the power factor is not known the motor may draw as little as with 1, and bridges less: 200 W, 0.8696 A, 264.5 ohm.
    unknown = answers(load_text("pump", kind="motor", power="200 W", feedback="mains"))["feedback_leak.pump"]
    assert unknown.value.value > finding.value.value and unknown.assumptions[0].key == "load.pump.power_factor"


@pytest.mark.parametrize("system", ["230 V 50 Hz", "120 V 60 Hz", "100 V 50 Hz"])
def test_every_question_holds_on_every_mains_for_a_heater(system):
    found = answers(load_text(**HEATER, feedback="mains"), system=system)
    assert sorted(found) == [f"feedback{question}.heater" for question in ("", "_dead", "_heat", "_hold", "_leak")]
    assert {finding.verdict for finding in found.values()} <= {Verdict.HOLDS, Verdict.TIGHT}
    assert [finding.id for finding in found.values() if finding.safety] == ["feedback_heat.heater"]      # the one that can burn


def test_lowest_step_of_a_fan_is_unknown_and_the_measurement_is_named():
    finding = answers(load_text(), fan_text(feedback="mains"))["feedback.ceiling"]
    assert finding.verdict is Verdict.UNKNOWN and finding.value is None
    assert finding.assumptions[0].measure.startswith("the voltage at the fan on step 1: it must be ")


def test_what_is_said_to_be_seen_is_just_enough():
    """The voltage from which a line is seen, put into the formula again, gives just the current that is needed."""
    job = make_job(load_text(**HEATER, feedback="mains"))
    sensing, finding = circuit(PARTS, BOARDS["esp32"], mains_of(job)), answers(load_text(**HEATER, feedback="mains"))["feedback.heater"]
    seen = float(finding.detail.rpartition("from ")[2].split(" V")[0])
    current = mean_half_wave(voltage=seen, resistance=sensing.series) - 1.2 / BLEED / 2 - 1.2 / sensing.series / 2
    assert current * 0.8 * 0.5 * 0.5 * 0.8 == pytest.approx(finding.limit.value, rel=0.01)


def test_without_an_optocoupler_in_stock_nothing_is_said_to_hold():
    none = Parts({name: part for name, part in PARTS.by_designation.items() if part.kind != "optocoupler"})
    assert optocoupler(none) is None
    bare = Parts({name: part for name, part in PARTS.by_designation.items() if part.kind != "diode"})
    assert circuit(bare, BOARDS["rp2040-wifi"], Mains(230.0, 50.0)) is None
    job = make_job(load_text(**HEATER, feedback="mains"))
    found = findings(job, none, choose(job))
    assert [(one.id, one.verdict) for one in found] == [("feedback.heater", Verdict.UNKNOWN)]


def test_a_job_without_feedback_is_asked_nothing():
    assert answers(load_text(), fan_text()) == {}


# The less the transistor keeps, the more current the pull-up asks of it: (3.3 V - VCEsat) / 47 kohm.
def test_an_optocoupler_of_unknown_saturation_is_no_better_than_one_of_known():
    def live(rating):
        changed = {part.designation: replace(part, figures={**part.figures, "saturation_voltage": rating}) if part.kind == "optocoupler" else part for part in PARTS}
        return answers(load_text(**HEATER, feedback="mains"), parts=Parts(changed))["feedback.heater"]

    hidden = live(Rating(None, "", why="hidden for a test"))
    assert all(hidden.limit.value >= live(Rating(kept, "V")).limit.value for kept in (0.1, 0.2, 0.4))
    assert "saturation_voltage" in {assumption.key.rpartition(".")[2] for assumption in hidden.assumptions}
