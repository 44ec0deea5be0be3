"""Prove the prover: each fault breaks the core in one place and names the property that must catch it."""

import json
from dataclasses import dataclass

import pytest

from pattress.proof import prove, retry, story_of
from tests.proof.replayed import replay

from .mutants import forget, mutant
from .plans import APART, CONDITIONED, GUARDED, LAMP_SENSED, LATCHED, MIDDLE, PRESSED, RULED, SENSED, SMALL, STEPPED, TIMED, WARNED


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

# What conditions ask for comes before any hand, and a lock shuts before the relays follow.
HANDS = """\
    for switch in range(plan.switches):
        switches.advance(plan, state, switch, elapsed)
"""
CONDITIONS_FIRST = """\
    if plan.conditions:
        plan.conditions.pass_time(plan, state, elapsed)
""" + HANDS
SHUT = """\
    if lock >= 0 and state[plan.channel_at[channel] + WANTED]:
        for condition in plan.holds[channel]:
            state[plan.condition_at[condition] + TAKEN] = 0
        ask(plan, state, channel, OFF, 0, plan.cause[lock])
"""
LOOK_FIRST = """\
    if plan.conditions:
        plan.conditions.look(plan, state)
    for channel in range(plan.channels):
        follow(plan, state, channel)
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
        ("    if cause < RULED:\n        state[at + TURN] = 0 ", "    if False:\n        state[at + TURN] = 0 ", "switch-acts"),
        ("    if cause < RULED:\n        state[at + TURN] = 0 ", "    if True:\n        state[at + TURN] = 0 ", "turn", CONDITIONED),
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
        ("    state[at + LEVEL] = 1 - state[at + LEVEL]\n", "    state[at + LEVEL] = 1\n", "switch-settles"),
        ("    state[at + SETTLE] = 0\n    state[at + LEVEL] = 1", "    state[at + SETTLE] = 1\n    state[at + LEVEL] = 1", "switch-settles"),
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
        ("rules.py", "or plan.wall_only[channel] and", "or plan.renews[channel - 1] and", "wall-only"),
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
    # what is warned of its end
    *(Fault(*row, WARNED) for row in (
        ("rules.py", "                warn(plan, state, channel)\n", "                pass\n", "warned"),
        ("rules.py", "                state[at + i] = 0\n", "                pass\n", "warned"),                            # again and again
        ("rules.py", "state[at + WAIT] = DIP_MS", "state[at + WAIT] = 0", "warned"),
        ("rules.py", "        state[at + APPLIED] = 0\n        state[at + WAIT]", "        state[at + WAIT]", "warned"),
        ("rules.py", "        state[at + APPLIED] = 0\n        state[at + WAIT]", "        state[at + WANTED] = 0\n        state[at + WAIT]", "wish-kept"),        # off for good
        ("rules.py", "        state[at + WARN] = 0\n    elif", "        pass\n    elif", "warned"),                             # warned of what is off
        ("rules.py", "plan.stay_ms[channel] - plan.warn_ms[channel]", "plan.warn_ms[channel]", "warned"),
        ("rules.py", "plan.stay_ms[channel] - plan.warn_ms[channel]", "plan.stay_ms[channel] - plan.warn_ms[0]", "warned"),
        ("rules.py", "            if plan.warn_ms[channel]:\n", "            if True:\n", "warned"),
        ("rules.py", "            if plan.warn_ms[channel]:\n", "            if plan.warn_ms[channel] and not state[at + WARN]:\n", "warned"),        # a renewed one is warned of too soon
        ("rules.py", "            if i == WARN:\n", "            if i > WARN:\n", "wish-kept"),
        ("rules.py", "            if i == WARN:\n", "            if i:\n", "runs-out"),
    )),
    # a fan that starts low, and one that is never at its highest step
    *(Fault(*row, STEPPED) for row in (
        ("rules.py", "return 0 < plan.start_most[channel] < level", "return False", "switch-acts"),
        ("rules.py", "return 0 < plan.start_most[channel] < level", "return plan.start_most[channel] < level", "switch-acts"),        # one without such a rule does not come on
        ("rules.py", "return 0 < plan.start_most[channel] < level", "return 0 < plan.start_most[0] < level", "switch-acts"),
        ("rules.py", "row.get(\"start_most\", 0)", "row.get(\"start_most\", 0) + 1", "switch-acts"),
        ("channels.py", "plan.rules and not now and plan.rules.starts", "plan.rules and plan.rules.starts", "switch-acts"),        # and never goes higher
        ("channels.py", "plan.rules and not now and plan.rules.starts", "plan.rules and not now and cause != BY_REGULATOR and plan.rules.starts", "no-error"),
        ("snapshot.py", "        wanted = plan.start_most[channel]\n", "        pass\n", "restore"),
        ("plan.py", "return self.tops[channel]", "return len(self.masks[channel]) - 1", "button-acts"),
        ("plan.py", "channel.get(\"top\", len(channel[\"masks\"]) - 1)", "len(channel[\"masks\"]) - 1", "button-acts"),
    )),
    # what is never on together
    *(Fault(*row, APART) for row in (
        ("apart.py", "            return others[i + 1]\n", "            return others[1]\n", "cause"),
        ("apart.py", "    others = plan.others[channel]\n    for i in range(0, len(others), 2):\n        if state[plan.channel_at[others[i]] + WANTED]",
         "    others = plan.others[channel]\n    for i in range(0, len(others) - 2, 2):\n        if state[plan.channel_at[others[i]] + WANTED]", "rule-acts"),        # the last of the others is forgotten
        ("apart.py", "            return others[i + 1]\n    return -1", "            return -1\n    return -1", "rule-acts"),
        ("apart.py", "state[plan.channel_at[others[i]] + APPLIED] or state", "state", "never-together"),           # the other still closed as this one closes
        ("apart.py", " or state[plan.apart_at[others[i]] + GONE]:", ":", "never-together"),                      # no time between
        ("apart.py", "            return True\n    return False", "            return False\n    return False", "never-together"),
        ("apart.py", "or state[plan.apart_at[others[i]] + GONE]", "or state[plan.apart_at[channel] + GONE]", "never-together"),        # it waits for itself
        ("apart.py", "max(plan.between_ms[channel], row[\"between_ms\"])", "row[\"between_ms\"]", "never-together"),
        ("apart.py", "state[plan.apart_at[channel] + GONE] = plan.between_ms[channel]", "state[plan.apart_at[channel] + GONE] = plan.between_ms[0]", "never-together"),
        ("apart.py", "        opened(plan, state, channel)\n", "        pass\n", "never-together"),                       # after a power cut at once
        ("apart.py", "left - elapsed if left > elapsed else 0", "left", "never-together"),
        ("apart.py", "left - elapsed if left > elapsed else 0", "0", "never-together"),
        ("apart.py", "            plan.timers.append(plan.cells + GONE)\n", "", "wakes"),
        ("apart.py", "RULED + row[\"rule\"]", "RULED", "cause"),
        ("apart.py", "                if other != channel:\n", "                if True:\n", "switch-acts"),                      # it waits for itself
        ("channels.py", "        plan.apart.opened(plan, state, channel)\n", "        pass\n", "never-together"),
        ("channels.py", "        opened(plan, state, channel)\n        applied", "        applied", "never-together"),
        ("channels.py", "plan.apart.is_barred(plan, state, channel)", "False", "never-together"),
        ("channels.py", "plan.apart.kept_off_by(plan, state, channel) if plan.apart else -1", "-1", "rule-acts"),
        ("channels.py", "    if wanted:\n        rule = kept", "    if wanted and cause != BY_NETWORK:\n        rule = kept", "no-error"),
        ("program.py", "            plan.apart.advance(plan, state, channel, elapsed)\n", "            pass\n", "never-together"),
        ("snapshot.py", "        plan.apart.begin(plan, state)\n", "        pass\n", "never-together"),
    )),
    *(Fault("conditions.py", *row[:3], row[3] if len(row) > 3 else CONDITIONED) for row in (
        # what an input or a reading tells
        ("1 if event[2] else 0, plan.input_settle_ms", "0 if event[2] else 1, plan.input_settle_ms", "input-settles"),
        ("plan.input_settle_ms[event[1]])", "plan.input_settle_ms[0])", "input-settles"),
        ("plan.input_at[event[1]], 1", "plan.input_at[event[1] - 1], 1", "input-settles"),
        ("state[at + LEVEL] = closed[place]", "state[at + LEVEL] = closed[place - 1]", "learnt"),
        ("state[at + LEVEL] = closed[place]", "pass", "learnt"),
        ("plan.input_at[i], closed, plan.switches + i)", "plan.input_at[i], closed, i)", "learnt"),
        ("0 <= event[1] < plan.inputs", "event[1] < plan.inputs", "unknown-refused"),
        ("0 <= event[1] < plan.readings", "0 <= event[1] <= plan.readings", "no-error"),
        ("UNKNOWN <= event[2] <= PAST", "UNKNOWN <= event[2]", "unknown-refused"),
        ("0 if place == UNKNOWN else plan.stale_ms[reading]", "plan.stale_ms[reading]", "read-fresh"),        # not known is taken for known
        ("0 if place == UNKNOWN else plan.stale_ms[reading]", "0 if place == UNKNOWN else plan.stale_ms[0]", "read-fresh", GUARDED),
        ("if place != BETWEEN:", "if place:", "read-fresh"),                     # what was past its begin stays so past its end
        ("if place != BETWEEN:", "if True:", "read-fresh"),                      # between begin and end counts as past its end
        ("1 if place == PAST else 0", "1 if place else 0", "read-fresh"),
        ("        state[at + BEYOND] = 0\n", "        pass\n", "read-fresh"),     # known again, it is where it was before
        ("    if not state[at + FRESH]:\n        state", "    if state[at + FRESH] < 2:\n        state", "read-fresh"),
        ("    at = plan.reading_at[reading]\n    left", "    at = plan.reading_at[0]\n    left", "read-fresh", GUARDED),
        ("        age(plan, state, reading, elapsed)\n", "        pass\n", "read-fresh"),      # never stale
        # whether it is so
        ("if not state[plan.condition_at[plan.released_by[condition]] + MET]:", "if not state[plan.condition_at[condition] + RUN]:", "met-in-time"),
        ("if not state[plan.condition_at[plan.released_by[condition]] + MET]:", "if False:", "met-in-time"),        # over without its release
        ("if not state[plan.condition_at[plan.released_by[condition]] + MET]:", "if True:", "met-in-time"),         # never released
        ("if plan.released_by[condition] >= 0 and state[", "if plan.released_by[condition] >= 0 or state[", "met-in-time"),
        ("if plan.released_by[condition] >= 0 and state[", "if plan.released_by[condition] > 0 and state[", "met-in-time", LATCHED),
        ("+ LEVEL] == sense else 0", "+ LEVEL] else 0", "met-in-time"),
        ("+ LEVEL] == sense else 0", "+ LEVEL] == sense and not state[plan.input_at[number] + SETTLE] else 0", "met-in-time"),       # bounce counts
        ("return 1 if plan.kind[condition] == LOCKS else 0", "return 0", "met-in-time", GUARDED),           # not known lets it run
        ("return 1 if plan.kind[condition] == LOCKS else 0", "return 1", "met-in-time"),
        ("        if not state[at + FRESH]:\n            return", "        if state[at + FRESH] < 0:\n            return", "met-in-time", GUARDED),
        ("        return state[at + BEYOND]\n", "        return 1 - state[at + BEYOND]\n", "met-in-time"),
        ("(sense or not (state[at + TURN] or state[at + HOLD]))", "not (state[at + TURN] or state[at + HOLD])", "met-in-time"),
        ("not (state[at + TURN] or state[at + HOLD])", "not state[at + HOLD]", "met-in-time", GUARDED),
        ("not (state[at + TURN] or state[at + HOLD])", "not state[at + TURN]", "met-in-time", GUARDED),
        ("return sense if is_on else 1 - sense", "return 1 if is_on else 0", "met-in-time", GUARDED),
        # power-up
        ("    if plan.kind[condition] == LOCKS and plan.after_ms", "    if plan.after_ms", "met-in-time", GUARDED),
        ("plan.kind[condition] != HOLDS and plan.kind[condition] != RELEASE", "plan.kind[condition] != HOLDS", "met-in-time", LATCHED),
        ("            find(plan, state, condition)\n", "            pass\n", "met-in-time"),
        ("plan.kind[condition] != HOLDS and plan.kind[condition] != RELEASE", "plan.kind[condition] != RELEASE", "met-in-time", GUARDED),
        ("plan.kind[condition] == LOCKS and plan.after_ms[condition] > 1:", "False:", "met-in-time"),       # an ending lock is forgotten
        ("plan.kind[condition] == LOCKS and plan.after_ms[condition] > 1:", "plan.kind[condition] == LOCKS:", "met-in-time"),
        ("        state[at + TAKEN] = state[at + MET]\n\n", "        pass\n\n", "rule-acts"),           # what stands at power-up strikes
        ("snapshot is None or snapshot[place]:", "snapshot is not None and snapshot[place]:", "met-in-time"),
        ("snapshot is None or snapshot[place]:", "True:", "met-in-time"),       # a reset one is latched again by a power cut
        ("snapshot is None or snapshot[place]:", "snapshot is None or snapshot[place] == 1:", "met-in-time"),
        ("        restore(plan, state, plan.kept[i], snapshot", "        restore(plan, state, i, snapshot", "met-in-time"),
        ("2 * plan.channels + i)", "2 * plan.channels)", "met-in-time", LATCHED),
        ("snapshot[2 * plan.channels + i] = state[plan.condition_at[plan.kept[i]] + MET]", "snapshot[2 * plan.channels + i] = state[plan.condition_at[i] + MET]", "snapshot-whole"),
        ("snapshot[2 * plan.channels + i] = state", "snapshot[2 * plan.channels] = state", "snapshot-whole", LATCHED),
        ("        return False\n    return True\n", "        pass\n    return True\n", "unknown-refused"),
        # time
        ("        settles(plan, state, plan.input_at[i], elapsed)\n", "        pass\n", "input-settles"),
        ("        advance(plan, state, condition, elapsed)\n", "        pass\n", "met-in-time"),
        ("        state[at + MET] = 1 - state[at + MET]\n", "        state[at + MET] = 1\n", "met-in-time"),
        ("        state[at + RUN] = 0\n        state", "        state[at + RUN] = plan.from_ms[condition]\n        state", "met-in-time"),
        ("        if plan.released_by[condition] >= 0:\n            save_soon", "        if False:\n            save_soon", "snapshot-fresh"),
        ("        if plan.released_by[condition] >= 0:\n            save_soon", "        if plan.released_by[condition] >= 0 and state[at + MET]:\n            save_soon", "snapshot-fresh"),
        ("        if plan.released_by[condition] >= 0:\n            save_soon", "        if True:\n            save_soon", "snapshot-due"),
        ("    if so == state[at + MET]:\n        state[at + RUN] = 0\n    elif", "    if so == state[at + MET]:\n        pass\n    elif", "met-in-time"),
        ("    elif not state[at + RUN]:\n", "    else:\n", "met-in-time"),
        ("plan.from_ms[condition] if so else plan.after_ms[condition]", "plan.after_ms[condition] if so else plan.from_ms[condition]", "met-in-time"),
        ("plan.from_ms[condition] if so else plan.after_ms[condition]", "plan.from_ms[condition]", "met-in-time"),
        ("        plan.timers.append(place + wait)\n", "        pass\n", "wakes"),
        # what is held
        ("elif is_free and not state[at + TAKEN]:", "elif is_free:", "wish-kept"),      # asked again while it is met: a hand cannot switch off
        ("elif is_free and not state[at + TAKEN]:", "elif not state[at + TAKEN]:", "wish-kept", GUARDED),
        ("            is_free = False\n", "            pass\n", "wish-kept", GUARDED),                # a rest is none
        ("    is_free = lock_on(plan, state, channel) < 0\n", "    is_free = True\n", "wish-kept", GUARDED),
        ("            if state[at + TAKEN]:\n                ended", "            if True:\n                ended", "wish-kept"),
        ("            state[at + TAKEN] = 0\n        elif", "            pass\n        elif", "held"),
        ("            state[at + TAKEN] = 1\n", "            pass\n", "held"),
        ("            begun = condition\n", "            pass\n", "rule-acts"),
        ("                ended = condition\n", "                pass\n", "rule-acts"),
        ("    elif ended >= 0 and not is_held:\n", "    elif ended >= 0:\n", "wish-kept"),         # off while another holds it
        ("    elif ended >= 0 and not is_held:\n", "    if ended >= 0:\n", "rule-acts"),
        ("is_held = is_held or state[at + TAKEN]", "is_held = state[at + TAKEN]", "wish-kept"),
        ("plan.condition_acts[begun], plan.cause[begun])", "plan.condition_acts[begun], plan.cause[0])", "cause"),
        ("OFF, 0, plan.cause[ended])", "OFF, 0, plan.cause[ended - 1])", "cause"),
        ("    for condition in plan.rests[channel]:\n", "    for condition in plan.rests[channel - 1]:\n", "wish-kept", GUARDED),
        # what is kept off
        ("        if state[plan.condition_at[condition] + MET]:\n            return condition\n",
         "        if state[plan.condition_at[condition] + MET] and not state[plan.condition_at[condition] + RUN]:\n            return condition\n", "rule-acts"),
        ("        if state[plan.condition_at[condition] + MET]:\n            return condition\n", "        return condition\n", "wish-kept"),
        ("    for condition in plan.locks[channel]:\n", "    for condition in plan.locks[channel][:1]:\n", "rule-acts"),
        ("    for condition in plan.locks[channel]:\n", "    for condition in plan.locks[2]:\n", "switch-acts"),         # a lock of another channel
        ("            shut(plan, state, channel)\n        if plan.holds", "            pass\n        if plan.holds", "cause", GUARDED),
        ("            shut(plan, state, channel)\n    for", "            pass\n    for", "kept-off"),       # what came back with the power stays on
        ("    if lock >= 0 and state[plan.channel_at[channel] + WANTED]:\n", "    if lock >= 0:\n", "wish-kept"),
        ("    if lock >= 0 and state[plan.channel_at[channel] + WANTED]:\n", "    if lock > 0 and state[plan.channel_at[channel] + WANTED]:\n", "kept-off", GUARDED),
        ("            state[plan.condition_at[condition] + TAKEN] = 0\n        ask", "            pass\n        ask", "held", GUARDED),     # what it shut does not begin again
        ("        for condition in plan.holds[channel]:\n", "        for condition in plan.holds[channel - 1]:\n", "held", GUARDED),
        (SHUT, SHUT.replace(" and state[plan.channel_at[channel] + WANTED]", "").replace("        ask", "        state[plan.channel_at[channel] + WANTED] and ask"),
         "held", GUARDED),        # what a hand had switched off before begins again
        ("ask(plan, state, channel, OFF, 0, plan.cause[lock])", "ask(plan, state, channel, OFF, 0, plan.cause[lock - 1])", "cause"),
        # what strikes
        ("            strike(plan, state, condition)\n", "            pass\n", "rule-acts"),
        ("        if plan.kind[condition] == WHEN:\n            strike", "        if plan.kind[condition] >= RESTS:\n            strike", "wish-kept", GUARDED),
        ("        state[at + TAKEN] = state[at + MET]\n        if", "        if", "rule-acts"),      # it strikes again and again
        ("        if state[at + MET]:\n            act(plan, state, plan.condition_acts[condition], plan.cause[condition])",
         "        if True:\n            act(plan, state, plan.condition_acts[condition], plan.cause[condition])", "wish-kept"),       # it strikes as it ends
        ("plan.condition_acts[condition], plan.cause[condition])", "plan.condition_acts[condition], plan.cause[0])", "cause"),
        # the plan's table
        ("plan.cause = array(\"i\", [RULED + row[\"rule\"] for row in rows])", "plan.cause = array(\"i\", [RULED + number for number in range(len(rows))])", "cause"),
    )),
    *(Fault(*row[:4], row[4] if len(row) > 4 else CONDITIONED) for row in (
        ("channels.py", "            state[at + SHOWN] = NOTHING_SHOWN       # whoever asked is told\n", "", "told-truly"),
        ("channels.py", "        if rule >= 0:\n            wanted, cause", "        if rule >= 0 and cause < 4:\n            wanted, cause", "turn"),      # on and off again in a step
        ("channels.py", "        if lock >= 0:\n            return plan.cause", "        if lock > 0:\n            return plan.cause", "held", GUARDED),
        ("channels.py", "            return plan.cause[lock]\n", "            return plan.cause[lock - 1]\n", "cause"),
        ("channels.py", "    if wanted:\n        rule = kept", "    if True:\n        rule = kept", "network-acts"),            # an off is told as refused
        ("program.py", "        plan.conditions.look(plan, state)\n", "        pass\n", "met-in-time"),
        ("program.py", "    if plan.conditions:\n        plan.conditions.look", "    if plan.conditions and kind:\n        plan.conditions.look", "met-in-time"),
        ("program.py", "        plan.conditions.pass_time(plan, state, elapsed)\n", "        pass\n", "input-settles"),
        ("program.py", CONDITIONS_FIRST, HANDS + CONDITIONS_FIRST.replace(HANDS, ""), "switch-acts"),
        ("program.py", LOOK_FIRST, LOOK_FIRST[LOOK_FIRST.index("    for"):] + LOOK_FIRST[:LOOK_FIRST.index("    for")], "kept-off", GUARDED),
        ("program.py", "plan.conditions and plan.conditions.take(plan, state, event):", "kind > 5:", "unknown-refused"),       # taken, and heard by nobody
        ("program.py", "plan.conditions and plan.conditions.take(plan, state, event):", "kind > 5 and (plan.conditions.take(plan, state, event) or True):", "unknown-refused"),
        ("snapshot.py", "        plan.conditions.keep(plan, state, snapshot)\n", "        pass\n", "snapshot-whole"),
        ("snapshot.py", "2 * plan.channels + len(plan.kept)", "2 * plan.channels", "no-error"),
        ("snapshot.py", "        plan.conditions.begin(plan, state, snapshot, closed)\n", "        pass\n", "learnt"),
        ("snapshot.py", "range(plan.cells)", "range(plan.cells - 3)", "met-in-time", GUARDED),     # what was met before the power cut
        ("plan.py", "            self.conditions = conditions\n", "            pass\n", "learnt"),
        ("switches.py", "        state[at + SETTLE] = settle_ms\n", "        state[at + SETTLE] = 20\n", "input-settles"),
    )),
    *faults("presses.py", *((*row, PRESSED) for row in (
        ("        if settles(plan, state, at, elapsed):\n            let_go", "        if False:\n            let_go", "switch-settles"),
        ("            let_go(plan, state, switch)\n", "            pass\n", "presses-told-apart"),            # a short press is lost
        ("        pressed(plan, state, switch)\n", "        pass\n", "presses-told-apart"),
        ("        wait(plan, state, switch, elapsed, plan.held_acts[switch])\n", "", "presses-told-apart"),      # nothing is ever held
        ("        wait(plan, state, switch, elapsed, plan.switch_acts[switch])\n", "        pass\n", "presses-told-apart"),      # it waits for a second press for ever
        ("elapsed, plan.held_acts[switch])", "elapsed, plan.switch_acts[switch])", "switch-acts"),
        ("decide(plan, state, switch, plan.twice_acts[switch])", "decide(plan, state, switch, plan.switch_acts[switch])", "switch-acts"),
        ("decide(plan, state, switch, plan.switch_acts[switch])", "decide(plan, state, switch, plan.held_acts[switch])", "switch-acts"),
        ("left - elapsed", "left - 1", "presses-told-apart"),
        ("    if left > elapsed:\n", "    if left >= elapsed:\n", "presses-told-apart"),
        ("        state[at + UNDECIDED] = 1\n", "        act(plan, state, plan.switch_acts[switch], BY_SWITCH)\n        state[at + UNDECIDED] = 1\n", "wish-kept"),       # at the press, and again
        ("        state[at + UNTIL] = plan.press_held_ms[switch]\n", "        state[at + UNTIL] = plan.press_held_ms[switch] // 2\n", "presses-told-apart"),
        ("            state[at + UNTIL] = plan.press_again_ms[switch]\n", "            state[at + UNTIL] = plan.press_held_ms[switch]\n", "presses-told-apart"),
        ("    if state[at + UNDECIDED]:\n        if", "    if True:\n        if", "wish-kept"),                  # what was held acts again as it is let go
        ("    if state[at + UNDECIDED]:\n        decide", "    if True:\n        decide", "presses-told-apart"),
        ("    state[at + UNDECIDED] = 0\n", "", "presses-told-apart"),
        ("    state[at + UNTIL] = 0\n", "", "presses-told-apart"),
        ("    act(plan, state, acts, BY_SWITCH)\n", "    act(plan, state, acts, 3)\n", "cause"),
        ("    act(plan, state, acts, BY_SWITCH)\n", "    act(plan, state, acts, BY_SWITCH)\n    act(plan, state, acts, BY_SWITCH)\n", "switch-acts"),
        ("        plan.timers.append(plan.cells + UNTIL)\n", "", "wakes"),
        ("for name in (\"held\", \"twice\")]", "for name in (\"twice\", \"held\")]", "switch-acts"),
    ))),
    *faults(
        "switches.py",
        ("        plan.presses.advance(plan, state, switch, elapsed)\n        return\n", "        plan.presses.advance(plan, state, switch, elapsed)\n", "wish-kept", PRESSED),
        ("if plan.presses and plan.press_at[switch]:", "if False:", "presses-told-apart", PRESSED),
        ("if plan.presses and plan.press_at[switch]:", "if plan.presses:", "no-error", PRESSED),
        ("+ LEVEL] = closed[switch]", "+ LEVEL] = 0", "learnt", PRESSED),
    ),
    *faults(
        "snapshot.py",
        ("        switches.learn(plan, state, switch, closed)\n", "        switches.learn(plan, state, switch, closed)\n        if closed[switch] and plan.press_at[switch]:\n"
         "            state[plan.press_at[switch]] = 1\n", "learnt", PRESSED),
    ),
    *faults(
        "plan.py",
        ("self.timers.extend(array(\"i\", range(at + WAIT, at + KICK + 1)))", "self.timers.extend(array(\"i\", range(at + WAIT, at + KICK)))", "wakes"),
        ("return self.tops[channel]", "return 1", "button-acts"),
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


ONLY_IN_SOAK = [fault for plan in (TIMED, CONDITIONED, GUARDED, LATCHED) for fault in [one for one in FAULTS if one.plan is plan][1::2]]     # every second one of the rules runs each time


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
