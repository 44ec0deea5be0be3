"""Capacitors, phase angle, resistor or inductor: what each costs at the same speed of the same fan.

Answers: for a wanted speed, which value does each kind of regulator need, and what are its losses, its current
distortion and its torque ripple - the source of hum? Resistor, inductor and capacitor have closed forms: torque goes
as the square of the motor voltage. Phase angle is a periodic solution of the switched network, found exactly with
half-wave symmetry; the switch is ideal but for `ON_RESISTANCE`, without holding current or interference filter.

Source: the equations of `motor` and `transient`; distortion as in IEC 61000-3-2 terms: r.m.s. of the harmonics over
the fundamental (from memory).
"""
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from pattress.fan.motor import Load, Motor, RealArray, require_number, steady_state
from pattress.fan.network import LINK, Regulator
from pattress.fan.operating import operating_points, starting_torque
from pattress.fan.transient import Circuit, Stretch

ON_RESISTANCE = 1.0          # of the electronic switch [ohm]: about 1 V at the start current of a fan (common practice)
COIL_QUALITY = 8.0           # reactance / resistance of a laminated choke (common practice, no source)
KINDS = ("capacitor", "phase angle", "inductor", "resistor")
SAMPLES = 720                # per half cycle; harmonics to the 39th


@dataclass(frozen=True, kw_only=True)
class Way:
    """One kind of regulator at one speed."""
    kind: str
    value: float                             # [F], firing angle [rad], [H] or [ohm]
    speed: float                             # [rad/s]
    motor_voltage: float                     # r.m.s. [V]
    current: float                           # r.m.s. [A]
    input_power: float                       # [W]
    regulator_loss: float                    # [W]
    motor_loss: float                        # [W]
    power_factor: float
    distortion: float                        # r.m.s. of current harmonics / fundamental
    ripple: dict[int, float]                             # torque ripple: harmonic of the mains (2, 4, 6) -> amplitude [N m]
    stable: bool                             # the speed holds itself
    starts: bool                             # from rest, at this setting


def ways(motor: Motor, load: Load, *, supply: float, speed: float) -> dict[str, Way | str]:
    """Return {kind: `Way` or a sentence why not} at `speed` [rad/s] for every kind of `KINDS`."""
    require_number("supply", supply, above=0.0)
    if not 0.0 < speed < motor.synchronous_speed:
        raise ValueError(f"speed must be above 0 and below synchronous {motor.synchronous_speed:.2f} rad/s, found {speed!r}")
    return {kind: _way(kind, motor, load, supply, speed) for kind in KINDS}


def _way(kind: str, motor: Motor, load: Load, supply: float, speed: float) -> Way | str:
    unit = steady_state(motor, slip=1.0 - speed / motor.synchronous_speed, supply=1.0)
    if unit.torque <= 0.0 or float(load.torque(speed)) > unit.torque * supply ** 2:
        return f"the motor does not reach {speed:.2f} rad/s on {supply:g} V"
    if kind == "phase angle":
        return _phase_angle(motor, load, supply, speed)
    needed = float(np.sqrt(load.torque(speed) / unit.torque))
    return _series(kind, motor, load, supply, speed, needed, complex(1.0 / unit.line_current))


def _series(kind: str, motor: Motor, load: Load, supply: float, speed: float, needed: float, impedance: complex) -> Way:
    """From |Zmotor + Zs| = supply |Zmotor| / Vmotor."""
    omega, resistance, reactance = motor.angular_frequency, impedance.real, impedance.imag
    whole = supply * abs(impedance) / needed
    if kind == "resistor":
        series = complex(np.sqrt(whole ** 2 - reactance ** 2) - resistance)
        value = series.real
    elif kind == "capacitor":
        series = -1j * (np.sqrt(whole ** 2 - resistance ** 2) + reactance)
        value = 1.0 / (omega * -series.imag) if series.imag else np.inf
    else:
        lossy = 1.0 / COIL_QUALITY
        a, half, c = 1.0 + lossy ** 2, resistance * lossy + reactance, abs(impedance) ** 2 - whole ** 2
        coil = (-half + np.sqrt(half ** 2 - a * c)) / a
        series, value = coil * (lossy + 1j), coil / omega
    state = steady_state(motor, slip=1.0 - speed / motor.synchronous_speed, supply=supply, series_impedance=series)
    points = operating_points(motor, load, supply=supply, series_impedance=series)
    near = np.nanargmin(np.abs(points.speed - speed))
    return Way(kind=kind, value=float(value), speed=speed, motor_voltage=float(abs(state.motor_voltage)),
               current=float(abs(state.line_current)), input_power=float(state.input_power),
               regulator_loss=float(state.regulator_loss), motor_loss=float(state.losses - state.regulator_loss),
               power_factor=float(state.power_factor), distortion=0.0,
               ripple=_ripple(_sine_torque(motor, speed, float(abs(state.motor_voltage)))), stable=bool(points.stable[near]),
               starts=bool(starting_torque(motor, supply=supply, series_impedance=series) > load.breakaway))


def _phase_angle(motor: Motor, load: Load, supply: float, speed: float) -> Way | str:
    wanted = float(load.torque(speed))
    circuit = _chopper(motor, supply, speed)

    def surplus(angle: float) -> float:      # falls as the angle grows
        return _half_cycle(circuit, angle).torque - wanted

    latest = 0.98 * np.pi
    if surplus(latest) > 0.0:
        return "the firing angle would have to be above 176 degrees"
    if surplus(0.0) < 0.0:
        return "even fully on, the switch leaves too little voltage"
    angle = _crossing(surplus, 0.0, latest)
    cycle = _half_cycle(circuit, angle)
    nudge = 0.005 * float(motor.synchronous_speed)
    slope = (_half_cycle(_chopper(motor, supply, speed + nudge), angle).torque
             - _half_cycle(_chopper(motor, supply, speed - nudge), angle).torque) / (2.0 * nudge)
    standing = _half_cycle(_chopper(motor, supply, 0.0), angle).torque
    current = float(np.sqrt(np.mean(cycle.current ** 2)))
    power = float(np.mean(cycle.voltage * cycle.current))
    loss = ON_RESISTANCE * current ** 2
    spectrum = np.abs(np.fft.rfft(np.concatenate([cycle.current, -cycle.current])))
    harmonics = spectrum[3:40:2]
    return Way(kind="phase angle", value=angle, speed=speed, motor_voltage=float(np.sqrt(np.mean(cycle.motor ** 2))),
               current=current, input_power=power, regulator_loss=loss, motor_loss=power - loss - wanted * speed,
               power_factor=power / (supply * current), distortion=float(np.sqrt(np.sum(harmonics ** 2)) / spectrum[1]),
               ripple=_ripple(cycle.torques), stable=bool(slope < 2.0 * float(load.square_torque) * speed),
               starts=bool(standing > load.breakaway))


@dataclass(frozen=True)
class _Cycle:
    torque: float
    torques: RealArray
    current: RealArray
    voltage: RealArray
    motor: RealArray


def _chopper(motor: Motor, supply: float, speed: float) -> Circuit:
    return Circuit(motor=motor, regulator=Regulator(branches=(LINK,)), supply=supply, speed=speed, contact=ON_RESISTANCE)


def _half_cycle(circuit: Circuit, angle: float) -> _Cycle:
    """The periodic half cycle that begins with firing at `angle` after the zero of the supply.

    The state after half a cycle is the negative of that before. For a conduction time this is a linear equation; the
    right time is the one at whose end the current is zero. If there is none, the switch never opens.
    """
    on, off = circuit.stretch(1), circuit.stretch(0)
    half = 0.5 / float(circuit.motor.frequency)
    phase = angle - 0.5 * np.pi
    clock = np.array([np.cos(phase), np.sin(phase)])

    def start(conducting: float) -> RealArray:
        whole = _exponential(off, half - conducting) @ _exponential(on, conducting)
        inner = np.linalg.solve(whole[:-2, :-2] + np.eye(len(whole) - 2), -whole[:-2, -2:] @ clock)
        return np.concatenate([inner, clock])

    def end_current(conducting: float) -> float:
        return float(on.read("line", start(conducting), np.array([conducting]))[0])

    times = np.linspace(0.02, 1.0, 25) * half
    currents = np.array([end_current(time) for time in times])
    falling = np.flatnonzero((currents[:-1] > 0.0) & (currents[1:] <= 0.0))
    if falling.size:
        conducting = _crossing(end_current, times[falling[0]], times[falling[0] + 1])
        first = start(conducting)
    else:                                    # current lags beyond the angle: fully on
        conducting, first = half, on.steady(phase)
    grid = (np.arange(SAMPLES) + 0.5) * half / SAMPLES
    before, after = grid[grid < conducting], grid[grid >= conducting] - conducting
    later = on.at(first, np.array([conducting]))[0]
    states = np.concatenate([on.at(first, before), off.at(later, after)])

    def read(name: str) -> RealArray:
        return np.concatenate([states[:before.size] @ on.rows[name], states[before.size:] @ off.rows[name]])

    torques = _torque(circuit.motor, states)
    return _Cycle(float(torques.mean()), torques, read("line"), read("supply"), read("motor"))


def _crossing(function: Callable[[float], float], low: float, high: float) -> float:
    """Where `function` passes zero between `low` and `high`: regula falsi, the idle end's value halved (Illinois)."""
    at_low, at_high = function(low), function(high)
    width = 1e-10 * (high - low)
    for _ in range(60):
        middle = high - at_high * (high - low) / (at_high - at_low) if at_high != at_low else 0.5 * (low + high)
        value = function(middle)
        if value == 0.0 or abs(middle - high) < width:
            return middle
        if value * at_high < 0.0:
            low, at_low = high, at_high
        else:
            at_low *= 0.5
        high, at_high = middle, value
    return high


def _exponential(stretch: Stretch, time: float) -> RealArray:
    return (stretch.vectors * np.exp(stretch.values * time) @ stretch.inverse).real


def _torque(motor: Motor, states: RealArray) -> RealArray:
    """Te = (p/2) Lm (im ir2 - a ia ir1)."""
    magnetising = motor.magnetising_reactance / motor.angular_frequency
    return 0.5 * motor.poles * magnetising * (states[:, 0] * states[:, 3] - motor.turns_ratio * states[:, 1] * states[:, 2])


def _sine_torque(motor: Motor, speed: float, voltage: float) -> RealArray:
    circuit = Circuit(motor=motor, regulator=Regulator(branches=(LINK,)), supply=voltage, speed=speed, contact=1e-6)
    stretch = circuit.stretch(1)
    half = 0.5 / motor.frequency
    return _torque(motor, stretch.at(stretch.steady(0.0), (np.arange(SAMPLES) + 0.5) * half / SAMPLES))


def _ripple(torques: RealArray) -> dict[int, float]:
    """Amplitudes at 2, 4 and 6 times the mains; the half cycle is one period of the torque."""
    spectrum = 2.0 * np.abs(np.fft.rfft(torques)) / torques.size
    return {2 * order: float(spectrum[order]) for order in (1, 2, 3)}
