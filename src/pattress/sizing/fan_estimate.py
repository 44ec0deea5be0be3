"""A first estimate of a ceiling fan's step regulator: capacitors, relay patterns, dead time and kick.

The motor is taken as one resistor and its speed as proportional to its voltage, both fitted to
one worked model fan (75 W, 230 V, 14 poles; computed, not measured). Good for choosing relays
and for a first look; the steps of a real fan may be off by a third. The `fan` room reckons with
the motor itself. Left out: the start, resonance with the run capacitor, saturation.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations
from math import exp, hypot, log, pi

from pattress.finding import COMMON_PRACTICE, Assumption, Figure, Finding, Input, Sense, Source, Verdict, judge
from pattress.job.model import Fan, Job
from pattress.quantity import show
from pattress.sizing.mains import Mains, mains_of
from pattress.sizing.ranges import not_negative, positive
from pattress.stock.parts import Part, Parts
from pattress.stock.preferred import value_below

MODEL_FAN = Source("model fan example-75, worked with the double revolving field", "five regulator steps")
RESISTANCE_SHARE = 0.77           # of U^2/P: what the model fan presents behind a capacitor, 2 % over the steps 1 to 3.3 uF
SPEED_PER_VOLTAGE = 1.2           # share of full speed over share of full voltage; 3 % over the steps 2.2 to 5.5 uF
STRAIGHT_FROM = 0.8               # share of voltage above which speed closes up to full speed
START_VOLTAGE = 0.25              # share of voltage below which the model fan may not start at 85 % of the mains

TOUCH_VOLTAGE, TOUCH_TIME = 34.0, 1.0      # V after s: IEC 60335-1, 22.5, read in a Japanese summary of clause 22
DAMPING = 4.7                     # ohm in series with each capacitor
QUIET_CURRENT = 10.0              # A: two left-over charges meeting through both dampers stay below a plain contact rating
BLEED_TOLERANCE, CAPACITOR_TOLERANCE = 0.05, 0.05
KICK_TIME = 2.0                   # s at full voltage before a step that may not start
SPEED_ERROR = 0.15                # of full speed, between wanted and estimated, before it is called a failure
PRACTICE = COMMON_PRACTICE


@dataclass(frozen=True, slots=True)
class FanDrive:
    """How a fan is driven.

    `capacitors` [F], one relay each; the last relay is straight through. `masks` says which
    relays close at each level, off first, bit 0 = first relay. `dead` [s] all relays stay open
    between two patterns. Levels 1 to `kick_top` start with `kick_level` for `kick` [s].
    """

    key: str
    capacitors: tuple[float, ...]
    masks: tuple[int, ...]
    dead: float
    kick_level: int
    kick_top: int
    kick: float

    @property
    def relays(self) -> int:
        """Return how many relays it takes."""
        return max(self.masks).bit_length()


def motor_resistance(*, power: float, voltage: float) -> float:
    """Return the resistance [ohm] that stands for a fan of rated `power` [W] behind a capacitor."""
    positive(power=power, voltage=voltage)
    return RESISTANCE_SHARE * voltage**2 / power


def voltage_share(*, capacitance: float, resistance: float, frequency: float) -> float:
    """Return the motor's share of the mains voltage behind a capacitor: R / |R + 1/(j w C)|."""
    not_negative(capacitance=capacitance)
    positive(resistance=resistance, frequency=frequency)
    ratio = 2.0 * pi * frequency * capacitance * resistance
    return ratio / hypot(1.0, ratio)


def speed_share(share_of_voltage: float) -> float:
    """Return the share of full speed at a share of full voltage."""
    not_negative(share_of_voltage=share_of_voltage)
    if share_of_voltage <= STRAIGHT_FROM:
        return SPEED_PER_VOLTAGE * share_of_voltage
    top = SPEED_PER_VOLTAGE * STRAIGHT_FROM
    return top + (1.0 - top) * (min(share_of_voltage, 1.0) - STRAIGHT_FROM) / (1.0 - STRAIGHT_FROM)


def largest_bleed(*, capacitance: float, crest: float, left: float = TOUCH_VOLTAGE, time: float = TOUCH_TIME,
                  capacitor_tolerance: float = CAPACITOR_TOLERANCE, bleed_tolerance: float = BLEED_TOLERANCE) -> float:
    """Return the largest nominal bleed resistance [ohm] that brings a capacitor from `crest` to `left` [V] in `time` [s].

    R = t / (C ln(V0 / V)), with capacitor and resistor both at their upper tolerance.
    """
    positive(capacitance=capacitance, crest=crest, left=left, time=time)
    if left >= crest:
        raise ValueError(f"left must be below crest, found {left!r}")
    worst_capacitance = capacitance * (1.0 + capacitor_tolerance)
    return time / (worst_capacitance * log(crest / left)) / (1.0 + bleed_tolerance)


def voltage_left(*, start: float, time: float, resistance: float, capacitance: float) -> float:
    """Return the voltage on a capacitor [V] after bleeding for a time [s]."""
    not_negative(start=start, time=time)
    positive(resistance=resistance, capacitance=capacitance)
    return start * exp(-time / (resistance * capacitance))


def dead_time(*, resistance: float, capacitance: float, start: float, left: float) -> float:
    """Return how long a capacitor must bleed [s] from `start` to `left` [V]."""
    positive(resistance=resistance, capacitance=capacitance, start=start, left=left)
    return resistance * capacitance * log(start / left) if start > left else 0.0


def estimate_fans(job: Job, parts: Parts) -> dict[str, FanDrive]:
    """Return an estimated drive for every fan of the job, by key."""
    capacitors = tuple(part for part in parts.of("capacitor") if part.word("class") == "motor run")
    return {key: estimate(key, fan, mains_of(job), capacitors) for key, fan in job.fan.items()}


def estimate(key: str, fan: Fan, mains: Mains, stock: tuple[Part, ...]) -> FanDrive:
    """Return the drive whose estimated speeds come nearest to those wanted, with capacitors from stock."""
    steps = fan.steps
    if steps == 1:
        return FanDrive(key, (), (0, 1), 0.0, 0, 0, 0.0)
    resistance = motor_resistance(power=fan.power, voltage=mains.voltage)
    values = sorted({part.value("capacitance") for part in stock})
    wanted = wanted_speeds(fan)[:-1]
    best = min(
        (choice for chosen in combinations(values, _capacitors_for(steps)) for choice in (_patterns(chosen, steps),)),
        key=lambda choice: sum(
            (speed_share(voltage_share(capacitance=total, resistance=resistance, frequency=mains.frequency)) - want) ** 2
            for (total, _), want in zip(choice[1], wanted)
        ),
    )
    chosen, patterns = best
    kicked = [
        voltage_share(capacitance=total, resistance=resistance, frequency=mains.frequency) < START_VOLTAGE
        for total, _ in patterns
    ]
    top = max((level for level, needs in enumerate(kicked, 1) if needs), default=0)
    return FanDrive(
        key=key, capacitors=chosen, masks=(0, *(mask for _, mask in patterns), 1 << len(chosen)),
        dead=_dead_for(chosen, mains), kick_level=steps if top else 0, kick_top=top, kick=KICK_TIME if top else 0.0,
    )


def wanted_speeds(fan: Fan) -> tuple[float, ...]:
    """Return the wanted share of full speed at every step."""
    if fan.wanted == "evenly spaced":
        return tuple(step / fan.steps for step in range(1, fan.steps + 1))
    return tuple(fan.wanted)


def _capacitors_for(steps: int) -> int:
    """Return how many capacitors give that many steps, the last being straight through: n give 2^n - 1 values."""
    return next(n for n in (1, 2, 3) if 2**n >= steps)


def _patterns(chosen: tuple[float, ...], steps: int) -> tuple[tuple[float, ...], list[tuple[float, int]]]:
    """Return for every step below the last the total capacitance and the relays, spread over all combinations."""
    every = sorted(
        (sum(value for bit, value in enumerate(chosen) if mask >> bit & 1), mask) for mask in range(1, 1 << len(chosen))
    )
    needed = steps - 1
    places = [round((i + 1) * (len(every) + 1) / (needed + 1)) - 1 for i in range(needed)]
    return chosen, [every[place] for place in places]


def bleed_for(capacitance: float, crest: float) -> float:
    """Return the bleed resistor [ohm] from E24 for a capacitor [F]."""
    return value_below(largest_bleed(capacitance=capacitance, crest=crest))


def _dead_for(capacitors: tuple[float, ...], mains: Mains) -> float:
    """Return the dead time after which two left-over charges of opposite sign meet below QUIET_CURRENT."""
    allowed = QUIET_CURRENT * 2.0 * DAMPING / 2.0
    return max(
        dead_time(resistance=bleed_for(value, mains.crest) * (1.0 + BLEED_TOLERANCE),
                  capacitance=value * (1.0 + CAPACITOR_TOLERANCE), start=mains.crest, left=allowed)
        for value in capacitors
    )


def findings(job: Job, parts: Parts, fan_drives: Mapping[str, FanDrive]) -> tuple[Finding, ...]:
    """Return, for every fan: does a capacitor regulator suit it, what are its speeds, do the capacitors bear it."""
    mains = mains_of(job)
    found: list[Finding] = []
    for key, fan in job.fan.items():
        found.append(_suits(key, fan))
        if fan.steps > 1:
            found.append(_speeds(key, fan, mains, fan_drives[key]))
            found.append(_capacitor_voltage(key, fan, mains, fan_drives[key], parts))
    return tuple(found)


def _suits(key: str, fan: Fan) -> Finding:
    capacitor_motor = fan.motor == "permanent split capacitor"
    if fan.steps == 1 or capacitor_motor:
        verdict, words = Verdict.HOLDS, "It is only switched." if fan.steps == 1 else "Its speed follows its voltage."
    elif fan.motor == "unknown":
        verdict, words = Verdict.UNKNOWN, "Which motor it has is not known."
    else:
        verdict, words = Verdict.FAILS, (
            "An electronic motor must not be fed through a capacitor." if fan.motor == "electronically commutated"
            else "A shaded-pole motor overheats and hardly slows behind a capacitor.")
    return Finding(
        id=f"fan_motor.{key}", question=f"Does a capacitor regulator suit the motor of {fan.name}?",
        subject=f"fan.{key}.motor", verdict=verdict, value=None, limit=None, sense=Sense.AT_MOST,
        formula="only a permanent-split-capacitor motor may be slowed by series capacitors",
        inputs=(Input("motor", fan.motor, f"fan.{key}.motor"), Input("steps", Figure(fan.steps, ""), f"fan.{key}.steps")),
        sources=(COMMON_PRACTICE,),
        assumptions=() if fan.motor != "unknown" else (Assumption(
            f"fan.{key}.motor", "no motor", "the job does not say",
            "open the canopy: a capacitor of 1 to 4 uF at the motor, three leads, no electronics",
        ),),
        change=() if verdict is Verdict.HOLDS else ("one step only, straight through, or a fan with a run capacitor",),
        detail=words, covers_not="the state of the motor",
    )


def _speeds(key: str, fan: Fan, mains: Mains, drive: FanDrive) -> Finding:
    resistance = motor_resistance(power=fan.power, voltage=mains.voltage)
    wanted = wanted_speeds(fan)
    reached = [
        speed_share(voltage_share(capacitance=total, resistance=resistance, frequency=mains.frequency))
        for total in level_capacitances(drive)
    ] + [1.0]
    error = max(abs(got - want) for got, want in zip(reached, wanted))
    steps = "; ".join(
        f"step {level}: {show(got, '%', 2)}, wanted {show(want, '%', 2)}"
        for level, (got, want) in enumerate(zip(reached, wanted), 1)
    )
    return Finding(
        id=f"fan_speed.{key}", question=f"Does {fan.name} come near the speeds wanted?", subject=f"fan.{key}.wanted",
        verdict=judge(error, SPEED_ERROR, Sense.AT_MOST, tight=0.3), value=Figure(error, "%"),
        limit=Figure(SPEED_ERROR, "%"), sense=Sense.AT_MOST, nominal=Figure(error, "%"),
        corner="nominal; an estimate",
        formula="v = R / |R + 1/(j w C)|, R = 0.77 U^2/P, speed = 1.2 v up to 0.8",
        inputs=(Input("power", Figure(fan.power, "W"), f"fan.{key}.power"), mains.inputs[0],
                Input("capacitors", ", ".join(show(value, "F") for value in drive.capacitors), "chosen from stock")),
        sources=(MODEL_FAN,), change=("other capacitors, or wanted speeds that two of them can give",),
        detail=f"This is an estimate from one model fan. {steps}.",
        covers_not="the fan itself: measure its speed at every step", safety=False,
    )


def level_capacitances(drive: FanDrive) -> tuple[float, ...]:
    """Return the total capacitance [F] at every step below the last."""
    return tuple(
        sum(value for bit, value in enumerate(drive.capacitors) if mask >> bit & 1) for mask in drive.masks[1:-1]
    )


def _capacitor_voltage(key: str, fan: Fan, mains: Mains, drive: FanDrive, parts: Parts) -> Finding:
    rated = min(
        max(part.value("voltage") for part in parts.of("capacitor")
            if part.word("class") == "motor run" and part.value("capacitance") == value)
        for value in drive.capacitors
    )
    bleeds = ", ".join(
        f"{show(bleed_for(value, mains.crest), 'ohm')} across {show(value, 'F')}" for value in drive.capacitors
    )
    return Finding(
        id=f"fan_capacitor.{key}", question=f"Do the regulator capacitors of {fan.name} bear the voltage?",
        subject=f"fan.{key}", verdict=judge(mains.high, rated, Sense.AT_MOST), value=Figure(mains.high, "V"),
        limit=Figure(rated, "V"), sense=Sense.AT_MOST, nominal=Figure(mains.voltage, "V"), corner=mains.at_high,
        formula="with a sound run capacitor no regulator capacitor sees more than the mains",
        inputs=(*mains.inputs, Input("rated voltage", Figure(rated, "V"), "the weakest capacitor chosen"),
                Input("damping", Figure(DAMPING, "ohm"), "in series with each capacitor", PRACTICE),
                Input("dead time", Figure(drive.dead, "s"), "from the bleed")),
        sources=(MODEL_FAN,), change=("capacitors of the next voltage class, 440 V AC",),
        detail=f"Bleed: {bleeds} (two resistors in series each); below {show(TOUCH_VOLTAGE, 'V')} within "
               f"{show(TOUCH_TIME, 's')}. All relays stay open for {show(drive.dead, 's')} between steps. An estimate.",
        covers_not="an open run capacitor, which raises the voltage to about 1.2 times the mains",
    )
