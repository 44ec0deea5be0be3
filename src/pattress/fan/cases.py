"""What fan and regulator do with one part at fault.

Answers: which speeds and voltages would each step show if the run capacitor were open, a regulator capacitor
shorted, a relay welded or dead? Fault finding compares these with what is seen. One fault at a time; saturation is
left out, so the voltages of an open run capacitor are high.
"""
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from pattress.fan.motor import Load, Motor, SteadyState, require_number, steady_state
from pattress.fan.network import Regulator
from pattress.fan.operating import running, starting_torque

SHORT = 1e-3         # ohm across a shorted capacitor


@dataclass(frozen=True, kw_only=True)
class CaseStep:
    """One wanted mask under the fault."""
    wanted: int                              # the mask the control program applies
    actual: int                              # the mask that is really closed
    state: SteadyState                       # settled, coming down from full speed
    starts: bool                             # from rest
    capacitor_voltages: dict[int, float]                 # branch -> r.m.s. over the capacitor, settled [V]
    highest_voltages: dict[int, float]                   # branch -> highest r.m.s. from rest to the sound fan's full speed [V]


@dataclass(frozen=True, kw_only=True)
class Case:
    """One fault. `place` is the branch or relay at fault, None for the motor's own."""
    fault: str
    place: int | None
    steps: tuple[CaseStep, ...]


def fault_cases(motor: Motor, load: Load, regulator: Regulator, masks: Sequence[int], *, supply: float) -> tuple[Case, ...]:
    """Return a `Case` for the sound fan, then for each single fault; each has a step per mask, and off (0) first."""
    require_number("supply", supply, above=0.0)
    asked = (0, *masks)
    full = running(motor, load, supply=supply, coming_from=0.999 * motor.synchronous_speed).slip
    cases: list[tuple[str, int | None, Motor, Regulator, tuple[int, ...]]] = [
             ("sound", None, motor, regulator, asked),
             ("run capacitor open", None, replace(motor, auxiliary_open=True), regulator, asked)]
    for place, branch in enumerate(regulator.branches):
        if not branch.is_link:
            shorted = replace(branch, bleed=SHORT)
            branches = tuple(shorted if index == place else each for index, each in enumerate(regulator.branches))
            cases.append(("regulator capacitor shorted", place, motor, replace(regulator, branches=branches), asked))
    for relay in range(regulator.relays):
        cases.append(("relay welded", relay, motor, regulator, tuple(mask | 1 << relay for mask in asked)))
    for relay in range(regulator.relays):
        cases.append(("relay does not close", relay, motor, regulator, tuple(mask & ~(1 << relay) for mask in asked)))
    return tuple(Case(fault=fault, place=place, steps=tuple(
        _step(wanted, actual, faulty, load, network, supply, float(full)) for wanted, actual in zip(asked, closed)))
        for fault, place, faulty, network, closed in cases)


def feeds(regulator: Regulator, mask: int) -> bool:
    """Whether any current can reach the motor."""
    return bool(mask & 1) if regulator.layout == "series" else bool(mask)


def _step(wanted: int, actual: int, motor: Motor, load: Load, regulator: Regulator, supply: float, full_slip: float) -> CaseStep:
    if not feeds(regulator, actual):
        return CaseStep(wanted=wanted, actual=actual, state=running(motor, load, supply=0.0), starts=False,
                        capacitor_voltages={}, highest_voltages={})
    omega = motor.angular_frequency
    series = regulator.series_impedance(actual, omega)
    state = running(motor, load, supply=supply, series_impedance=series, coming_from=0.999 * motor.synchronous_speed)
    everywhere = steady_state(motor, slip=np.linspace(full_slip, 1.0, 65), supply=supply, series_impedance=series)
    settled, highest = (regulator.capacitor_phasors(actual, each.line_current, omega) for each in (state, everywhere))
    return CaseStep(wanted=wanted, actual=actual, state=state,
                    starts=bool(starting_torque(motor, supply=supply, series_impedance=series) > load.breakaway),
                    capacitor_voltages={place: float(np.abs(voltage)) for place, (_, voltage) in settled.items()},
                    highest_voltages={place: float(np.abs(voltage).max()) for place, (_, voltage) in highest.items()})
