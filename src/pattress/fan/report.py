"""A fan looked at closely: its steps, what the data fix, what to measure next, other regulators, single faults."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import inf

from pattress.drawing import Picture
from pattress.fan import charts
from pattress.fan.cases import fault_cases
from pattress.fan.compare import ways
from pattress.fan.design import FittedFan, revolutions
from pattress.fan.fit import COVERAGE, INSTRUMENTS, most_useful_measurement
from pattress.fan.network import USUAL_TOLERANCE
from pattress.fan.readings import called, shown
from pattress.fan.switching import worst_closing
from pattress.fan.tolerance import Outcome, monte_carlo
from pattress.fan.transient import Circuit, switched
from pattress.fan.unknowns import Reading, deviation_of_limits
from pattress.plural import counted
from pattress.quantity import show

PART_WORDS = {
    "main_resistance": "the ohmmeter across the main winding",
    "auxiliary_resistance": "the ohmmeter across the auxiliary winding",
    "run_capacitance": "a capacitance meter on the run capacitor",
    "regulator_capacitances": "a capacitance meter on the regulator capacitors",
}

STEP_ERROR = deviation_of_limits(USUAL_TOLERANCE)     # of the capacitor that a step is read with, when it is a bought one

# By the faults of `cases`, with the mark of the relay.
FAULT_WORDS = {"regulator capacitor shorted": "capacitor at {} shorted", "relay welded": "{} welded", "relay does not close": "{} does not close"}

Marks = Sequence[str]            # of the fan's relays, first to last: "K6", "K7", "K8"
Rows = tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A titled table, all words."""

    title: str
    head: tuple[str, ...]
    rows: Rows


def sheets(design: FittedFan, marks: Marks, outcome: Outcome | None = None) -> tuple[Sheet, ...]:
    """Return everything worth reading about a fan, as tables; `marks` are those of its relays in the plan."""
    found = [_steps(design, marks), *_readings(design), _parameters(design), _next(design)]
    if outcome is not None:
        found.append(_spread(outcome))
    return (*found, *further(design, marks))


def closely(design: FittedFan, marks: Marks) -> tuple[Sheet, ...]:
    """Return the part of `sheets` that takes no longer than an edit may: steps, readings, motor, what to measure next, regulator."""
    return _steps(design, marks), *_readings(design), _next(design), regulator(design, marks), _parameters(design)


def further(design: FittedFan, marks: Marks) -> tuple[Sheet, ...]:
    """Return the part of `sheets` that takes longer: other regulators, single faults."""
    return _ways(design), _faults(design, marks)


def sampled(design: FittedFan, *, samples: int, seed: int, progress: Callable[[int, int], None] | None = None) -> Outcome:
    """Return the steps over `samples` fans, mains and capacitors drawn from what is known."""
    tolerances = [*(part.tolerance for part in design.choice.capacitors), 0.0]
    return monte_carlo(design.fit.motor, design.fit.load, design.regulator, design.drive.masks[1:], supply=design.fit.nameplate.supply,
                       tolerances=tolerances, fit=design.fit, samples=samples, seed=seed, progress=progress)


def drawings(design: FittedFan, marks: Marks, outcome: Outcome | None = None) -> dict[str, Picture]:
    """Return the pictures of a fan, by name."""
    fit, omega = design.fit, design.fit.motor.angular_frequency
    feeds = [(f"step {level}", design.regulator.series_impedance(mask, omega)) for level, mask in enumerate(design.drive.masks) if mask]
    measured = {_reading_key(reading.capacitance): reading for reading in design.readings}
    bars = []
    for level, (step, position) in enumerate(zip(design.steps, design.positions), 1):
        reading = measured.get(_reading_key(position.capacitance))
        bars.append((f"step {level}", step.speed, float(step.state.input_power),
                     reading.speed if reading else None, reading.power if reading else None))
    drawn = {
        "torque-speed": charts.torque_speed(fit.motor, fit.load, feeds, supply=fit.nameplate.supply),
        "steps": charts.speed_and_power(bars),
    }
    if len(design.drive.capacitors) > 1:
        drawn["closing"] = _closing(design, marks)
    if outcome is not None:
        drawn["spread"] = charts.tolerance_bands([
            (f"step {level}", spread.low, spread.median, spread.high, step.wanted)
            for level, (spread, step) in enumerate(zip(outcome.steps, design.steps), 1)
        ])
    return drawn


def bands(design: FittedFan) -> dict[str, Picture]:
    """Return speed and power of each step with the 95 % band that the data leave, by name."""
    known = design.prediction
    wanted = [step.wanted for step in design.steps]
    labels = [f"step {level}" for level in range(1, len(design.steps) + 1)]
    return {
        "speed": charts.tolerance_bands(list(zip(labels, known.low, known.speed, known.high, wanted)), title="Speed per step, as far as it is known"),
        "power": charts.tolerance_bands(
            [(label, max(power - COVERAGE * spread, 0.0), power, power + COVERAGE * spread, None)
             for label, power, spread in zip(labels, known.power, known.power_spread)],
            title="Power per step, as far as it is known", quantity=("power", "W", 1.0)),
    }


def regulator(design: FittedFan, marks: Marks) -> Sheet:
    """Return the regulator that was chosen, part by part."""
    rows = []
    for mark, part, bleed in zip(marks, design.choice.capacitors, design.bleeds):
        rows.append((f"capacitor at {mark}", part.name or show(part.capacitance, "F"), f"+/- {100 * part.tolerance:.0f} %, {show(part.rated_voltage, 'V')}"))
        rows.append(("across it, to discharge", f"{bleed.pieces} x {show(bleed.piece, 'ohm', 2)} in series", f"discharged within {show(bleed.time, 's', 2)}"))
    rows.append(("in series with each", show(design.damping.resistance, "ohm", 2), f"takes {show(design.damping.pulse_energy, 'J', 2)} at the worst closing"))
    rows.append(("dead time", show(design.dead.total, "s", 2), "between opening one set of relays and closing the next"))
    return Sheet("The regulator chosen", ("part", "value", ""), tuple(rows))


def _closing(design: FittedFan, marks: Marks) -> Picture:
    """Draw the worst closing left after the dead time: the second capacitor joins the first at the worst phase."""
    regulator, first, both = design.regulator, 0b01, 0b11
    circuit = Circuit(motor=design.fit.motor, regulator=regulator, supply=design.highest * design.fit.nameplate.supply,
                      speed=design.steps[0].speed)
    residuals = [0.0, -design.dead.residual, *(0.0 for _ in regulator.branches[2:])]
    worst = worst_closing(circuit, before=first, after=both, residuals=residuals)
    peak, phase = worst.peaks["contact 1"]
    start = circuit.stretch(first).steady(phase)
    start[5 + 1] = residuals[1]
    record = switched(circuit, start=start, events=((0.0, both),), duration=0.01)
    small, large = regulator.branches[0], regulator.branches[1]
    lasting = (small.resistance + large.resistance) * small.capacitance * large.capacitance / (small.capacitance + large.capacitance)
    return charts.transient(record, until=8.0 * float(lasting), currents=("branch 0", "branch 1"), words=(f"through {marks[0]}", f"through {marks[1]}"),
                              title=f"Worst closing after the dead time: {peak:.1f} A in {marks[1]}")


def _steps(design: FittedFan, marks: Marks) -> Sheet:
    rows = []
    for level, (step, low, high) in enumerate(zip(design.steps, design.prediction.low, design.prediction.high), 1):
        relays = " + ".join(mark for relay, mark in enumerate(marks) if step.mask >> relay & 1)
        over = max(step.voltages.values(), default=0.0)
        start = {"starts": "by itself", "refused": "may not start", "kick": f"kick {show(step.kick_time, 's', 2)}"}[step.start]
        rows.append((
            str(level), relays, f"{revolutions(step.speed):.0f}", f"{revolutions(float(low)):.0f} to {revolutions(float(high)):.0f}",
            f"{revolutions(step.wanted):.0f}", f"{float(step.state.input_power):.1f}", f"{float(step.state.apparent_power):.1f}",
            f"{float(step.state.power_factor):.2f}", f"{over:.0f}" if over else "-", start,
        ))
    head = ("step", "relays", "rpm", "95 % band", "wanted", "W", "VA", "pf", "V over capacitor", "from rest")
    return Sheet("Steps, at nominal mains; the voltage over a capacitor at its worst", head, tuple(rows))


def _readings(design: FittedFan) -> tuple[Sheet, ...]:
    """Return every figure read beside the fit; nothing where none was read."""
    judged = design.judged
    if not judged.fit.compared:
        return ()
    capacitors = [reading.capacitance for reading in design.readings]
    rows = tuple(
        (called(one.reading, capacitors[one.reading]), shown(one.quantity, one.read), shown(one.quantity, one.fitted), f"{one.deviation:+.1f}",
         "disagrees, left out of the fit" if not one.used else "disagrees" if abs(one.deviation) > judged.limit else "")
        for one in judged.fit.compared
    )
    return (Sheet(f"Readings beside the fit; from {judged.limit:.1f} standard deviations on one disagrees",
                  ("reading", "read", "fitted", "off by standard deviations", ""), rows),)


def _parameters(design: FittedFan) -> Sheet:
    rows = tuple((parameter.name.replace("_", " "), _in_units(parameter.name, parameter.value), f"{100 * parameter.spread:.0f} %", parameter.fixed_by)
                 for parameter in design.fit.parameters)
    title = "Motor, an estimate from the nameplate" if design.fit.estimate else "Motor, fitted to the readings"
    return Sheet(title, ("quantity", "value", "spread", "rests on"), rows)


def _in_units(name: str, value: float) -> str:
    """Return a parameter of the motor or its load with its unit; torque is so much, and so much times the square of the speed in rad/s."""
    if name.endswith(("resistance", "reactance")):
        return show(value, "ohm")
    return f"{value:.4g}" + {"constant_torque": " N m", "square_torque": " N m s2"}.get(name, "")


def _next(design: FittedFan) -> Sheet:
    """What one further measurement would do for the spread of the predicted speeds."""
    supply = design.fit.nameplate.supply
    states = {"straight through": inf}
    states |= {f"on step {level} ({show(position.capacitance, 'F')})": position.capacitance for level, position in enumerate(design.positions[:-1], 1)}
    known = {_reading_key(reading.capacitance) for reading in design.readings}
    words: dict[Reading | str, str] = {Reading(supply=supply, capacitance=value, capacitance_error=STEP_ERROR): f"rpm, W and VA {name}"
             for name, value in states.items() if _reading_key(value) not in known}
    words |= {name: PART_WORDS[name] for name in INSTRUMENTS if name != "regulator_capacitances" or design.fit.capacitors}
    now, ranked = most_useful_measurement(design.fit, candidates=tuple(words), wanted=design.positions)
    rows = tuple((words[candidate], f"{revolutions(after):.1f} rpm") for after, candidate in ranked[:4])
    return Sheet(f"What to measure next: speeds are now known to {revolutions(now):.1f} rpm (one standard deviation)",
                 ("measure", "then known to"), rows)


def _spread(outcome: Outcome) -> Sheet:
    rows = tuple(
        (str(level), f"{revolutions(step.low):.0f} to {revolutions(step.high):.0f}", f"{revolutions(step.median):.0f}",
         f"{100 * step.not_started:.1f} %", f"{100 * step.too_close:.1f} %")
        for level, step in enumerate(outcome.steps, 1)
    )
    return Sheet(f"Over {counted(len(outcome.speeds), 'fan')}, mains and capacitors (seed {outcome.seed})",
                 ("step", "95 of 100, rpm", "middle", "does not start", "next step too close"), rows)


def _ways(design: FittedFan) -> Sheet:
    """Other kinds of regulator at the speed of the middle step."""
    middle = design.steps[(len(design.steps) - 1) // 2]
    rows = []
    for kind, way in ways(design.fit.motor, design.fit.load, supply=design.fit.nameplate.supply, speed=middle.speed).items():
        if isinstance(way, str):
            rows.append((kind, way, "", "", "", ""))
        else:
            rows.append((kind, f"{way.input_power:.1f}", f"{way.regulator_loss:.1f}", f"{way.power_factor:.2f}",
                         f"{100 * way.distortion:.0f} %", "yes" if way.starts else "no"))
    return Sheet(f"Other regulators at {revolutions(middle.speed):.0f} rpm",
                 ("kind", "W in all", "W lost in it", "pf", "current distortion", "starts"), tuple(rows))


def _faults(design: FittedFan, marks: Marks) -> Sheet:
    cases = fault_cases(design.fit.motor, design.fit.load, design.regulator, design.drive.masks[1:], supply=design.fit.nameplate.supply)
    rows = []
    for case in cases:
        if case.place is not None and case.place >= len(marks):
            continue                # a relay that no step takes is not there
        name = case.fault if case.place is None else FAULT_WORDS[case.fault].format(marks[case.place])
        over = max((volt for step in case.steps for volt in step.highest_voltages.values()), default=0.0)
        speeds = " / ".join(f"{float(step.state.rpm):.0f}" for step in case.steps)
        rows.append((name, speeds, f"{over:.0f}" if over else "-"))
    return Sheet("Single faults, at nominal mains: speed at off and each step, and the highest voltage over a regulator capacitor",
                 ("fault", "rpm at 0, 1, 2 ...", "V at most"), tuple(rows))


def _reading_key(capacitance: float) -> str:
    return f"{capacitance:.3g}"
