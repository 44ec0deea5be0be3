"""How each kind of load behaves towards a contact, a protective device and a cable (`loads.toml`)."""

from dataclasses import dataclass
from functools import cache
from math import ceil

from pattress.finding import Source
from pattress.quantity import parse
from pattress.stock.shipped import table

NOMINAL = 230.0                  # V that the steps of capacitor inputs are given at
SOCKET = "socket"


@dataclass(frozen=True, slots=True)
class Surge:
    """Current at switching on of one load at nominal mains: least and most credible [A], how long [s], and by what rule."""

    least: float
    most: float
    duration: float
    rule: str


@dataclass(frozen=True, slots=True)
class Multiples:
    """A surge as multiples of the steady current, for `duration` [s]."""

    least: float
    most: float
    duration: float


@dataclass(frozen=True, slots=True)
class Step:
    """Surges of capacitor inputs up to a power [W], at 230 V: least and largest published peak [A], width at half height [s]."""

    up_to: float
    least: float
    peak: float
    duration: float


@dataclass(frozen=True, slots=True)
class Behaviour:
    """What is known of a kind of load.

    `multiples` give the surge at switching on; None for a capacitor input, whose surge goes by
    its power. `contact_rule` is the multiple of its steady current that must stay below a purely
    resistive contact rating for the contact to break it, None where there is no such rule.
    `breaking` is "resistive", "inductive" or "motor"; `follows` is "up" when the current rises
    with the mains voltage and "down" when it falls. `power_factor` is the worst credible one.
    `rectifies` is "yes", "no" or "perhaps": whether the mains meets a rectifier in it.
    """

    kind: str
    multiples: Multiples | None
    making_source: Source
    contact_rule: float | None
    rule_source: Source | None
    breaking: str
    follows: str
    power_factor: float
    power_factor_source: Source
    rectifies: str
    lighting: bool

    def surge(self, *, power: float, current: float, voltage: float) -> Surge:
        """Return the surge of one load of a power [W] and steady current [A] at a mains voltage [V r.m.s.]."""
        if self.multiples is not None:
            surge = self.multiples
            return Surge(current * surge.least, current * surge.most, surge.duration, f"{surge.most:g} times the steady current")
        asked = parse(table("loads")["capacitor_input"]["largest"], "W") if self.kind == SOCKET else power
        steps = capacitor_inputs()
        step = next((step for step in steps if asked <= step.up_to), steps[-1])
        times = ceil(asked / step.up_to) if asked > step.up_to else 1
        scale = times * voltage / NOMINAL
        what = "whatever may be plugged in" if self.kind == SOCKET else f"one of up to {times * step.up_to:g} W"
        return Surge(scale * step.least, scale * step.peak, step.duration, f"the largest published for {what}")


@cache
def capacitor_inputs() -> tuple[Step, ...]:
    """Return the steps of capacitor inputs, by rising power."""
    return tuple(Step(parse(step["up_to"], "W"), parse(step["least"], "A"), parse(step["peak"], "A"), parse(step["duration"], "s"))
                 for step in table("loads")["capacitor_input"]["step"])


@cache
def behaviour(kind: str) -> Behaviour:
    """Return the behaviour of a kind of load of the job file. Raises KeyError for a kind it lacks."""
    loads = table("loads")
    entry = loads["load"][kind]
    making, rule, factor = entry["making"], entry.get("contact_rule"), entry["power_factor"]
    by_power = making == "capacitor input"
    return Behaviour(
        kind=kind,
        multiples=None if by_power else Multiples(making["least"], making["most"], parse(making["duration"], "s")),
        making_source=loads.source(loads["capacitor_input"]["source"] if by_power else making["source"]),
        contact_rule=rule["value"] if rule else None,
        rule_source=loads.source(rule["source"]) if rule else None,
        breaking=entry["breaking"],
        follows=entry["follows"],
        power_factor=factor["value"],
        power_factor_source=loads.source(factor["source"]),
        rectifies=entry["rectifies"]["value"],
        lighting=entry["lighting"],
    )
