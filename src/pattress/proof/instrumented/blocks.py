"""To which part of a job each cell belongs, and by which cells it may be influenced: told from the plan, not from the program."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from pattress.controller.core.cells import (
    APART,
    APPLIED,
    CHANNEL,
    CONDITION,
    DOUBT,
    GONE,
    HELD,
    HOLD,
    INPUT,
    KEY,
    LIVE,
    MET,
    PRESS,
    READING,
    REGULATOR,
    RULE,
    SAVE,
    SHOWN,
    STUCK,
    SWITCH,
    TAKEN,
    TOGGLE,
    TURN,
    WANTED,
)
from pattress.controller.core.conditions import HOLDS, OF_CHANNEL, OF_INPUT

if TYPE_CHECKING:
    from pattress.proof.subject import Subject


@dataclass(frozen=True, slots=True)
class Coupling:
    """Cells that reach where they must not: `what` is influenced by `by`. `channels` are those no longer independent."""

    what: str
    by: str
    where: str
    channels: frozenset[int]

    def __str__(self) -> str:
        return f"{self.what} depends on {self.by} ({self.where})"


class Blocks:
    """To which part of the job each cell belongs, and by which cells it may be influenced."""

    def __init__(self, subject: Subject) -> None:
        self.subject = subject
        self.of: dict[int, str] = {}
        self.allowed: dict[int, int] = {}
        self.channels: dict[str, frozenset[int]] = {}
        remote = 1 << KEY | 1 << HELD
        self._add("the remote button that is held", (KEY, HELD), 0, frozenset())
        for switch, at in enumerate(subject.switch_at):
            after = subject.cells + subject.snapshot_size + switch
            self._add(f"switch {subject.table['switches'][switch]['name']}", (*range(at, at + SWITCH), *_press_cells(subject, switch), after), 0,
                      subject.trigger_channels("switch", switch))
        for regulator, at in enumerate(subject.regulator_at):
            after = subject.cells + subject.snapshot_size + len(subject.switches) + len(subject.inputs) + regulator
            self._add(f"regulator {subject.table['regulators'][regulator]['name']}", (*range(at, at + REGULATOR), after), 0,
                      {subject.table["regulators"][regulator]["channel"]})
        for channel, at in enumerate(subject.channel_at):
            asking = remote
            for kind, places, length in (("switch", subject.switch_at, SWITCH), ("regulator", subject.regulator_at, REGULATOR)):
                for number, start in enumerate(places):
                    if channel in subject.trigger_channels(kind, number):
                        asking |= _mask((*range(start, start + length), *(_press_cells(subject, number) if kind == "switch" else ())))
            for acts in subject.hand_acts:
                if any(one == channel for one, _, _ in acts):
                    for one, verb, _ in acts:
                        if verb == TOGGLE:      # toggled in one breath: all on or all off
                            asking |= _mask((subject.channel_at[one] + WANTED, subject.channel_at[one] + TURN))
            for condition in range(len(subject.conditions)):
                if channel in subject.trigger_channels("condition", condition):
                    at_condition = subject.condition_at[condition]
                    asking |= _mask((at_condition + MET, at_condition + TAKEN))
            for other, _ in subject.apart.get(channel, ()):
                asking |= _mask((subject.channel_at[other] + WANTED, subject.channel_at[other] + APPLIED, subject.apart_at[other] + GONE))
            saved, name = subject.cells + 2 * channel, subject.channel_name(channel)
            own = [cell for cell in range(at, at + CHANNEL) if cell != at + SHOWN]
            if channel in subject.feedback_at:
                own += [subject.feedback_at[channel] + place for place in (LIVE, DOUBT, STUCK)]
            if channel in subject.rule_at:
                own += range(subject.rule_at[channel], subject.rule_at[channel] + RULE)
            if channel in subject.apart_at:
                own += range(subject.apart_at[channel], subject.apart_at[channel] + APART)
            own += [subject.condition_at[one] + TAKEN for one in subject.holds[channel]]
            self._add(name, (*own, saved, saved + 1), asking, {channel})
            self._add(f"news of {name}", (at + SHOWN,), -1, {channel})      # who is told first; nothing else may look at it
        for number, at in enumerate(subject.input_at):
            after = subject.cells + subject.snapshot_size + len(subject.switches) + number
            self._add(f"input {subject.input_name(number)}", (*range(at, at + INPUT), after), 0, frozenset())
        for number, at in enumerate(subject.reading_at):
            self._add(f"reading {subject.reading_name(number)}", range(at, at + READING), 0, frozenset())
        for number, row in enumerate(subject.conditions):
            self._add_condition(number, row)
        self._add("the save delay", (SAVE,), -1, frozenset(subject.channels))

    def _add_condition(self, number: int, row: Mapping[str, Any]) -> None:
        """A condition depends on what it looks at, and a latched one on what releases it."""
        subject, at, allowed = self.subject, self.subject.condition_at[number], 1 << KEY | 1 << HELD       # whether a code is known is looked at before
        cells = [at + place for place in range(CONDITION) if place != TAKEN or row["kind"] != HOLDS]
        if row["source"] == OF_CHANNEL:
            place = subject.channel_at[row["number"]]
            allowed |= _mask((place + WANTED, place + TURN, place + HOLD))
        else:
            places, length = (subject.input_at, INPUT) if row["source"] == OF_INPUT else (subject.reading_at, READING)
            allowed |= _mask(range(places[row["number"]], places[row["number"]] + length))
        if "released_by" in row:
            allowed |= _mask((subject.condition_at[row["released_by"]] + MET,))
            cells.append(subject.cells + 2 * len(subject.channels) + subject.kept.index(number))
        self._add(f"condition {subject.condition_name(number)}", cells, allowed, frozenset())

    def _add(self, name: str, cells: Sequence[int], allowed: int, channels: AbstractSet[int]) -> None:
        name = f"{name}, again" if name in self.channels else name
        for cell in cells:
            self.of[cell], self.allowed[cell] = name, allowed | _mask(cells)
        self.channels[name] = frozenset(channels)

    def shared_relays(self) -> Iterator[Coupling]:
        """Yield the couplings that the plan itself makes: two channels with a relay in common."""
        subject = self.subject
        for channel in subject.channels:
            for other in range(channel):
                if subject.own_relays[channel] & subject.own_relays[other]:
                    yield Coupling(subject.channel_name(channel), subject.channel_name(other), "they share a relay in the plan",
                                   frozenset((channel, other)))


def _press_cells(subject: Subject, switch: int) -> range:
    """Return the cells in which a switch tells presses apart, none where it does not."""
    return range(subject.press_at[switch], subject.press_at[switch] + PRESS) if switch in subject.press_at else range(0)


def _mask(cells: range | Sequence[int]) -> int:
    mask = 0
    for cell in cells:
        mask |= 1 << cell
    return mask
