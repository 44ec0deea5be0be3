"""A live run: the real control program under one plan, operated by a person, one stimulus after the other.

The same world as in a rehearsed day - contacts bounce, the loop wakes a little late, the flash
takes its time - but nothing happens unless asked for, and time passes only by `wait`. The same seed
and the same stimuli give the same run, so a list of stimuli is a session.
"""

from __future__ import annotations

from array import array
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pattress.controller import core
from pattress.controller.core.cells import APPLIED, CAUSE, HOLD, KICK, STUCK_CLOSED, STUCK_OPEN, TURN, WAIT, WANTED
from pattress.errors import UseError
from pattress.rehearsal.action_line import ActionLine, action_line
from pattress.rehearsal.day import DAY, Entry, Names, UserAction, clock, standing
from pattress.rehearsal.oracle import Act
from pattress.rehearsal.stimuli import LATE_MS, Mishaps, bounce, noticed
from pattress.rehearsal.world import World

KEPT = 400                  # happenings that are remembered, the latest
LONGEST_MS = 31 * DAY       # that one wait may pass
HELD_MS = 120               # a button of a remote is held for, unless said otherwise
WAITS = {WAIT: "dead time", HOLD: "minimum off time", TURN: "its turn after the power cut", KICK: "start kick"}


@dataclass(frozen=True, slots=True)
class Happening:
    """Something that happened at a moment [ms]: `what` is one of "done", "relay", "waits", "power",
    "network", "saved", "told", "fault"; `channel` its key where it is about one; `cause` who asked.
    """

    at: int
    what: str
    words: str
    channel: str = ""
    cause: str = ""

    def __str__(self) -> str:
        return f"{clock(self.at)}  {self.words}"


@dataclass(frozen=True, slots=True)
class Lamp:
    """A channel as it stands: `level` is what its relays do, None when that is none of its levels; `wanted` what was asked.

    `waits` says why they differ, with what is left [ms]; `told` is what the network believes.
    """

    key: str
    name: str
    level: int | None
    top: int
    wanted: int
    cause: str
    waits: tuple[tuple[str, int], ...]
    told: int | None


@dataclass(frozen=True, slots=True)
class Control:
    """A control as it stands: kind "latching", "retractive", "regulator", "button" or "input".

    `position` is 1 for a closed switch or input, or where a regulator stands; `positions` how many there are.
    """

    key: str
    name: str
    kind: str
    position: int
    positions: int


@dataclass(frozen=True, slots=True)
class Scene:
    """The run at one moment [ms since it began].

    `relays` are those closed; `happenings` the latest, in order; `inputs` the contacts that rules wait for;
    `wakes_at` is when the program will do something by itself, None when it will not.
    """

    at: int
    has_power: bool
    has_network: bool
    is_running: bool
    is_linked: bool
    lamps: tuple[Lamp, ...]
    controls: tuple[Control, ...]
    relays: tuple[int, ...]
    happenings: tuple[Happening, ...]
    wakes_at: int | None
    inputs: tuple[Control, ...] = ()


class LiveRun:
    """A live run. `do` what an `ActionLine` allows, then read `scene`."""

    def __init__(self, table: Mapping[str, Any], names: Names | None = None, *, seed: str = "room",
                 mishaps: Mishaps = Mishaps(0.0, 0.0)) -> None:
        self.table = table
        self.names = names or Names.of(table)
        self._world = _World(table, self.names, seed, mishaps)
        self._now = 0
        self._world.start()

    @property
    def now(self) -> int:
        """Return the time since the run began [ms]."""
        return self._now

    def do(self, stimulus: ActionLine | str) -> None:
        """Do one thing now: an ActionLine, or its text, such as "throw door" or "wait 500".

        Only a wait lets time pass; a switch acts once its contact has settled. Raises UseError
        when the line means nothing under this plan.
        """
        one = action_line(self.table, stimulus) if isinstance(stimulus, str) else stimulus
        if one.verb == "wait":
            if not 0 <= one.given <= LONGEST_MS:
                raise UseError(f"wait must be 0 to {LONGEST_MS} ms, found {one.given}")
            self._now += one.given
            self._world.pass_until(self._now)
        else:
            self._world.do_now(self._now, one)

    def scene(self) -> Scene:
        """Return the run as it stands now."""
        return self._world.scene(self._now, self.table)


class _World(World):
    """The world around the board, without an end and without a log, noting what a person would notice."""

    def __init__(self, table: Mapping[str, Any], names: Names, seed: str, mishaps: Mishaps) -> None:
        super().__init__(table, names, seed, mishaps=mishaps)
        self.oracle.is_live = True
        self._keys, self._names = tuple(row["key"] for row in table["channels"]), names
        self._happenings: list[Happening] = []
        self._pressed: dict[int, Act | None] = {}
        self._told: list[int | None] = [None] * self.plan.channels
        self._problems_seen = 0

    def start(self) -> None:
        self._begin(0)

    def do_now(self, at: int, one: ActionLine) -> None:
        """Do something now; edges and frames that it means follow as time passes."""
        match one.verb:
            case "throw":
                self._move_switch(at, one.place, None)
            case "press":
                if not self._closed[one.place]:
                    self._pressed[one.place] = self._hold(at, one.place)
            case "release":
                self._release(at, one.place)
            case "turn":
                self._turn(at, one.place, one.given)
            case "button":
                self._hold_button(at, one.place, HELD_MS if one.number is None else one.number)
            case "open" | "close":
                self._move_input(at, one.place, int(one.verb == "close"))
            case "ask":
                self._ask(at, one)
            case "cut":
                if self._has_power:
                    self._note(at, "power", "the power is gone: every relay drops")
                    self._cut(at)
            case "restore":
                if not self._has_power:
                    self._note(at, "power", "the power is back: the board starts")
                    self._power_back(at)
            case "drop":
                if self._has_network:
                    self._note(at, "network", "the network is gone")
                    self._lose_network(at)
            case "find":
                if not self._has_network:
                    self._note(at, "network", "the network is back")
                    self._find_network(at)
        self._collect()

    def _hold(self, at: int, switch: int) -> Act | None:
        """Press a retractive switch, until it is let go; of one that tells presses apart nobody knows yet what this will be."""
        if switch not in self.told_apart:
            return self._move_switch(at, switch, None)
        at = max(at, self._switch_busy[switch])
        edges = bounce(self.rng, at, 1)
        for moment, level in noticed(self.rng, edges, 0):
            self._at(moment, self._edge, switch, level)
        self._switch_busy[switch] = edges[-1][0] + LATE_MS + 1
        return None

    def _ask(self, at: int, one: ActionLine) -> None:
        row = (one.place, one.act, one.number or 0)
        act = self.oracle.command(at, *row, self.board.is_alive, self.board.is_linked)
        if self.board.is_linked:
            self._feed(at, (core.COMMAND, *row, 0), act)

    def _release(self, at: int, switch: int) -> None:
        """Let a retractive switch go; one let go before it was believed was a touch."""
        if switch not in self._pressed:
            return
        act, at = self._pressed.pop(switch), max(at, self._switch_busy[switch])
        if act is not None and at <= self.oracle.latest(act):
            act.is_short = True
        edges = bounce(self.rng, at, 0)
        for moment, level in noticed(self.rng, edges, 1):
            self._at(moment, self._edge, switch, level)
        self._switch_busy[switch] = edges[-1][0] + LATE_MS + 1

    def _move_input(self, at: int, number: int, closed: int) -> None:
        if closed != self._rests[number]:
            self._note(at, "done", f"input {self._names.inputs[number]}: {'closes' if closed else 'opens'}")
        super()._move_input(at, number, closed)

    def _judge(self, at: int, act: Act, power_ups: int) -> None:
        super()._judge(at, act, power_ups)
        self._collect()

    def _begin(self, at: int) -> None:
        super()._begin(at)
        self._told = [None] * self.plan.channels
        self._note(at, "power", "the control program runs, every relay open")
        opened = core.new_state(self.plan)
        for channel in range(self.plan.channels):       # what may close without any wait has closed already
            self._see_channel(at, channel, opened, self.board.state)

    def _link(self, at: int) -> None:
        was = self.board.is_linked
        super()._link(at)
        if self.board.is_linked and not was:
            self._note(at, "network", "the network listens")

    def _feed(self, at: int, event: tuple[int, ...] | None = None, act: Act | None = None, *, is_noticed: bool = False) -> None:
        self.board.log.clear()
        before = self.board.state[:]
        super()._feed(at, event, act, is_noticed=is_noticed)
        for channel in range(self.plan.channels):
            self._see_channel(self.board.clock, channel, before, self.board.state)
        for entry in self.board.log:
            self._see_news(entry)
        self._collect()

    def _see_news(self, entry: Entry) -> None:
        for channel, level, cause in entry.told or ():
            self._told[channel] = level
            sticks = f", {core.CAUSES[cause]}" if cause in (STUCK_CLOSED, STUCK_OPEN) else ""
            words = f"network told: {self._names.channels[channel]} {self._standing(channel, level)}{sticks}"
            self._note(entry.at, "told", words, self._keys[channel])
        if entry.saved is not None:
            self._note(entry.at, "saved", "the state is being saved")

    def _see_channel(self, moment: int, channel: int, before: array[int], after: array[int]) -> None:
        at, name, key = self.plan.channel_at[channel], self._names.channels[channel], self._keys[channel]
        applied, wanted, cause = after[at + APPLIED], after[at + WANTED], self._names.cause(after[at + CAUSE])
        if before[at + APPLIED] != applied:
            kick = "start kick, " if after[at + KICK] and applied else ""
            self._note(moment, "relay", f"{name}: {kick}{self._standing(channel, applied)}, asked by {cause}", key, cause)
        elif before[at + WANTED] != wanted != applied:
            reasons = ", ".join(f"{words} {left} ms" for words, left in self._waits(after, at)) or "its line is live"
            self._note(moment, "waits", f"{name}: shall be {self._standing(channel, wanted)}, waits: {reasons}", key, cause)

    def _standing(self, channel: int, level: int) -> str:
        return standing(level, self.plan.top(channel))

    @staticmethod
    def _waits(state: array[int], at: int) -> tuple[tuple[str, int], ...]:
        return tuple((words, state[at + cell]) for cell, words in WAITS.items() if state[at + cell])

    def _collect(self) -> None:
        """Note what became of user actions, and what the oracle finds wrong."""
        for user_action in self.oracle.user_actions:
            self._note(user_action.at, "done", _action_words(user_action))
        self.oracle.user_actions.clear()
        self.oracle.lates.clear()
        for problem in self.oracle.problems[self._problems_seen:]:
            self._note(problem.at, "fault", problem.words)
        self._problems_seen = len(self.oracle.problems)

    def _note(self, at: int, what: str, words: str, channel: str = "", cause: str = "") -> None:
        self._happenings.append(Happening(at, what, words, channel, cause))
        if len(self._happenings) > 2 * KEPT:
            del self._happenings[:-KEPT]

    def scene(self, now: int, table: Mapping[str, Any]) -> Scene:
        closed = core.relays(self.plan, self.board.state) if self.board.is_alive else 0
        controls = [Control(row["key"], row["name"], "latching" if row["latching"] else "retractive", self._closed[place], 2)
                    for place, row in enumerate(table["switches"])]
        controls += [Control(row["key"], row["name"], "regulator", self._position[place], len(row["levels"]))
                     for place, row in enumerate(table["regulators"])]
        controls += [Control(row["key"], row["name"], "button", 0, 1) for row in table["buttons"]]
        return Scene(
            now, self._has_power, self._has_network, self.board.is_alive, self.board.is_linked,
            tuple(self._lamp(now, channel) for channel in range(self.plan.channels)), tuple(controls),
            tuple(number for number in range(closed.bit_length()) if closed >> number & 1),
            tuple(sorted(self._happenings[-KEPT:], key=lambda one: one.at)), self.board.wakes_at(),
            tuple(Control(row["key"], row["name"], "input", self._rests[place], 2) for place, row in enumerate(table.get("inputs", ()))))

    def _lamp(self, now: int, channel: int) -> Lamp:
        state, at, key, name = self.board.state, self.plan.channel_at[channel], self._keys[channel], self._names.channels[channel]
        if not self.board.is_alive:
            return Lamp(key, name, 0, self.plan.top(channel), 0, core.CAUSES[0], (), self._told[channel])
        untold = max(0, now - self.board.clock)     # the program has not been told of it: its waits are longer by that
        waits = tuple((words, left - untold) for words, left in self._waits(state, at) if left > untold)
        cause = self.plan.watch.cause(self.plan, state, channel) if self.plan.watch else state[at + CAUSE]
        return Lamp(key, name, state[at + APPLIED], self.plan.top(channel), state[at + WANTED], self._names.cause(cause), waits, self._told[channel])


def _action_words(user_action: UserAction) -> str:
    took = "" if user_action.response is None else f" after {user_action.response} ms"
    return f"{user_action.what} {user_action.name}: {user_action.outcome}{took}" if user_action.what not in user_action.name else f"{user_action.name}: {user_action.outcome}{took}"
