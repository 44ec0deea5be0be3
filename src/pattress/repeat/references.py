"""What refers to what in a job's document: taking a thing out takes out what only spoke of it."""

from collections.abc import Callable, Mapping
from copy import deepcopy
from dataclasses import replace
from typing import Any, get_args

from pattress.job.action import EVERYTHING, parse_action
from pattress.job.model import Press
from pattress.job.rule import parse_rule
from pattress.job.wish import parse_wish

Document = dict[str, Any]
CHANNELS = ("load", "fan")
WIRES = {"relay": CHANNELS, "feedback": CHANNELS, "switch": ("switch",), "input": ("input",), "regulator": ("regulator",), "sensor": ("sensor",)}     # by the first word


def without(document: Mapping[str, Any], section: str, key: str) -> Document:
    """Return a document without one thing, and without what then means nothing.

    With a load or fan go the actions on it, switches and buttons left with nothing to do, its
    regulator, the rules, the wishes and the acceptances about it, and a feed that feeds nothing any more; with
    anything, the pins of its wires; with a wall, the places on it; with the last remote, the
    receiver. A wish about a control that is gone stays here: only the job as a whole can tell.
    """
    left = deepcopy(dict(document))
    gone = left[section].pop(key)
    if section in CHANNELS:
        left = _acting_on(left, lambda thing: thing != key)
        left["regulator"] = {name: row for name, row in left.get("regulator", {}).items() if row.get("fan") != key}
        left["wish"] = {name: row for name, row in left.get("wish", {}).items() if key not in parse_wish(row["says"]).things}
        left["accept"] = {finding: row for finding, row in left.get("accept", {}).items() if finding.partition(".")[2] != key}
        used = {row["feed"] for channel in CHANNELS for row in left.get(channel, {}).values()}
        if gone["feed"] not in used and len(left["feed"]) > 1:
            del left["feed"][gone["feed"]]
    if section in (*CHANNELS, "input", "sensor"):
        left["rule"] = {name: row for name, row in left.get("rule", {}).items() if not parse_rule(row["says"]).names(section, key)}
    if left.get("network", {}).get("setup_switch") not in left.get("switch", {}):
        left["network"] = {name: value for name, value in left.get("network", {}).items() if name != "setup_switch"}
    if section == "wall":
        left = _placed(left, key)
    if section == "remote" and not left["remote"]:
        left.pop("receiver", None)
    if "board" in left and left["board"].get("pins"):
        left["board"] = left["board"] | {"pins": _wired(left["board"]["pins"], left)}
    return {name: rows for name, rows in left.items() if rows != {}}


def _placed(row: Any, wall: str) -> Any:
    """Return a document, or anything in it, in which nothing has its place on a wall."""
    if not isinstance(row, dict):
        return row
    return {name: _placed(value, wall) for name, value in row.items()
            if not (name == "at" and isinstance(value, dict) and value.get("wall") == wall)}


def _wired(pins: Mapping[str, Any], document: Document) -> Document:
    """Return the soldered pins of what a document still has: kind and name are joined by a dot, or a table in a table."""
    def stays(wire: list[str]) -> bool:
        return wire[0] not in WIRES or any(wire[1] in document.get(section, {}) for section in WIRES[wire[0]])

    def left(rows: Mapping[str, Any], before: list[str]) -> Document:
        found = {}
        for name, value in rows.items():
            wire = [*before, *name.split(".")]
            kept = left(value, wire) if isinstance(value, Mapping) else value if stays(wire) else None
            if kept not in (None, {}):
                found[name] = kept
        return found

    return left(pins, [])


def _acting_on(document: Document, stays: Callable[[str], bool]) -> Document:
    """Return a document whose switches and buttons act only on what stays."""
    switches = {name: _pressed(row, stays) for name, row in document.get("switch", {}).items()}
    remotes = {}
    for name, remote in document.get("remote", {}).items():
        buttons = {button: row | {"does": _actions(row["does"], stays)} for button, row in remote["button"].items()}
        remotes[name] = remote | {"button": {button: row for button, row in buttons.items() if row["does"]}}
    return document | {
        "switch": {name: row for name, row in switches.items() if row["does"]},
        "remote": {name: remote for name, remote in remotes.items() if remote["button"]},
    }


def _pressed(row: Document, stays: Callable[[str], bool]) -> Document:
    """Return a switch that acts only on what stays, however it is pressed; a press of which nothing stays is told apart no more."""
    acting = {how: _actions(row[how], stays) for how in get_args(Press) if how in row}
    return {name: value for name, value in (row | acting).items() if value or name not in acting or name == "does"}


def _actions(does: str | list[str], stays: Callable[[str], bool]) -> str | list[str]:
    """Return the actions that stay, as they are written where all of them do."""
    found = []
    for text in [does] if isinstance(does, str) else does:
        action = parse_action(text)
        things = tuple(thing for thing in action.things if thing == EVERYTHING or stays(thing))
        if things:
            found.append(text if things == action.things else str(replace(action, things=things)))
    return found[0] if isinstance(does, str) and found else found
