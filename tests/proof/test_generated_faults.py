"""Break the core in every small way there is; whatever still passes must be argued here, one by one.

Slow: run by `make soak`. The faults written by hand run with every test.
"""

import signal
from contextlib import contextmanager

import pytest

from pattress.controller.digest import CORE
from pattress.proof import prove
from pattress.proof.subject import Subject

from .generated import changed_sources, number_of_changes
from .mutants import copied, forget, load
from .plans import (
    APART,
    CONDITIONED,
    GROUPS,
    GUARDED,
    LAMP_SENSED,
    LATCHED,
    MIDDLE,
    PRESSED,
    RULED,
    SENSED,
    SMALL,
    STEPPED,
    TIMED,
    TWO_FANS,
    WARNED,
)

FILES = ("channels.py", "switches.py", "regulators.py", "remote.py", "snapshot.py", "program.py", "feedback.py", "rules.py", "conditions.py", "presses.py", "apart.py")
PLANS = (GROUPS, PRESSED, TIMED, WARNED, APART, CONDITIONED, SMALL, RULED, LATCHED, LAMP_SENSED, SENSED, GUARDED, STEPPED, MIDDLE, TWO_FANS)       # quick ones first
PARTS = 4                                       # of the faults of one file, so that several processes share them
LONGEST = 20                                    # of processor time for one plan; a changed program may never come to an end [s]

# Changes that no property can catch, because the program does just the same: line before, line after, why.
COLUMNS = "plan.kind, plan.source, plan.number, plan.sense, plan.from_ms, plan.after_ms, plan.released_by"
NAMES = "('kind', 'source', 'number', 'sense', 'from_ms', 'after_ms', 'released_by')"
KEY_IS_ENOUGH = "KEY is 0 whenever HELD is: both end in the same step"
THE_SAME = {
    ("if left:", "if True:"): "a wait that is over stays at 0",
    ("if not state[at + WAIT] | state[at + HOLD] | state[at + TURN] | state[at + KICK]:", "if False:"): "waits that are over stay at 0",
    ("elif left:", "elif True:"): "a hold that is over stays at 0, and its key too",
    ("state[i] = left - elapsed if left > elapsed else 0", "state[i] = left - elapsed if left >= elapsed else 0"): "0 either way",
    ("state[at + REST] = 1", "state[at + REST] = 2"): "anything but 0 is at rest",
    ("return -1", "return -2"): "callers look for less than 0",
    ("if elapsed <= 0:", "if elapsed < 0:"): "when no time passes no wait ends",
    ("if left and (soonest < 0 or left < soonest):", "if left and (soonest <= 0 or left < soonest):"): "soonest is never 0",
    ("if left and (soonest < 0 or left < soonest):", "if left and (soonest < 1 or left < soonest):"): "soonest is never 0",
    ("if left and (soonest < 0 or left < soonest):", "if left and (soonest < 0 or left <= soonest):"): "equal is equal",
    ("is_held = state[KEY] == button + 1 and state[HELD] > 0",
     "is_held = state[KEY] == button + 1 and state[KEY] == button + 1"): KEY_IS_ENOUGH,
    ("is_held = state[KEY] == button + 1 and state[HELD] > 0",
     "is_held = state[KEY] == button + 1 and state[HELD] >= 0"): KEY_IS_ENOUGH,
    ("if elapsed > 0:", "if elapsed >= 0:"): "when no time passes no wait ends",
    ("plan.feedback_at, plan.feedback_ms = (array('i', [0] * plan.channels), array('i', [0] * plan.channels))",
     "plan.feedback_at, plan.feedback_ms = (array('i', [0] * plan.channels), array('i', [1] * plan.channels))"):
        "a channel without feedback has no settling time that anybody asks for",
    ("ask(plan, state, channel, OFF, 0, plan.time_cause[RULE * channel + i])", "ask(plan, state, channel, OFF, 1, plan.time_cause[RULE * channel + i])"): "a level matters to SET only",
    ("ask(plan, state, channel, OFF, 0, plan.cause[lock])", "ask(plan, state, channel, OFF, 1, plan.cause[lock])"): "a level matters to SET only",
    ("ask(plan, state, channel, OFF, 0, plan.cause[ended])", "ask(plan, state, channel, OFF, 1, plan.cause[ended])"): "a level matters to SET only",
    ("if plan.locks[channel]:", "if True:"): "without a lock nothing is shut",
    ("if plan.holds[channel]:", "if True:"): "without a hold nothing begins or ends",
    ("elif plan.kind[condition] == WHEN:", "elif True:"): "TAKEN is looked at of holds, which are not found at power-up, and of WHEN",
    ("begun, ended, is_held = (-1, -1, False)", "begun, ended, is_held = (-2, -1, False)"): "looked at for less than 0",
    ("begun, ended, is_held = (-1, -1, False)", "begun, ended, is_held = (-1, -2, False)"): "looked at for less than 0",
    ("state[at + FRESH] = left - elapsed if left > elapsed else 0", "state[at + FRESH] = left - elapsed if left >= elapsed else 0"): "0 either way",
    (f"{COLUMNS} = [array('i', [row.get(name, -1) for row in rows]) for name in {NAMES}]",
     f"{COLUMNS} = [array('i', [row.get(name, -2) for row in rows]) for name in {NAMES}]"): "looked at for less than 0",
    ("state[at + TAKEN] = 1", "state[at + TAKEN] = 2"): "of a hold, anything but 0 is carried out",
    ("state[KEY] = 0", "pass"): "no button is held once HELD is 0",
    ("state[KEY] = 0", "state[KEY] = 1"): "no button is held once HELD is 0",
}


def is_the_same(before, after):
    """Return whether a change is argued: above, or `at - PLACE` for `at + PLACE` where the place is 0."""
    at_0 = [name for name in ("WANTED", "LEVEL", "CONTACTS", "LIVE", "LIMIT", "MET", "BEYOND", "UNDECIDED") if f"+ {name}]" in before]
    pieces = [(before.split(f"+ {name}]"), name) for name in at_0]
    turned = [f"- {name}]".join((f"+ {name}]".join(parts[:cut]), f"+ {name}]".join(parts[cut:])))
              for parts, name in pieces for cut in range(1, len(parts))]
    return (before, after) in THE_SAME or after in turned


class NoEnd(BaseException):
    """A changed program went on for too long. No `except Exception` on the way, meant for what a program raises, may take it for that."""


def survives(source, file, folder):
    """Return whether every property holds under every plan for the changed program."""
    folder = copied(folder)
    (folder / file).write_text(source, "utf-8")
    try:
        core = load(folder)
        for table in PLANS:
            Subject(table, core)
    except Exception:           # it cannot even be loaded, or read its plan
        return False
    try:
        for table in PLANS:
            with no_longer_than(LONGEST):
                if prove(table, core, until_first_failure=True).failed:
                    return False
        return True
    except NoEnd:
        return False
    finally:
        forget(core)


@contextmanager
def no_longer_than(seconds):
    def stop(*_):
        raise NoEnd(f"no end after {seconds} s")
    before = signal.signal(signal.SIGPROF, stop)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


@pytest.mark.soak
@pytest.mark.parametrize("part", range(PARTS))
@pytest.mark.parametrize("file", FILES)
def test_every_generated_fault_is_caught_or_argued(file, part, tmp_path):
    passed = [
        (before, after) for before, after, source in list(changed_sources((CORE / file).read_text("utf-8")))[part::PARTS]
        if survives(source, file, tmp_path)
    ]
    assert [change for change in passed if not is_the_same(*change)] == []


def test_enough_faults_are_generated():
    """At least sixty in the whole core, and each is a change."""
    changes = [change for file in FILES for change in changed_sources((CORE / file).read_text("utf-8"))]
    assert len(changes) == sum(number_of_changes((CORE / file).read_text("utf-8")) for file in FILES) >= 60
    assert all(before != after for before, after, _ in changes)
