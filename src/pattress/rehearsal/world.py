"""A home around the board: what is done in it reaches the program as edges, frames and commands.

Discrete events on a heap: time jumps to the next thing that happens, be it in the home or a
wait of the program that ends. Everything random comes from one seeded source.
"""

from collections.abc import Callable, Iterable, Mapping
from heapq import heappop, heappush
from itertools import accumulate
from random import Random
from typing import Any

from pattress.controller import core
from pattress.controller.core.cells import INPUT_MOVED, READ, SENSED
from pattress.rehearsal.board import Board
from pattress.rehearsal.day import DAY, SECOND, Names, Span
from pattress.rehearsal.lines import SENSING_MS, Lines
from pattress.rehearsal.oracle import Act, Oracle
from pattress.rehearsal.presses import told_apart
from pattress.rehearsal.sensors import FIRST_MS, NOISE, Sensors
from pattress.rehearsal.stimuli import LATE_MS, Mishaps, Stimulus, What, bounce, contacts, frames, noticed, turn

BOOT_MS = 1_500         # from power to the program running (common practice, no source)
LINK_MS = 4_000         # from there to the network listening (common practice, no source)


class World:
    """One day in one home under a plan's table. `run` it once, then read `board.log`, `oracle` and `spans`."""

    def __init__(self, table: Mapping[str, Any], names: Names, seed: str, *, mishaps: Mishaps, length: int = DAY) -> None:
        self.plan = plan = core.Plan(table)
        self.mishaps = mishaps
        self.length = length
        self.rng = Random(seed)
        self.board = Board(plan)
        self.oracle = Oracle(plan, names, table)
        self.told_apart = told_apart(table)
        self.lines = Lines(plan, names)
        self.sensors = Sensors(table.get("readings", ()))
        self.spans: list[Span] = []
        self._heap: list[tuple[int, int, Callable[..., None], tuple[Any, ...]]] = []
        self._order = 0
        self._power_ups = 0
        self._has_power = self._has_network = True
        self._is_link_ready = False
        self._since = {"power": 0, "network": 0}
        inputs = len(table.get("inputs", ()))         # the program knows of none where no rule has a condition
        self._closed = [0] * (plan.switches + inputs)
        self._contacts = [contacts(0, off_is_open=bool(plan.off_is_open[i])) for i in range(plan.regulators)]
        self._rests = [0] * inputs         # where the contact of each input rests, or will
        self._position = [0] * plan.regulators
        self._switch_busy = [0] * (plan.switches + inputs)      # a switch or an input, whose contact is not yet at rest
        self._regulator_busy = [0] * plan.regulators
        self._last_code: tuple[int, int, int] | None = None

    def run(self, stimuli: Iterable[Stimulus]) -> None:
        """Let the day pass."""
        self._begin(0)
        for stimulus in stimuli:
            self._at(stimulus.at, self._do, stimulus)
        self.pass_until(self.length)
        for what in ("power", "network"):
            self._end_span(what, self.length)

    def pass_until(self, end: int) -> None:
        """Let all happen that is due by `end` in the home, and before it by itself in the program."""
        heap = self._heap
        while True:
            comes_at = heap[0][0] if heap else end + 1
            wakes_at = self.board.wakes_at()
            if wakes_at is not None and wakes_at < min(comes_at, end):
                self._feed(wakes_at)
            elif comes_at <= end:
                at, _, action, numbers = heappop(heap)
                action(at, *numbers)
            else:
                break

    def _at(self, at: int, action: Callable[..., None], *numbers: Any) -> None:
        self._order += 1
        heappush(self._heap, (at, self._order, action, numbers))

    def _feed(self, at: int, event: tuple[int, ...] | None = None, act: Act | None = None, *, is_noticed: bool = False) -> None:
        """Feed what happened `at`, or was noticed then; the loop notices anything a little late.

        The next thing to come wakes the loop as well: what had happened before is noticed by then.
        """
        if not self.board.is_alive:
            return
        now = at if is_noticed else at + int(self.rng.random() * (LATE_MS + 1))
        if self._heap and self._heap[0][0] < now:
            now = self._heap[0][0]
        for step in self.board.feed(now, event):
            self.oracle.see(*step, act)
        self._follow_lines(now)

    # What is done.

    def _do(self, at: int, stimulus: Stimulus) -> None:
        if stimulus.unless and self._is_lit(stimulus.unless[0]) == stimulus.unless[1]:
            return
        match stimulus.what:
            case What.THROW:
                self._move_switch(at, stimulus.numbers[0], held=None)
            case What.PRESS | What.HELD | What.TWICE:
                self._press(at, *stimulus.numbers)
            case What.TURN:
                self._turn(at, *stimulus.numbers)
            case What.BUTTON:
                self._hold_button(at, *stimulus.numbers)
            case What.OTHER_REMOTE:
                act = self.oracle.other_remote(at, self.board.is_alive)
                self._feed(at, (core.CODE, *stimulus.numbers, core.NEW_PRESS), act)
            case What.COMMAND:
                channel, verb, level = stimulus.numbers
                act = self.oracle.command(at, channel, verb, level, self.board.is_alive, self.board.is_linked)
                if self.board.is_linked:
                    self._feed(at, (core.COMMAND, *stimulus.numbers, 0), act)
            case What.NO_NETWORK:
                self._lose_network(at, *stimulus.numbers)
            case What.NO_POWER:
                self._cut(at, *stimulus.numbers)
            case What.STICK:
                self._stick(at, *stimulus.numbers)
            case What.INPUT:
                self._move_input(at, *stimulus.numbers)
            case What.AIR:
                self.sensors.go_to(at, *stimulus.numbers)
            case What.SILENT:
                self.sensors.fall_silent(at, *stimulus.numbers)
            case What.NO_SENSORS:
                self.sensors.leave_alone(at, *stimulus.numbers)

    def _move_switch(self, at: int, switch: int, held: int | None) -> Act | None:
        """Throw a latching switch, or press a retractive one and let go after `held`; return the open user action, if any."""
        if at < self._switch_busy[switch]:
            self.oracle.overtaken_switch(at, switch)
            return None
        closed = 1 - self._closed[switch] if held is None else 1
        edges = bounce(self.rng, at, closed)
        last = edges[-1][0]
        if held is not None:
            edges += bounce(self.rng, max(at + held, last + 1), 0)
        for moment, level in noticed(self.rng, edges, self._closed[switch]):
            self._at(moment, self._edge, switch, level)
        self._switch_busy[switch] = edges[-1][0] + LATE_MS + 1
        act = self.oracle.switch(at, last, edges[-1][0], switch, held, self.board.is_alive)
        self._at(self.oracle.latest(act), self._judge, act, self._power_ups)
        return act

    def _press(self, at: int, switch: int, *lasting: int) -> None:
        """Press a retractive switch for so long, let go, and press it again where more times are given: of the pause and the press [ms]."""
        if switch not in self.told_apart:
            self._move_switch(at, switch, held=lasting[0])
            return
        if at < self._switch_busy[switch]:
            self.oracle.overtaken_switch(at, switch)
            return
        edges: list[tuple[int, int]] = []
        moves: list[tuple[int, int]] = []
        for number, moment in enumerate(accumulate(lasting, initial=at)):
            begins = max(moment, moves[-1][1] + 1) if moves else moment
            edges += bounce(self.rng, begins, 1 - number % 2)
            moves.append((begins, edges[-1][0]))
        for moment, level in noticed(self.rng, edges, self._closed[switch]):
            self._at(moment, self._edge, switch, level)
        act = self.oracle.press(moves, switch, self.board.is_alive)
        self._switch_busy[switch] = max(edges[-1][0], act.until) + LATE_MS + 2          # a press meanwhile would belong to this one
        self._at(self.oracle.latest(act), self._judge, act, self._power_ups)

    def _edge(self, at: int, switch: int, closed: int) -> None:
        self._closed[switch] = closed
        self._feed(at, (core.CONTACT, switch, closed, 0, 0), is_noticed=True)

    def _move_input(self, at: int, number: int, closed: int) -> None:
        """Let the contact of an input come to this level, unless it is on its way there or was so already."""
        place = self.plan.switches + number
        at = max(at, self._switch_busy[place])
        if closed == self._rests[number]:
            return
        edges = bounce(self.rng, at, closed)
        for moment, level in noticed(self.rng, edges, 1 - closed):
            self._at(moment, self._input_edge, number, level)
        self._switch_busy[place] = edges[-1][0] + LATE_MS + 1
        self._rests[number] = closed

    def _input_edge(self, at: int, number: int, closed: int) -> None:
        self._closed[self.plan.switches + number] = closed
        if self.plan.conditions:
            self._feed(at, (INPUT_MOVED, number, closed, 0, 0), is_noticed=True)

    def _measure(self, at: int, sensor: int, power_ups: int) -> None:
        """Ask a sensor, and again after a while; the board tells the program where all readings stand whenever it hears of one."""
        if power_ups == self._power_ups:
            self._at(at + self.sensors.measures_ms, self._measure, sensor, power_ups)
            noise = self.rng.randint(-NOISE, NOISE), self.rng.randint(-NOISE, NOISE)
            if self.sensors.measure(at, sensor, noise):
                self._tell_readings(at)

    def _tell_readings(self, at: int) -> None:
        for reading, place in enumerate(self.sensors.places()):
            self._feed(max(at, self.board.clock), (READ, reading, place, 0, 0), is_noticed=reading > 0)

    def _turn(self, at: int, regulator: int, position: int) -> None:
        at = max(at, self._regulator_busy[regulator])
        start = self._position[regulator]
        if position == start:
            return
        is_open = bool(self.plan.off_is_open[regulator])
        edges = turn(self.rng, at, start, position, off_is_open=is_open, slow=self.mishaps.slow_turn)
        closed = contacts(start, off_is_open=is_open)
        for number in range(self.plan.contacts[regulator]):
            own = [(moment, level) for moment, one, level in edges if one == number]
            for moment, level in noticed(self.rng, own, closed >> number & 1):
                self._at(moment, self._rotor, regulator, number, level)
        self._position[regulator] = position
        self._regulator_busy[regulator] = edges[-1][0] + LATE_MS + 1
        act = self.oracle.regulator(at, edges[-1][0], regulator, position, self.board.is_alive)
        self._at(self.oracle.latest(act), self._judge, act, self._power_ups)

    def _rotor(self, at: int, regulator: int, number: int, closed: int) -> None:
        bit = 1 << number
        self._contacts[regulator] = self._contacts[regulator] & ~bit | bit * closed
        self._feed(at, (core.ROTOR, regulator, number, closed, 0), is_noticed=True)

    def _hold_button(self, at: int, button: int, held: int) -> None:
        protocol = self.plan.protocol[button]
        heard = frames(self.rng, at, protocol, held, lost=self.mishaps.frame_lost)
        act = self.oracle.button(at, heard, button, self.board.is_alive)
        for moment, freshness in heard:
            self._at(moment, self._frame, button, freshness, act)
        self._at(self.oracle.latest(act), self._judge, act, self._power_ups)

    def _frame(self, at: int, button: int, freshness: int, act: Act) -> None:
        """A frame arrives. A repeat mark names no button: the decoder takes the last one it heard."""
        code = (self.plan.protocol[button], self.plan.address[button], self.plan.command[button])
        if freshness == core.REPEAT:
            if self._last_code is None or self._last_code[0] != code[0]:
                return
            code = self._last_code
        if self.board.is_alive:
            self._last_code = code
        self._feed(at, (core.CODE, *code, freshness), act)

    def _judge(self, at: int, act: Act, power_ups: int) -> None:
        self.oracle.judge(at, act, self.board.state, is_undisturbed=power_ups == self._power_ups and self._has_power)

    # Contacts that stick.

    def _is_lit(self, channel: int) -> bool:
        """Return whether somebody in the room sees a channel on, be it that its contact sticks."""
        stuck = self.lines.stuck.get(channel)
        return self.board.is_lit(channel) if stuck is None else bool(stuck and self._has_power)

    def _stick(self, at: int, channel: int, closed: int, lasts: int) -> None:
        if channel not in self.lines.stuck:
            self.lines.stick(channel, closed)
            self._at(at + lasts, self._free, channel)
            self._follow_lines(at)

    def _free(self, at: int, channel: int) -> None:
        self.oracle.user_actions.append(self.lines.free(at, channel))
        self._follow_lines(at)

    def _follow_lines(self, at: int) -> None:
        """Let what the lines do now be sensed a little later."""
        if self.lines.sensed and self.board.is_alive:
            for channel in self.lines.follow(at, self.board.state):
                self._at(at + self.rng.randint(*SENSING_MS), self._sensed, channel)
            self.oracle.problems += self.lines.judge(at, self.board.state)

    def _sensed(self, at: int, channel: int) -> None:
        self._feed(at, (SENSED, channel, self.lines.is_live(channel, self.board.state), 0, 0), is_noticed=True)

    # Network and power.

    def _lose_network(self, at: int, lasts: int | None = None) -> None:
        """Lose the network; without `lasts` it comes back when told to."""
        if self._has_network:
            self._has_network, self._since["network"] = False, at
            self._link(at)
            if lasts is not None:
                self._at(at + lasts, self._find_network)

    def _find_network(self, at: int) -> None:
        self._end_span("network", at)
        self._has_network = True
        self._link(at)

    def _cut(self, at: int, lasts: int | None = None) -> None:
        """Lose the mains; without `lasts` it comes back when told to."""
        if self._has_power:
            self._has_power, self._since["power"] = False, at
            self._is_link_ready, self._last_code = False, None
            self._power_ups += 1
            self.oracle.cut(at, self.board.cut(at))
            if lasts is not None:
                self._at(at + lasts, self._power_back)

    def _power_back(self, at: int) -> None:
        self._end_span("power", at)
        self._has_power = True
        self._at(at + BOOT_MS, self._boot, self._power_ups)

    def _boot(self, at: int, power_ups: int) -> None:
        if power_ups == self._power_ups:
            self._begin(at)

    def _begin(self, at: int) -> None:
        self.board.begin(at, tuple(self._closed), tuple(self._contacts))
        self.lines.begin()
        self._follow_lines(at)
        act = self.oracle.begin(at, self.board.flash, tuple(self._closed), self.board.state)
        self._at(self.oracle.latest(act), self._judge, act, self._power_ups)
        self._at(at + LINK_MS, self._link_ready, self._power_ups)
        self.sensors.begin()
        for sensor in range(self.sensors.count):
            self._at(at + FIRST_MS + sensor * SECOND, self._measure, sensor, self._power_ups)

    def _link_ready(self, at: int, power_ups: int) -> None:
        if power_ups == self._power_ups and self.board.is_alive:
            self._is_link_ready = True
            self._link(at)

    def _link(self, at: int) -> None:
        """Bring the board's link in line with the network; when it comes back, what piled up is told."""
        is_linked = self.board.is_alive and self._is_link_ready and self._has_network
        if is_linked != self.board.is_linked:
            self.board.is_linked = is_linked
            self._feed(at)

    def _end_span(self, what: str, at: int) -> None:
        is_there = self._has_power if what == "power" else self._has_network
        if not is_there:
            self.spans.append(Span(what, self._since[what], at))
