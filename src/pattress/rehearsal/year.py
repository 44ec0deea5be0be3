"""A household-year: what wears, how quick, what annoys.

The same world and the same control program as a rehearsed day, without the log: time jumps from
one event to the next through all days in one go, and only counts are kept, so memory is bounded.
A household has its own seed; many of them live side by side in `fleet`.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from random import Random
from typing import Any

from pattress.controller import core
from pattress.controller.core.cells import APPLIED, BY_RESTORE, CAUSE
from pattress.controller.replay import tell
from pattress.rehearsal.board import FLASH_MS, Board, Step
from pattress.rehearsal.day import DAY, HOUR, MINUTE, Entry, Kind, Names
from pattress.rehearsal.habits import DAYS_A_YEAR, Habits, day_of, sticks
from pattress.rehearsal.oracle import SWITCH
from pattress.rehearsal.rule_tally import RuleCounts, RuleTally
from pattress.rehearsal.stimuli import Mishaps, Stimulus
from pattress.rehearsal.surroundings import usual_surroundings
from pattress.rehearsal.world import World

HALF_CYCLE_MS = 10      # of mains at 50 Hz
MEASURES_MS = 120_000   # from one reading of a sensor to the next
STALE_MS, RENEWED_MS = HOUR, 40 * MINUTE        # of a reading, in a year; told again after so long though nothing has changed
TOLD_PROBLEMS = 5       # of a household, in words; all are counted


@dataclass(frozen=True, slots=True)
class Year:
    """One household-year in counts.

    `closings` by relay; `time_on` by channel [ms]; `responses` how many wall switch operations
    took how long [ms]; `outcomes` how many user actions ended how; `restores` power-ups after a cut,
    `restore_closings` by channel the closings, each an inrush, that no person asked for after one,
    `most_together` the most channels that then closed within half a cycle of the mains. `rules` in plan order;
    `barred` by channel what the network asked in vain of what is put on at the wall only.
    """

    household: int
    days: int
    closings: tuple[int, ...]
    time_on: tuple[int, ...]
    saves: int
    responses: Mapping[int, int]
    outcomes: Mapping[str, int]
    acted_twice: int
    restores: int
    restore_closings: tuple[int, ...]
    most_together: int
    events: int
    problem_count: int
    problems: tuple[str, ...]
    rules: tuple[RuleCounts, ...]
    barred: tuple[int, ...]


class _Tally(Board):
    """A board that counts instead of keeping a log."""

    def __init__(self, plan: core.Plan, rules: int) -> None:
        super().__init__(plan)
        self.rules = RuleTally(plan, rules)
        self._has_rules = rules > 0
        relays = max((mask.bit_length() for masks in plan.masks for mask in masks), default=0)
        self.closings, self.time_on = [0] * relays, [0] * plan.channels
        self.restore_closings = [0] * plan.channels
        self.most_together = 0
        self._together = (0, 0)                 # since when channels close of themselves, and how many
        self.saves = self.events = self.begins = 0
        self._relays, self._counted_to = 0, 0
        self._places = [at + APPLIED for at in plan.channel_at]
        self._seen = core.new_state(plan)       # the state after the last step, for the oracle
        self._wakes_at: int | None = None       # as last reckoned; None when the state has changed since

    def wakes_at(self) -> int | None:
        if self._wakes_at is None:
            self._wakes_at = super().wakes_at()
        return self._wakes_at

    def cut(self, at: int) -> bool:
        if self.is_alive:
            self._count(at, 0)
            self.rules.end(at)
        lost, self._wakes_at = super().cut(at), None
        self.log.clear()
        return lost

    def _step(self, now: int, event: tuple[int, ...]) -> Step:
        before = self._seen
        bits = core.step(self.plan, self.state, event)
        self._clock = now
        if self._writing is not None:
            self._finish_writing(now)
        if bits & core.NEWS and self.is_linked:
            tell(core, self.plan, self.state)
        if bits & core.SAVE_NOW:
            snapshot = bytearray(core.size(self.plan))
            core.write(self.plan, self.state, snapshot)
            self._writing = (now + FLASH_MS, bytes(snapshot))
            self.saves += 1
        self.events += 1
        self._wakes_at = None
        state = self.state
        for place in self._places:
            if before[place] != state[place]:
                self._count(now, core.relays(self.plan, state), before)
                break
        if self._has_rules:
            self.rules.see(now, before, state)
        self._seen = state[:]
        return now, event, bits, before, self._seen

    def _note(self, entry: Entry) -> None:
        if entry.kind is Kind.BEGIN:
            self.begins += 1
            self.events += 1
            self._seen = self.state[:]

    def _count(self, now: int, relays: int, before: Sequence[int] | None = None) -> None:
        """Count what closed, and how long each channel was on until now."""
        before = self.state if before is None else before
        for channel, place in enumerate(self._places):
            if before[place]:
                self.time_on[channel] += now - self._counted_to
            elif self.state[place] and self.state[place - APPLIED + CAUSE] == BY_RESTORE:
                self._restored(now, channel)
        closed = relays & ~self._relays
        while closed:
            self.closings[(closed & -closed).bit_length() - 1] += 1
            closed &= closed - 1
        self._relays, self._counted_to = relays, now

    def _restored(self, now: int, channel: int) -> None:
        """Count a channel that came on because the power had come back; at the first start it had not been away."""
        if self.begins == 1:
            return
        self.restore_closings[channel] += 1
        since, count = self._together
        self._together = (since, count + 1) if now - since < HALF_CYCLE_MS else (now, 1)
        self.most_together = max(self.most_together, self._together[1])


class _Home(World):
    """A world that goes on from day to day."""

    board: _Tally

    def __init__(self, table: Mapping[str, Any], names: Names, seed: str, length: int) -> None:
        super().__init__(table, names, seed, mishaps=Mishaps(frame_lost=0.02, slow_turn=0.05), length=length)
        self.board = _Tally(self.plan, len(names.rules))
        self.sensors.measures_ms = MEASURES_MS
        self._told: tuple[int, tuple[int, ...]] = (-1, ())      # power-up, and where the readings stood when they were last told
        self._told_at = 0
        self.responses: Counter[int] = Counter()
        self.outcomes: Counter[str] = Counter()

    def _tell_readings(self, at: int) -> None:
        """Tell the readings only where one stands otherwise, or before they are stale: a year has half a million."""
        told = self._power_ups, self.sensors.places()
        if told != self._told or at >= self._told_at + RENEWED_MS:
            self._told, self._told_at = told, at
            super()._tell_readings(at)

    def live_day(self, start: int, stimuli: Sequence[Stimulus]) -> None:
        """Let one day pass that starts at this moment."""
        if not start:
            self._begin(0)
        for stimulus in stimuli:
            self._at(start + stimulus.at, self._do, stimulus)
        self.pass_until(start + DAY)
        for user_action in self.oracle.user_actions:
            self.outcomes[user_action.outcome.value] += 1
            if user_action.what == SWITCH and user_action.response is not None:
                self.responses[user_action.response] += 1
        self.oracle.user_actions.clear()
        self.oracle.lates.clear()
        self.spans.clear()


def live_year(table: Mapping[str, Any], usual: Sequence[float], *, seed: int, household: int, days: int = DAYS_A_YEAR, kinds: Sequence[str] = ()) -> Year:
    """Let one household live for `days` days. `usual` says how often each channel is operated a day, `kinds` of what kind each input is."""
    table = patient(table)
    own, contacts, around = (Random(f"{seed}/{household}/{whose}") for whose in ("household", "contacts", "surroundings"))
    habits = Habits.drawn(table, usual, own)
    home = _Home(table, Names.of(table), f"{seed}/{household}/world", days * DAY)
    for day in range(days):
        home.live_day(day * DAY, [*day_of(table, habits, own), *sticks(table, contacts), *usual_surroundings(table, kinds, around)])
    board, oracle = home.board, home.oracle
    if board.is_alive:
        board._count(days * DAY, board._relays)
        board.rules.end(days * DAY)
    rules = board.rules.counts([oracle.refusals[number] for number in range(len(table.get("rule_keys", ())))])
    return Year(
        household, days, tuple(board.closings), tuple(board.time_on), board.saves, dict(sorted(home.responses.items())),
        dict(sorted(home.outcomes.items())), oracle.acted_twice, board.begins - 1,
        tuple(board.restore_closings), board.most_together, board.events,
        len(oracle.problems), tuple(map(str, oracle.problems[:TOLD_PROBLEMS])), rules,
        tuple(oracle.barred[channel] for channel in range(home.plan.channels)),
    )


def patient(table: Mapping[str, Any]) -> Mapping[str, Any]:
    """Return the plan with readings that are stale only after an hour, so that not every reading need be told.

    A sensor that falls silent is told so by the board's driver, which takes no longer in a year than else.
    """
    if not table.get("readings"):
        return table
    return {**table, "readings": [{**row, "stale_ms": max(row["stale_ms"], STALE_MS)} for row in table["readings"]]}
