"""Every duration of a plan is proven to the millisecond: wherever the program takes one, one more or one less is caught."""

import re

import pytest

from pattress.controller.digest import core_files
from pattress.proof import prove

from .mutants import copied, forget, load
from .plans import CONDITIONED, GUARDED, PRESSED, SENSED, SMALL

# Every channel has every duration, so that none is 0 and one less is not less than nothing.
FULL = dict(SENSED, channels=[row | {"dead_ms": 60 + number, "minimum_off_ms": 500 + number, "restore_delay_ms": 900 * (number + 1)}
                             for number, row in enumerate(SMALL["channels"])])
TAKEN = re.compile(r"plan\.(dead_ms|minimum_off_ms|kick_ms|restore_delay_ms|switch_settle_ms|regulator_settle_ms|feedback_ms|input_settle_ms|stale_ms|from_ms|after_ms|press_held_ms|press_again_ms)\[(?:\w+|event\[1\])\]|plan\.(held_ms|save_ms)")
PLANS_OF = {"conditions.py": (CONDITIONED, GUARDED), "presses.py": (PRESSED,)}        # FULL and SENSED have none of these
CLAIMS = {
    "dead_ms": "dead-time", "minimum_off_ms": "minimum-off", "kick_ms": "start-kick", "restore_delay_ms": "turn",
    "switch_settle_ms": "switch-settles", "regulator_settle_ms": "regulator-settles", "held_ms": "button-acts", "save_ms": "snapshot-due",
    "feedback_ms": "feedback-settles", "input_settle_ms": "input-settles", "stale_ms": "read-fresh", "from_ms": "met-in-time", "after_ms": "met-in-time",
    "press_held_ms": "presses-told-apart", "press_again_ms": "presses-told-apart",
}


def places():
    """Return every place in the core where a duration of the plan is taken."""
    return [(path.name, found.start(), found.group(), found.group(1) or found.group(2))
            for path in core_files() if path.name != "plan.py" for found in TAKEN.finditer(path.read_text("utf-8"))]


def test_every_duration_of_a_plan_is_taken_somewhere():
    assert {name for _, _, _, name in places()} == set(CLAIMS)


def test_full_plan_holds():
    assert prove(FULL).holds


@pytest.mark.parametrize("by", [-1, 1])
@pytest.mark.parametrize("file, start, text, name", places(), ids=lambda value: str(value))
def test_one_millisecond_more_or_less_is_caught(tmp_path, file, start, text, name, by):
    folder = copied(tmp_path)
    source = (folder / file).read_text("utf-8")
    (folder / file).write_text(f"{source[:start]}({text} + {by}){source[start + len(text):]}", "utf-8")
    core = load(folder)
    try:
        assert any(CLAIMS[name] in failing(table, core) for table in PLANS_OF.get(file, (FULL,)))
    finally:
        forget(core)


def failing(table, core):
    """Return the claims that fail first."""
    failed = {prop.id for prop in prove(table, core, until_first_failure=True).failed}
    if failed == {"brown-out"}:          # it restarts the mains and meets others' faults first
        failed = {prop.id for prop in prove(table, core).failed}
    return failed


# What counts time down: one millisecond is lost or won in each step.
COUNTS = [
    ("channels.py", "state[i] = left - elapsed if left > elapsed else 0"), ("switches.py", "state[at + SETTLE] = left - elapsed"),
    ("regulators.py", "state[at + SETTLE] = left - elapsed"), ("remote.py", "state[HELD] = left - elapsed"),
    ("program.py", "state[SAVE] = left - elapsed"), ("feedback.py", "state[at + DOUBT] = left - elapsed"),
    ("presses.py", "state[at + UNTIL] = left - elapsed"),
    *(("conditions.py", f"state[at + {cell}] = left - elapsed") for cell in ("FRESH", "RUN")),
]


@pytest.mark.parametrize("by", ["- 1", "+ 1"])
@pytest.mark.parametrize("file, anchor", COUNTS, ids=[f"{file}: {anchor}" for file, anchor in COUNTS])
def test_time_that_is_counted_wrong_is_caught(tmp_path, file, anchor, by):
    folder = copied(tmp_path)
    source = (folder / file).read_text("utf-8")
    assert source.count(anchor) == 1
    (folder / file).write_text(source.replace(anchor, anchor.replace("left - elapsed", f"left - elapsed {by}")), "utf-8")
    core = load(folder)
    try:
        assert prove(PLANS_OF.get(file, (SENSED,))[0], core, until_first_failure=True).failed
    finally:
        forget(core)
