"""From a fan of the job to its regulator: motor fitted, capacitors chosen, resistors sized, dead time found.

Where the job does not know the poles or the run capacitor, those of the usual fan are taken and said
so. A motor that must not be slowed by capacitors still gets a drive, so that the rest of the job
can be looked at; its finding fails and stops the bundle.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from math import inf, pi

from pattress.fan.drive import FanDrive
from pattress.fan.fit import Fit, Prediction, fit_motor, predict
from pattress.fan.motor import RADIANS_PER_SECOND
from pattress.fan.network import LINK, Branch, Capacitor, Regulator
from pattress.fan.operating import settled_speed
from pattress.fan.regulator import HIGH_SUPPLY, Choice, Step, assess, choose, wanted_speeds
from pattress.fan.switching import Bleed, Damping, DeadTime, bleed_resistor, damping_resistor, dead_time
from pattress.fan.unknowns import Nameplate, Reading
from pattress.finding import Assumption
from pattress.job.model import EVENLY, UNKNOWN, Fan, Job, Supply
from pattress.quantity import show
from pattress.stock.parts import Parts

QUIET_CURRENT = 10.0         # A, peak: left to two capacitors that meet, below the making current of any mains relay
RELEASE_TIME = 0.025         # s: 5 ms without a diode and up to five times that with one (SRD and G5LE sheets; factor from memory)
MOST_STEPS = {1: 1, 2: 2, 3: 4, 4: 8}      # relays -> speeds, straight through among them
START_MARGIN = {"measured": 1.2, "estimate": 1.5}     # starting over breakaway torque, which is seldom known (common practice, no source)
USUAL_POLES = 14             # of a 1200 mm fan (from memory)
USUAL_CAPACITOR = (2.5e-6, 75.0, 230.0, 50.0)    # F, of a fan of so many W, V, Hz (from memory)


@dataclass(frozen=True, kw_only=True, eq=False)
class FanDesign:
    """Everything found about one fan. `fit` to `dead` are None for a fan that is only switched, or when `problem` says why."""

    drive: FanDrive
    assumptions: tuple[Assumption, ...] = ()
    problem: str = ""
    fit: Fit | None = None
    choice: Choice | None = None
    regulator: Regulator | None = None        # with its damping and bleed resistors
    steps: tuple[Step, ...] = ()              # behind that regulator
    prediction: Prediction | None = None      # of the speed at each step
    damping: Damping | None = None
    bleeds: tuple[Bleed, ...] = ()
    highest: float = HIGH_SUPPLY              # mains, as a share of nominal
    dead: DeadTime | None = None

    @property
    def start_margin(self) -> float:
        """Return how much torque at rest must exceed breakaway torque: more where the motor is an estimate."""
        return start_margin(self.fit)


def fan_designs(job: Job, parts: Parts) -> dict[str, FanDesign]:
    """Return the design of every fan of the job, by key."""
    stock = tuple(
        Capacitor(capacitance=part.value("capacitance"), tolerance=part.value("tolerance"),
                  rated_voltage=part.value("voltage"), name=part.designation)
        for part in parts.of("capacitor") if part.word("class") == "motor run"
    )
    return {key: _design(key, fan, job.supply, stock) for key, fan in job.fan.items()}


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
    if poles == UNKNOWN:
        poles = USUAL_POLES
        assumptions.append(Assumption(f"fan.{key}.poles", f"{poles}", "most fans of this kind have as many (from memory)",
                                      "the speed at full, with a strobe or a counted blade: the next synchronous speed above it"))
    if capacitance == UNKNOWN:
        usual, power, voltage, frequency = USUAL_CAPACITOR
        capacitance = usual * fan.power / power * (voltage / system.voltage) ** 2 * frequency / system.frequency
        assumptions.append(Assumption(f"fan.{key}.run_capacitor", show(capacitance, "F", 2),
                                      "usual for this power and mains (from memory)", "read the capacitor at the motor, or measure it"))
    if not fan.measured.readings:
        assumptions.append(Assumption(f"fan.{key}.measured", "a typical motor of this nameplate", "no reading of the running fan is given",
                                      "W, VA and speed at full speed and at any step, with a plug-in meter"))
    speed = None if fan.speed == UNKNOWN else fan.speed * RADIANS_PER_SECOND
    plate = Nameplate(power=fan.power, supply=system.voltage, frequency=system.frequency, poles=poles,
                      run_capacitance=capacitance, speed=speed)
    return plate, tuple(assumptions)


def readings_of(fan: Fan) -> tuple[Reading, ...]:
    """Return what was measured at the running fan."""
    return tuple(
        Reading(
            supply=reading.mains,
            capacitance=inf if reading.capacitor == "none" else reading.capacitor,
            speed=None if reading.speed == UNKNOWN else reading.speed * RADIANS_PER_SECOND,
            power=None if reading.power == UNKNOWN else reading.power,
            apparent_power=None if reading.apparent_power == UNKNOWN else reading.apparent_power,
        )
        for reading in fan.measured.readings
    )


@lru_cache(maxsize=64)       # an edit of one fan designs no other one anew
def _design(key: str, fan: Fan, supply: Supply, stock: tuple[Capacitor, ...]) -> FanDesign:
    if fan.steps == 1:
        return FanDesign(drive=FanDrive(key, (), (0, 1), 0.0, 0, 0, 0.0))
    relays = relays_for(fan.steps)
    assumptions: tuple[Assumption, ...] = ()
    try:
        plate, assumptions = nameplate_of(key, fan, supply)
        measured = fan.measured
        fit = fit_motor(
            nameplate=plate, readings=readings_of(fan),
            main_resistance=None if measured.main_winding == UNKNOWN else measured.main_winding,
            auxiliary_resistance=None if measured.auxiliary_winding == UNKNOWN else measured.auxiliary_winding,
        )
        return _with_regulator(key, fan, fit, stock, relays, supply.system.frequency, assumptions,
                               max(HIGH_SUPPLY, 1.0 + supply.tolerance))
    except ValueError as impossible:
        return FanDesign(drive=_plain_drive(key, fan.steps, stock, relays), assumptions=assumptions, problem=str(impossible))


def _with_regulator(
    key: str, fan: Fan, fit: Fit, stock: tuple[Capacitor, ...], relays: int, frequency: float, assumptions: tuple[Assumption, ...],
    highest: float,
) -> FanDesign:
    """Choose capacitors, then size what stands around them for the worst that the choice can meet."""
    motor, load, supply = fit.motor, fit.load, fit.nameplate.supply
    full = float(settled_speed(motor, load, supply=supply, coming_from=0.999 * motor.synchronous_speed))
    shares = None if fan.wanted == EVENLY else list(fan.wanted)
    wanted = wanted_speeds(full_speed=full, steps=fan.steps if shares is None else None, shares=shares)
    margin = start_margin(fit)
    choice = choose(motor, load, stock, supply=supply, wanted=wanted, relays=relays, start_margin=margin, highest=highest)
    voltage = max((volt for step in choice.steps for volt in step.voltages.values()), default=supply)
    current = max((ampere for step in choice.steps for ampere in step.currents.values()), default=0.0)
    damping = damping_resistor(
        capacitances=[part.capacitance for part in choice.capacitors], voltage=voltage,
        making_current=QUIET_CURRENT, running_current=current,
    )
    bleeds = tuple(bleed_resistor(capacitance=part.capacitance, voltage=voltage, capacitor_tolerance=part.tolerance)
                   for part in choice.capacitors)
    regulator = Regulator(branches=(
        *(Branch(capacitance=part.capacitance, resistance=damping.resistance, bleed=bleed.resistance)
          for part, bleed in zip(choice.capacitors, bleeds)), LINK,
    ))
    tolerances = [*(part.tolerance for part in choice.capacitors), 0.0]
    steps = assess(motor, load, regulator, choice.masks[1:], supply=supply, tolerances=tolerances, wanted=wanted,
                   start_margin=margin, highest=highest)
    dead = dead_time(regulator=regulator, voltage=voltage, making_current=QUIET_CURRENT, release_time=RELEASE_TIME,
                     frequency=frequency, capacitor_tolerance=max(tolerances))
    kicked = [level for level, step in enumerate(steps, 1) if step.start != "starts"]
    drive = FanDrive(
        key=key, capacitors=tuple(part.capacitance for part in choice.capacitors), masks=choice.masks, dead=dead.total,
        kick_level=fan.steps if kicked else 0, kick_top=max(kicked, default=0), kick=max(step.kick_time for step in steps),
    )
    prediction = predict(fit, supply=supply, capacitance=[effective_capacitance(regulator, mask) for mask in choice.masks[1:]],
                         series_resistance=damping.resistance, capacitance_error=max(tolerances) / 2.0)
    return FanDesign(drive=drive, assumptions=assumptions, fit=fit, choice=replace(choice, regulator=regulator, steps=steps),
                     regulator=regulator, steps=steps, prediction=prediction, damping=damping, bleeds=bleeds, dead=dead,
                     highest=highest)


def start_margin(fit: Fit) -> float:
    """Return the margin on breakaway torque for a motor known so well."""
    return START_MARGIN["estimate" if fit.estimate else "measured"]


def effective_capacitance(regulator: Regulator, mask: int) -> float:
    """Return the capacitance in circuit at a relay pattern [F]; infinite straight through."""
    return sum(regulator.branches[place].capacitance for place in regulator.carrying(mask))


def _plain_drive(key: str, steps: int, stock: tuple[Capacitor, ...], relays: int) -> FanDrive:
    """Return relays that count through the smallest capacitors, for a fan about which nothing can be computed."""
    places = relays - 1
    values = sorted({part.capacitance for part in stock})[:places]
    return FanDrive(key, tuple(values), (0, *range(1, steps), 1 << places), 1.0, 0, 0, 0.0)


def revolutions(speed: float) -> float:
    """Return a speed [rad/s] in revolutions per minute."""
    return speed * 30.0 / pi
