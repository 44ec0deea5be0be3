"""Break the core in every small way there is; whatever still passes must be argued here, one by one.

Slow: run by `make soak`. The faults written by hand run with every test.
"""

import signal
from contextlib import contextmanager

import pytest

from pattress.controller.digest import CORE
from pattress.proof import prove

from .generated import changed_sources
from .mutants import copied, forget, load
from .plans import GROUPS, MIDDLE, SMALL, TWO_FANS

FILES = ("channels.py", "switches.py", "regulators.py", "remote.py", "snapshot.py", "program.py")
PLANS = (GROUPS, SMALL, MIDDLE, TWO_FANS)       # quick ones first
LONGEST = 60                                    # a changed program may never come to an end [s]

# Changes that no property can catch, because the program does just the same. Line before, line after, why.
THE_SAME = {}


def survives(source, file, folder):
    """Return whether every property holds under every plan for the changed program."""
    folder = copied(folder)
    (folder / file).write_text(source, "utf-8")
    try:
        core = load(folder)
    except Exception:           # it cannot even be loaded
        return False
    try:
        with no_longer_than(LONGEST):
            return all(not prove(table, core, until_first_failure=True).failed for table in PLANS)
    except TimeoutError:
        return False
    finally:
        forget(core)


@contextmanager
def no_longer_than(seconds):
    def stop(*_):
        raise TimeoutError(f"no end after {seconds} s")
    before = signal.signal(signal.SIGALRM, stop)
    signal.alarm(seconds)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


@pytest.mark.soak
@pytest.mark.parametrize("file", FILES)
def test_every_generated_fault_is_caught_or_argued(file, tmp_path):
    passed = [
        (before, after) for before, after, source in changed_sources((CORE / file).read_text("utf-8"))
        if survives(source, file, tmp_path)
    ]
    assert [change for change in passed if change not in THE_SAME] == []


def test_enough_faults_are_generated():
    """At least sixty in the whole core, and each is a change."""
    changes = [change for file in FILES for change in changed_sources((CORE / file).read_text("utf-8"))]
    assert len(changes) >= 60
    assert all(before != after for before, after, _ in changes)
