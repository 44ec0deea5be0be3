"""What is proven: one core package under one plan, and everything the exploration asks about it."""

from __future__ import annotations

from array import array
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from random import Random
from types import ModuleType
from typing import Any

from pattress.controller import core as shipped
from pattress.controller.core import cells
from pattress.controller.core.cells import (
    APART,
    APPLIED,
    BEYOND,
    CAUSE,
    CHANNEL,
    CONDITION,
    CONTACTS,
    DOUBT,
    FEEDBACK,
    FRESH,
    GONE,
    HELD,
    HOLD,
    INPUT,
    KEY,
    KICK,
    LAST,
    LEVEL,
    LIMIT,
    LIVE,
    MET,
    NOTHING_SHOWN,
    NOWHERE,
    POSITION,
    PRESS,
    READING,
    REGULATOR,
    REST,
    RULE,
    RULED,
    RUN,
    SAVE,
    SETTLE,
    SHARED,
    SHOWN,
    STAY,
    STUCK,
    STUCK_CLOSED,
    STUCK_OPEN,
    SWITCH,
    TAKEN,
    TURN,
    UNDECIDED,
    UNTIL,
    WAIT,
    WANTED,
    WARN,
)
from pattress.controller.core.conditions import HOLDS, LOCKS, RESTS, WHEN
from pattress.controller.core.plan import top_of

from .reach import askable

LONGEST = 100_000       # of an elapsed time or a wait in a random filling [ms]


class Subject:
    """The core and the plan under proof, with the plan's names and the fillings of hidden cells."""

    def __init__(self, table: Mapping[str, Any], core: ModuleType | None = None, *, has_network: bool = True) -> None:
        self.core = core = core or shipped
        _require_same_layout(core)
        self.table = table
        self.plan = plan = core.Plan(table)
        self.channels = range(len(table["channels"]))
        self.switches = range(len(table["switches"]))
        self.regulators = range(len(table["regulators"]))
        self.buttons = range(len(table["buttons"]))
        self.has_network = has_network
        self.askable = askable(table, has_network)          # by channel: the levels that something can ask for
        self.tops = [top_of(channel) for channel in table["channels"]]
        self.masks = [tuple(channel["masks"]) for channel in table["channels"]]
        self.own_relays = []
        for masks in self.masks:
            own = 0
            for mask in masks:
                own |= mask
            self.own_relays.append(own)
        self.channel_at = [SHARED + CHANNEL * i for i in self.channels]
        switches_at = SHARED + CHANNEL * len(self.channels)
        self.switch_at = [switches_at + SWITCH * i for i in self.switches]
        regulators_at = switches_at + SWITCH * len(self.switches)
        self.regulator_at = [regulators_at + REGULATOR * i for i in self.regulators]
        self.cells = regulators_at + REGULATOR * len(self.regulators)
        self.feedback_ms, self.feedback_at = {}, {}         # by channel, of those that have some
        for row in table.get("feedback", ()):
            self.feedback_ms[row["channel"]], self.feedback_at[row["channel"]] = row["settle_ms"], self.cells
            self.cells += FEEDBACK
        self.rules = {row["channel"]: row for row in table.get("rules", ())}        # by channel, of those that have some
        self.start_most = {channel: int(row.get("start_most", 0)) for channel, row in self.rules.items()}       # at which level each comes on at most, 0 = any
        self.rule_at = {}           # by channel, of those with a time
        for channel, row in self.rules.items():
            if row["limit_ms"] or row["stay_ms"]:
                self.rule_at[channel] = self.cells
                self.cells += RULE
        self.apart, self.between_ms = _apart(table.get("apart", ()))       # by channel, of those that are kept apart: (other, cause) of each; a time
        self.apart_at = dict(zip(self.apart, self._places(len(self.apart), APART), strict=True))
        self.presses = {row["switch"]: row for row in table.get("presses", ())}      # by switch, of those that tell presses apart
        self.press_at = dict(zip(self.presses, self._places(len(self.presses), PRESS)))
        self.conditions = tuple(table.get("conditions", ()))
        self.inputs, self.readings = (tuple(table.get(kind, ())) if self.conditions else () for kind in ("inputs", "readings"))
        self.input_at = self._places(len(self.inputs), INPUT)
        self.reading_at = self._places(len(self.readings), READING)
        self.condition_at = self._places(len(self.conditions), CONDITION)
        self.kept = tuple(number for number, row in enumerate(self.conditions) if "released_by" in row)
        self.snapshot_size = 2 * len(self.channels) + len(self.kept)
        self.holds, self.locks, self.rests = ([[
            number for number, row in enumerate(self.conditions) if row["kind"] == kind and row["acts"][0][0] == channel]
            for channel in self.channels] for kind in (HOLDS, LOCKS, RESTS))
        if plan.cells != self.cells:
            raise ValueError(f"the state must have {self.cells} cells under this plan, found {plan.cells}")
        self.switch_acts = [_acts(switch["acts"]) for switch in table["switches"]]
        self.button_acts = [_acts(button["acts"]) for button in table["buttons"]]
        self.waits = self._waits()

    def channel_name(self, channel: int) -> str:
        return str(self.table["channels"][channel]["name"])

    def wall_only(self, channel: int) -> int:
        """Return whether the network may only switch a channel off: 1, or not even that: 2."""
        return int(self.rules[channel]["wall_only"]) if channel in self.rules else 0

    def is_wall_only(self, channel: int) -> bool:
        """Return whether the network may only switch a channel off."""
        return channel in self.rules and bool(self.rules[channel]["wall_only"])

    def _places(self, count: int, length: int) -> list[int]:
        """Return where so many blocks of cells stand, and count them."""
        at, self.cells = self.cells, self.cells + count * length
        return [at + length * i for i in range(count)]

    def time_cause(self, channel: int, words: str) -> int:
        """Return the cause of a channel going off by its "limit" or "stay"."""
        return RULED + int(self.rules[channel][f"{words}_rule"])

    def cause_of(self, condition: int) -> int:
        """Return the cause of what a condition asks."""
        return RULED + int(self.conditions[condition]["rule"])

    def condition_name(self, condition: int) -> str:
        return str(self.conditions[condition].get("name", f"rule {self.conditions[condition]['rule']}"))

    def input_name(self, number: int) -> str:
        return str(self.inputs[number].get("name", f"input {number}"))

    def reading_name(self, number: int) -> str:
        return str(self.readings[number].get("name", f"reading {number}"))

    def conditions_on(self, channel: int) -> list[int]:
        """Return the conditions that a channel must know of all the time, in their order."""
        return sorted([*self.holds[channel], *self.locks[channel], *self.rests[channel]])

    def condition_acts(self, condition: int) -> tuple[tuple[int, int, int], ...]:
        """Return what a condition asks for when it begins."""
        return _acts(self.conditions[condition]["acts"])

    def press_acts(self, switch: int) -> dict[str, tuple[tuple[int, int, int], ...]]:
        """Return what a switch asks for when it is "held" and when it is pressed "twice", as far as it tells such a press apart."""
        row = self.presses.get(switch, {})
        return {name: _acts(row[name]) for name in ("held", "twice") if row.get(name)}

    @property
    def hand_acts(self) -> list[tuple[tuple[int, int, int], ...]]:
        """Return everything that a press or a throw of a switch, or a press of a button, asks for."""
        return [*self.switch_acts, *(acts for switch in self.presses for acts in self.press_acts(switch).values()), *self.button_acts]

    def lock_in(self, raw: Sequence[int], channel: int) -> int | None:
        """Return the first condition for which a channel must be off in a state, None where there is none."""
        return next((one for one in self.locks[channel] if raw[self.condition_at[one] + MET]), None)

    def locks_in(self, raw: Sequence[int]) -> dict[int, int]:
        """Return the channels that must be off in a state, with the cause of that."""
        return {channel: self.cause_of(lock) for channel, locks in enumerate(self.locks) if locks and (lock := self.lock_in(raw, channel)) is not None}

    def trigger_channels(self, kind: str, number: int) -> set[int]:
        """Return the channels that a switch, regulator or button asks."""
        if kind == "regulator":
            return {self.table["regulators"][number]["channel"]}
        if kind == "condition":
            return {channel for channel, _, _ in self.condition_acts(number)}
        asked = (self.button_acts[number],) if kind == "button" else (self.switch_acts[number], *self.press_acts(number).values())
        return {channel for acts in asked for channel, _, _ in acts}

    def positions(self, regulator: int) -> int:
        """Return how many positions a regulator has, off included where it is one."""
        return len(self.table["regulators"][regulator]["levels"])

    def reference(self) -> array[int]:
        """Return the filling of hidden cells in the first run of every transition: all dark and quiet."""
        state: array[int] = self.core.new_state(self.plan)
        for channel, at in enumerate(self.channel_at):
            state[at + LAST] = self.table["channels"][channel]["on_level"]
            state[at + REST] = 1
        for at in self.regulator_at:
            state[at + POSITION] = NOWHERE
        return state

    def random_filling(self, random: Random, elapsed: int, still: frozenset[tuple[str, int]] = frozenset()) -> array[int]:
        """Return a legal filling of the whole state, any waits running.

        `elapsed` [ms] is the time that will pass; of the switches and regulators in `still`,
        given as (kind, number), none settles within it; a ("rule", channel) in it does not run out, and what
        a ("condition", number), ("input", number) or ("reading", number) in it comes to does not change.
        """
        def wait(may_run_out: bool = True) -> int:
            pick = random.randrange(3 if may_run_out else 2)
            return (0, random.randint(elapsed + 1, elapsed + LONGEST), random.randint(1, elapsed))[pick]

        state: array[int] = self.core.new_state(self.plan)
        state[SAVE] = wait()
        if self.buttons and random.random() < 0.7:
            state[KEY] = 1 + random.choice(self.buttons)
            state[HELD] = wait() or 1
        for channel, at in enumerate(self.channel_at):
            top = self.tops[channel]
            state[at + WANTED] = wanted = random.choice((0, random.randint(0, top)))
            state[at + LAST] = wanted or random.randint(1, top)
            state[at + APPLIED] = random.choice((0, wanted, random.randint(0, top)))
            state[at + SHOWN] = random.randint(NOTHING_SHOWN, top)
            state[at + CAUSE] = random.randint(0, RULED)
            state[at + REST] = random.randrange(2)
            for place in (WAIT, HOLD, TURN, KICK):
                state[at + place] = wait()
        for switch, at in enumerate(self.switch_at):
            state[at + LEVEL] = random.randrange(2)
            state[at + SETTLE] = wait(("switch", switch) not in still)
        for regulator, at in enumerate(self.regulator_at):
            state[at + CONTACTS] = random.randrange(1 << self.table["regulators"][regulator]["contacts"])
            state[at + POSITION] = random.randrange(NOWHERE, self.positions(regulator))
            state[at + SETTLE] = wait(("regulator", regulator) not in still)
        for at in self.feedback_at.values():
            state[at + LIVE] = random.randrange(2)
            state[at + STUCK] = random.choice((0, STUCK_CLOSED if state[at + LIVE] else STUCK_OPEN))
            state[at + DOUBT] = 0 if state[at + STUCK] else wait()
        for channel, at in self.rule_at.items():
            for place, key in ((LIMIT, "limit_ms"), (STAY, "stay_ms"), (WARN, "warn_ms")):
                if self.rules[channel].get(key):
                    state[at + place] = wait(("rule", channel) not in still)
        for at in self.apart_at.values():
            state[at + GONE] = wait()
        for switch, at in self.press_at.items():
            closed, row = state[self.switch_at[switch] + LEVEL], self.presses[switch]
            state[at + UNDECIDED] = random.randrange(2) if closed or row["again_ms"] else 0
            if state[at + UNDECIDED] and (row["held_ms"] or not closed):
                state[at + UNTIL] = wait(("switch", switch) not in still) or elapsed + 1
        for number, at in enumerate(self.input_at):
            state[at + LEVEL] = random.randrange(2)
            state[at + SETTLE] = wait(("input", number) not in still)
        for number, at in enumerate(self.reading_at):
            state[at + FRESH] = wait(("reading", number) not in still)
            state[at + BEYOND] = random.randrange(2) if state[at + FRESH] else 0
        some_are_off = bool(self.conditions) and random.randrange(2)        # with many locks hardly anything would be on
        for number, at in enumerate(self.condition_at):
            state[at + MET] = random.randrange(2) if some_are_off or self.conditions[number]["kind"] != LOCKS else 0
            state[at + RUN] = wait(("condition", number) not in still)
        self.settle_taken(state, random)
        return state

    def settle_taken(self, state: array[int], random: Random) -> None:
        """Let what conditions were carried out be as it may be: a hold that is met and not shut out was; a lock that is met has switched off."""
        for number, row in enumerate(self.conditions):
            if row["kind"] == WHEN:
                state[self.condition_at[number] + TAKEN] = state[self.condition_at[number] + MET]
        for channel, at in enumerate(self.channel_at):
            is_locked = self.lock_in(state, channel) is not None
            is_free = not is_locked and not any(state[self.condition_at[one] + MET] for one in self.rests[channel])
            for one in self.holds[channel]:
                state[self.condition_at[one] + TAKEN] = state[self.condition_at[one] + MET] and (is_free or random.randrange(2))
            if is_locked:
                state[at + WANTED] = state[at + APPLIED] = 0

    def _waits(self) -> dict[int, str]:
        """Return {cell: words} for every cell that counts down."""
        waits = {SAVE: "the snapshot falls due", HELD: "the remote button counts as let go"}
        words = {WAIT: "dead time", HOLD: "minimum off time", TURN: "turn after the power cut", KICK: "start kick"}
        for channel, at in enumerate(self.channel_at):
            for place, wait in words.items():
                verb = "comes" if place == TURN else "is over"
                waits[at + place] = f"{self.channel_name(channel)}: {wait} {verb}"
        for kind, places in (("switches", self.switch_at), ("regulators", self.regulator_at)):
            for number, at in enumerate(places):
                waits[at + SETTLE] = f"{self.table[kind][number]['name']}: has kept still long enough"
        for channel, at in self.feedback_at.items():
            waits[at + DOUBT] = f"{self.channel_name(channel)}: its feedback has disagreed long enough"
        for channel, at in self.rule_at.items():
            waits[at + LIMIT] = f"{self.channel_name(channel)}: it has been on for as long as it may"
            waits[at + WARN] = f"{self.channel_name(channel)}: it is warned of its end"
            waits[at + STAY] = f"{self.channel_name(channel)}: its time is over"
        for channel, at in self.apart_at.items():
            waits[at + GONE] = f"{self.channel_name(channel)} has been off for long enough"
        for switch, at in self.press_at.items():
            waits[at + UNTIL] = f"{self.table['switches'][switch]['name']}: its press is decided"
        for number, at in enumerate(self.input_at):
            waits[at + SETTLE] = f"{self.input_name(number)}: has kept still long enough"
        for number, at in enumerate(self.reading_at):
            waits[at + FRESH] = f"{self.reading_name(number)} is stale"
        for number, at in enumerate(self.condition_at):
            waits[at + RUN] = f"{self.condition_name(number)} begins or ends"
        return waits


def _acts(rows: Iterable[Sequence[int]]) -> tuple[tuple[int, int, int], ...]:
    return tuple((channel, verb, level) for channel, verb, level in rows)


def _apart(rows: Sequence[Mapping[str, Any]]) -> tuple[dict[int, tuple[tuple[int, int], ...]], dict[int, int]]:
    """Return what each channel is kept apart from, with the cause of that, and the longest time that passes between; in the order of the channels."""
    others: dict[int, list[tuple[int, int]]] = {}
    between: dict[int, int] = {}
    for row in rows:
        for channel in row["channels"]:
            others.setdefault(channel, []).extend((other, RULED + row["rule"]) for other in row["channels"] if other != channel)
            between[channel] = max(between.get(channel, 0), row["between_ms"])
    return {channel: tuple(others[channel]) for channel in sorted(others)}, between


def _require_same_layout(core: ModuleType) -> None:
    """The exploration reads cells by the places of the shipped core."""
    for name in dir(cells):
        if name.isupper() and getattr(core.cells, name) != getattr(cells, name):
            raise ValueError(f"cells.{name} must be {getattr(cells, name)!r} to be proven, found {getattr(core.cells, name)!r}")


def folder_of(core: ModuleType) -> Path:
    """Return the folder that a core was loaded from. Raises ValueError where it is of no file."""
    if core.__file__ is None:
        raise ValueError(f"core must be a package of files, found {core!r}")
    return Path(core.__file__).parent
