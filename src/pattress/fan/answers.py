"""What the job's findings say about its fans: motor, readings, speeds, start, capacitor voltage, switching."""

from collections.abc import Mapping

from pattress.fan.design import QUIET_CURRENT, FanDesign, FittedFan, revolutions
from pattress.fan.readings import called, shown
from pattress.fan.regulator import LOW_SUPPLY
from pattress.finding import COMMON_PRACTICE, Assumption, Figure, Finding, Input, Sense, Source, Verdict, judge
from pattress.job.model import UNKNOWN, Fan, FanReading, Job
from pattress.plural import counted
from pattress.quantity import show

THEORY = Source("Fitzgerald, Kingsley & Umans, Electric Machinery, 6th ed. 2003", "ch. 9", read=False)
START_RULE = Source("IS 374:2018, start at 85 % of the voltage on the lowest step, as quoted in a consumer test of 2024")
DISCHARGE = Source("IEC 60335-1, 22.5: 34 V one second after unplugging, read in a Japanese summary of clause 22")
SNOOPING = Source("W. Baarda, A testing procedure for use in geodetic networks, 1968", "as the manual of a survey program tells it")
SPEED_ERROR = 0.15                # of full speed, before a step counts as missed (common practice, no source)
MOTOR_WORDS = {
    "electronically commutated": "An electronic motor holds its speed whatever the voltage, until its electronics fail.",
    "shaded pole": "A shaded-pole motor hardly slows behind a capacitor, and overheats.",
    "unknown": "Which motor it has is not known.",
}


def findings(job: Job, fan_designs: Mapping[str, FanDesign]) -> tuple[Finding, ...]:
    """Return, for every fan: does a capacitor regulator suit it, and if it can be computed, does it do what is asked."""
    found: list[Finding] = []
    for key, fan in job.fan.items():
        design = fan_designs[key]
        found.append(_suits(key, fan, design))
        if not isinstance(design, FittedFan):
            continue
        if design.disagreements or design.judged.fit.compared:
            found.append(_agree(key, fan, design))
        found += [_speeds(key, fan, design), _starts(key, fan, design), _capacitor_voltage(key, fan, design), _closing(key, fan, design)]
    return tuple(found)


def _suits(key: str, fan: Fan, design: FanDesign) -> Finding:
    words, verdict = "Its speed follows its voltage.", Verdict.HOLDS
    if fan.steps == 1:
        words = "It is only switched."
    elif fan.motor != "permanent split capacitor":
        words, verdict = MOTOR_WORDS[fan.motor], Verdict.UNKNOWN if fan.motor == "unknown" else Verdict.FAILS
    elif design.problem:
        words, verdict = f"The figures given cannot be: {design.problem}.", Verdict.FAILS
    assumptions = design.assumptions
    if fan.motor == "unknown":
        assumptions += (Assumption(f"fan.{key}.motor", "a permanent-split-capacitor motor", "the job does not say",
                                   "open the canopy: a capacitor of 1 to 4 uF at the motor, three leads, no electronics"),)
    change: tuple[str, ...] = ()
    if verdict is not Verdict.HOLDS:
        change = ("look at the nameplate again",) if design.problem else ("one step only, straight through, or a fan with a run capacitor",)
    return Finding(
        id=f"fan_motor.{key}", question=f"Does a capacitor regulator suit the motor of {fan.name}?",
        subject=f"fan.{key}.motor", verdict=verdict, value=None, limit=None, sense=Sense.AT_MOST,
        formula="only a permanent-split-capacitor motor may be slowed by series capacitors",
        inputs=(Input("motor", fan.motor, f"fan.{key}.motor"), Input("steps", Figure(fan.steps, ""), f"fan.{key}.steps")),
        sources=(COMMON_PRACTICE,), assumptions=assumptions, change=change, detail=words,
        covers_not="the state of the motor",
    )


def _agree(key: str, fan: Fan, design: FittedFan) -> Finding:
    """Say which reading disagrees. A motor fitted to what is not so judges start and capacitors wrongly, so this stops a bundle."""
    judged, named = design.judged, design.disagreements
    compared = judged.fit.compared
    value = limit = None
    change: tuple[str, ...] = ()
    if compared and (judged.furthest > judged.limit or not named):      # else what cannot be decides, not a number
        value, limit = Figure(judged.furthest, ""), Figure(judged.limit, "")
    if named:
        numbers = ", ".join(str(number + 1) for number in dict.fromkeys(one.reading for one in named))
        detail = f"{_sentence('; '.join(one.words for one in named))}. The motor is fitted without what disagrees."
        change = (f"measure reading {numbers} again, or correct it in the job file", "take out what cannot be measured again: the speeds are then known less well")
    else:
        one = max(compared, key=lambda each: abs(each.deviation))
        detail = (f"Furthest off is {called(one.reading, fan.measured.readings[one.reading].capacitor)}: "
                  f"{shown(one.quantity, one.read)} read, {shown(one.quantity, one.fitted)} fitted.")
    return Finding(
        id=f"fan_readings.{key}", question=f"Do the readings of {fan.name} agree with one another?", subject=f"fan.{key}.measured",
        verdict=Verdict.FAILS if named else Verdict.HOLDS, value=value, limit=limit, sense=Sense.AT_MOST,
        corner=f"the furthest of {counted(len(compared), 'figure')} from what all else gives, in standard deviations",
        formula="residual over its standard deviation, of the fit to all readings and typical motors",
        inputs=tuple(Input(f"{called(place, reading.capacitor)}", _figures(reading), f"fan.{key}.measured.readings")
                     for place, reading in enumerate(fan.measured.readings)),
        sources=(SNOOPING, COMMON_PRACTICE), change=change, detail=detail,
        covers_not="a slip no larger than meters, capacitors and model may be off by; one that all readings share",
    )


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]


def _figures(reading: FanReading) -> str:
    known = [show(value, unit) for value, unit in ((reading.speed, "rpm"), (reading.power, "W"), (reading.apparent_power, "VA")) if value != UNKNOWN]
    return ", ".join(known) if known else "nothing"


def _doubted(verdict: Verdict, design: FanDesign) -> Verdict:
    """Return a verdict no better than unknown where the readings it rests on disagree."""
    return max((verdict, Verdict.UNKNOWN), key=lambda one: one.severity) if design.disagreements else verdict


def _doubt(key: str, design: FanDesign) -> str:
    return f" Not sure before the readings agree: see fan_readings.{key}." if design.disagreements else ""


def _settle(design: FanDesign) -> tuple[str, ...]:
    return ("settle which reading is right",) if design.disagreements else ()


def _inputs(key: str, fan: Fan, design: FittedFan) -> tuple[Input, ...]:
    plate = design.fit.nameplate
    return (
        Input("power", Figure(plate.power, "W"), f"fan.{key}.power"),
        Input("mains", Figure(plate.supply, "V"), "supply.system"),
        Input("poles", Figure(plate.poles, ""), f"fan.{key}.poles"),
        Input("run capacitor", Figure(plate.run_capacitance, "F"), f"fan.{key}.run_capacitor"),
        Input("regulator capacitors", ", ".join(show(value, "F") for value in design.drive.capacitors), "chosen from stock"),
        Input("motor", "typical of the nameplate" if design.fit.estimate else f"fitted to {counted(len(fan.measured.readings), 'reading')}",
              f"fan.{key}.measured"),
    )


def _speeds(key: str, fan: Fan, design: FittedFan) -> Finding:
    full = design.steps[-1].speed
    error = max(abs(step.speed - step.wanted) for step in design.steps) / full
    prediction = design.prediction
    steps = "; ".join(
        f"step {level}: {revolutions(step.speed):.0f} rpm ({revolutions(float(low)):.0f} to {revolutions(float(high)):.0f}), "
        f"wanted {revolutions(step.wanted):.0f}, {show(float(step.state.input_power), 'W')}"
        for level, (step, low, high) in enumerate(zip(design.steps, prediction.low, prediction.high), 1)
    )
    return Finding(
        id=f"fan_speed.{key}", question=f"Does {fan.name} come near the speeds wanted?", subject=f"fan.{key}.wanted",
        verdict=_doubted(judge(error, SPEED_ERROR, Sense.AT_MOST, tight=0.3), design), value=Figure(error, "%"), limit=Figure(SPEED_ERROR, "%"),
        sense=Sense.AT_MOST, nominal=Figure(error, "%"), corner="largest miss of any step, share of full speed; nominal mains",
        formula="double revolving field, unsymmetrical windings; torque = load torque, all roots",
        inputs=_inputs(key, fan, design), sources=(THEORY, COMMON_PRACTICE), assumptions=design.assumptions,
        change=(*_settle(design), "other wanted speeds, or your own capacitors in a parts file"),
        detail=f"{steps}. In brackets the 95 % band.{_doubt(key, design)}",
        covers_not="saturation, distorted mains, draught; measure the speed of every step", safety=False,
    )


def _starts(key: str, fan: Fan, design: FittedFan) -> Finding:
    weakest = min(design.steps, key=lambda step: step.start_ratio)
    refused = [step.reason for step in design.steps if step.start == "refused"]
    kicked = [str(level) for level, step in enumerate(design.steps, 1) if step.start == "kick"]
    verdict = Verdict.FAILS if refused else Verdict.TIGHT if kicked else Verdict.HOLDS
    words = f"{'; '.join(refused)}." if refused else "Every step starts from rest."
    if kicked:
        words = f"Step {', '.join(kicked)} needs a start kick on the fastest step of {show(design.drive.kick, 's', 2)}; the program gives it."
    verdict, words = _doubted(verdict, design), words + _doubt(key, design)
    return Finding(
        id=f"fan_start.{key}", question=f"Does {fan.name} start on every step with the mains low?", subject=f"fan.{key}",
        verdict=verdict, value=Figure(weakest.start_ratio, ""), limit=Figure(design.start_margin, ""), sense=Sense.AT_LEAST,
        corner=f"mains at {show(LOW_SUPPLY, '%')}, capacitors at the low end",
        formula="torque at rest over breakaway torque; below the limit, a kick is tried", inputs=_inputs(key, fan, design),
        sources=(START_RULE, COMMON_PRACTICE), assumptions=design.assumptions,
        change=(*_settle(design), "a faster lowest step", "a start kick, when the step keeps turning afterwards"), detail=words,
        covers_not="stiff bearings: breakaway torque is a typical value", safety=bool(refused),
    )


def _capacitor_voltage(key: str, fan: Fan, design: FittedFan) -> Finding:
    voltage = max(volt for step in design.steps for volt in step.voltages.values())
    rated = min(part.rated_voltage for part in design.choice.capacitors)
    bleeds = "; ".join(
        f"{bleed.pieces} x {show(bleed.piece, 'ohm')} in series across {show(part.capacitance, 'F')} ({show(bleed.time, 's', 2)} to 34 V)"
        for bleed, part in zip(design.bleeds, design.choice.capacitors)
    )
    return Finding(
        id=f"fan_capacitor.{key}", question=f"Do the regulator capacitors of {fan.name} bear the voltage?", subject=f"fan.{key}",
        verdict=judge(voltage, rated, Sense.AT_MOST), value=Figure(voltage, "V"), limit=Figure(rated, "V"), sense=Sense.AT_MOST,
        corner=f"mains at {show(design.highest, '%')}, any speed from rest to synchronous",
        formula="U over each capacitor, from the solution of the whole network", inputs=_inputs(key, fan, design),
        sources=(THEORY, DISCHARGE), assumptions=design.assumptions, change=("capacitors of the next voltage class",),
        detail=f"Bleed: {bleeds}.",
        covers_not="an open run capacitor, which raises the voltage: see the fan's fault cases",
    )


def _closing(key: str, fan: Fan, design: FittedFan) -> Finding:
    damping, dead = design.damping, design.dead
    return Finding(
        id=f"fan_switching.{key}", question=f"Can the relays of {fan.name} close on its capacitors without welding?",
        subject=f"fan.{key}", verdict=judge(damping.peak_current, QUIET_CURRENT, Sense.AT_MOST, tight=0.0),
        value=Figure(damping.peak_current, "A"), limit=Figure(QUIET_CURRENT, "A"), sense=Sense.AT_MOST,
        corner=f"mains at {show(design.highest, '%')}, closing at the crest, 34 V left at the wrong sign",
        formula="(crest + what is left) / resistance of the loop",
        inputs=(Input("damping", Figure(damping.resistance, "ohm"), "chosen from E12, one in each capacitor's branch"),
                Input("released", Figure(dead.release, "s"), "relay with a diode across its coil", COMMON_PRACTICE),
                Input("arc", Figure(dead.arc, "s"), "one cycle"), Input("bleeding", Figure(dead.bleed, "s"), "to what the damping allows")),
        sources=(COMMON_PRACTICE,), assumptions=design.assumptions, change=("a larger damping resistor",),
        detail=f"Damping {show(damping.resistance, 'ohm')} in each branch: {show(damping.running_loss, 'W', 2)} running, "
               f"{show(damping.pulse_energy, 'J', 2)} a closing, pulse-proof type. All relays stay open for "
               f"{show(dead.total, 's')} between steps.",
        covers_not="a relay that welds all the same: the straight link on a charged branch makes "
                   f"{show(damping.bypass_current, 'A', 2)}; and what a snubber across that link adds, for some microseconds, when the second capacitor closes",
    )
