"""Stories of the proof: drawn, lived again under both interpreters, and kept as regression tests that can fail."""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest

import pattress
from pattress.controller.digest import CORE
from pattress.errors import UseError
from pattress.job.wish import parse_wish
from pattress.proof import prove
from pattress.rehearsal.regression import regression
from pattress.rehearsal.retelling import Told, read_story, retell
from pattress.rehearsal.storyline import lanes, story_picture, storyline

WISH = {"cool": parse_wish("ironing_socket is never on while ceiling_fan is on")}
ANCHOR, INSTEAD = "        state[at + WAIT] = plan.dead_ms[channel]\n", "        pass\n"      # in channels.py: no dead time any more
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def told(plans):
    """Return the story of a wish that the invented room does not keep."""
    table = plans.sewing_room()
    (prop,) = prove(table, wishes=WISH).failed
    return Told(prop.story, table, WISH)


def test_a_story_is_drawn_with_a_lane_for_each_channel_it_is_about(told):
    text = storyline(told.story, told.table)
    assert [(lane.letter, lane.name) for lane in lanes(told.story, told.table)] == [("A", "Ironing socket"), ("B", "Ceiling fan")]
    assert text.startswith("Broken: ironing_socket is never on while ceiling_fan is on [wish.cool]\n  A  Ironing socket\n  B  Ceiling fan\n     A B\n  1. . .  power comes on")
    assert text.splitlines()[-1] == "Found: Ironing socket and Ceiling fan are both on"
    assert all(lane.levels[-1] for lane in lanes(told.story, told.table))


def test_the_picture_needs_nothing_beside_it_and_tells_every_step(told):
    drawn = story_picture(told.story, told.table).svg()
    tree = ElementTree.fromstring(drawn)
    words = " ".join(text.text for text in tree.iter(f"{SVG}text"))
    for step in told.story.steps:
        assert step.words.split(";")[0] in words
    assert "None" not in drawn and "href" not in drawn
    width, height = map(float, tree.get("viewBox").split()[2:])
    assert all(0 < float(text.get("y")) < height and float(text.get("font-size", tree.get("font-size"))) >= 14 for text in tree.iter(f"{SVG}text"))
    assert width == 420


def test_a_story_lived_again_does_what_was_told_under_both_interpreters_and_still_breaks_its_wish(told):
    found = retell(told)
    assert found.relays == tuple(step.relays for step in told.story.steps)
    assert found.failure == "wish.cool: Ironing socket and Ceiling fan are both on"
    assert found.difference == "" and not found.holds


def test_an_interpreter_that_answers_differently_is_noticed(told, tmp_path):
    copy = tmp_path / "core"
    shutil.copytree(CORE, copy, ignore=shutil.ignore_patterns("__pycache__"))
    program = copy / "program.py"
    program.write_text(program.read_text("utf-8") + "\ndue_in = lambda plan, state: 7\n", "utf-8")
    assert "CPython answers" in retell(told, core_folder=copy).difference


def test_a_story_comes_back_from_its_file_as_it_was(told, tmp_path):
    file = tmp_path / "story.json"
    file.write_text(told.text(), "utf-8")
    assert read_story(file) == told


@pytest.mark.parametrize("content, words", [
    ("{", "story.json:1: line 1 is no JSON"), ("{}", "is no story that"), ('{"format": 9}', "its format is 9, not 1"), ("[]", "is no story that")])
def test_a_file_that_is_no_story_is_refused(tmp_path, content, words):
    file = tmp_path / "story.json"
    file.write_text(content, "utf-8")
    with pytest.raises(UseError, match=words):
        read_story(file)


def test_a_story_of_another_plan_is_refused_with_both(told, plans):
    with pytest.raises(UseError, match=r"^the story was told of another plan\n  its channels: pendant, .*\n  those of this job: pendant$"):
        told.under(Told(told.story, plans.one_lamp()))


@pytest.fixture(scope="module")
def faulty(tmp_path_factory):
    """Return a folder in which the whole package lies once more, with one fault in the control program."""
    folder = tmp_path_factory.mktemp("faulty")
    shutil.copytree(Path(pattress.__file__).parent, folder / "pattress", ignore=shutil.ignore_patterns("__pycache__"))
    file = folder / "pattress/controller/core/channels.py"
    source = file.read_text("utf-8")
    assert source.count(ANCHOR) == 1
    file.write_text(source.replace(ANCHOR, INSTEAD), "utf-8")
    return folder


def run(folder, *command):
    surroundings = os.environ | ({"PYTHONPATH": str(folder)} if folder else {})
    return subprocess.run([sys.executable, *command], capture_output=True, text=True, env=surroundings, timeout=120, check=False)


def test_the_exported_test_fails_on_the_faulty_program_and_passes_on_the_mended_one(faulty, plans, tmp_path):
    """Found, told and written by the faulty workbench itself; then run by pytest under each of the two."""
    table = tmp_path / "plan.json"
    table.write_text(json.dumps(plans.sewing_room()), "utf-8")
    export = f"""
import json
from pathlib import Path
from pattress.proof import prove
from pattress.rehearsal.regression import regression
from pattress.rehearsal.retelling import Told
table = json.loads(Path({str(table)!r}).read_text())
prop = next(prop for prop in prove(table, until_first_failure=True).failed if prop.story)
for name, content in regression(Told(prop.story, table)).items():
    Path({str(tmp_path)!r}, name).write_text(content)
print(prop.id)
"""
    assert run(faulty, "-c", export).stdout == "sets-never-meet\n"
    assert sorted(file.name for file in tmp_path.glob("*story*")) == [
        "story_sets_never_meet.json", "story_sets_never_meet.svg", "test_story_sets_never_meet.py"]
    pytest_run = ("-m", "pytest", "-q", "-p", "no:cacheprovider", "-c", os.devnull, "--rootdir", str(tmp_path), str(tmp_path))
    broken, mended = run(faulty, *pytest_run), run(None, *pytest_run)
    assert broken.returncode == 1 and "1 failed, 1 passed" in broken.stdout, broken.stdout + broken.stderr
    assert mended.returncode == 0 and "2 passed" in mended.stdout, mended.stdout + mended.stderr


def test_words_of_the_owner_cannot_break_the_test_file(told):
    spoilt = regression(Told(told.story.__class__("wish.x", 'a """ and \\ and \' in it', "", (), "so { } it is"), told.table))
    names: dict = {}
    exec(compile(spoilt["test_story_wish_x.py"], "test", "exec"), names)
    assert names["SAYS"] == 'a """ and \\ and \' in it' and names["FOUND"] == "so { } it is"
