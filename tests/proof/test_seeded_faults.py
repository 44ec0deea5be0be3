"""Prove the prover: each fault breaks the core in one place and names the property that must catch it."""

import json
from dataclasses import dataclass

import pytest

from pattress.proof import prove, retry, story_of
from tests.proof.replayed import replay

from .mutants import forget, mutant
from .plans import LAMP_SENSED, MIDDLE, RULED, SENSED, SMALL, TIMED


@dataclass(frozen=True)
class Fault:
    """In `file`, `anchor` is replaced by `instead`; `caught_by` must fail under `plan`."""

    file: str
    anchor: str
    instead: str
    caught_by: str
    plan: dict

    def __str__(self):
        return f"{self.file}: {self.anchor.strip()} | {self.instead.strip()}"


def faults(file, *rows):
    return [Fault(file, *row[:3], row[3] if len(row) > 3 else SMALL) for row in rows]


# The last that pass time in a step of it: what a hand asks for comes before what its rules end.
RULES_LAST = """\
    for switch in range(plan.switches):
        switches.advance(plan, state, switch, elapsed)
    for regulator in range(plan.regulators):
        regulators.advance(plan, state, regulator, elapsed)
    if plan.rules:
        plan.rules.pass_time(plan, state, elapsed)
"""

FAULTS = [
    *faults(
        "channels.py",
        ("state[at + WAIT] = plan.dead_ms[channel]", "state[at + WAIT] = plan.dead_ms[channel] // 2", "dead-time"),
        ("state[at + WAIT] = plan.dead_ms[channel]\n", "pass\n", "sets-never-meet"),
        ("elif not (state[at + WAIT] or state[at + HOLD]", "elif not (state[at + HOLD]", "dead-time"),
        ("state[at + HOLD] = plan.minimum_off_ms[channel]", "pass", "minimum-off"),
        ("state[at + WAIT] or state[at + HOLD] or state[at + TURN]", "state[at + WAIT] or state[at + TURN]", "minimum-off"),
        ("state[at + WAIT] or state[at + HOLD] or state[at + TURN]", "state[at + WAIT] or state[at + HOLD]", "turn"),
        ("        state[at + APPLIED] = 0\n", "        state[at + APPLIED] = wanted\n", "sets-never-meet"),
        ("applied != wanted and not (wanted and state[at + KICK])", "applied != wanted and not state[at + KICK]", "off-at-once"),
        ("applied != wanted and not (wanted and state[at + KICK])", "applied != wanted", "start-kick"),
        ("        state[at + KICK] = 0\n", "", "start-kick"),
        ("state[at + REST] and wanted <= plan.kick_top[channel]", "wanted <= plan.kick_top[channel]", "start-kick"),
        ("state[at + REST] and wanted <= plan.kick_top[channel]", "state[at + REST] and wanted < plan.kick_top[channel]", "start-kick"),
        ("        state[at + REST] = 1\n", "        pass\n", "start-kick"),
        ("        state[at + REST] = 1\n", "        state[at + REST] = 1 + state[SAVE]\n", "undisturbed"),
        ("return state[at + SHOWN] != state[at + APPLIED]", "return state[at + SHOWN] != state[at + APPLIED] and not state[at + WAIT]", "told-in-the-end"),
        ("        state[at + REST] = 0\n", "        pass\n", "start-kick"),
        ("state[at + KICK] = plan.kick_ms[channel]", "state[at + KICK] = plan.kick_ms[channel] + 1", "start-kick"),
        # The relays once followed each ask. A fan that stood still could then lose its kick: it "closed" and "opened" in one step.
        ("            state[i] = left - elapsed if left > elapsed else 0\n",
         "            state[i] = left - elapsed if left > elapsed else 0\n    follow(plan, state, channel)\n", "dead-time"),
        ("range(at + WAIT, at + KICK + 1)", "range(at + WAIT, at + KICK)", "start-kick"),
        ("range(at + WAIT, at + KICK + 1)", "range(at + HOLD, at + KICK + 1)", "dead-time"),
        ("left - elapsed if left > elapsed else 0", "left - 1 if left > elapsed else 0", "dead-time"),
        ("left - elapsed if left > elapsed else 0", "left - elapsed if left >= elapsed else 1", "switch-acts"),
        ("state[at + WANTED] > 0 and not state[at + TURN]", "state[at + WANTED] > 0", "switch-acts"),
        ("state[at + WANTED] > 0 and not state[at + TURN]", "state[at + APPLIED] > 0", "switch-acts"),
        ("    state[at + TURN] = 0\n", "", "switch-acts"),
        ("    state[at + CAUSE] = cause\n", "    state[at + CAUSE] = state[at + CAUSE] or cause\n", "cause"),
        ("wanted = now - 1 if now > 1 else now", "wanted = now - 1 if now else now", "button-acts"),
        ("wanted = now + 1 if now < plan.top(channel) else now", "wanted = now + 1", "no-error"),
        ("verb == UP and now:", "verb == UP:", "button-acts", MIDDLE),
        ("wanted = now or state[at + LAST]", "wanted = now or 1", "switch-acts"),
        ("verb = OFF if lit else ON", "verb = OFF if is_lit(plan, state, acts[i]) else ON", "switch-acts"),
        ("            lit = True\n", "            lit = not lit\n", "switch-acts"),
        ("if wanted and wanted != state[at + LAST]:", "if wanted != state[at + LAST]:", "switch-acts"),
        ("        state[at + WANTED] = wanted\n        save_soon(plan, state)\n", "        state[at + WANTED] = wanted\n", "snapshot-fresh"),
        ("    if not state[SAVE]:\n        state[SAVE]", "    if True:\n        state[SAVE]", "snapshot-due"),
        ("0 <= level <= plan.top(channel)", "0 <= level <= plan.top(channel) + 1", "unknown-refused"),
        ("if not 0 <= channel < plan.channels:", "if not 0 <= channel <= plan.channels:", "no-error"),
        ("return OFF <= verb <= DOWN", "return OFF <= verb", "unknown-refused"),
        ("not (state[at + KICK] or (", "not ((", "told-truly"),
        ("(state[at + WAIT] and state[at + WANTED])", "state[at + WANTED]", "told-in-the-end"),
        ("state[at + SHOWN] = state[at + APPLIED]", "state[at + SHOWN] = state[at + WANTED]", "told-truly"),
        ("return state[at + SHOWN] != state[at + APPLIED]", "return state[at + SHOWN] < state[at + APPLIED]", "told-in-the-end"),
        ("    return closed\n", "    return closed & ~2\n", "pattern"),
    ),
    *faults(
        "program.py",
        ("        follow(plan, state, channel)\n", "        if kind:\n            follow(plan, state, channel)\n", "wish-applied"),
        ("        follow(plan, state, channel)\n", "        if not todo:\n            follow(plan, state, channel)\n", "wish-applied"),
        ("todo |= NEWS", "todo = NEWS", "snapshot-due"),
        ("        return SAVE_NOW\n", "        return 0\n", "snapshot-due"),
        ("        state[SAVE] = 0\n", "        state[SAVE] = 1\n", "snapshot-due"),
        ("event[1], event[2], event[3], BY_NETWORK)", "event[1], event[2], event[3], 1)", "cause"),
        ("and allows(plan, event[1], event[2], event[3])", "", "unknown-refused"),
        ("    for switch in range(plan.switches):\n", "    for switch in range(1, plan.switches):\n", "switch-settles"),
        ("for i in plan.timers:", "for i in plan.timers[2:]:", "wakes"),
        ("    remote.advance(plan, state, elapsed)\n", "", "button-acts"),
    ),
    *faults(
        "program.py",
        ("        plan.watch.look(plan, state, event[1] if kind == TIME else 0)\n", "        pass\n", "feedback-settles", SENSED),
        ("        plan.watch.look(plan, state, event[1] if kind == TIME else 0)\n", "        plan.watch.look(plan, state, event[1])\n", "feedback-settles", SENSED),
    ),
    *faults(
        "switches.py",
        ("        state[at + SETTLE] = 0\n    elif", "        pass\n    elif", "switch-settles"),
        ("    elif not state[at + SETTLE]:\n", "    else:\n", "switch-settles"),
        ("if state[at + LEVEL] or plan.latching[switch]:", "if state[at + LEVEL]:", "switch-acts"),
        ("if state[at + LEVEL] or plan.latching[switch]:", "if True:", "wish-kept"),
        ("if state[at + LEVEL] or plan.latching[switch]:", "if not state[SETTLE] and plan.latching[switch]:", "switch-acts"),
        ("        state[at + SETTLE] = settle_ms\n", "        state[at + SETTLE] = 1\n", "switch-settles"),
        ("state[plan.switch_at[switch] + LEVEL] = closed[switch]", "pass", "learnt"),
    ),
    *faults(
        "regulators.py",
        ("if contacts & (contacts - 1):", "if contacts == 7:", "wish-kept"),
        ("    if contacts != state[at + CONTACTS]:\n", "    if not state[at + SETTLE]:\n", "regulator-settles"),
        ("and place != state[at + POSITION]:", "and place > state[at + POSITION]:", "regulator-obeyed"),
        ("return 0 if plan.off_is_open[regulator] else NOWHERE", "return NOWHERE", "regulator-obeyed"),
        ("place != NOWHERE and place != state[at + POSITION]", "place != NOWHERE", "wish-kept"),
        ("if contacts & (contacts - 1):\n        return NOWHERE\n", "if False:\n        return NOWHERE\n", "wish-kept"),
        ("state[at + POSITION] = position(plan, regulator, contacts[regulator])", "pass", "regulator-obeyed"),
    ),
    *faults(
        "remote.py",
        ("    state[HELD] = plan.held_ms\n", "    state[HELD] = state[HELD] or plan.held_ms\n", "button-acts"),
        ("if freshness == NEW_PRESS or not is_held:", "if not is_held:", "button-acts"),
        ("if freshness == NEW_PRESS or not is_held:", "if True:", "button-acts"),
        ("freshness == REPEAT and not is_held", "freshness == REPEAT", "button-acts"),
        ("state[KEY] == button + 1 and state[HELD] > 0", "state[HELD] > 0", "button-acts"),
        ("plan.command[i] == command and plan.address[i] == address", "plan.command[i] == command", "unknown-refused"),
    ),
    *faults(
        "snapshot.py",
        ("state[at + SHOWN] = NOTHING_SHOWN", "state[at + SHOWN] = 0", "told-in-the-end"),
        ("if snapshot[2 * channel] <= top:", "if True:", "restore"),
        ("if 1 <= snapshot[2 * channel + 1] <= top:", "if snapshot[2 * channel + 1] <= top:", "restore"),
        ("if policy == COMES_ON:", "if policy == COMES_ON and wanted:", "restore"),
        ("elif policy != AS_IT_WAS:", "elif policy == AS_IT_WAS and not wanted:", "restore"),
        ("snapshot[2 * channel + 1] = state[at + LAST]", "snapshot[2 * channel + 1] = state[at + WANTED]", "restore"),
        ("snapshot[2 * channel] = state[at + WANTED]", "snapshot[2 * channel] = state[at + LAST]", "restore"),
        ("len(snapshot) != size(plan)", "False", "no-error"),
        ("state[at + TURN] = plan.restore_delay_ms[channel]", "state[at + TURN] = plan.restore_delay_ms[0]", "turn"),
        ("state[at + TURN] = plan.restore_delay_ms[channel]", "state[at + TURN] = 500", "one-at-a-time"),
        ("    state[at + REST] = 1\n", "    state[at + REST] = state[at + 1] = 1\n", "starts-open"),
        ("state[at + WAIT] = plan.dead_ms[channel]", "pass", "dead-time"),
        ("state[at + HOLD] = plan.minimum_off_ms[channel]", "pass", "minimum-off"),
        ("    for i in range(plan.cells):\n        state[i] = 0\n", "", "learnt"),
    ),
    *faults(
        "feedback.py",
        *((*row, SENSED) for row in (
            ("        state[at + DOUBT] = 0\n        if", "        if", "feedback-settles"),
            ("            state[at + STUCK] = 0\n", "", "stuck-kept"),
            ("            state[at + STUCK] = 0\n            state[plan.channel_at[channel] + SHOWN] = NOTHING_SHOWN\n", "            state[at + STUCK] = 0\n", "stuck-told"),
            ("else STUCK_OPEN\n        state[plan.channel_at[channel] + SHOWN] = NOTHING_SHOWN\n", "else STUCK_OPEN\n", "stuck-told"),
            ("            if elapsed > 0:\n", "            if True:\n", "feedback-settles"),
            ("        state[at + LIVE] = live\n", "", "feedback-settles"),
            ("    if live != state[at + LIVE]:\n", "    if True:\n", "feedback-settles"),
            ("    if left > elapsed:\n", "    if left >= elapsed:\n", "feedback-settles"),
            ("left - elapsed", "left - 1", "feedback-settles"),
            ("STUCK_CLOSED if state[at + LIVE] else STUCK_OPEN", "STUCK_OPEN if state[at + LIVE] else STUCK_CLOSED", "feedback-settles"),
            ("STUCK_CLOSED if state[at + LIVE] else STUCK_OPEN", "STUCK_CLOSED", "feedback-settles"),
            ("        state[at + DOUBT] = 0\n    elif not", "        state[at + DOUBT] = state[at + STUCK] = 0\n    elif not", "feedback-settles"),
            ("        state[at + DOUBT] = 0\n    elif not", "        pass\n    elif not", "feedback-settles"),
            ("(state[at + DOUBT] or state[at + STUCK])", "state[at + STUCK]", "feedback-settles"),
            ("(state[at + DOUBT] or state[at + STUCK])", "state[at + DOUBT]", "feedback-settles"),
            ("state[at + DOUBT] = plan.feedback_ms[channel]", "state[at + DOUBT] = plan.feedback_ms[channel] // 2", "feedback-settles"),
            ("plan.top(channel) > 1 and state[at + LIVE]", "plan.top(channel) > 1 and state[at + STUCK]", "stuck-barred"),
            ("plan.top(channel) > 1 and state[at + LIVE]", "plan.top(channel) > 2 and state[at + LIVE]", "stuck-barred"),
            ("at and plan.top(channel) > 1 and state[at + LIVE]", "at and plan.top(channel) > 0 and state[at + LIVE]", "wish-applied"),
            ("    return at and state[at + STUCK] or ", "    return ", "stuck-told"),
            ("0 <= event[1] < plan.channels", "event[1] < plan.channels", "unknown-refused"),
            (" and plan.feedback_at[event[1]]\n", "\n", "unknown-refused"),
            ("event[0] == SENSED", "event[0] >= SENSED", "unknown-refused"),
            ("        plan.timers.append(plan.cells + DOUBT)\n", "", "wakes"),
        )),
        ("return at and plan.top(channel) > 1", "return plan.top(channel) > 1", "wish-applied", LAMP_SENSED),
    ),
    *(Fault(*row, TIMED) for row in (
        ("rules.py", "+ STAY] = 0\n\n", "+ STAY] = state[plan.rule_at[channel] + LIMIT] = 0\n\n", "runs-out"),       # asked again
        ("rules.py", "        if not state[at + LIMIT]:\n", "        if True:\n", "limit-kept"),
        ("rules.py", "            state[at + LIMIT] = plan.limit_ms[channel]\n", "            pass\n", "limit-kept"),
        ("rules.py", "            state[at + STAY] = plan.stay_ms[channel]\n", "            pass\n", "stay-kept"),
        ("rules.py", "        if not state[at + STAY]:\n", "        if True:\n", "stay-kept"),
        ("rules.py", "        state[at + LIMIT] = 0\n", "", "limit-kept"),          # off and on is no new beginning
        ("rules.py", "        state[at + STAY] = 0\n", "", "stay-kept"),
        ("rules.py", "    elif state[plan.channel_at[channel] + APPLIED]:\n", "    else:\n", "limit-kept"),       # it runs before the relay closes
        ("rules.py", "            ask(plan, state, channel, OFF, 0, plan.time_cause[RULE * channel + i]) ", "            pass ", "runs-out"),
        ("rules.py", "        if left > elapsed:\n", "        if left >= elapsed:\n", "runs-out"),
        ("rules.py", "left - elapsed", "left - 1", "limit-kept"),
        ("rules.py", "range(RULE):\n        left", "range(STAY, RULE):\n        left", "runs-out"),
        ("rules.py", "plan.time_cause[RULE * channel + i])", "0)", "cause"),
        ("rules.py", "plan.time_cause[RULE * channel + i])", "plan.time_cause[RULE * channel])", "cause"),
        ("rules.py", "elif left and state[plan.channel_at[channel] + WANTED]:\n", "elif left:\n", "wish-kept"),       # who switched off is forgotten
        ("rules.py", "elif left and state[plan.channel_at[channel] + WANTED]:\n", "elif left and state[plan.channel_at[0] + WANTED]:\n", "runs-out"),
        ("rules.py", "plan.limit_ms[channel], plan.stay_ms[channel] = row", "plan.limit_ms[0], plan.stay_ms[channel] = row", "limit-kept"),
        ("rules.py", "plan.rule_at[channel] = plan.cells", "plan.rule_at[channel] = plan.cells - RULE", "wish-kept"),
        ("rules.py", "    if plan.renews[channel]:\n", "    if plan.rule_at[channel]:\n", "runs-out"),
        ("rules.py", "    if plan.renews[channel]:\n", "    if not plan.wall_only[channel]:\n", "runs-out"),
        ("rules.py", "        plan.timers.extend(array(\"i\", range(plan.cells, plan.cells + RULE)))\n", "", "wakes"),
        ("rules.py", " and verb != OFF and (verb != SET or level)", " and verb == 1", "wall-only"),
        ("rules.py", "(verb != SET or level)", "verb != SET", "wall-only"),
        ("rules.py", "return plan.wall_only[channel] and", "return plan.renews[channel - 1] and", "wall-only"),
        ("rules.py", " and verb != OFF and", " and", "unknown-refused"),      # off is refused
        ("program.py", "            and not (plan.rules and plan.rules.bars(plan, event[1], event[2], event[3]))):\n", "            ):\n", "wall-only"),
        ("program.py", "        plan.rules.look(plan, state)\n", "        pass\n", "limit-kept"),
        ("program.py", "    if plan.rules:\n        plan.rules.look", "    if plan.rules and kind == TIME:\n        plan.rules.look", "limit-kept"),
        ("program.py", "        plan.rules.pass_time(plan, state, elapsed)\n", "        if not todo:\n            plan.rules.pass_time(plan, state, elapsed)\n", "runs-out"),
        ("program.py", RULES_LAST, RULES_LAST[RULES_LAST.index("    if plan.rules"):] + RULES_LAST[:RULES_LAST.index("    if plan.rules")], "runs-out"),
        ("snapshot.py", "range(plan.cells)", "range(plan.cells - 2)", "stay-kept"),      # a time kept over a power cut
        ("channels.py", "    if wanted and plan.rules:\n", "    if wanted and plan.rules and cause != BY_NETWORK:\n", "no-error"),
    )),
    # a change of step ends the limit and begins it anew
    *faults("rules.py", ("    if not state[plan.channel_at[channel] + WANTED]:\n        state", "    if not state[plan.channel_at[channel] + APPLIED]:\n        state", "limit-kept", RULED)),
    *faults(
        "plan.py",
        ("self.timers.extend(array(\"i\", range(at + WAIT, at + KICK + 1)))", "self.timers.extend(array(\"i\", range(at + WAIT, at + KICK)))", "wakes"),
        ("return len(self.masks[channel]) - 1", "return 1", "button-acts"),
        ("self.on_level = _column(channels, \"on_level\")", "self.on_level = _column(channels, \"restore\")", "restore"),
    ),
]


def first_failing(plan, core, claim):
    """Return the claim as it fails, alone but for brown-out, which restarts the mains and so meets faults of others, too."""
    failed = prove(plan, core, until_first_failure=True).failed
    if claim not in {prop.id for prop in failed}:
        assert {prop.id for prop in failed} == {"brown-out"}, failed
        failed = prove(plan, core).failed
    else:
        assert {prop.id for prop in failed} <= {claim, "brown-out"}, failed
    return next(prop for prop in failed if prop.id == claim)


ONLY_IN_SOAK = [fault for fault in FAULTS if fault.plan is TIMED][1::2]        # every second one of the rules runs each time


@pytest.mark.parametrize("fault", [pytest.param(fault, marks=pytest.mark.soak) if fault in ONLY_IN_SOAK else fault for fault in FAULTS], ids=str)
def test_fault_is_caught_by_its_property(fault, tmp_path):
    core = mutant(tmp_path, fault.file, fault.anchor, fault.instead)
    try:
        story = first_failing(fault.plan, core, fault.caught_by).story
        if story and fault.caught_by != "no-error":     # the way there is real: it can be gone again
            assert replay(story, fault.plan, core) == tuple(step.relays for step in story.steps)
        if story:
            written = story_of(json.loads(json.dumps(story.to_json())))
            assert written == story
            assert retry(fault.plan, written, core).id == fault.caught_by
            assert retry(fault.plan, written) is None       # and the mended program does it no more
    finally:
        forget(core)
