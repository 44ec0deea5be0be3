"""The README is true: its commands exist, its output is what they print, its links lead somewhere."""

import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner

from pattress.cli import main

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text("utf-8")
CONSOLE = re.findall(r"```console\n\$ pattress ([^\n]+)\n(.*?)```", README, re.DOTALL)


def test_every_command_of_the_tables_exists():
    named = set(re.findall(r"\| `pattress (\w+)", README))
    assert named == set(main.commands)


@pytest.mark.parametrize("command, printed", CONSOLE)
def test_output_shown_is_output_printed(command, printed, monkeypatch):
    monkeypatch.chdir(ROOT)
    result = CliRunner().invoke(main, shlex.split(command))
    assert result.stdout == printed


def test_the_readme_shows_some_output():
    assert CONSOLE


@pytest.mark.parametrize("file", ["README.md", *(f"docs/{path.name}" for path in sorted((ROOT / "docs").glob("*.md")))])
def test_links_lead_somewhere(file):
    text = (ROOT / file).read_text("utf-8")
    for target in re.findall(r"\]\(([^)#]+)\)", text):
        assert (ROOT / file).parent.joinpath(target).exists(), target


def test_what_make_can_do_is_called_so_wherever_it_is_told():
    goals = set(re.search(r"^\.PHONY: (.+)", (ROOT / "Makefile").read_text("utf-8"), re.M)[1].split())
    files = [ROOT / "README.md", *(ROOT / "docs").glob("*.md"), *(ROOT / "tests").rglob("*.py")]
    told = {(file.name, goal) for file in files for goal in re.findall(r"`make (\w+)`|^make (\w+) ", file.read_text("utf-8"), re.M) for goal in filter(None, goal)}
    assert {goal for _, goal in told} >= {"demo", "test", "benchmark"} and {one for one in told if one[1] not in goals} == set()
    modules = {module for file in files for module in re.findall(r"`python -m ([\w.]+)`", file.read_text("utf-8"))}
    assert modules and all((ROOT / module.replace(".", "/")).with_suffix(".py").exists() for module in modules)


def test_which_commands_take_json_is_told():
    told = re.search(r"takes `--json` \(`(\w+)` and `(\w+)` have no need of it\)", README).groups()
    leaves = {name: [*command.commands.values()] if hasattr(command, "commands") else [command] for name, command in main.commands.items()}
    without = {name for name, some in leaves.items() if not all(any("--json" in option.opts for option in one.params) for one in some)}
    assert without == {*told, "page"}
