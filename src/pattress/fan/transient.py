"""Currents and voltages in time when contacts close and open, exactly.

Answers: what do contacts, capacitors and motor see in the first milliseconds? Between two contact events the network
is linear with a sinusoidal source, so the state at any time is a matrix exponential; here by eigenvectors, which also
give current zeros, peaks, and the integral of i^2 without a time step. The rotor speed is taken as constant: a fan
needs seconds, the transient takes milliseconds.

A contact that parts carries its arc to the next current zero (at most one cycle), and only then is open. Left out:
arc voltage, saturation, wiring inductance, mains impedance.

Source: two-axis equations in the stator frame (Krause, *Analysis of Electric Machinery*, from memory); the tests
compare with a circuit simulator and with the phasors of `motor`.
"""
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from pattress.fan.motor import Motor, RealArray, require_number
from pattress.fan.network import Branch, Regulator

LEAKAGE = 1e6        # ohm across the motor where it has no core loss: an isolated winding needs some path
HOLD_CYCLES = 1.0    # an arc without a current zero is cut after this


@dataclass(frozen=True, kw_only=True)
class Circuit:
    """Supply sqrt2 V cos(wt), regulator, and motor at a constant `speed` [rad/s]."""
    motor: Motor
    regulator: Regulator
    supply: float                            # r.m.s. [V]
    speed: float = 0.0
    contact: float = 0.01                    # resistance of a closed contact [ohm]
    _known: "dict[int, Stretch]" = field(default_factory=dict, compare=False, repr=False)

    def __post_init__(self) -> None:
        require_number("supply", self.supply)
        require_number("speed", self.speed)
        require_number("contact", self.contact, above=0.0)
        if np.all(self.motor.main_reactance == 0.0) and np.all(self.motor.rotor_reactance == 0.0):
            raise ValueError("main_reactance and rotor_reactance must not both be 0 for a transient, found 0 and 0")

    def stretch(self, mask: int) -> "Stretch":
        """The linear network while exactly the contacts of `mask` conduct."""
        if mask not in self._known:
            self._known[mask] = Stretch(self, mask)
        return self._known[mask]


class Stretch:
    """One state of the contacts: dz/dt = A z, and rows that read currents and voltages from z.

    z holds main, auxiliary and two rotor currents, run capacitor voltage, one voltage per branch, cos wt and sin wt.
    With an open auxiliary the second and fifth stay zero.
    """
    def __init__(self, circuit: Circuit, mask: int) -> None:
        motor, regulator = circuit.motor, circuit.regulator
        omega, branches = motor.angular_frequency, regulator.branches
        size = 5 + len(branches) + 2
        unit = np.eye(size)
        source = np.sqrt(2.0) * circuit.supply * unit[size - 2]
        windings = unit[0] + unit[1]
        core = 1.0 / min(float(motor.core_resistance), LEAKAGE)
        rows: dict[str, RealArray] = {}
        self.rows = rows
        if regulator.layout == "parallel":
            rates = [1.0 / (branch.resistance + circuit.contact) if mask >> place & 1 else 0.0
                     for place, branch in enumerate(branches)]
            feed = sum((rate * (source - unit[5 + place]) for place, rate in enumerate(rates)), np.zeros(size))
            voltage = (feed - windings) / (sum(rates) + core)
            currents = [rate * (source - unit[5 + place] - voltage) for place, rate in enumerate(rates)]
            rows.update({f"contact {place}": current for place, current in enumerate(currents)})
            line = sum(currents)
        else:
            bridged = [bool(mask >> (place + 1) & 1) for place in range(len(branches))]
            resistances = np.array([branch.resistance for branch in branches])
            shares = np.where(bridged, circuit.contact / (circuit.contact + resistances), 1.0)
            rest = sum(share * unit[5 + place] for place, share in enumerate(shares))
            if mask & 1:
                through = 1.0 / (circuit.contact + float((shares * resistances).sum()))
                voltage = (through * (source - rest) - windings) / (through + core)
                line = through * (source - rest - voltage)
            else:
                voltage, line = -windings / core, np.zeros(size)
            currents = []
            rows["contact 0"] = line
            for place, share in enumerate(shares):
                over = share * unit[5 + place] + share * resistances[place] * line
                across = over / circuit.contact if bridged[place] else np.zeros(size)
                currents.append(line - across)
                rows[f"contact {place + 1}"] = across
        rows["line"], rows["motor"], rows["supply"] = line, voltage, source
        rows["main"], rows["auxiliary"], rows["run capacitor"] = unit[0], unit[1], unit[4]
        for place, current in enumerate(currents):
            rows[f"branch {place}"], rows[f"capacitor {place}"] = current, unit[5 + place]
        self.matrix = _matrix(motor, circuit.speed, voltage, currents, branches, float(omega))
        self.values, self.vectors = np.linalg.eig(self.matrix)
        self.inverse = np.linalg.inv(self.vectors)
        self._grids: dict[float, tuple[RealArray, NDArray[np.complex128]]] = {}

    def at(self, start: RealArray, times: RealArray) -> RealArray:
        """z at `times` [s] after `start`; last axis is z."""
        modes = self.inverse @ start
        found: RealArray = (np.exp(np.multiply.outer(times, self.values)) * modes @ self.vectors.T).real
        return found

    def read(self, name: str, start: RealArray, times: RealArray) -> RealArray:
        """One current or voltage at `times`."""
        weights = (self.rows[name] @ self.vectors) * (self.inverse @ start)
        found: RealArray = (np.exp(np.multiply.outer(times, self.values)) @ weights).real
        return found

    def curve(self, name: str, start: RealArray, duration: float) -> tuple[RealArray, RealArray]:
        """(times, values) that resolve every mode; the exponentials are kept for the next start or name."""
        if duration not in self._grids:
            if len(self._grids) > 8:
                self._grids.clear()
            times = self.times(duration)
            self._grids[duration] = times, np.exp(np.multiply.outer(times, self.values))
        times, exponentials = self._grids[duration]
        return times, (exponentials @ ((self.rows[name] @ self.vectors) * (self.inverse @ start))).real

    def square_integral(self, name: str, start: RealArray, duration: float) -> float:
        """Integral of the square of one current over `duration`, in closed form [A2 s]."""
        weights = (self.rows[name] @ self.vectors) * (self.inverse @ start)
        sums = np.add.outer(self.values, self.values)
        small = np.abs(sums * duration) < 1e-9
        integrals = np.where(small, duration, np.expm1(sums * duration) / np.where(small, 1.0, sums))
        return float((weights @ integrals @ weights).real)

    def steady(self, phase: float) -> RealArray:
        """z of the steady state at the moment when the supply stands at `phase` [rad]."""
        inner = self.matrix[:-2, :-2]
        omega = self.matrix[-1, -2]
        phasor = np.linalg.solve(1j * omega * np.eye(len(inner)) - inner, self.matrix[:-2, -2] - 1j * self.matrix[:-2, -1])
        turned = phasor * np.exp(1j * phase)
        return np.concatenate([turned.real, [np.cos(phase), np.sin(phase)]])

    def times(self, duration: float) -> RealArray:
        """Times that resolve every mode: some tens per time constant or cycle."""
        rates = np.abs(self.values)
        parts = [np.linspace(0.0, duration, max(200, int(duration * rates[-1] * 40)) + 1)]
        for rate in rates[rates > 0.0]:
            parts.append(np.linspace(0.0, min(duration, 8.0 / rate), 60))
        return np.unique(np.concatenate(parts))


@dataclass(frozen=True, kw_only=True)
class Record:
    """What happened: stretches one after the other, each (start [s], duration [s], Stretch, z at its start)."""
    pieces: tuple[tuple[float, float, Stretch, RealArray], ...]

    @property
    def end(self) -> RealArray:
        """State vector at the end."""
        _, duration, stretch, start = self.pieces[-1]
        last: RealArray = stretch.at(start, np.array([duration]))[0]
        return last

    def read(self, name: str, times: RealArray) -> RealArray:
        """One current [A] or voltage [V] at `times` [s]. Names: line, motor, supply, main, auxiliary, run capacitor,
        and with a number: branch, capacitor, contact."""
        times = np.asarray(times, float)
        out = np.full(times.shape, np.nan)
        for begin, duration, stretch, start in self.pieces:
            inside = (times >= begin) & (times <= begin + duration)
            out[inside] = stretch.read(name, start, times[inside] - begin)
        return out

    def peak(self, name: str) -> tuple[float, float]:
        """Return (largest absolute value, its time)."""
        best = (0.0, 0.0)
        for begin, duration, stretch, start in self.pieces:
            times, values = stretch.curve(name, start, duration)
            for narrower in (True, True, False):             # the last bracket is 1/400 of a step of the grid
                top = int(np.argmax(np.abs(values)))
                if narrower:
                    times = np.linspace(times[max(top - 1, 0)], times[min(top + 1, len(times) - 1)], 41)
                    values = stretch.read(name, start, times)
            best = max(best, (float(abs(values[top])), float(begin + times[top])))
        return best

    def square_integral(self, name: str) -> float:
        """Integral of the square over the whole record [A2 s]."""
        return sum(stretch.square_integral(name, start, duration) for _, duration, stretch, start in self.pieces)

    def times(self) -> RealArray:
        """Times that show everything."""
        return np.unique(np.concatenate([begin + stretch.times(duration) for begin, duration, stretch, _ in self.pieces]))


def resting(circuit: Circuit, *, phase: float, residuals: Sequence[float] | None = None) -> RealArray:
    """State with nothing flowing and `residuals` [V] on the regulator capacitors, supply at `phase` [rad]."""
    count = len(circuit.regulator.branches)
    if residuals is None:                        # all discharged
        residuals = [0.0] * count
    if len(residuals) != count:
        raise ValueError(f"residuals must be {count}, one per branch, found {len(residuals)}")
    return np.concatenate([np.zeros(5), residuals, [np.cos(phase), np.sin(phase)]])


def switched(circuit: Circuit, *, start: RealArray, events: Sequence[tuple[float, int]], duration: float) -> Record:
    """Return the `Record` from state `start` through `events`, pairs of (time [s], mask the contacts are told to take).

    The first event is at 0. Contacts close at once; those that part hold to their next current zero. Contact bounce
    is a run of events: open and closed again after fractions of a millisecond.
    """
    times = [time for time, _ in events]
    if not times or times[0] != 0.0 or any(later <= sooner for sooner, later in zip(times, times[1:])) or times[-1] >= duration:
        raise ValueError(f"events must start at 0 and rise to below {duration!r} s, found times {times!r}")
    pieces, now, state, conducting = [], 0.0, np.asarray(start, float), 0
    cycle = 1.0 / float(circuit.motor.frequency)
    for place, (told, wanted) in enumerate(events):
        until = events[place + 1][0] if place + 1 < len(events) else duration
        parting = conducting & ~wanted if place else 0
        conducting = wanted | parting
        holds = {bit: told + HOLD_CYCLES * cycle for bit in range(circuit.regulator.relays) if parting >> bit & 1}
        while now < until:
            stretch = circuit.stretch(conducting)
            span, opened = until - now, None
            for bit, last in holds.items():
                zero = _first_zero(stretch, f"contact {bit}", state, min(span, last - now))
                if zero is None and last - now <= span:
                    zero = last - now
                if zero is not None and zero <= span:
                    span, opened = zero, bit
            pieces.append((now, span, stretch, state))
            state, now = stretch.at(state, np.array([span]))[0], now + span
            if opened is None:
                break
            conducting &= ~(1 << opened)
            del holds[opened]
    return Record(pieces=tuple(piece for piece in pieces if piece[1] > 0.0))


def _first_zero(stretch: Stretch, name: str, start: RealArray, span: float) -> float | None:
    if span <= 0.0:
        return None
    times = stretch.times(span)
    values = stretch.read(name, start, times)
    if np.abs(values).max() < 1e-9:
        return 0.0                           # nothing flows
    changes = np.flatnonzero(np.sign(values[:-1]) * np.sign(values[1:]) < 0)
    if not changes.size:
        return None
    low, high = times[changes[0]], times[changes[0] + 1]
    sign = np.sign(values[changes[0]])
    for _ in range(50):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if np.sign(stretch.read(name, start, np.array([middle]))[0]) == sign else (low, middle)
    return float(high)


def _matrix(motor: Motor, speed: float, voltage: RealArray, currents: Sequence[RealArray], branches: Sequence[Branch], omega: float) -> RealArray:
    """A of dz/dt = A z, from the rows of the motor voltage and the branch currents."""
    size = len(voltage)
    magnetising = min(float(motor.magnetising_reactance), 1e9) / omega
    ratio = float(motor.turns_ratio)
    main, auxiliary, rotor = (float(each) / omega for each in
                              (motor.main_reactance, motor.auxiliary_reactance, motor.rotor_reactance))
    inductance = np.array([[main + magnetising, 0.0, magnetising, 0.0],
                           [0.0, auxiliary + ratio ** 2 * magnetising, 0.0, ratio * magnetising],
                           [magnetising, 0.0, rotor + magnetising, 0.0],
                           [0.0, ratio * magnetising, 0.0, rotor + magnetising]])
    turning = 0.5 * motor.poles * speed
    drive = np.zeros((4, size))
    drive[0], drive[1] = voltage, voltage - np.eye(size)[4]
    drive[:, :4] -= np.diag([motor.main_resistance, motor.auxiliary_resistance + motor.run_capacitor_resistance,
                             motor.rotor_resistance, motor.rotor_resistance])
    drive[2, :4] += turning * inductance[3]
    drive[3, :4] -= turning * inductance[2]
    matrix = np.zeros((size, size))
    used = [0, 2, 3] if motor.auxiliary_open else [0, 1, 2, 3]
    matrix[used] = np.linalg.solve(inductance[np.ix_(used, used)], drive[used])
    matrix[4, 1] = 0.0 if motor.auxiliary_open else 1.0 / float(motor.run_capacitance)
    for place, (branch, current) in enumerate(zip(branches, currents)):
        if not branch.is_link:
            matrix[5 + place] = (current - np.eye(size)[5 + place] / branch.bleed) / branch.capacitance
    matrix[-2, -1], matrix[-1, -2] = -omega, omega
    return matrix
