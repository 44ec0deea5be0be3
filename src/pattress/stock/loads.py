"""How each kind of load behaves towards a contact, a protective device and a cable (`loads.toml`)."""

from dataclasses import dataclass
from functools import cache

from pattress.finding import Source
from pattress.quantity import parse
from pattress.stock.shipped import table


@dataclass(frozen=True, slots=True)
class Behaviour:
    """What is known of a kind of load.

    `making_least` and `making_most` are the least and most credible current at switching on, as
    multiples of the steady current, for `making_duration` [s]. `contact_rule` is the multiple
    that must stay below a purely resistive contact rating, None where there is no such rule.
    `breaking` is "resistive", "inductive" or "motor"; `follows` is "up" when the current rises
    with the mains voltage and "down" when it falls. `power_factor` is the worst credible one.
    `rectifies` is "yes", "no" or "perhaps": whether the mains meets a rectifier in it.
    """

    kind: str
    making_least: float
    making_most: float
    making_duration: float
    making_source: Source
    contact_rule: float | None
    rule_source: Source | None
    breaking: str
    follows: str
    power_factor: float
    power_factor_source: Source
    rectifies: str
    lighting: bool


@cache
def behaviour(kind: str) -> Behaviour:
    """Return the behaviour of a kind of load of the job file. Raises KeyError for a kind it lacks."""
    loads = table("loads")
    entry = loads["load"][kind]
    making, rule, factor = entry["making"], entry.get("contact_rule"), entry["power_factor"]
    return Behaviour(
        kind=kind,
        making_least=making["least"],
        making_most=making["most"],
        making_duration=parse(making["duration"], "s"),
        making_source=loads.source(making["source"]),
        contact_rule=rule["value"] if rule else None,
        rule_source=loads.source(rule["source"]) if rule else None,
        breaking=entry["breaking"],
        follows=entry["follows"],
        power_factor=factor["value"],
        power_factor_source=loads.source(factor["source"]),
        rectifies=entry["rectifies"]["value"],
        lighting=entry["lighting"],
    )
