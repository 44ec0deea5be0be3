"""Which capacitors and relay patterns give the speeds asked for, and whether every step starts.

Answers: what should stand between feed and fan? Capacitors come from a stock; the choice makes the speed error least
over all capacitors at their low limit, nominal, and high limit. A step must start from rest at 85 % of the supply
with its capacitors at the low limit, or keep turning there after a kick on the fastest step; else it is refused.

Source: the start rule is the type test of IS 374 as quoted in a consumer test of 2024 (from rest at 85 % of the test
voltage, lowest step); air flow goes as speed (fan laws, from memory); the kick's margin of 1.5 on an estimated
inertia is common practice, no source.
"""
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, combinations_with_replacement

import numpy as np

from pattress.fan.motor import Load, Motor, Phasors, SteadyState, require_number, steady_state
from pattress.fan.network import LINK, USUAL_TOLERANCE, Branch, Capacitor, Regulator
from pattress.fan.operating import run_up_time, running, settled_speed, starting_torque

LOW_SUPPLY, HIGH_SUPPLY = 0.85, 1.10         # shares of nominal: the start rule, and the highest mains (EN 50160, from memory)
KICK_MARGIN = 1.5


@dataclass(frozen=True, kw_only=True)
class Step:
    """One position of the regulator, at nominal supply unless said otherwise."""
    mask: int                                # bit 0 = first relay
    speed: float                             # settled, coming down from full speed [rad/s]
    wanted: float                            # [rad/s], nan where none was asked
    state: SteadyState
    start: str                               # "starts", "kick" or "refused"
    start_ratio: float                       # starting / breakaway torque at the low supply, capacitors low
    kick_time: float                         # on the fastest step before this one [s]; 0 where it starts by itself
    reason: str                              # why refused, else ""
    currents: dict[int, float]                           # place of branch -> highest r.m.s. current at the high supply [A]
    voltages: dict[int, float]                           # place of branch -> highest r.m.s. over the capacitor, any speed, high supply [V]


@dataclass(frozen=True, kw_only=True)
class Choice:
    """A regulator for the wanted speeds, slowest first."""
    regulator: Regulator
    capacitors: tuple[Capacitor, ...]                        # of the stock, in the order of the branches
    steps: tuple[Step, ...]
    error: float                             # r.m.s. over steps and capacitor limits, share of full speed
    refusals: tuple[str, ...]                          # sentences; empty when every step may be used

    @property
    def masks(self) -> tuple[int, ...]:
        """For the control program: relays of step 0 (off), 1, 2 ...; bit 0 is the first relay."""
        return (0, *(step.mask for step in self.steps))

def wanted_speeds(*, full_speed: float, steps: int | None = None, shares: Sequence[float] | None = None) -> tuple[float, ...]:
    """Return speeds, slowest first [rad/s]: `steps` evenly spaced up to full, or `shares` of full air flow.

    Air flow goes as speed, so a share of one is the same share of the other.
    """
    if (steps is None) == (shares is None):
        raise ValueError(f"give steps or shares, found steps {steps!r} and shares {shares!r}")
    if steps is not None:
        if not 1 <= steps <= 8:
            raise ValueError(f"steps must be 1 to 8, found {steps!r}")
        shares = [(place + 1) / steps for place in range(steps)]
    assert shares is not None                # one of the two is given
    if not all(0.0 < low < high <= 1.0 for low, high in zip([1e-9, *shares], shares)):
        raise ValueError(f"shares must rise from above 0 to at most 1, found {list(shares)!r}")
    return tuple(full_speed * share for share in shares)


def assess(motor: Motor, load: Load, regulator: Regulator, masks: Sequence[int], *, supply: float, tolerances: Sequence[float] | None = None, wanted: Sequence[float] | None = None, start_margin: float = 1.2,
           highest: float = HIGH_SUPPLY) -> tuple[Step, ...]:
    """Return a `Step` for each of `masks`, slowest first as given.

    Parameters
    ----------
    supply : float
        Nominal, r.m.s. [V].
    tolerances : sequence of float
        Of the capacitor of each branch, as a share; when not given, `USUAL_TOLERANCE` each.
    wanted : sequence of float
        Speed wanted on each step [rad/s]; when not given, the steps say nan.
    start_margin : float
        Starting torque must exceed breakaway torque by this factor (breakaway is seldom measured; common practice).
    highest : float
        The highest supply, as a share of nominal.
    """
    require_number("supply", supply, above=0.0)
    omega = motor.angular_frequency
    if tolerances is None:
        tolerances = [USUAL_TOLERANCE] * len(regulator.branches)
    if wanted is None:
        wanted = [float("nan")] * len(masks)
    weak = Regulator(layout=regulator.layout, branches=tuple(
        Branch(capacitance=branch.capacitance * (1.0 - share), resistance=branch.resistance, bleed=branch.bleed)
        for branch, share in zip(regulator.branches, tolerances, strict=True)))
    low = LOW_SUPPLY * supply
    nominal = np.array([regulator.series_impedance(mask, omega) for mask in masks])
    weakest = np.array([weak.series_impedance(mask, omega) for mask in masks])
    state = running(motor, load, supply=supply, series_impedance=nominal, coming_from=0.999 * motor.synchronous_speed)
    ratios = starting_torque(motor, supply=low, series_impedance=weakest) / max(float(load.breakaway), 1e-12)
    fastest = int(np.argmax(state.speed))
    kept = settled_speed(motor, load, supply=low, series_impedance=weakest, coming_from=float(state.speed[fastest]))
    slips = np.linspace(0.0, 1.0, 65)
    steps = []
    for place, mask in enumerate(masks):
        start, kick, reason = "starts", 0.0, ""
        if ratios[place] <= start_margin:
            kick = _kick_time(motor, load, supply=low, through=weakest[fastest], speed=float(state.speed[place]))
            start = "kick" if kept[place] > 0.0 and np.isfinite(kick) and place != fastest else "refused"
        if start == "refused":
            kick = 0.0
            reason = (f"step {place + 1} may not start: at {low:.0f} V it has {ratios[place]:.2f} of the breakaway torque, "
                      f"{start_margin:g} is allowed, and "
                      + ("it does not keep turning after a kick" if kept[place] <= 0.0 else "no faster step can kick it"))
        everywhere = steady_state(motor, slip=slips, supply=highest * supply, series_impedance=nominal[place])
        phasors = regulator.capacitor_phasors(mask, everywhere.line_current, omega)
        steps.append(Step(
            mask=mask, speed=float(state.speed[place]), wanted=wanted[place],
            state=state[place], start=start, start_ratio=float(ratios[place]), kick_time=kick, reason=reason,
            currents={branch: float(np.abs(current).max()) for branch, (current, _) in phasors.items()},
            voltages={branch: float(np.abs(voltage).max()) for branch, (_, voltage) in phasors.items()}))
    return tuple(steps)


def choose(motor: Motor, load: Load, stock: Sequence[Capacitor], *, supply: float, wanted: Sequence[float], relays: int = 3, layout: str = "parallel", damping: float = 4.7, bleed: float = 470e3, start_margin: float = 1.2,
           allow_kick: bool = True, looked_at: int = 60, highest: float = HIGH_SUPPLY) -> Choice:
    """Return the `Choice` of capacitors from `stock` that meets the `wanted` speeds with least error.

    One relay is the straight link (parallel) or the feed (series), so there are `relays` - 1 capacitors. All sets
    are ranked on one curve of speed against capacitance; the best `looked_at` are then computed in full, and the
    first whose every step starts (or is kicked) wins. If none does, the best is returned with its refusals.

    Raises ValueError where relays, stock or wanted speeds cannot make a regulator.
    """
    if not 2 <= relays <= 4:
        raise ValueError(f"relays must be 2 to 4, found {relays!r}")
    wanted = tuple(float(speed) for speed in wanted)
    places = relays - 1
    if not 1 <= len(wanted) <= 2 ** places:
        raise ValueError(f"{relays} relays give at most {2 ** places} speeds, found {len(wanted)} wanted")
    full = float(settled_speed(motor, load, supply=supply, coming_from=0.999 * motor.synchronous_speed))
    if not all(0.0 < low < high for low, high in zip([1e-9, *wanted], wanted)) or wanted[-1] > full * 1.001:
        raise ValueError(f"wanted speeds must rise and stay within full speed {full:.2f} rad/s, found {list(wanted)!r}")
    fit = [part for part in stock if part.rated_voltage >= highest * supply]
    if not fit:
        raise ValueError(f"stock must hold capacitors of {highest * supply:.0f} V AC or more, "
                         f"found at most {max((part.rated_voltage for part in stock), default=0.0):.0f} V")
    sets = list(combinations_with_replacement(sorted(fit, key=lambda part: part.capacitance), places))
    best: tuple[tuple[int, float], Choice] | None = None
    for index, patterns, promised in _ranked(motor, load, sets, wanted, supply=supply, full=full, layout=layout)[:looked_at]:
        if best is not None and not best[1].refusals and promised > 1.05 * best[1].error:
            break                            # the curve leaves out damping, a matter of 1 %: none after this is better
        parts = sets[index]
        branches = tuple(Branch(capacitance=part.capacitance, resistance=damping, bleed=bleed) for part in parts)
        regulator = Regulator(layout=layout, branches=branches + ((LINK,) if layout == "parallel" else ()))
        masks = [_mask(pattern, places, layout) for pattern in patterns]
        tolerances = [part.tolerance for part in parts] + ([0.0] if layout == "parallel" else [])
        steps = assess(motor, load, regulator, masks, supply=supply, tolerances=tolerances, wanted=wanted,
                       start_margin=start_margin, highest=highest)
        refusals = _refusals(steps, parts, allow_kick)
        error = _error(motor, load, regulator, masks, tolerances, wanted, supply=supply, full=full)
        ranking = (len(refusals), error)
        if best is None or ranking < best[0]:
            best = (ranking, Choice(regulator=regulator, capacitors=parts, steps=steps, error=error, refusals=refusals))
    if best is None:
        raise ValueError(f"looked_at must be one or more, found {looked_at!r}")
    return best[1]


def _kick_time(motor: Motor, load: Load, *, supply: float, through: complex, speed: float) -> float:
    if speed <= 0.0:
        return np.inf
    return KICK_MARGIN * run_up_time(motor, load, supply=supply, series_impedance=through, to_speed=speed)


def _mask(pattern: int, places: int, layout: str) -> int:
    """From a set of capacitors in circuit (bits; 0 = none) to relays."""
    if layout == "parallel":
        return pattern if pattern else 1 << places
    return 1 | (((1 << places) - 1) & ~pattern) << 1


def _refusals(steps: Sequence[Step], parts: Sequence[Capacitor], allow_kick: bool) -> tuple[str, ...]:
    found = [step.reason for step in steps if step.start == "refused"]
    if not allow_kick:
        found += [f"step {number} needs a start kick of {step.kick_time:.1f} s and none is allowed"
                  for number, step in enumerate(steps, 1) if step.start == "kick"]
    for number, step in enumerate(steps, 1):
        for place, voltage in step.voltages.items():
            if voltage > parts[place].rated_voltage:
                found.append(f"step {number} puts {voltage:.0f} V on a capacitor rated {parts[place].rated_voltage:.0f} V AC")
            if step.currents[place] > parts[place].ripple_current:
                found.append(f"step {number} sends {step.currents[place]:.2f} A through a capacitor rated "
                             f"{parts[place].ripple_current:.2f} A")
    return tuple(found)


def _ranked(motor: Motor, load: Load, sets: Sequence[tuple[Capacitor, ...]], wanted: Sequence[float], *, supply: float, full: float, layout: str) -> list[tuple[int, list[int], float]]:
    """Return (index of set, patterns slowest first, error), best first, from one curve of speed against capacitance."""
    values = np.array([[part.capacitance for part in parts] for parts in sets])
    spread = np.array([[part.tolerance for part in parts] for parts in sets])
    places = values.shape[1]
    curve = np.geomspace(values.min() / 8.0, values.max() * 8.0, 400)
    behind: Phasors = 1.0 / (1j * motor.angular_frequency * curve)
    speeds = settled_speed(motor, load, supply=supply, coming_from=full, series_impedance=behind)
    patterns = list(range(1, 2 ** places))
    corners = []
    for shift in (0.0, -1.0, 1.0):
        shifted = values * (1.0 + shift * spread)
        columns = []
        for pattern in patterns:
            used = shifted[:, [place for place in range(places) if pattern >> place & 1]]
            total = used.sum(axis=1) if layout == "parallel" else 1.0 / (1.0 / used).sum(axis=1)
            columns.append(np.interp(total, curve, speeds))
        corners.append(np.stack(columns + [np.full(len(sets), full)], axis=1))
    table, every = np.stack(corners), np.array(patterns + [0])             # corner, set, pattern
    order = np.argsort(table[0], axis=1, kind="stable")
    table = np.take_along_axis(table, order[None], axis=2)
    cost = np.mean((table[..., None] - np.array(wanted)) ** 2, axis=0)     # set, place in order, step
    subsets = np.array(list(combinations(range(len(every)), len(wanted))))
    totals = sum(cost[:, subsets[:, step], step] for step in range(len(wanted)))
    chosen = totals.argmin(axis=1)
    errors = np.sqrt(totals.min(axis=1) / len(wanted)) / full
    return [(int(index), [int(every[order[index, place]]) for place in subsets[chosen[index]]], float(errors[index]))
            for index in np.argsort(errors, kind="stable")]


def _error(motor: Motor, load: Load, regulator: Regulator, masks: Sequence[int], tolerances: Sequence[float], wanted: Sequence[float], *, supply: float, full: float) -> float:
    impedances = np.array([[Regulator(layout=regulator.layout, branches=tuple(
        Branch(capacitance=branch.capacitance * (1.0 + shift * share), resistance=branch.resistance, bleed=branch.bleed)
        for branch, share in zip(regulator.branches, tolerances))).series_impedance(mask, motor.angular_frequency)
        for mask in masks] for shift in (0.0, -1.0, 1.0)])
    speeds = settled_speed(motor, load, supply=supply, series_impedance=impedances, coming_from=full)
    return float(np.sqrt(np.mean((speeds - np.array(wanted)) ** 2)) / full)
