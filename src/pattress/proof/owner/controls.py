"""The ways in which somebody can ask one channel for something, as events of a timed trace."""

from dataclasses import dataclass

from pattress.controller.core import COMMAND, CONTACT, NEW_PRESS, ROTOR
from pattress.controller.core.cells import CONTACTS, LEVEL, OFF, ON, SET, TOGGLE, UP, VERBS

from ..moves import code_row


@dataclass(frozen=True, slots=True)
class Control:
    """One way to ask a channel.

    `asks` maps "on" and "off" to what it can bring about. `edges(state)` returns (words, row) of
    what reaches the core; `settle` is how long it must then keep still to be believed [ms];
    `release` is what must follow before it can be operated again.
    """

    kind: str
    name: str
    asks: frozenset
    settle: int
    edges: object
    release: tuple = ()


def controls_of(subject, channel, has_network):
    """Return every way to ask a channel, the quickest first."""
    return [
        *(_commands(subject, channel) if has_network else ()),
        *_buttons(subject, channel),
        *_switches(subject, channel),
        *_regulators(subject, channel),
    ]


def brings(verb, level):
    """Return what a verb can bring about: "on", "off" or both."""
    if verb == TOGGLE:
        return frozenset(("on", "off"))
    if verb in (ON, UP) or (verb == SET and level):
        return frozenset(("on",))
    return frozenset(("off",)) if verb in (OFF, SET) else frozenset()


def _commands(subject, channel):
    name = subject.channel_name(channel)
    asked = [(OFF, 0), (ON, 0), *((SET, level) for level in range(1, subject.tops[channel] + 1) if subject.tops[channel] > 1)]
    for verb, level in asked:
        words = f"the network asks {name}: {VERBS[verb]}{f' {level}' if verb == SET else ''}"
        yield Control("network", name, brings(verb, level), 0,
                      lambda state, words=words, row=(COMMAND, channel, verb, level, 0): [(words, row)])


def _buttons(subject, channel):
    for button in subject.buttons:
        for one, verb, level in subject.button_acts[button]:
            if one == channel:
                name = subject.table["buttons"][button]["name"]
                row = code_row(subject, button, NEW_PRESS)
                yield Control("remote", name, brings(verb, level), 0,
                              lambda state, words=f"{name} is pressed", row=row: [(words, row)])


def _switches(subject, channel):
    for switch in subject.switches:
        for one, verb, level in subject.switch_acts[switch]:
            if one == channel:
                row, at = subject.table["switches"][switch], subject.switch_at[switch]

                def edges(state, switch=switch, row=row, at=at):
                    closed = 1 - state[at + LEVEL] if row["latching"] else 1
                    words = f"{row['name']} is {'thrown' if row['latching'] else 'pressed'}"
                    return [(words, (CONTACT, switch, closed, 0, 0))]

                release = () if row["latching"] else ((f"{row['name']} is let go", (CONTACT, switch, 0, 0, 0)),)
                yield Control("switch", row["name"], brings(verb, level), row["settle_ms"], edges, release)


def _regulators(subject, channel):
    for regulator in subject.regulators:
        row, at = subject.table["regulators"][regulator], subject.regulator_at[regulator]
        if row["channel"] != channel:
            continue
        for position, level in enumerate(row["levels"]):
            def edges(state, regulator=regulator, row=row, at=at, position=position):
                place = position - row["off_is_open"]
                opened = [number for number in range(row["contacts"]) if state[at + CONTACTS] >> number & 1 and number != place]
                told = [(f"{row['name']} leaves its position", (ROTOR, regulator, number, 0, 0)) for number in opened]
                if place >= 0:
                    told.append((f"{row['name']} is turned to position {position}", (ROTOR, regulator, place, 1, 0)))
                return told

            yield Control("regulator", row["name"], brings(SET, level), row["settle_ms"], edges)
