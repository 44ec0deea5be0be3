"""From a fan of the job to its regulator: motor fitted, capacitors chosen, resistors sized, dead time found.

Where the job does not know the poles, they are taken from the readings; where there are none, and for
a run capacitor that is not known, those of the usual fan are taken, and it is said so. A motor that must not be slowed by capacitors still gets a drive, so that the rest of the job
can be looked at; its finding fails and stops the bundle.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from math import exp, inf, pi

from pattress.fan.drive import FanDrive
from pattress.fan.fit import (
    RISE,
    WARMED_ERROR,
    Fit,
    Prediction,
    most_likely_poles,
    predict_positions,
    warm_resistance,
    winding_resistances,
)
from pattress.fan.motor import RADIANS_PER_SECOND
from pattress.fan.network import LINK, Branch, Capacitor, Regulator
from pattress.fan.operating import settled_speed
from pattress.fan.readings import WIDEST_TOLERANCE, Disagreement, Judged, impossible, judge_readings, readings_of, too_fast
from pattress.fan.regulator import HIGH_SUPPLY, Choice, Step, assess, choose, wanted_speeds
from pattress.fan.switching import Bleed, Damping, DeadTime, bleed_resistor, damping_resistor, dead_time
from pattress.fan.unknowns import Nameplate, Position, Reading, deviation_of_limits
from pattress.finding import Assumption
from pattress.job.model import EVENLY, UNKNOWN, Fan, Job, Supply
from pattress.quantity import show
from pattress.stock.credible import End, Known, assumed
from pattress.stock.parts import Parts

QUIET_CURRENT = 10.0         # A, peak: left to two capacitors that meet, below the making current of any mains relay
RELEASE_TIME = 0.025         # s: 5 ms without a diode and up to five times that with one (SRD and G5LE sheets; factor from memory)
MOST_STEPS = {1: 1, 2: 2, 3: 4, 4: 8}      # relays -> speeds, straight through among them
START_MARGIN = {"measured": 1.2, "estimate": 1.5}     # starting over breakaway torque, which is seldom known (common practice, no source)
USUAL_POLES = 14             # of a 1200 mm fan (from memory)
POLES = (4, 6, 8, 10, 12, 14, 16, 18)      # of ceiling fans, small to large (common practice, no source)
SLOWEST, FASTEST = 0.55, 0.98    # of the field's speed: between these runs every ceiling fan straight through (common practice, no source)
MOST_ODDS = 1000.0           # shown: more says nothing
USUAL_CAPACITOR = (2.5e-6, 75.0, 230.0, 50.0)    # F, of a fan of so many W, V, Hz (from memory)

RUN_CAPACITOR_ERROR = {"printed": 0.03, "usual": 0.15}     # one standard deviation: printed +-5 %; 2.25 to 3.15 uF on fans of one power (from memory)


@dataclass(frozen=True, kw_only=True, eq=False)
class FanDesign:
    """Everything found about one fan; a `FittedFan` where its motor and regulator could be reckoned.

    `fit` to `dead` are None for a fan that is only switched, or when `problem` says why. `fit` is to the readings that
    agree; `disagreements` names the others, those that cannot be among them.
    """

    drive: FanDrive
    assumptions: tuple[Assumption, ...] = ()
    problem: str = ""
    disagreements: tuple[Disagreement, ...] = ()
    judged: Judged | None = None
    fit: Fit | None = None
    choice: Choice | None = None
    regulator: Regulator | None = None        # with its damping and bleed resistors
    steps: tuple[Step, ...] = ()              # behind that regulator
    positions: tuple[Position, ...] = ()      # the steps as built, for predictions
    prediction: Prediction | None = None      # of the speed at each step
    damping: Damping | None = None
    bleeds: tuple[Bleed, ...] = ()
    highest: float = HIGH_SUPPLY              # mains, as a share of nominal
    dead: DeadTime | None = None

    @property
    def readings(self) -> tuple[Reading, ...]:
        """Return the readings of the running fan, as the fit took them."""
        return () if self.judged is None else self.judged.readings


@dataclass(frozen=True, kw_only=True, eq=False)
class FittedFan(FanDesign):
    """A fan with a fit and a regulator behind it: nothing of it is missing."""

    judged: Judged = field()               # each must be given: without `field()` it would keep the None of the base
    fit: Fit = field()
    choice: Choice = field()
    regulator: Regulator = field()
    prediction: Prediction = field()
    damping: Damping = field()
    dead: DeadTime = field()

    @property
    def start_margin(self) -> float:
        """Return how much torque at rest must exceed breakaway torque: more where the motor is an estimate."""
        return start_margin(self.fit, self.disagreements)


def fan_designs(job: Job, parts: Parts) -> dict[str, FanDesign]:
    """Return the design of every fan of the job, by key."""
    records = {part.designation: part for part in parts.of("capacitor") if part.word("class") == "motor run"}
    tolerances = {name: part.taken("tolerance", End.MOST) for name, part in records.items()}
    stock = tuple(Capacitor(capacitance=part.value("capacitance"), tolerance=tolerances[name].value, rated_voltage=part.value("voltage"), name=name)
                  for name, part in records.items())
    return {key: _with_tolerances(_design(key, fan, job.supply, stock), tolerances) for key, fan in job.fan.items()}


def _with_tolerances(design: FanDesign, tolerances: Mapping[str, Known]) -> FanDesign:
    """Return a design that lists the tolerances of its capacitors that no sheet gives."""
    chosen = () if design.choice is None else dict.fromkeys(part.name for part in design.choice.capacitors)
    not_printed = assumed(*(tolerances[name] for name in chosen))
    return replace(design, assumptions=(*design.assumptions, *not_printed)) if not_printed else design


def fan_drives(fan_designs: Mapping[str, FanDesign]) -> dict[str, FanDrive]:
    """Return just the drives, by key."""
    return {key: design.drive for key, design in fan_designs.items()}


def relays_for(steps: int) -> int:
    """Return how many relays a fan of so many steps takes, whatever its motor."""
    return next(relays for relays, most in MOST_STEPS.items() if most >= steps)


def nameplate_of(key: str, fan: Fan, supply: Supply) -> tuple[Nameplate, tuple[Assumption, ...]]:
    """Return the nameplate of a fan, with what had to be taken for what the job does not know."""
    system, assumptions = supply.system, []
    poles, capacitance = fan.poles, fan.run_capacitor
    speed = None if fan.speed == UNKNOWN else fan.speed * RADIANS_PER_SECOND
    if capacitance == UNKNOWN:
        usual, power, voltage, frequency = USUAL_CAPACITOR
        capacitance = usual * fan.power / power * (voltage / system.voltage) ** 2 * frequency / system.frequency
        assumptions.append(Assumption(f"fan.{key}.run_capacitor", show(capacitance, "F", 2),
                                      "usual for this power and mains (from memory)", "read the capacitor at the motor, or measure it"))
    if not fan.measured.readings:
        assumptions.append(Assumption(f"fan.{key}.measured", "a typical motor of this nameplate", "no reading of the running fan is given",
                                      "W, VA and speed at full speed and at any step, with a plug-in meter"))
    for place, reading in enumerate(fan.measured.readings, 1):
        if reading.capacitor != "none" and reading.capacitor_tolerance == UNKNOWN:
            assumptions.append(Assumption(f"fan.{key}.measured.readings", f"+/- {show(WIDEST_TOLERANCE, '%')} for the capacitor of reading {place}",
                                          "as wide as such capacitors are sold (common practice, no source)", "read what is printed on it, or measure it"))
    if poles == UNKNOWN:
        poles, why = _poles(fan, Nameplate(power=fan.power, supply=system.voltage, frequency=system.frequency, poles=2, run_capacitance=capacitance, speed=speed))
        assumptions.insert(0, Assumption(f"fan.{key}.poles", f"{poles}", why,
                                         "the speed at full, with a strobe or a counted blade: the next synchronous speed above it"))
    return Nameplate(power=fan.power, supply=system.voltage, frequency=system.frequency, poles=poles,
                     run_capacitance=capacitance, speed=speed), tuple(assumptions)


def _poles(fan: Fan, plate: Nameplate) -> tuple[int, str]:
    """Return the poles that the readings fit best, else the usual ones where the printed speed allows, and why."""
    readings = readings_of(fan)
    full = [reading.speed for reading in readings if reading.capacitance == inf and reading.speed is not None]
    if plate.speed is not None:
        full.append(plate.speed)
    fields = {poles: 4.0 * pi * plate.frequency / poles for poles in POLES}
    fitting = [poles for poles, field in fields.items() if all(SLOWEST * field < speed < FASTEST * field for speed in full)]
    if any(reading.speed is not None for reading in readings):
        ranked = most_likely_poles(nameplate=plate, readings=readings, candidates=fitting, **known_of(fan))
        if len(ranked) == 1:
            return ranked[0][1], "only this field turns fast enough for the speeds read, and not far too fast"
        if ranked:
            (best, poles, _), (second, other, _) = ranked[:2]
            odds = exp(0.5 * (second - best)) if second - best < 100.0 else inf
            return poles, f"the readings fit it best; {other} poles are {f'{odds:.3g}' if odds < MOST_ODDS else f'over {MOST_ODDS:.0f}'} times less likely"
    if USUAL_POLES in fitting or not fitting:
        return USUAL_POLES, "most fans of this kind have as many (from memory)"
    return fitting[-1], "of the fields that turn fast enough for this speed, and not far too fast, it is the slowest"


def known_of(fan: Fan) -> dict[str, float | None]:
    """Return what `fit_motor` takes beside nameplate and readings: windings, warm as they run, and how well the run capacitor is known.

    Raises ValueError where three readings between the leads of the windings cannot be.
    """
    main, auxiliary, both = (None if value == UNKNOWN else value for value in (
        fan.measured.main_winding, fan.measured.auxiliary_winding, fan.measured.both_windings))
    if main is not None and auxiliary is not None and both is not None:
        low, high = winding_resistances(readings=(main, auxiliary, both))
        if max(main, auxiliary) > both:          # the greatest of the three stands in another's place: take them for what they are
            main, auxiliary = low, high
    elif both is not None and main is not None:
        auxiliary = _other_winding(main, both)
    elif both is not None and auxiliary is not None:
        main = _other_winding(auxiliary, both)
    return {
        "main_resistance": None if main is None else warm_resistance(main, rise=RISE),
        "auxiliary_resistance": None if auxiliary is None else warm_resistance(auxiliary, rise=RISE),
        "resistance_error": WARMED_ERROR,
        "run_capacitance_error": RUN_CAPACITOR_ERROR["usual" if fan.run_capacitor == UNKNOWN else "printed"],
    }


def _other_winding(single: float, both: float) -> float:
    if single >= both:
        raise ValueError(f"both_windings must be more than one of them, {single:g} ohm, found {both:g} ohm")
    return both - single


@lru_cache(maxsize=64)       # an edit of one fan designs no other one anew
def _design(key: str, fan: Fan, supply: Supply, stock: tuple[Capacitor, ...]) -> FanDesign:
    if fan.steps == 1:
        return FanDesign(drive=FanDrive(key, (), (0, 1), 0.0, 0, 0, 0.0))
    relays = relays_for(fan.steps)
    assumptions: tuple[Assumption, ...] = ()
    try:
        plate, assumptions = nameplate_of(key, fan, supply)
        judged = judge_readings(nameplate=plate, readings=readings_of(fan), **known_of(fan))
        named = _disagreements(fan, judged, 4.0 * pi * plate.frequency / plate.poles)
        return _with_regulator(key, fan, judged, named, stock, relays, supply.system.frequency, assumptions,
                               max(HIGH_SUPPLY, 1.0 + supply.tolerance))
    except ValueError as refused:
        return FanDesign(drive=_plain_drive(key, fan.steps, stock, relays), assumptions=assumptions, problem=str(refused))


def _disagreements(fan: Fan, judged: Judged, synchronous: float) -> tuple[Disagreement, ...]:
    """Return what cannot be, what disagrees beside that, and what is too fast unless the other speed is the wrong one."""
    cannot = impossible(fan, synchronous)
    told = {(one.reading, one.quantity) for one in cannot}
    apart = tuple(one for one in judged.disagreements if (one.reading, one.quantity) not in told)
    wrong = {one.reading for one in (*cannot, *apart) if one.quantity == "speed"}
    return (*cannot, *apart, *(one for one in too_fast(fan) if one.beside not in wrong))


def _with_regulator(
    key: str, fan: Fan, judged: Judged, named: tuple[Disagreement, ...], stock: tuple[Capacitor, ...], relays: int, frequency: float,
    assumptions: tuple[Assumption, ...], highest: float,
) -> FittedFan:
    """Choose capacitors, then size what stands around them for the worst that the choice can meet."""
    fit = judged.fit
    motor, load, supply = fit.motor, fit.load, fit.nameplate.supply
    full = float(settled_speed(motor, load, supply=supply, coming_from=0.999 * motor.synchronous_speed))
    shares = None if fan.wanted == EVENLY else list(fan.wanted)
    wanted = wanted_speeds(full_speed=full, steps=fan.steps if shares is None else None, shares=shares)
    margin = start_margin(fit, named)
    choice = choose(motor, load, stock, supply=supply, wanted=wanted, relays=relays, start_margin=margin, highest=highest)
    voltage = max((volt for step in choice.steps for volt in step.voltages.values()), default=supply)
    current = max((ampere for step in choice.steps for ampere in step.currents.values()), default=0.0)
    damping = damping_resistor(
        capacitances=[part.capacitance for part in choice.capacitors], voltage=voltage,
        making_current=QUIET_CURRENT, running_current=current,
    )
    bleeds = tuple(bleed_resistor(capacitance=part.capacitance, voltage=voltage, capacitor_tolerance=part.tolerance)
                   for part in choice.capacitors)
    read, spare = _parts_read(fan, choice.capacitors)
    assumptions += tuple(Assumption(f"fan.{key}.measured.readings", f"new capacitors, not the one of {show(value, 'F')} that was read",
                                    "the capacitors that come nearest to the speeds wanted have other values", "other wanted speeds")
                         for value in spare)
    tolerances = [*(part.tolerance for part in choice.capacitors), 0.0]
    printed = Regulator(branches=(
        *(Branch(capacitance=part.capacitance if same is None else same, resistance=damping.resistance, bleed=bleed.resistance)
          for part, same, bleed in zip(choice.capacitors, read, bleeds)), LINK,
    ))
    regulator = Regulator(branches=tuple(branch if same is None else replace(branch, capacitance=fit.fitted_capacitance(same))
                                         for branch, same in zip(printed.branches, read)))
    steps = assess(motor, load, regulator, choice.masks[1:], supply=supply, tolerances=tolerances, wanted=wanted,
                   start_margin=margin, highest=highest)
    dead = dead_time(regulator=regulator, voltage=voltage, making_current=QUIET_CURRENT, release_time=RELEASE_TIME,
                     frequency=frequency, capacitor_tolerance=max(tolerances))
    kicked = [level for level, step in enumerate(steps, 1) if step.start != "starts"]
    drive = FanDrive(
        key=key, capacitors=tuple(part.capacitance for part in choice.capacitors), masks=choice.masks, dead=dead.total,
        kick_level=fan.steps if kicked else 0, kick_top=max(kicked, default=0), kick=max(step.kick_time for step in steps),
    )
    positions = tuple(Position(supply=supply, regulator=printed, mask=mask, errors=tuple(deviation_of_limits(share) for share in tolerances), read=read)
                      for mask in choice.masks[1:])
    return FittedFan(drive=drive, assumptions=assumptions, disagreements=named, judged=judged, fit=fit,
                     choice=replace(choice, regulator=regulator, steps=steps), regulator=regulator, steps=steps, positions=positions,
                     prediction=predict_positions(fit, positions), damping=damping, bleeds=bleeds, dead=dead, highest=highest)


def _parts_read(fan: Fan, chosen: tuple[Capacitor, ...]) -> tuple[tuple[float | None, ...], tuple[float, ...]]:
    """Return for each branch of the regulator, the link last, the value under which its very part was read, None for a new part.

    Besides, the values of the parts that were to go into the regulator and have no place in it.
    """
    kept = sorted({reading.capacitor for reading in fan.measured.readings if reading.capacitor != "none" and reading.regulator_gets == "this one"})
    read: list[float | None] = []
    for part in chosen:
        same = next((value for value in kept if abs(value / part.capacitance - 1.0) <= part.tolerance), None)
        read.append(same)
        if same is not None:
            kept.remove(same)                # one part is in one place
    return (*read, None), tuple(kept)


def start_margin(fit: Fit, disagreements: tuple[Disagreement, ...]) -> float:
    """Return the margin on breakaway torque for a motor known so well; one whose readings disagree is known as from its plate."""
    return START_MARGIN["estimate" if fit.estimate or disagreements else "measured"]


def _plain_drive(key: str, steps: int, stock: tuple[Capacitor, ...], relays: int) -> FanDrive:
    """Return relays that count through the smallest capacitors, for a fan about which nothing can be computed."""
    places = relays - 1
    values = sorted({part.capacitance for part in stock})[:places]
    return FanDrive(key, tuple(values), (0, *range(1, steps), 1 << places), 1.0, 0, 0, 0.0)


def revolutions(speed: float) -> float:
    """Return a speed [rad/s] in revolutions per minute."""
    return speed * 30.0 / pi
