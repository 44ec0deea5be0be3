"""The rules between a wire and a pin: what cannot be, what is refused, what one would rather not.

Each rule answers one question about one pin and one kind of wire with an objection in words,
"" for none. `price` is what breaking a rule costs where a person may choose to: None where not.
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

from pattress.pins.demands import LAMP, Need
from pattress.stock.boards import Pin

# A relay of the kind used here closes within 10 ms (operate time, G5LE and SRD datasheets); a pulse
# a tenth as long does not move it (common practice, no source).
LONGEST_PULSE = 1e-3
OPEN_COLLECTOR = 10e3        # ohm: pull-up of a short wire from an open collector, where the pin has none (common practice, no source)
ABSENT = "absent"            # the state while starting of a pin that the chip does not have


class Weight(StrEnum):
    """What happens when a pin fixed by hand breaks the rule."""

    CANNOT = "cannot"        # the hardware does not do it: no assignment
    REFUSED = "refused"      # it can be wired so, but the check fails
    PRICE = "price"          # it works at a price: a resistor more, the console lost


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule: its name, what it says, how heavy it is, and its objection to a wire on a pin."""

    name: str
    says: str
    weight: Weight
    objection: Callable[[Need, Pin], str]
    price: int | None = None


def _not_on_edge(need: Need, pin: Pin) -> str:
    if pin.reset == ABSENT:
        return "does not exist on this board"
    return "" if pin.edge else "is not brought out to the edge"


def _reserved(need: Need, pin: Pin) -> str:
    return f"belongs to the board itself: {pin.reserved}" if pin.reserved else ""


def _cannot_drive(need: Need, pin: Pin) -> str:
    return "is an input only" if need.drives and not pin.output else ""


def _no_pull_up(need: Need, pin: Pin) -> str:
    return "has no pull-up of its own" if need.pull_up and not pin.pull_up else ""


def _strap(need: Need, pin: Pin) -> str:
    if pin.strap is None:
        return ""
    if pin.strap.level == "high" and need.lows:
        return f"must not be held low at reset ({pin.strap.role})"
    if pin.strap.level == "low" and need.highs:
        return f"must not be held high at reset ({pin.strap.role})"
    return ""


def _moves_at_start(need: Need, pin: Pin) -> str:
    if not need.starts_off:
        return ""
    if pin.reset == "driven high":
        return "is driven high while the board starts"
    longest = longest_pulse(pin)
    if longest is None:
        return "is reported to pulse high while the board starts, for how long is unknown"
    if longest > LONGEST_PULSE:
        return f"pulses high for {longest * 1e3:.3g} ms while the board starts"
    return ""


def _console(need: Need, pin: Pin) -> str:
    return f"is the console's: {pin.console}" if pin.console else ""


def _driven(need: Need, pin: Pin) -> str:
    return f"is already driven by {pin.driven}" if pin.driven else ""


def _shared(need: Need, pin: Pin) -> str:
    return ""                # of two soldered wires at one pin; which they are only the problem tells


def longest_pulse(pin: Pin) -> float | None:
    """Return the longest high pulse while the board starts [s]: 0 for none, None when unknown."""
    durations = [pulse.duration for pulse in pin.pulses if pulse.level == "high"]
    known = [duration for duration in durations if duration is not None]
    return max(known, default=0.0) if len(known) == len(durations) else None


RULES = (
    Rule("edge", "a wire needs a pin that is brought out", Weight.CANNOT, _not_on_edge),
    Rule("reserved", "a pin the board uses itself is not free", Weight.CANNOT, _reserved),
    Rule("input only", "an input-only pin cannot set a line", Weight.CANNOT, _cannot_drive),
    Rule("shared", "a pin takes one wire", Weight.CANNOT, _shared),
    Rule("driven", "a line that a part of the board drives takes no second driver", Weight.REFUSED, _driven),
    Rule("pull-up", "a line without a resistor of its own needs the pin's pull-up", Weight.PRICE, _no_pull_up, price=30),
    Rule("strap", "a pin read at reset must find the level a normal start needs", Weight.REFUSED, _strap),
    Rule("start", "a relay must not move while the board starts", Weight.REFUSED, _moves_at_start),
    Rule("console", "the console keeps its pins", Weight.PRICE, _console, price=60),
)


def objections(need: Need, pin: Pin) -> dict[str, str]:
    """Return by rule what speaks against a wire on a pin, empty when nothing does."""
    return {rule.name: words for rule in RULES if (words := rule.objection(need, pin))}


def rule(name: str) -> Rule:
    """Return a rule by name. Raises KeyError when there is none."""
    return next(known for known in RULES if known.name == name)


def reluctances(need: Need, pin: Pin) -> dict[str, int]:
    """Return what one would rather not have, in words, each with its price; nothing here forbids."""
    found = {}
    own_lamp = need is LAMP and pin.carries == "a lamp"
    if pin.strap and not own_lamp:
        found[f"a pin read at reset ({pin.strap.role})"] = 12
    if need.starts_off and need.lows and pin.reset == "weak high":
        found["pulled up weakly at reset, against the pull-down at the driver"] = 9
    if need.starts_off and longest_pulse(pin):
        found["pulses at reset, too short for a relay"] = 3
    if need.interrupts and pin.interrupt:
        found[pin.interrupt] = 9
    if need is LAMP and not own_lamp:
        found["a lamp must be fitted"] = 1
    if pin.differs:
        found[f"not the same on every such board: {pin.differs}"] = 20
    if pin.carries and not own_lamp:
        found[f"the board has {pin.carries} on it"] = 6
    return found
