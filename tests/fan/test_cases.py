"""Single faults: what each step then does."""
import pytest

from pattress.fan.cases import fault_cases
from pattress.fan.network import Regulator

MASKS = (1, 2, 3, 4)


@pytest.fixture
def cases(example_motor, example_load, two_capacitors):
    return {(case.fault, case.place): case.steps
            for case in fault_cases(example_motor, example_load, two_capacitors, MASKS, supply=230.0)}


def rpm(steps):
    return [round(float(step.state.rpm)) for step in steps]


def test_the_sound_fan_stands_when_off_and_turns_faster_with_each_step(cases):
    steps = cases["sound", None]
    assert rpm(steps) == pytest.approx([0, 163, 247, 333, 383], abs=1)        # the worked fan
    assert [step.starts for step in steps] == [False, True, True, True, True]
    assert abs(steps[0].state.line_current) == 0.0


def test_an_open_run_capacitor_starts_nothing_and_raises_the_voltage(cases):
    """docs/sources.md, F05: about 0.3 A keeps flowing, and up to 350 V lie over a capacitor while the fan still turns."""
    steps = cases["run capacitor open", None]
    assert not any(step.starts for step in steps)
    highest = max(voltage for step in steps for voltage in step.highest_voltages.values())
    assert highest == pytest.approx(350.0, abs=5.0)
    assert abs(steps[2].state.line_current) == pytest.approx(0.3, abs=0.05)


def test_a_shorted_capacitor_runs_its_step_at_full_speed(cases):
    """The failure pattern told in a public teardown note: a shorted capacitor makes that step full speed."""
    sound = rpm(cases["sound", None])
    steps = cases["regulator capacitor shorted", 0]
    assert rpm(steps)[1] == pytest.approx(sound[4], abs=2) and rpm(steps)[2] == sound[2]
    assert steps[1].capacitor_voltages[0] < 1.0


def test_a_welded_relay_turns_the_fan_when_off(cases):
    sound = rpm(cases["sound", None])
    first = cases["relay welded", 0]
    assert rpm(first) == [sound[1], sound[1], sound[3], sound[3], pytest.approx(sound[4], abs=1)]
    assert [step.actual for step in first] == [1, 1, 3, 3, 5]
    assert set(rpm(cases["relay welded", 2])) == {sound[4]}


def test_a_dead_relay_stops_its_steps(cases):
    sound = rpm(cases["sound", None])
    assert rpm(cases["relay does not close", 1]) == [0, sound[1], 0, sound[1], sound[4]]


def test_the_faults_of_a_chain(example_motor, example_load, two_capacitors):
    chain = Regulator(layout="series", branches=two_capacitors.branches[:2])
    cases = {(case.fault, case.place): case.steps
             for case in fault_cases(example_motor, example_load, chain, (1, 5, 3, 7), supply=230.0)}
    sound = rpm(cases["sound", None])
    assert sound[0] == 0 and sound[1:] == sorted(sound[1:])
    assert rpm(cases["relay welded", 0])[0] == sound[1]             # the feed: off gives the slowest step
    assert rpm(cases["relay welded", 1])[0] == 0                    # a bridge: off stays off
    assert rpm(cases["regulator capacitor shorted", 0])[1] == pytest.approx(sound[3], abs=1)
    assert set(rpm(cases["relay does not close", 0])) == {0}


def test_a_supply_that_cannot_be_is_refused(example_motor, example_load, two_capacitors):
    with pytest.raises(ValueError, match=r"^supply must be more than 0 and finite, found 0\.0$"):
        fault_cases(example_motor, example_load, two_capacitors, MASKS, supply=0.0)
