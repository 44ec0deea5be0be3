"""Times of the fan package beside a general circuit simulator, for `make benchmark`.

The simulator is given the slip; ours finds it too. Its sweep is 500 sets in one batch, scaled to 10,000.
"""
import time

import numpy as np

from pattress.fan.motor import RADIANS_PER_SECOND, Load, Motor, steady_state
from pattress.fan.network import LINK, Branch, Regulator
from pattress.fan.operating import running
from pattress.fan.tolerance import monte_carlo
from pattress.fan.transient import Circuit, switched
from tests.fan import spice

MOTOR = Motor(poles=14, frequency=50.0, main_resistance=300.0, main_reactance=200.0, auxiliary_resistance=315.0,
              auxiliary_reactance=200.0, turns_ratio=1.0, magnetising_reactance=1000.0, rotor_resistance=300.0,
              rotor_reactance=150.0, run_capacitance=2.5e-6, core_resistance=9000.0)        # invented, as the load
LOAD = Load(square_torque=4.0e-4, constant_torque=0.010, breakaway_torque=0.020)
REGULATOR = Regulator(branches=(Branch(capacitance=2.2e-6, resistance=4.7, bleed=470e3),
                                Branch(capacitance=3.3e-6, resistance=4.7, bleed=470e3), LINK))


def best(function, times=3):
    """Shortest of some runs [s], and the last result."""
    spans = []
    for _ in range(times):
        begun = time.perf_counter()
        result = function()
        spans.append(time.perf_counter() - begun)
    return min(spans), result


def main():
    speed = 163.24 * RADIANS_PER_SECOND

    def circuit():
        return Circuit(motor=MOTOR, regulator=REGULATOR, supply=230.0, speed=speed)     # new: nothing kept from before

    start = circuit().stretch(1).steady(0.3)
    theirs, their_peaks = best(lambda: spice.peaks(circuit(), 3, start=start, phase=0.3, duration=0.03, step=2e-6,
                                                   names=["i(vk1)", "v(mot)"]))
    ours, record = best(lambda: [switched(circuit(), start=start, events=((0.0, 3),), duration=0.03).peak(name)[0]
                                 for name in ("branch 1", "motor")])
    print(f"transient of one closing, 30 ms: simulator {1e3 * theirs:.0f} ms, ours {1e3 * ours:.1f} ms, ratio {theirs / ours:.0f}; "
          f"peaks differ by {100 * max(abs(a / b - 1) for a, b in zip(record, their_peaks)):.2f} %")

    count, asked = 10_000, 500
    draw = np.random.default_rng(1)
    run, series = 2.5e-6 * draw.uniform(0.95, 1.05, count), 2.2e-6 * draw.uniform(0.95, 1.05, count)
    commands = [line for place in range(asked) for line in
                (f"alter crun={run[place]:.9g}", f"alter c0={series[place]:.9g}", "destroy all", "ac lin 1 50 50")]
    theirs, _ = best(lambda: spice.run(spice.netlist(circuit(), 1), [*commands, "print i(vm)"]), times=1)
    theirs *= count / asked

    def sweep():
        motor = Motor(**{**vars(MOTOR), "run_capacitance": run})
        return running(motor, LOAD, supply=230.0, series_impedance=4.71 + 1.0 / (1j * MOTOR.angular_frequency * series + 1 / 470e3))

    def sweep_at_a_slip():
        motor = Motor(**{**vars(MOTOR), "run_capacitance": run})
        return steady_state(motor, slip=1 - speed / MOTOR.synchronous_speed, supply=230.0,
                            series_impedance=4.71 + 1.0 / (1j * MOTOR.angular_frequency * series + 1 / 470e3))
    ours, _ = best(sweep)
    same, _ = best(sweep_at_a_slip)
    print(f"steady state of {count} sets: simulator {theirs:.2f} s at a given slip (from {asked}), ours {1e3 * same:.1f} ms, "
          f"ratio {theirs / same:.0f}; with all operating points found {ours:.3f} s, ratio {theirs / ours:.0f}")

    ours, _ = best(lambda: monte_carlo(MOTOR, LOAD, REGULATOR, (1, 2, 3, 4), supply=230.0, tolerances=(0.05, 0.05, 0.0)), times=1)
    print(f"Monte Carlo, 10,000 samples of a four-step regulator: {ours:.2f} s (allowed 10 s)")


if __name__ == "__main__":
    main()
