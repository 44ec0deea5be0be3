"""Transients against a circuit simulator, against the phasors, and against a second way to integrate."""
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.linalg import expm

from pattress.fan.motor import RADIANS_PER_SECOND, steady_state
from pattress.fan.network import Branch, Regulator
from pattress.fan.transient import Circuit, resting, switched


@pytest.fixture
def circuit(example_motor, two_capacitors):
    return Circuit(motor=example_motor, regulator=two_capacitors, supply=230.0, speed=246.0 * RADIANS_PER_SECOND)


@pytest.fixture
def chain(example_motor, two_capacitors):
    regulator = Regulator(layout="series", branches=two_capacitors.branches[:2])
    return Circuit(motor=example_motor, regulator=regulator, supply=230.0, speed=200.0 * RADIANS_PER_SECOND)


@pytest.mark.parametrize("mask", [1, 2, 3, 4])
def test_steady_phasors_agree_with_the_simulator(circuit, spice, mask):
    motor = circuit.motor
    names = ["i(vm)", "i(va)", "i(vline)", "v(mot)", "v(mot)-v(a1)"]
    theirs = spice.phasors(circuit, mask, names)
    impedance = circuit.regulator.series_impedance(mask, motor.angular_frequency)
    impedance = impedance + circuit.contact / (2 if mask == 3 else 1)
    ours = steady_state(motor, slip=1 - circuit.speed / motor.synchronous_speed, supply=230.0, series_impedance=impedance)
    for mine, simulated in zip((ours.main_current, ours.auxiliary_current, ours.line_current, ours.motor_voltage,
                                ours.run_capacitor_voltage), theirs, strict=True):
        assert abs(mine - simulated) < 1e-3 * abs(simulated)


@pytest.mark.parametrize("mask", [0b001, 0b011, 0b101])
def test_steady_phasors_of_a_chain_agree_with_the_simulator(chain, spice, mask):
    simulated = spice.phasors(chain, mask, ["i(vm)", "i(va)", "i(vline)", "v(mot)"])
    state = chain.stretch(mask)
    quarter = [state.steady(phase) for phase in (0.0, -np.pi / 2)]
    for name, theirs in zip(("main", "auxiliary", "line", "motor"), simulated, strict=True):
        real, imaginary = (state.rows[name] @ z / np.sqrt(2) for z in quarter)
        assert abs(real + 1j * imaginary - theirs) < 1e-3 * abs(theirs)


@pytest.mark.parametrize("before, after, closed, step", [(1, 3, ("vk0", "vk1"), 2e-6), (1, 2, ("vk1",), 1e-5), (2, 4, ("vk2",), 1e-5)])
def test_transient_peaks_agree_with_the_simulator(circuit, spice, before, after, closed, step):
    for phase in (0.3, 2.0):
        start = circuit.stretch(before).steady(phase)
        record = switched(circuit, start=start, events=((0.0, after),), duration=0.03)
        ours = [record.peak(f"branch {name[-1]}")[0] for name in closed] + [record.peak(name)[0] for name in ("main", "motor")]
        theirs = spice.peaks(circuit, after, start=start, phase=phase, duration=0.03, step=step,
                             names=[*(f"i({name})" for name in closed), "i(vm)", "v(mot)"])
        assert ours == pytest.approx(theirs, rel=0.01)


def test_a_closing_in_mid_run_agrees_with_the_simulator(circuit, spice):
    start = circuit.stretch(1).steady(0.3)
    record = switched(circuit, start=start, events=((0.0, 1), (0.0123, 3)), duration=0.03)
    theirs = spice.peaks(circuit, 1, start=start, phase=0.3, duration=0.03, step=2e-6, closing=(1, 0.0123),
                         names=["i(vk1)", "i(vm)", "v(mot)"])
    assert [record.peak(name)[0] for name in ("branch 1", "main", "motor")] == pytest.approx(theirs, rel=0.01)


def test_a_bridge_over_a_charged_capacitor_agrees_with_the_simulator(chain, spice):
    start = chain.stretch(1).steady(0.1)
    record = switched(chain, start=start, events=((0.0, 3),), duration=0.02)
    theirs = spice.peaks(chain, 3, start=start, phase=0.1, duration=0.02, step=2e-6, names=["i(vk1)", "i(vm)"])
    assert [record.peak(name)[0] for name in ("contact 1", "main")] == pytest.approx(theirs, rel=0.01)


def test_every_stretch_settles_on_its_phasors(circuit, chain):
    for each in (circuit, chain):
        for mask in each.regulator.masks:
            stretch = each.stretch(mask)
            after = switched(each, start=stretch.steady(0.7), events=((0.0, mask),), duration=0.02).end
            assert after == pytest.approx(stretch.steady(0.7), abs=1e-6)


@pytest.mark.parametrize("mask", [0, 1, 3, 4])
def test_the_eigenvectors_give_the_matrix_exponential(circuit, mask):
    stretch, start = circuit.stretch(mask), circuit.stretch(1).steady(0.4)
    for time in (1e-6, 1e-3, 0.5):
        assert stretch.at(start, np.array([time]))[0] == pytest.approx(expm(stretch.matrix * time) @ start, rel=1e-6, abs=1e-6)


def test_two_equal_branches_are_no_special_case(circuit):
    """Equal branches give equal eigenvalues."""
    branch = Branch(capacitance=2.2e-6, resistance=4.7, bleed=470e3)
    twins = Circuit(motor=circuit.motor, regulator=Regulator(branches=(branch, branch, branch)), supply=230.0)
    for mask in (0, 1, 3, 7):
        stretch, start = twins.stretch(mask), resting(twins, phase=0.2, residuals=[100.0, -50.0, 20.0])
        assert stretch.at(start, np.array([0.004]))[0] == pytest.approx(expm(stretch.matrix * 0.004) @ start, abs=1e-6)


def test_a_stiff_solver_finds_the_same_curve(circuit):
    stretch, start = circuit.stretch(3), circuit.stretch(1).steady(0.3)
    times = np.linspace(0.0, 0.01, 40)
    other = solve_ivp(lambda _, z: stretch.matrix @ z, (0.0, 0.01), start, method="Radau", t_eval=times, rtol=1e-9, atol=1e-9)
    assert stretch.at(start, times) == pytest.approx(other.y.T, abs=1e-4)


def test_the_integral_of_the_square_is_that_of_the_curve(circuit):
    record = switched(circuit, start=circuit.stretch(1).steady(0.3), events=((0.0, 3),), duration=0.02)
    times = np.concatenate([np.linspace(0, 3e-4, 40001), np.linspace(3e-4, 0.02, 40001)[1:]])
    squares = record.read("branch 1", times) ** 2
    assert record.square_integral("branch 1") == pytest.approx(np.trapezoid(squares, times), rel=1e-5)


def test_a_contact_opens_at_a_current_zero_and_leaves_the_crest_on_the_capacitor(circuit):
    """The branch current leads its capacitor voltage by 90 degrees: at current zero the voltage is at its crest."""
    stretch = circuit.stretch(1)
    record = switched(circuit, start=stretch.steady(0.3), events=((0.0, 1), (0.003, 0)), duration=0.05)
    opened = record.pieces[-1][0]
    assert 0.003 < opened < 0.0135
    assert record.read("contact 0", np.array([opened - 1e-12]))[0] == pytest.approx(0.0, abs=1e-6)
    left = abs(record.read("capacitor 0", np.array([opened + 1e-9]))[0])
    assert left == pytest.approx(np.sqrt(2) * abs(stretch_voltage(stretch)), rel=1e-3)
    later = abs(record.read("capacitor 0", np.array([0.05]))[0])
    assert later == pytest.approx(left * np.exp(-(0.05 - opened) / (470e3 * 2.2e-6)), rel=1e-6)


def stretch_voltage(stretch):
    real, imaginary = (stretch.rows["capacitor 0"] @ stretch.steady(phase) for phase in (0.0, -np.pi / 2))
    return (real + 1j * imaginary) / np.sqrt(2)


def test_bounce_shorter_than_the_time_to_a_current_zero_interrupts_nothing(circuit):
    start = circuit.stretch(1).steady(1.8)
    plain = switched(circuit, start=start, events=((0.0, 1),), duration=0.02)
    zero = np.flatnonzero(np.diff(np.sign(plain.read("line", np.linspace(0, 0.02, 2001)))))[0] * 1e-5
    assert zero > 1e-3
    hold = switched(circuit, start=start, events=((0.0, 1), (0.3 * zero, 0), (0.6 * zero, 1)), duration=0.02)
    assert hold.end == pytest.approx(plain.end, abs=1e-9)
    cut = switched(circuit, start=start, events=((0.0, 1), (0.9 * zero, 0), (zero + 5e-4, 1)), duration=0.02)
    assert np.abs(cut.end - plain.end).max() > 1e-3


def test_an_open_auxiliary_carries_no_current(circuit):
    opened = Circuit(motor=replace(circuit.motor, auxiliary_open=True), regulator=circuit.regulator, supply=230.0)
    state = opened.stretch(1)
    assert state.rows["auxiliary"] @ state.steady(0.3) == pytest.approx(0.0, abs=1e-12)
    expected = steady_state(opened.motor, slip=1.0, supply=230.0,
                            series_impedance=0.01 + opened.regulator.series_impedance(1, 2 * np.pi * 50))
    assert state.rows["main"] @ state.steady(0.0) / np.sqrt(2) == pytest.approx(expected.main_current.real, rel=1e-9)


@pytest.mark.parametrize("act, words", [
    (lambda circuit: switched(circuit, start=np.zeros(10), events=((0.1, 1),), duration=1.0),
     "events must start at 0 and rise to below 1.0 s, found times [0.1]"),
    (lambda circuit: resting(circuit, phase=0.0, residuals=[1.0]), "residuals must be 3, one per branch, found 1"),
    (lambda circuit: replace(circuit, contact=0.0), "contact must be more than 0 and finite, found 0.0"),
    (lambda circuit: replace(circuit, motor=replace(circuit.motor, main_reactance=0.0, rotor_reactance=0.0)),
     "main_reactance and rotor_reactance must not both be 0 for a transient, found 0 and 0"),
])
def test_what_cannot_be_is_refused_by_name_and_value(circuit, act, words):
    with pytest.raises(ValueError) as caught:
        act(circuit)
    assert str(caught.value) == words
