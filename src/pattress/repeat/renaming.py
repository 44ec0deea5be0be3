"""What must follow when a thing of the job gets another key: every value that names it, every key made from its key."""

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import replace
from typing import Any, get_args

from pattress.job.action import parse_action
from pattress.job.model import Press
from pattress.job.problem import Path
from pattress.job.rule import with_input, with_sensor
from pattress.job.rule import with_thing as with_ruled_thing
from pattress.job.wish import with_thing
from pattress.repeat.references import CHANNELS, WIRES


def values(document: Mapping[str, Any], section: str, key: str, new: str) -> dict[Path, Any]:
    """Return by its path each value of a document that names the thing `section.key`, with the new key in it."""
    return {path: now for path, was, now in _naming(document, section, key, new) if now != was}


def keys(document: Mapping[str, Any], section: str, key: str, new: str, accepted: Collection[str]) -> dict[Path, str]:
    """Return by its path each key that is made from the key of a thing, with its new last part: the thing's own, those of
    its soldered pins, and the ids of acceptances about it, which `accepted` gives.
    """
    def in_wire(words: list[str]) -> int | None:
        return 1 if len(words) > 1 and section in WIRES.get(words[0], ()) and words[1] == key else None

    def in_finding(words: list[str]) -> int | None:
        about = (key, f"{section}_{key}")
        return next((at for at, word in enumerate(words) if at and word in about), None) if ".".join(words) in accepted else None

    def following(word: str) -> str:
        return new if word == key else f"{section}_{new}"

    return {
        (section, key): new,
        **dict(_made(document.get("board", {}).get("pins", {}), ("board", "pins"), [], in_wire, following)),
        **dict(_made(document.get("accept", {}), ("accept",), [], in_finding, following)),
    }


def _naming(document: Mapping[str, Any], section: str, key: str, new: str) -> Iterator[tuple[Path, Any, Any]]:
    """Yield path, value and new value of what may name a thing of a section."""
    def called(name: Any) -> Any:
        return new if name == key else name

    if section in CHANNELS:
        for name, row in document.get("switch", {}).items():
            for how in get_args(Press):
                if how in row:
                    yield ("switch", name, how), row[how], _does(row[how], called)
        for name, remote in document.get("remote", {}).items():
            for button, row in remote["button"].items():
                yield ("remote", name, "button", button, "does"), row["does"], _does(row["does"], called)
        for name, row in document.get("wish", {}).items():
            yield ("wish", name, "says"), row["says"], with_thing(row["says"], key, new)
    for sections, renamed in ((CHANNELS, with_ruled_thing), (("input",), with_input), (("sensor",), with_sensor)):
        if section in sections:
            yield from ((("rule", name, "says"), row["says"], renamed(row["says"], key, new)) for name, row in document.get("rule", {}).items())
    if section == "fan":
        yield from ((("regulator", name, "fan"), row["fan"], called(row["fan"])) for name, row in document.get("regulator", {}).items())
    if section == "feed":
        yield from (((channel, name, "feed"), row["feed"], called(row["feed"]))
                    for channel in CHANNELS for name, row in document.get(channel, {}).items())
    if section == "wall":
        yield from ((path, wall, called(wall)) for path, wall in _walls(document, ()))
    if section == "switch" and "setup_switch" in document.get("network", {}):
        yield ("network", "setup_switch"), document["network"]["setup_switch"], called(document["network"]["setup_switch"])


def _does(does: str | list[str], called: Callable[[str], str]) -> str | list[str]:
    """Return actions with their things called otherwise, as they are written where none is."""
    found = []
    for text in [does] if isinstance(does, str) else does:
        action = parse_action(text)
        things = tuple(map(called, action.things))
        found.append(text if things == action.things else str(replace(action, things=things)))
    return found[0] if isinstance(does, str) else found


def _walls(row: Any, path: Path) -> Iterator[tuple[Path, str]]:
    """Yield the path and name of the wall of every place."""
    for name, value in row.items() if isinstance(row, Mapping) else ():
        if name == "at" and isinstance(value, Mapping):
            yield (*path, name, "wall"), value["wall"]
        else:
            yield from _walls(value, (*path, name))


def _made(rows: Mapping[str, Any], path: Path, before: list[str], at: Callable[[list[str]], int | None],
          following: Callable[[str], str]) -> Iterator[tuple[Path, str]]:
    """Yield path and new last part of keys, joined by dots or a table in a table, in which `at` finds a word to change."""
    for name, value in rows.items():
        parts = name.split(".")
        found = at([*before, *parts])
        if found is not None and found >= len(before):
            place = found - len(before)
            yield (*path, name), ".".join([*parts[:place], following(parts[place]), *parts[place + 1:]])
        elif found is None and isinstance(value, Mapping):
            yield from _made(value, (*path, name), [*before, *parts], at, following)
