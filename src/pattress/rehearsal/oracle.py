"""The oracle of a rehearsed day: it judges what became of each user action.

It sees every step with the state before and after it, knows the purpose of each control, and names
what should have happened and did not.
"""

from __future__ import annotations

from array import array
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any, TypeAlias

from pattress.controller import core
from pattress.controller.core.cells import APPLIED, BY_RESTORE, CAUSE, CONTACTS, LEVEL, POSITION, RULED, WANTED
from pattress.rehearsal.apart import ApartOracle
from pattress.rehearsal.conditions import ConditionOracle
from pattress.rehearsal.day import Names, Outcome, Problem, UserAction, clock
from pattress.rehearsal.postconditions import Effect, effect
from pattress.rehearsal.presses import HELD, SHORT, TWICE, PressOracle, told_apart
from pattress.rehearsal.rules import RuleOracle, is_allowed, start_most, times_of
from pattress.rehearsal.stimuli import LATE_MS, contacts

SLACK_MS = 5        # beyond the settling time, a wall switch may take no longer: a rule of this program
KICK_SLACK_MS = 100
NEAR_MS = 30        # so near to a time that tells presses apart, bounce and the loop may make it the one or the other
OUTCOMES = {
    Effect.MOVED: Outcome.ACTED, Effect.NOTED: Outcome.WAITS, Effect.NONE: Outcome.UNCHANGED,
    Effect.WRONG: Outcome.WITHOUT_EFFECT, Effect.KEPT_OFF: Outcome.REFUSED,
}
SWITCH, REGULATOR, REMOTE, OTHER_REMOTE, NETWORK, RESTORE = (
    "switch", "regulator", "remote", "other remote", "network", "restore")

Settled: TypeAlias = "tuple[str, int, array[int]]"       # switch or regulator, which one, its acts


@dataclass(slots=True, eq=False)
class Act:
    """One user action while it is still open. `last` is its last edge or frame, `until` when it must have acted."""

    at: int
    last: int
    what: str
    which: int
    name: str
    acts: array[int]
    until: int
    goal: int = 0                                   # position that a regulator is turned to
    began: int = 0                                  # when the move began that decides it
    waits: int = 0                                  # how long a press waits until it is decided, once believed
    is_short: bool = False                          # let go before it must have been believed
    heard: list[tuple[int, int]] = field(default_factory=list)
    steps: list[tuple[int, Effect]] = field(default_factory=list)
    outcome: Outcome | None = None                  # known from the start
    is_crowded: bool = False                        # something else came between before it was done
    level: tuple[int, ...] = ()                     # what each channel must come to after a power cut


class Oracle:
    """Collects user actions and problems. `lates` are what settled contacts took beyond their settling time [ms], `refusals` how often each rule refused a hand."""

    def __init__(self, plan: core.Plan, names: Names, table: Mapping[str, Any]) -> None:
        self.plan = plan
        self.names = names
        self.user_actions: list[UserAction] = []
        self.problems: list[Problem] = []
        self.lates: list[int] = []
        self.cuts: list[tuple[int, bool]] = []
        self.begins: list[tuple[int, bytes | None, tuple[int, ...]]] = []
        self.acted_twice = 0
        self._open: dict[tuple[str, int], list[Act]] = {}
        codes = zip(plan.protocol, plan.address, plan.command, strict=True)
        self._buttons = {code: button for button, code in reversed(list(enumerate(codes)))}
        self._told = told_apart(table)
        self._presses = PressOracle(plan, self._told)
        self.is_live = False                        # what a press comes to is known only once it is decided
        self._rules = RuleOracle(plan)
        self._apart = ApartOracle(plan, table, names)
        self._conditions = ConditionOracle(plan, table, names) if table.get("conditions") else None
        self.refusals: Counter[int] = Counter()
        self.barred: Counter[int] = Counter()       # what the network asked of each channel that is put on at the wall only
        self._settling = [at + LEVEL for at in plan.switch_at] + [at + POSITION for at in plan.regulator_at]
        self._heard: dict[int, int] = {}            # when each button was last heard
        self._last_button = -1
        self._rest: dict[int, int] = {}             # until when each switch is settling after its last move

    # What is done: each returns the open user action.

    def switch(self, at: int, last: int, rest: int, switch: int, held: int | None, is_alive: bool) -> Act:
        """A switch starts to move; its bounce ends at `last`, and at `rest` it is let go too."""
        until = last + self.plan.switch_settle_ms[switch] + SLACK_MS
        is_short = held is not None and at + held <= until + LATE_MS
        is_crowded = at <= self._rest.get(switch, at - 1)
        self._rest[switch] = rest + until - last + LATE_MS
        return self._opened(Act(
            at, last, SWITCH, switch, self.names.switches[switch], self.plan.switch_acts[switch], until, began=at,
            is_short=is_short, is_crowded=is_crowded, outcome=None if is_alive else Outcome.NO_POWER))

    def press(self, moves: Sequence[tuple[int, int]], switch: int, is_alive: bool) -> Act:
        """A switch that tells presses apart is pressed and let go, or pressed twice. `moves` holds when each move of its contact begins, and when it comes to rest."""
        told, settle = self._told[switch], self.plan.switch_settle_ms[switch]
        lasting = [later - sooner for (sooner, _), (later, _) in pairwise(moves)]
        if len(moves) > 2:
            how, decides, waits = TWICE, 2, 0
        elif told.held_ms and lasting[0] >= told.held_ms:
            how, decides, waits = HELD, 0, told.held_ms
        else:
            how, decides, waits = SHORT, 1, told.again_ms
        began, last = moves[decides]
        until = last + settle + waits + SLACK_MS + LATE_MS
        is_short = lasting[0] <= moves[0][1] - moves[0][0] + settle + SLACK_MS + LATE_MS
        is_near = told.held_ms and abs(lasting[0] - told.held_ms) < NEAR_MS or any(one < settle + NEAR_MS for one in lasting[1:]) or (
            how == TWICE and (is_short or lasting[1] > told.again_ms - NEAR_MS))
        name = ", ".join(filter(None, (self.names.switches[switch], how)))
        return self._opened(Act(moves[0][0], last, SWITCH, switch, name, told.acts[how], until, began=began, waits=waits,
                                is_short=is_short, is_crowded=bool(is_near), outcome=None if is_alive else Outcome.NO_POWER))

    def overtaken_switch(self, at: int, switch: int) -> None:
        """A switch is moved while somebody else holds or moves it: nothing happens at its contact."""
        self._tell(Act(at, at, SWITCH, switch, self.names.switches[switch], self.plan.switch_acts[switch], at),
                   Outcome.OVERTAKEN)

    def regulator(self, at: int, last: int, regulator: int, position: int, is_alive: bool) -> Act:
        """A regulator starts to turn; it comes to rest at `last`."""
        acts = array("i", (self.plan.regulator_channel[regulator], core.SET, self.plan.levels[regulator][position]))
        until = last + self.plan.regulator_settle_ms[regulator] + SLACK_MS
        name = f"{self.names.regulators[regulator]} to {position}"
        return self._opened(Act(at, last, REGULATOR, regulator, name, acts, until, began=at, goal=position,
                                outcome=None if is_alive else Outcome.NO_POWER))

    def button(self, at: int, heard: list[tuple[int, int]], button: int, is_alive: bool) -> Act:
        """A button of a remote is pressed; `heard` are the frames that arrive."""
        last = heard[-1][0] if heard else at
        outcome = Outcome.NO_POWER if not is_alive else None if heard else Outcome.NOT_HEARD
        return Act(at, last, REMOTE, button, self.names.buttons[button], self.plan.button_acts[button],
                   last, began=at, heard=heard, outcome=outcome)

    def other_remote(self, at: int, is_alive: bool) -> Act:
        """A code that no button of the plan sends arrives."""
        act = Act(at, at, OTHER_REMOTE, -1, OTHER_REMOTE, array("i"), at)
        self._tell(act, Outcome.REFUSED if is_alive else Outcome.NO_POWER)
        return act

    def command(self, at: int, channel: int, verb: int, level: int, is_alive: bool, is_linked: bool) -> Act:
        """The network asks something, perhaps nonsense."""
        is_known = (0 <= channel < self.plan.channels and 0 <= verb < len(core.VERBS)
                    and (verb != core.SET or 0 <= level <= self.plan.top(channel)))
        name = f"network: {core.VERBS[verb]} {self.names.channels[channel]}" if is_known else "network: nonsense"
        is_barred = is_known and not is_allowed(self.plan, channel, verb, level)
        is_known = is_known and not is_barred
        act = Act(at, at, NETWORK, channel, name, array("i", (channel, verb, level) if is_known else ()), at, began=at)
        if not is_alive or not is_linked:
            self._tell(act, Outcome.NO_NETWORK if is_alive else Outcome.NO_POWER)
        elif not is_known:
            self._tell(act, Outcome.REFUSED)
            self.barred[channel] += is_barred
        return act

    def begin(self, at: int, snapshot: bytes | None, closed: Sequence[int], state: array[int]) -> Act:
        """The program has started: each channel must come to what its policy says, from what was saved."""
        plan = self.plan
        level = tuple(policy_level(plan, channel, snapshot) for channel in range(plan.channels))
        wait = max((max(plan.dead_ms[i], plan.minimum_off_ms[i], plan.restore_delay_ms[i])
                    + plan.kick_ms[i] + plan.dead_ms[i]         # a kicked fan opens once more before its step
                    for i in range(plan.channels)), default=0)
        self.begins.append((at, snapshot, level))
        self._rules.begin()
        self._apart.begin(at)
        self._presses.begin()
        if self._conditions:
            self._note(at, self._conditions.begin(at, snapshot, closed, level, state))
        return Act(at, at, RESTORE, -1, RESTORE, array("i"), at + wait + KICK_SLACK_MS, level=level)

    def cut(self, at: int, is_lost: bool) -> None:
        """The power goes; `is_lost` when a change had not reached the flash."""
        self.cuts.append((at, is_lost))
        if self._conditions:
            self._conditions.cut(at)

    def latest(self, act: Act) -> int:
        """Return when a user action may be judged: when the loop has had its time."""
        return act.until + LATE_MS + 1

    # What is seen.

    def see(self, at: int, event: tuple[int, ...], bits: int, before: array[int], after: array[int], act: Act | None) -> None:
        """Look at one step; `act` is the user action whose frame or command was fed, if any."""
        kind = event[0]
        self._note(at, self._rules.see(at, after))
        self._note(at, self._apart.see(at, after))
        settled = self._settled(at, before, after) if kind == core.TIME else ()
        if self._conditions:
            hands = {channel for _, _, acts in settled for channel in acts[0::3]}
            self._note(at, self._conditions.see(at, event, bits, before, after, hands))
        if kind == core.TIME:
            self._see_settled(at, before, after, settled)
        elif act is not None:
            is_known = event[1:4] in self._buttons if kind == core.CODE else len(act.acts) > 0
            is_refused = bool(bits & core.REFUSED)
            if is_refused == is_known:
                done = "refused what the plan knows" if is_refused else "took what the plan does not know"
                self._problem(at, f"{act.name}: the program {done}")
            elif is_known and kind == core.CODE:
                self._see_frame(at, event, before, after, act)
            elif is_known:
                self._has_done(act, at, self._effect(before, after, act.acts), after)
                self._judge_steps(act)

    def _settled(self, at: int, before: array[int], after: array[int]) -> Sequence[Settled]:
        """Return the contacts that the program came to believe in this step, with what they then do."""
        plan = self.plan
        settled: list[Settled] = [(SWITCH, switch, acts) for switch, acts in self._presses.see(at, before, after)] if self._told else []
        if not any([before[cell] != after[cell] for cell in self._settling]):
            return settled
        for switch in range(plan.switches):
            if switch in self._told:
                continue
            cell = plan.switch_at[switch] + LEVEL
            if before[cell] != after[cell] and (after[cell] or plan.latching[switch]):
                settled.append((SWITCH, switch, plan.switch_acts[switch]))
        for regulator in range(plan.regulators):
            cell = plan.regulator_at[regulator] + POSITION
            if before[cell] != after[cell]:
                closed = after[plan.regulator_at[regulator] + CONTACTS]
                if closed != contacts(after[cell], off_is_open=bool(plan.off_is_open[regulator])):
                    self._problem(at, f"{self.names.regulators[regulator]}: took contacts {closed:b} for position "
                                      f"{after[cell]}")
                acts = (plan.regulator_channel[regulator], core.SET, plan.levels[regulator][after[cell]])
                settled.append((REGULATOR, regulator, array("i", acts)))
        return settled

    def _see_settled(self, at: int, before: array[int], after: array[int], settled: Sequence[Settled]) -> None:
        """Look at what the contacts did that settled in this step."""
        for what, which, acts in settled:
            found = self._effect(before, after, acts)
            if found is Effect.WRONG and (len(settled) > 1 or any(self._is_ruled(after, channel) for channel in acts[0::3])):
                found = Effect.NOTED        # two controls in the same millisecond, or one and a rule: the later one counts
            for act in self._open.get((what, which), ()):
                if act.acts == acts and not act.steps:
                    self._has_done(act, at, found, after)
                    break
            else:
                if self.is_live and what == SWITCH and which in self._told:
                    self._tell_press(at, which, acts, found)

    def _tell_press(self, at: int, switch: int, acts: array[int], found: Effect) -> None:
        """Tell a press that nobody said beforehand what it would be."""
        how = next(how for how, one in self._told[switch].acts.items() if one is acts)
        act = Act(at, at, SWITCH, switch, ", ".join(filter(None, (self.names.switches[switch], how))), acts, at)
        self._tell(act, OUTCOMES[found])
        if found is Effect.WRONG:
            self._problem(at, f"{act.name}: {found.value}")

    def _effect(self, before: array[int], after: array[int], acts: array[int]) -> Effect:
        """Return what acts have brought about."""
        locked = self._conditions.locked(acts) if self._conditions else ()
        return effect(self.plan, before, after, acts, {*locked, *self._apart.kept_off(before, acts)})

    def _has_done(self, act: Act, at: int, found: Effect, after: array[int]) -> None:
        """Note what a user action has brought about, and which rules refused it."""
        act.steps.append((at, found))
        if found is Effect.KEPT_OFF:
            causes = {after[self.plan.channel_at[channel] + CAUSE] for channel in act.acts[0::3]}
            self.refusals.update(cause - RULED for cause in causes if cause >= RULED)

    def _is_ruled(self, after: array[int], channel: int) -> bool:
        """Return whether a rule acted on a channel in the step just seen."""
        at = self.plan.channel_at[channel]
        has_run_out = not after[at + WANTED] and after[at + CAUSE] in times_of(self.plan, channel)
        return has_run_out or self._conditions is not None and channel in self._conditions.acted

    def _see_frame(self, at: int, event: tuple[int, ...], before: array[int], after: array[int], act: Act) -> None:
        """Look at a frame: a press must do what the button says, a repeat need not."""
        button, freshness = self._buttons[event[1:4]], event[4]
        last = self._heard.get(button)
        is_press = freshness == core.NEW_PRESS or (
            freshness == core.CANNOT_TELL and (last is None or at - last > self.plan.held_ms))
        if act.steps and self._last_button != button:
            act.is_crowded = True       # another button was heard while this one was held
        self._heard[button], self._last_button = at, button
        found = self._effect(before, after, self.plan.button_acts[button])
        if found in (Effect.MOVED, Effect.NOTED) or (is_press and found in (Effect.WRONG, Effect.KEPT_OFF)):
            self._has_done(act, at, found, after)

    # What is concluded.

    def judge(self, at: int, act: Act, state: array[int], *, is_undisturbed: bool) -> None:
        """Close a user action. `is_undisturbed` says that the power stayed on since it began."""
        if act.what == RESTORE:
            if is_undisturbed:
                self._judge_restore(at, act, state)
            return
        if act.what != REMOTE:
            self._open[act.what, act.which].remove(act)
        if act.outcome is not None:
            self._tell(act, act.outcome)
        elif act.steps:
            act.is_crowded |= not is_undisturbed
            self._judge_steps(act)
        elif not is_undisturbed:
            self._tell(act, Outcome.NO_POWER)
        elif act.what == REMOTE:
            is_press_lost = all(freshness == core.REPEAT for _, freshness in act.heard)
            self._tell(act, Outcome.NOT_HEARD if is_press_lost else Outcome.UNCHANGED)
        elif act.is_crowded:
            self._tell(act, Outcome.OVERTAKEN)
        elif act.is_short:
            self._tell(act, Outcome.TOO_SHORT)
        elif act.what == REGULATOR and state[self.plan.regulator_at[act.which] + POSITION] == act.goal:
            self._tell(act, Outcome.UNCHANGED)
        else:
            self._tell(act, Outcome.WITHOUT_EFFECT)
            self._problem(act.at, f"{act.name}: was moved and the program did not act")

    def _judge_steps(self, act: Act) -> None:
        at, found = act.steps[0]
        self._tell(act, OUTCOMES[found], at - act.began if found is Effect.MOVED else None)
        if found is Effect.WRONG:
            self._problem(at, f"{act.name}: {found.value}")
        if act.what in (SWITCH, REGULATOR) and not act.is_crowded:
            settle = self.plan.switch_settle_ms if act.what == SWITCH else self.plan.regulator_settle_ms
            late, allowed = at - act.last - settle[act.which] - act.waits, SLACK_MS + (LATE_MS if act.waits else 0)     # the loop wakes once more
            self.lates.append(late)
            if late > allowed:
                self._problem(at, f"{act.name}: acted {late} ms after it had settled, {allowed} ms allowed")
        if act.what == REMOTE and len(act.steps) > 1:
            self.acted_twice += 1
            # Let go for longer than the plan waits, mixed with another button, or cut off by the power, the
            # program cannot know it is the same press: a nuisance to be counted, not a fault.
            pauses = [later - sooner for (sooner, _), (later, _) in pairwise(act.heard)]
            if max(pauses, default=0) < self.plan.held_ms - LATE_MS and not act.is_crowded:
                self._problem(at, f"{act.name}: held once, acted {len(act.steps)} times")

    def _judge_restore(self, at: int, act: Act, state: array[int]) -> None:
        for channel in range(self.plan.channels):
            cell = self.plan.channel_at[channel]
            found, due = state[cell + APPLIED], act.level[channel]
            is_barred = self.plan.watch and self.plan.watch.is_barred(self.plan, state, channel)
            if state[cell + CAUSE] == BY_RESTORE and found != due and not is_barred:
                self._problem(at, f"{self.names.channels[channel]}: after the power came back at {clock(act.at)} "
                                  f"it stands at {found}, its policy asks for {due}")

    def _opened(self, act: Act) -> Act:
        others = self._open.setdefault((act.what, act.which), [])
        for other in others:
            other.is_crowded = act.is_crowded = True
        others.append(act)
        return act

    def _tell(self, act: Act, outcome: Outcome, response: int | None = None) -> None:
        channels = tuple(sorted(set(act.acts[0::3])))
        self.user_actions.append(UserAction(act.at, act.what, act.name, channels, outcome, response))

    def _note(self, at: int, found: Iterable[tuple[int | None, str]]) -> None:
        """Note problems of channels, or of none."""
        for channel, words in found:
            self._problem(at, words if channel is None else f"{self.names.channels[channel]}: {words}")

    def _problem(self, at: int, words: str) -> None:
        self.problems.append(Problem(at, words))


def policy_level(plan: core.Plan, channel: int, snapshot: bytes | None) -> int:
    """Return the level that a channel must come to after a power cut, by its policy.

    A snapshot of another length, or a level the channel does not have, counts as none: then
    "as it was" means off, and "on" means the level the plan gives.
    """
    wanted, last = 0, 0
    if snapshot is not None and len(snapshot) == core.size(plan):
        wanted, last = snapshot[2 * channel : 2 * channel + 2]
    policy, top, most = core.RESTORES[plan.restore[channel]], plan.top(channel), start_most(plan, channel)
    if policy == "as it was":
        return min(wanted, most) if wanted <= top else 0
    if policy == "on":
        return min(last if 1 <= last <= top else plan.on_level[channel], most)
    return 0
