"""The ways in which somebody can ask one channel for something, as events of a timed trace."""

from __future__ import annotations

from array import array
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, Any

from pattress.controller.core import COMMAND, CONTACT, NEW_PRESS, ROTOR, TIME
from pattress.controller.core.cells import CONTACTS, LEVEL, OFF, ON, SET, TOGGLE, UP, VERBS

from ..moves import Act, Row, code_row, is_barred

if TYPE_CHECKING:
    from pattress.proof.subject import Subject


Told = tuple[str, Row]       # an event of the core, in words too


@dataclass(frozen=True, slots=True)
class Control:
    """One way to ask a channel.

    `asks` holds "on" and "off", which of them it can bring about. `edges(state)` returns (words, row) of
    what reaches the core, with the time that passes in between; `settle` is how long it must then keep still to act [ms];
    `release` is what must follow before it can be operated again.
    """

    kind: str
    name: str
    asks: frozenset[str]
    settle: int
    edges: Callable[[array[int]], Sequence[Told]]
    release: Sequence[Told] = ()


def controls_of(subject: Subject, channel: int, has_network: bool) -> list[Control]:
    """Return every way to ask a channel, the quickest first."""
    return [
        *(_commands(subject, channel) if has_network else ()),
        *_buttons(subject, channel),
        *_switches(subject, channel),
        *_regulators(subject, channel),
    ]


def brings(verb: int, level: int) -> frozenset[str]:
    """Return what a verb can bring about: "on", "off" or both."""
    if verb == TOGGLE:
        return frozenset(("on", "off"))
    if verb in (ON, UP) or (verb == SET and level):
        return frozenset(("on",))
    return frozenset(("off",)) if verb in (OFF, SET) else frozenset()


def _at_once(words: str, row: Row, state: array[int]) -> list[Told]:
    return [(words, row)]


def _commands(subject: Subject, channel: int) -> Iterator[Control]:
    name = subject.channel_name(channel)
    asked = [(OFF, 0), (ON, 0), *((SET, level) for level in range(1, subject.tops[channel] + 1) if subject.tops[channel] > 1)]
    for verb, level in (one for one in asked if not is_barred(subject, channel, *one)):
        words = f"the network asks {name}: {VERBS[verb]}{f' {level}' if verb == SET else ''}"
        yield Control("network", name, brings(verb, level), 0,
                      partial(_at_once, words, (COMMAND, channel, verb, level, 0)))


def _buttons(subject: Subject, channel: int) -> Iterator[Control]:
    for button in subject.buttons:
        for one, verb, level in subject.button_acts[button]:
            if one == channel:
                name = subject.table["buttons"][button]["name"]
                row = code_row(subject, button, NEW_PRESS)
                yield Control("remote", name, brings(verb, level), 0,
                              partial(_at_once, f"{name} is pressed", row))


def _switches(subject: Subject, channel: int) -> Iterator[Control]:
    for switch in subject.switches:
        if switch in subject.presses:
            for control, acts in presses_of(subject, switch):
                yield from (replace(control, asks=brings(verb, level)) for one, verb, level in acts if one == channel)
            continue
        for one, verb, level in subject.switch_acts[switch]:
            if one == channel:
                row, at = subject.table["switches"][switch], subject.switch_at[switch]

                def edges(state: array[int], switch: int = switch, row: Mapping[str, Any] = row, at: int = at) -> list[Told]:
                    closed = 1 - state[at + LEVEL] if row["latching"] else 1
                    words = f"{row['name']} is {'thrown' if row['latching'] else 'pressed'}"
                    return [(words, (CONTACT, switch, closed, 0, 0))]

                release = () if row["latching"] else ((f"{row['name']} is let go", (CONTACT, switch, 0, 0, 0)),)
                yield Control("switch", row["name"], brings(verb, level), row["settle_ms"], edges, release)


def presses_of(subject: Subject, switch: int) -> Iterator[tuple[Control, tuple[Act, ...]]]:
    """Yield each press that a switch tells apart, with what it asks for; `asks` of it is empty."""
    row, told, acts = subject.table["switches"][switch], subject.presses[switch], subject.press_acts(switch)
    name, settle = row["name"], row["settle_ms"]
    pressed: Told = (f"{name} is pressed", (CONTACT, switch, 1, 0, 0))
    let_go: Told = (f"{name} is let go", (CONTACT, switch, 0, 0, 0))
    believed: Told = ("", (TIME, settle, 0, 0, 0))

    def control(settle: int, edges: Sequence[Told], release: Sequence[Told]) -> Control:
        return Control("switch", name, frozenset(), settle, lambda state: edges, release)

    yield control(settle + told["again_ms"], (pressed, believed, let_go), ()), subject.switch_acts[switch]
    if "held" in acts:
        yield control(settle + told["held_ms"], (pressed,), (let_go,)), acts["held"]
    if "twice" in acts:
        yield control(settle, (pressed, believed, let_go, believed, pressed), (let_go,)), acts["twice"]


def _regulators(subject: Subject, channel: int) -> Iterator[Control]:
    for regulator in subject.regulators:
        row, at = subject.table["regulators"][regulator], subject.regulator_at[regulator]
        if row["channel"] != channel:
            continue
        for position, level in enumerate(row["levels"]):
            def edges(state: array[int], regulator: int = regulator, row: Mapping[str, Any] = row, at: int = at, position: int = position) -> list[Told]:
                place = position - row["off_is_open"]
                opened = [number for number in range(row["contacts"]) if state[at + CONTACTS] >> number & 1 and number != place]
                told: list[Told] = [(f"{row['name']} leaves its position", (ROTOR, regulator, number, 0, 0)) for number in opened]
                if place >= 0:
                    told.append((f"{row['name']} is turned to position {position}", (ROTOR, regulator, place, 1, 0)))
                return told

            yield Control("regulator", row["name"], brings(SET, level), row["settle_ms"], edges)
