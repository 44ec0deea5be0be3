"""Closed forms beside the exact network of the regulator: two capacitors that meet, and a fan that runs down without supply.

Worked out from circuit theory and from the equation of motion; the formulas hold without the network's matrices.
"""
from dataclasses import dataclass
from math import atan, atan2, exp, inf, isfinite, log, sin, sqrt, tan


@dataclass(frozen=True, kw_only=True)
class Meeting:
    """Two capacitors switched together."""
    peak_current: float                      # [A]
    peak_time: float                         # [s]
    time_constant: float                     # of the decay [s]
    final_voltage: float                     # on both [V]
    energy: float                            # turned to heat in the resistance [J]
    square_integral: float                   # [A2 s]


def capacitors_meeting(*, first_capacitance, first_voltage, second_capacitance, second_voltage, resistance, inductance=0.0):
    """Return the `Meeting` of two capacitors through `resistance` [ohm] and `inductance` [H] of the loop.

    An infinite `second_capacitance` is a stiff voltage (0 V: a closed link discharging the first). Without
    inductance the peak is the step over the resistance; with it the loop may ring.
    """
    series = first_capacitance if second_capacitance == inf else (
        first_capacitance * second_capacitance / (first_capacitance + second_capacitance))
    step = first_voltage - second_voltage
    final = second_voltage + step * series / second_capacitance if isfinite(second_capacitance) else second_voltage
    energy = 0.5 * series * step ** 2
    tau, peak, at = resistance * series, abs(step) / resistance, 0.0
    if inductance > 0.0:
        alpha, natural = resistance / (2.0 * inductance), 1.0 / (inductance * series)
        if natural > alpha ** 2 * (1.0 + 1e-9):
            ringing = sqrt(natural - alpha ** 2)
            at = atan2(ringing, alpha) / ringing
            peak = abs(step) / (ringing * inductance) * exp(-alpha * at) * sin(ringing * at)
            tau = 1.0 / alpha
        elif natural > alpha ** 2 * (1.0 - 1e-9):
            at, tau = 1.0 / alpha, 1.0 / alpha
            peak = abs(step) / (inductance * alpha) * exp(-1.0)
        else:
            spread = sqrt(alpha ** 2 - natural)
            fast, slow = alpha + spread, natural / (alpha + spread)
            at = log(fast / slow) / (fast - slow)
            peak = abs(step) / (2.0 * spread * inductance) * (exp(-slow * at) - exp(-fast * at))
            tau = 1.0 / slow
    return Meeting(peak_current=peak, peak_time=at, time_constant=tau, final_voltage=final, energy=energy,
                   square_integral=energy / resistance)


def coasting_speed(load, *, speed, time):
    """Return the speed after `time` [s] without supply, from `speed` [rad/s]: what a dead time costs."""
    friction, square, inertia = float(load.constant_torque), float(load.square_torque), float(load.inertia)
    if square == 0.0:
        return max(0.0, speed - friction / inertia * time)
    if friction == 0.0:
        return speed / (1.0 + square * speed * time / inertia)
    scale = sqrt(friction / square)
    angle = atan(speed / scale) - sqrt(friction * square) / inertia * time
    return scale * tan(angle) if angle > 0.0 else 0.0
