"""Memory of a whole life with numbers as wide as a board's: steady, and no more than was measured when this was written."""

from pathlib import Path

import pytest

from pattress.bundle import write_bundle
from pattress.design import design_of

from ...benchmarks import board
from . import narrow_interpreter

KIB = 1024
LIMITS = {              # in place, with the network: at rest, and at any moment, as up to 4 KiB more are seen now and then; docs/what-ran-where.md has the figures
    (True, False): (42 * KIB, 46 * KIB),
    (True, True): (55 * KIB, 59 * KIB),
    (False, False): (67 * KIB, 68 * KIB),
    (False, True): (90 * KIB, 94 * KIB),
}
WHOLE = 100 * KIB       # all files of the bundle
POOLS, NAMES = 5, 620   # the interpreter's table of names: pools of 20, 40, 80, 160 and 320; the next one takes another 3.8 KiB at once
ROOM = 30               # names; conditions, readings and inputs bring 25
CONDITIONS = """
[rule.warm]
says = "ceiling is on while room is above 30 degC, until 28 degC"

[rule.pair]
says = "bench is on while pendant is on"

[input.window]
name = "Window"
kind = "window"

[rule.airing]
says = "when window opens, off bench"
"""


def test_the_build_with_narrow_numbers_has_narrow_numbers(tmp_path):
    *_, wide = narrow_interpreter.run("import sys\nprint(sys.maxsize)", folder=tmp_path, beside={})[:1]
    assert wide == "2147483647"


def test_what_it_cannot_run_is_an_error(tmp_path):
    with pytest.raises(RuntimeError, match="no module named 'nothing'"):
        narrow_interpreter.run("import nothing", folder=tmp_path, beside={})


@pytest.fixture(scope="module")
def bundle(tmp_path_factory):
    """Return the sewing room's bundle and what the sheet on site knows of it."""
    design = design_of(Path("examples/sewing-room/job.toml"))
    folder = tmp_path_factory.mktemp("memory") / "room"
    write_bundle(folder, design.plan, design.facts, findings=(), accepted={})
    return folder, design.facts


def test_the_whole_bundle_is_within_its_limit(bundle):
    assert sum(path.stat().st_size for path in bundle[0].rglob("*") if path.is_file()) < WHOLE


@pytest.mark.parametrize("in_place, network", LIMITS, ids=lambda given: str(given))
def test_memory_in_use_is_steady(bundle, in_place, network):
    found = board.live(*bundle, 90, narrow=True, network=network, in_place=in_place)
    weighed = found["weighed"]
    assert len(weighed) == board.WEIGHED and len(found["times"]) > 5 and found["package"] == ("c" if in_place else "a")
    assert found["pools"] <= POOLS and found["names"] + ROOM <= NAMES
    rest, most = LIMITS[in_place, network]
    assert min(weighed) < rest and max(weighed) < most
    assert min(weighed[2:]) <= min(weighed[:2]) + KIB       # the least of each half: at some moments a connection is being tried


def test_a_plan_with_conditions_takes_no_step_of_the_table_of_names(tmp_path, monkeypatch):
    """It loads three modules more, which weigh what they weigh."""
    monkeypatch.setattr(board, "WEIGHED", 1)
    job = tmp_path / "job.toml"
    job.write_text(Path("examples/sewing-room/job.toml").read_text("utf-8") + CONDITIONS, "utf-8")
    design = design_of(job)
    write_bundle(tmp_path / "room", design.plan, design.facts, findings=(), accepted={})
    found = board.live(tmp_path / "room", design.facts, 60, narrow=True, network=True)
    assert design.plan["conditions"] and all((tmp_path / "room" / name).is_file() for name in ("core/conditions.mpy", "inputs.mpy"))
    assert found["pools"] == POOLS and found["names"] <= NAMES


def test_no_task_of_the_network_fails_while_it_is_weighed(bundle, monkeypatch):
    """A task that fails would weigh nothing: what the board prints says so."""
    said = []
    run = narrow_interpreter.run
    monkeypatch.setattr(narrow_interpreter, "run", lambda *given, **more: said.extend(run(*given, **more)) or said)
    board.live(*bundle, 60, narrow=True, network=True)
    assert [line for line in said if line.startswith("task ")] == [] and said
