"""The comparison with MicroPython: it agrees where the program is the same, and it can fail."""

import shutil

import pytest

from pattress.controller import core
from pattress.controller.core import Plan
from pattress.controller.digest import CORE
from pattress.controller.replay import answers
from pattress.interpreter import InterpreterError, run
from pattress.rehearsal.differential import difference

# Each is put at the end of the program's source on the MicroPython side only.
MUTATIONS = {
    "one cell of the state, once": """
count = 0
healthy = step
def step(plan, state, event):
    global count
    count += 1
    bits = healthy(plan, state, event)
    if count == 100:
        state[7] += 16      # who asked last, of the first channel
    return bits
""",
    "the bits that say what to see to": """
healthy = step
def step(plan, state, event):
    return healthy(plan, state, event) & ~REFUSED
""",
    "when it is due": """
healthy = due_in
def due_in(plan, state):
    due = healthy(plan, state)
    return due + 1 if due == 20 else due
""",
}


@pytest.fixture()
def copy(tmp_path):
    """Return a copy of the core's folder that may be broken."""
    shutil.copytree(CORE, tmp_path / "core", ignore=shutil.ignore_patterns("__pycache__"))
    return tmp_path / "core"


def test_every_answer_of_every_day_is_the_same_under_cpython_when_asked_again(rehearsal, room):
    for day in rehearsal.days:
        questions = [entry.question() for entry in day.fed()]
        assert list(answers(core, Plan(room), questions)) == [entry.answer() for entry in day.fed()]


def test_a_copy_of_the_program_agrees(rehearsal, room, copy):
    assert difference(room, rehearsal.days[0], core_folder=copy) is None


@pytest.mark.parametrize("mutation", MUTATIONS.values(), ids=MUTATIONS)
def test_a_mutation_on_one_side_is_found_and_the_first_differing_event_named(rehearsal, room, copy, mutation):
    program = copy / "program.py"
    program.write_text(program.read_text("utf-8") + mutation, "utf-8")
    day = rehearsal.days[0]
    found = difference(room, day, core_folder=copy)
    entry = tuple(day.fed())[found.number - 1]
    assert (found.here, found.question, found.at) == (entry.answer(), entry.question(), entry.at)
    assert found.there != found.here
    assert str(found).startswith(f"Scripted day, event {found.number} at ")
    if mutation.startswith("\ncount"):
        steps = [entry.question().startswith("step") for entry in day.fed()]
        assert sum(steps[: found.number]) == 100        # exactly where the fault was put


def test_a_program_that_stops_early_is_no_agreement(rehearsal, room, copy):
    program = copy / "program.py"
    stops = "\nimport sys\ndue_in = lambda plan, state: sys.exit(0)\n"
    program.write_text(program.read_text("utf-8") + stops, "utf-8")
    assert difference(room, rehearsal.days[0], core_folder=copy).there == "nothing"


def test_a_program_that_does_not_load_is_an_error_with_its_last_line(rehearsal, room, copy):
    (copy / "cells.py").unlink()
    words = r"^MicroPython stopped in .*: ImportError: no module named 'core.cells'$"
    with pytest.raises(InterpreterError, match=words):
        difference(room, rehearsal.days[0], core_folder=copy)


def test_the_interpreter_sees_its_folder_and_nothing_else(tmp_path):
    said = run("import sys; print(sys.implementation[0], sys.path)", folder=tmp_path)
    assert said == ("micropython ['', '.frozen']",)
    with pytest.raises(InterpreterError, match="no module named 'pattress'"):
        run("import pattress", folder=tmp_path)
