"""How a relay is called wherever a person reads of it: K1, K2 and so on, in the order of the plan; and a feed's device, F1, F2.

The marks of the wiring, the terminals and the schedules are these, so one who reads "K6" in a
proof finds K6 in the enclosure. Between programs (`--json`, masks of a plan) a relay is its bit, from 0.
"""

from collections.abc import Iterable, Mapping
from typing import Any


def relay_designator(bit: int) -> str:
    """Return the mark of the relay at a bit of the plan's masks."""
    return f"K{bit + 1}"


def relay_designators(mask: int) -> tuple[str, ...]:
    """Return the marks of all relays in a mask, in order."""
    return tuple(relay_designator(bit) for bit in range(mask.bit_length()) if mask >> bit & 1)


def channel_designators(plan: Mapping[str, Any], key: str) -> tuple[str, ...]:
    """Return the marks of all relays of one channel of a plan, in order: for a fan those of its capacitors, the straight link last.

    Raises KeyError where the plan has no such channel.
    """
    first = 0
    for row in plan["channels"]:
        end = max(row["masks"]).bit_length()
        if row["key"] == key:
            return tuple(map(relay_designator, range(first, end)))
        first = end
    raise KeyError(key)


def device_designator(feeds: Iterable[str], key: str) -> str:
    """Return the mark of the protective device of a feed, counted in the order of the job file: "F1". Raises ValueError where there is no such feed."""
    return f"F{list(feeds).index(key) + 1}"


def together(mask: int) -> str:
    """Return the relays of a mask, at least one, in words: "relay K2", "relays K6+K8"."""
    marks = relay_designators(mask)
    return f"relay{'s' if len(marks) > 1 else ''} {'+'.join(marks)}"


def closed(mask: int) -> str:
    """Return how the relays of one channel stand, of which a mask is closed: "relays K6+K8 closed", or "all open"."""
    return f"{together(mask)} closed" if mask else "all open"
