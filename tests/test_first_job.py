"""The tutorial: every command of docs/first-job.md is run as it stands, and prints what it says."""

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

TUTORIAL = Path(__file__).parents[1] / "docs" / "first-job.md"
BLOCK = re.compile(r"^```(console|diff)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
CAN_END_WITH_1 = ("check", "bundle", "prove")


def test_every_command_of_the_first_job_prints_what_the_tutorial_says(tmp_path):
    room = tmp_path / "first-room"
    room.mkdir()
    done = []
    for kind, block in BLOCK.findall(TUTORIAL.read_text("utf-8")):
        if kind == "diff":
            change(room / "job.toml", block)
            continue
        for call in block.removeprefix("$ ").split("\n$ "):
            command, _, told = call.partition("\n")
            printed = output(command, room)
            missing = first_not_found(told, printed)
            assert missing is None, f"{command} does not print\n{missing}\nbut\n{printed}"
            done.append(command)
    assert len(done) == 13


def output(command: str, folder: Path) -> str:
    """Return what a command prints, run in a folder; it may find the job wanting, but not fail itself."""
    name, *words = shlex.split(command)
    assert name == "pattress"
    ended = subprocess.run([Path(sys.executable).with_name(name), *words], cwd=folder, capture_output=True, text=True, check=False,
                           env={**os.environ, "COLUMNS": "96"})
    assert ended.returncode == 0 or (ended.returncode == 1 and words[0] in CAN_END_WITH_1), ended.stderr
    return ended.stdout + ended.stderr


def first_not_found(told: str, printed: str) -> str | None:
    """Return the first piece of what is told, cut at each "...", that is not printed after the pieces before it."""
    at = 0
    for piece in re.split(r"(?:^|\n)\.\.\.\n|\.\.\.", told):
        found = printed.find(piece.strip("\n"), at)
        if found < 0:
            return piece
        at = found + len(piece.strip("\n"))
    return None


def change(file: Path, block: str) -> None:
    """Make an edit in a file: lines with "-" give way to the "+" lines after them; a line with neither says where."""
    text = file.read_text("utf-8")
    for gone, come, kept in re.findall(r"((?:^-.*\n)*)((?:^\+.*\n)*)((?:^ .*\n)?)", block, re.MULTILINE):
        before, after = (re.sub(r"^[-+ ]", "", lines, flags=re.MULTILINE) for lines in (gone + kept, come + kept))
        assert text.count(before) >= 1, f"not in the file: {before}"
        text = text.replace(before, after, 1)
    file.write_text(text, "utf-8")


def test_a_line_that_is_not_printed_is_found_missing():
    assert first_not_found("a\n...\nc\n", "a\nb\nc\n") is None
    assert first_not_found("a\n...\nd\n", "a\nb\nc\n") == "d\n"
    assert first_not_found("c\n...\na\n", "a\nb\nc\n") == "a\n"
