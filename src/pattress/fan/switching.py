"""What the contacts of a capacitor regulator see, the resistors that tame it, and the dead time that follows.

Answers: how hard is the worst closing, which damping resistor keeps it within the relay's making current, which
bleed resistor empties a capacitor in time, and how long must the control program keep everything open?

The dead time is the relay's release, an arc to the next current zero, and the bleed of the outgoing capacitors
down to the residual that the damping resistors can still take. Two relays told to close together never do: the
second meets a capacitor at the crest of its voltage, so damping is sized for crest plus residual even with dead time.

Source: circuit theory (closed forms worked out here). 34 V within 1 s is the rule for plug-connected appliances of
IEC 60335-1 cl. 22.5 (from memory). Damping near 2.2 ohm and high-value bleeds are seen in the trade.
"""
from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, isfinite, log, pi, sqrt

import numpy as np

from pattress.fan.motor import require_number
from pattress.fan.network import USUAL_TOLERANCE, Regulator, series_values
from pattress.fan.transient import Circuit, Record, resting, switched

TOUCHABLE = 34.0     # [V], IEC 60335-1 cl. 22.5 (from memory)
TOLERANCE = 0.05     # of resistors, share


@dataclass(frozen=True, kw_only=True)
class Damping:
    """Series resistor of each branch."""
    resistance: float                        # [ohm]
    peak_current: float                      # worst closing [A]
    pulse_energy: float                      # in one resistor, one closing [J]
    running_loss: float                      # in one resistor [W]
    bypass_current: float                    # if the straight link closes on a charged branch: a fault [A]


@dataclass(frozen=True, kw_only=True)
class Bleed:
    """Resistor across one capacitor, `pieces` equal ones in series."""
    piece: float                             # [ohm]
    pieces: int
    time: float                              # to the target voltage, resistor and capacitor at their high limit [s]
    piece_loss: float                        # [W]
    piece_voltage: float                     # r.m.s. [V]

    @property
    def resistance(self) -> float:
        """Of all pieces [ohm]."""
        return self.piece * self.pieces


@dataclass(frozen=True, kw_only=True)
class DeadTime:
    """Least time between opening one set of relays and closing the next [s]."""
    release: float
    arc: float
    bleed: float
    residual: float                          # allowed on any capacitor when the next set closes [V]

    @property
    def total(self) -> float:
        """What the control program must keep [s]."""
        return self.release + self.arc + self.bleed


@dataclass(frozen=True, kw_only=True)
class Closing:
    """The worst of one change of contacts over the phase of the mains."""
    peaks: dict[str, tuple[float, float]]                              # contact -> (peak [A], phase [rad])
    square_integrals: dict[str, float]                   # contact -> largest integral of i^2 over the record [A2 s]
    motor_voltage: float                     # peak [V]
    capacitor_voltages: dict[int, float]                 # branch -> peak [V]


def damping_resistor(*, capacitances: Sequence[float], voltage: float, making_current: float, running_current: float, layout: str = "parallel", residual: float = TOUCHABLE,
                     series: str = "E12", highest: float = 47.0) -> Damping:
    """Return the smallest `Damping` of the series that keeps the worst closing within `making_current`.

    Parameters
    ----------
    capacitances : sequence of float
        Of the branches [F].
    voltage : float
        Highest r.m.s. voltage over a capacitor, at the highest supply [V].
    making_current : float
        The relay may make, from its inrush or capacitive figure, not the resistive one; peak [A].
    running_current : float
        Largest r.m.s. current of a branch [A].
    residual : float
        Left, at the wrong sign, on the incoming capacitor [V]; see `dead_time`.

    In parallel the last of n branches meets the n - 1 others: its resistor and theirs in parallel. In series a bridge
    meets its own branch alone. With one parallel branch there is no meeting: the smallest value serves.

    Raises ValueError where no value up to `highest` [ohm] serves.
    """
    for name, value in (("voltage", voltage), ("making_current", making_current)):
        require_number(name, value, above=0.0)
    require_number("running_current", running_current)
    require_number("residual", residual)
    count = len(capacitances)
    step = sqrt(2.0) * voltage + residual
    alone = layout == "series" or count == 1
    share = 1.0 if alone else count / (count - 1.0)
    for resistance in series_values(series, low=1.0, high=highest):
        weakest = resistance * (1.0 - TOLERANCE)
        peak = 0.0 if layout == "parallel" and count == 1 else step / (weakest * share)
        if peak <= making_current:
            break
    else:
        raise ValueError(f"making_current must be {peak:.1f} A or more with {resistance:g} ohm, found {making_current!r}")
    ordered = sorted(capacitances)
    if alone:
        energy = 0.0 if layout == "parallel" else 0.5 * ordered[-1] * step ** 2
    else:
        incoming, others = ordered[-1], sum(ordered[:-1])
        energy = 0.5 * incoming * others / (incoming + others) * step ** 2 / share
    return Damping(resistance=resistance, peak_current=peak, pulse_energy=energy, running_loss=running_current ** 2 * resistance,
                   bypass_current=sqrt(2.0) * voltage / weakest)


def bleed_resistor(*, capacitance: float, voltage: float, within: float = 1.0, target: float = TOUCHABLE, pieces: int = 2, series: str = "E24", capacitor_tolerance: float = USUAL_TOLERANCE) -> Bleed:
    """Return the largest `Bleed` that brings the crest of `voltage` [V r.m.s.] to `target` [V] `within` a time [s]."""
    for name, value in (("capacitance", capacitance), ("voltage", voltage), ("within", within), ("target", target)):
        require_number(name, value, above=0.0)
    if not 1 <= pieces <= 4:
        raise ValueError(f"pieces must be 1 to 4, found {pieces!r}")
    if target >= sqrt(2.0) * voltage:
        raise ValueError(f"target must be below the crest {sqrt(2.0) * voltage:.0f} V, found {target!r}")
    slowest = (1.0 + TOLERANCE) * (1.0 + capacitor_tolerance) * capacitance * log(sqrt(2.0) * voltage / target)
    largest = within / slowest / pieces
    piece = series_values(series, low=largest / 2.0, high=largest)[-1]
    return Bleed(piece=piece, pieces=pieces, time=slowest * piece * pieces, piece_loss=(voltage / pieces) ** 2 / piece,
                 piece_voltage=voltage / pieces)


def dead_time(*, regulator: Regulator, voltage: float, making_current: float, release_time: float, frequency: float, capacitor_tolerance: float = USUAL_TOLERANCE, contact: float = 0.0) -> DeadTime:
    """Return the `DeadTime` after which any set of relays may close.

    `voltage` is the highest r.m.s. over a capacitor at the highest supply [V], `release_time` the relay's, with its
    bounce [s]. The arc is given a whole cycle. Capacitors bleed from the crest to the residual that the damping
    resistors leave room for: making_current x loop resistance - crest.

    Raises ValueError where damping leaves no room for any residual, or a capacitor has no bleed.
    """
    for name, value in (("voltage", voltage), ("making_current", making_current), ("frequency", frequency)):
        require_number(name, value, above=0.0)
    require_number("release_time", release_time)
    crest = sqrt(2.0) * voltage
    branches = [branch for branch in regulator.branches if not branch.is_link]
    room = inf
    for place, branch in enumerate(branches):
        others = [1.0 / (float(other.resistance) + contact) for index, other in enumerate(branches) if index != place]
        if regulator.layout == "series":
            loop = float(branch.resistance) + contact
        elif others:
            loop = float(branch.resistance) + contact + 1.0 / sum(others)
        else:
            continue                         # a lone parallel branch never meets another capacitor
        room = min(room, making_current * loop * (1.0 - TOLERANCE) - crest)
    if room <= 0.0:
        raise ValueError(f"making_current must be {making_current * crest / (crest + room):.1f} A or more with this damping, "
                         f"found {making_current!r}")
    wait = 0.0
    residual = min(crest, room)
    if residual < crest:
        for branch in branches:
            if not isfinite(float(branch.bleed)):
                raise ValueError(f"bleed must be finite where capacitors meet, found {branch.bleed!r}")
            wait = max(wait, (1.0 + TOLERANCE) * (1.0 + capacitor_tolerance) * float(branch.bleed) * float(branch.capacitance)
                       * log(crest / residual))
    return DeadTime(release=release_time, arc=1.0 / frequency, bleed=wait, residual=residual)


def bounced(*, before: int, after: int, bounces: Sequence[float] = (0.5e-3, 0.4e-3, 0.3e-3, 0.2e-3)) -> tuple[tuple[float, int], ...]:
    """Return events that close from mask `before` to `after` with bounce: closed, open, closed ... for these times [s]."""
    events, now = [(0.0, after)], 0.0
    for place, span in enumerate(bounces):
        now += span
        events.append((now, after if place % 2 else before))
    return tuple(events if events[-1][1] == after else [*events, (now + min(bounces), after)])


def worst_closing(circuit: Circuit, *, before: int, after: int, residuals: Sequence[float] | None = None, bounces: Sequence[float] = (), duration: float = 0.04, phases: int = 24) -> Closing:
    """Return the `Closing` from mask `before` (0: at rest with `residuals` [V] per branch) to `after`, worst phase.

    Running, an incoming capacitor holds its residual too: `residuals` are set on the branches that `before` leaves out.
    """
    branches = range(len(circuit.regulator.branches))
    if residuals is None:                        # all discharged
        residuals = [0.0] * len(branches)
    live = set(circuit.regulator.carrying(before)) if before else set()

    def record(phase: float) -> Record:
        start = circuit.stretch(before).steady(phase) if before else resting(circuit, phase=phase, residuals=residuals)
        for place in branches:
            if place not in live:
                start[5 + place] = residuals[place]
        events = bounced(before=before, after=after, bounces=bounces) if bounces else ((0.0, after),)
        return switched(circuit, start=start, events=events, duration=duration)

    contacts = [f"contact {place}" for place in range(circuit.regulator.relays) if after >> place & 1]
    spaced = np.linspace(0.0, 2.0 * pi, phases, endpoint=False)
    records = [record(phase) for phase in spaced]
    peaks = {}
    for name in contacts:
        best = max((each.peak(name)[0], phase) for each, phase in zip(records, spaced))
        step = spaced[1]
        for _ in range(3):
            near = [(record(phase).peak(name)[0], phase) for phase in (best[1] - step / 2, best[1] + step / 2)]
            best, step = max([best, *near]), step / 2
        peaks[name] = (best[0], best[1] % (2.0 * pi))
    return Closing(
        peaks=peaks, square_integrals={name: max(each.square_integral(name) for each in records) for name in contacts},
        motor_voltage=max(each.peak("motor")[0] for each in records),
        capacitor_voltages={place: max(each.peak(f"capacitor {place}")[0] for each in records) for place in branches
                            if not circuit.regulator.branches[place].is_link})
