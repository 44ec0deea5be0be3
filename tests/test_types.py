"""The workbench passes a strict type checker; which one, how strict and where is said in pyproject.toml, [tool.mypy]."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
SOURCE = ROOT / "src" / "pattress"
BOARD_CODE = ("controller/", "bench/upload_agent.py", "bench/stand_in.py")     # checked against the board's stubs: tests/controller/drivers
IGNORED = re.compile(r"# type: ignore(?:\[[a-z, -]+\](?P<why> +# \w.+))?")


def run(*what: str) -> tuple[list[str], set[str]]:
    """Return what the type checker finds, each with its place and kind, and which files of the package it was given; in all, or in `what`."""
    ended = subprocess.run(
        [sys.executable, "-m", "mypy", "--verbose", "--hide-error-context", "--no-color-output", "--no-pretty", *what],
        cwd=ROOT, capture_output=True, text=True, check=False)
    assert ended.returncode in (0, 1), ended.stdout + ended.stderr[-2000:]
    *found, summary = ended.stdout.splitlines()
    assert re.match(r"Success: no issues found in \d+ source file|Found \d+ error", summary), ended.stdout
    return [line for line in found if ": error: " in line], set(re.findall(r"BuildSource\(path='src/pattress/([^']+)'", ended.stderr))


@pytest.fixture(scope="module")
def checked() -> tuple[list[str], set[str]]:
    return run()


def test_no_type_of_the_workbench_is_wrong(checked):
    assert checked[0] == []


def test_only_board_code_is_left_out(checked):
    workbench = {path.relative_to(SOURCE).as_posix() for path in SOURCE.rglob("*.py")}
    assert checked[1] == {path for path in workbench if not path.startswith(BOARD_CODE)}


# A program with one fault a line, each of a kind that the package had before it was checked.
FAULTS = '''
from functools import partial
from pattress.fan.design import FanDesign
from pattress.finding import Finding, Sense, Verdict
from pattress.job.model import Load, Site
from pattress.quantity import show
from pattress.stock.record import Rating
answer = partial(Finding, id="a", question="?", subject="b", limit=None, sense=Sense.AT_MOST)
answer(verdict="holds", value=None)
answer(verdict=Verdict.HOLDS)
def shown(load: Load) -> str: return show(load.power, 3)
def factor(load: Load) -> float: return 2.0 * load.power_factor
def wide(site: Site) -> float: return site.enclosure.width
def cost(design: FanDesign) -> float: return design.fit.cost
def twice(rating: Rating) -> float: return 2.0 * rating.value
def untyped(load): return load
'''.strip()
EXPECTED = [
    (8, "arg-type"), (9, "call-arg"), (10, "arg-type"), (11, "operator"), (12, "union-attr"), (13, "union-attr"),
    (14, "operator"), (15, "no-untyped-def"),
]


def test_a_seeded_fault_of_each_kind_is_found(tmp_path):
    program = tmp_path / "seeded.py"
    program.write_text(FAULTS, "utf-8")
    found = [re.fullmatch(r".*seeded\.py:(\d+): error: .*\[([a-z-]+)\]", line) for line in run(str(program))[0]]
    assert sorted({(int(one[1]), one[2]) for one in found}) == EXPECTED


def test_every_ignored_finding_says_which_it_is_and_why():
    places = [f"{path.relative_to(SOURCE).as_posix()}:{number}" for path in SOURCE.rglob("*.py")
              if not path.relative_to(SOURCE).as_posix().startswith(BOARD_CODE)
              for number, line in enumerate(path.read_text("utf-8").splitlines(), 1)
              if (match := IGNORED.search(line)) and not match["why"]]
    assert places == []

