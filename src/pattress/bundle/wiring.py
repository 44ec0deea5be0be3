"""The board's table: which pin each relay, contact, receiver, sensor and lamp is on, in the plan's order.

The board reads it before anything else, to drive its relays open. A relay is closed by a high
level unless the facts say `relay_level = 0`.
"""

from collections.abc import Mapping
from typing import Any

from pattress.bundle.errors import BundleError

NAME = "board.json"


def board_table(table: Mapping[str, Any], facts: Mapping[str, Any]) -> dict[str, Any]:
    """Return the table of the board under a plan.

    `facts` as a `Design` gives them: `board`, `pins` by the name of the wire, and where there
    are any `sensors` (name and kind by key) and `relay_level`. Raises BundleError naming every
    wire of the plan that has no pin.
    """
    pins = dict(facts["pins"])
    missing: list[str] = []

    def pin(wire: str) -> int:
        if wire not in pins:
            missing.append(wire)
        return int(pins.get(wire, -1))

    relays: dict[int, int] = {}
    for channel in table["channels"]:
        if channel.get("is_mode"):          # it has no relay, and the board leaves the bit alone
            continue
        for relay, wire in _relays(channel, pins):
            relays[relay] = pin(wire)
    sensors = facts.get("sensors", {})
    board = {
        "board": facts["board"],
        "relay_level": int(facts.get("relay_level", 1)),
        "relays": [relays[relay] for relay in sorted(relays)],
        "switches": [pin(f"switch.{switch['key']}") for switch in table["switches"]],
        "regulators": [
            [pin(f"regulator.{regulator['key']}.{number}") for number in range(1, regulator["contacts"] + 1)]
            for regulator in table["regulators"]],
        "infrared": pin("infrared") if table["buttons"] else pins.get("infrared"),
        "sensors": [
            {"key": key, "name": sensor["name"], "kind": sensor["kind"], "pin": pin(f"sensor.{key}")}
            for key, sensor in sorted(sensors.items())],
        "status": pins.get("status"),
    }
    if table.get("feedback"):
        board["feedback"] = [[row["channel"], pin(f"feedback.{table['channels'][row['channel']]['key']}")] for row in table["feedback"]]
    if table.get("inputs"):
        board["inputs"] = [pin(f"input.{row['key']}") for row in table["inputs"]]
    if "power_fail" in pins:
        board["power_fail"] = pins["power_fail"]
    if facts.get("setup_switch"):
        board["setup"] = [switch["key"] for switch in table["switches"]].index(facts["setup_switch"])
    if missing:
        raise BundleError(f"no bundle: no pin for {', '.join(missing)}")
    if sorted(relays) != list(range(len(relays))):
        raise BundleError(f"no bundle: the relays of the plan are not numbered in one row, found {sorted(relays)}")
    return board


def _relays(channel: Mapping[str, Any], pins: Mapping[str, int]) -> list[tuple[int, str]]:
    """Return the relays of a channel, each with the name of its wire: one for a load, numbered ones for a fan."""
    closed = 0
    for mask in channel["masks"]:
        closed |= mask
    bits = [bit for bit in range(closed.bit_length()) if closed >> bit & 1]
    wire = f"relay.{channel['key']}"
    if len(bits) == 1 and f"{wire}.1" not in pins:
        return [(bits[0], wire)]
    return [(bit, f"{wire}.{number}") for number, bit in enumerate(bits, start=1)]
