"""A wish that is not kept: its story is written out, and lived again by another command."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from pattress.cli import main

SEWING = Path(__file__).parents[2] / "examples/sewing-room/job.toml"


def call(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture(scope="module")
def exported(tmp_path_factory):
    """Return the job with a wish that it does not keep, the folder its story was written into, and what was said."""
    folder = tmp_path_factory.mktemp("stories")
    job = folder / "job.toml"
    job.write_text(SEWING.read_text("utf-8") + '\n[wish.early]\nsays = "pendant is switched at most 1 time an hour"\n', "utf-8")
    result = call("prove", job, "--export", folder / "kept")
    assert result.exit_code == 1
    return job, folder / "kept", result.stdout


def test_the_story_is_told_and_written(exported):
    _, folder, said = exported
    assert "Broken: pendant is switched at most 1 time an hour [wish.early]\n  A  Pendant lamps\n" in said
    for name in ("story_wish_early.json", "story_wish_early.svg", "test_story_wish_early.py"):
        assert (folder / name).is_file() and f"written: {folder / name}" in said


def test_it_is_lived_again_under_both_interpreters_and_judged(exported):
    job, folder, _ = exported
    result = call("rehearse", job, "--story", folder / "story_wish_early.json")
    assert result.exit_code == 1
    assert "Lived again: the relays do what was told.\nCPython and MicroPython answer alike.\nfails    pendant is switched" in result.stdout
    facts = json.loads(call("rehearse", job, "--story", folder / "story_wish_early.json", "--json").stdout)
    assert not facts["holds"] and facts["relays_as_told"] and facts["difference"] is None


def test_with_the_wish_mended_the_same_story_holds(exported, tmp_path):
    job, folder, _ = exported
    mended = tmp_path / "job.toml"
    mended.write_text(job.read_text("utf-8").replace("at most 1 time", "at most 3600 times").replace(
        "[load.pendant]", "[load.pendant]\nminimum_off = \"5 s\""), "utf-8")
    result = call("rehearse", mended, "--story", folder / "story_wish_early.json")
    assert result.exit_code == 0, result.output
    assert "holds    pendant is switched at most 3600 times an hour" in result.stdout


@pytest.mark.parametrize("name, words", [("none.json", "none.json: it is not there\n  allowed: the path of a story's file; `pattress prove JOB --export FOLDER` writes one"), ("bad.json", "is no story that `pattress prove JOB --export FOLDER` wrote")])
def test_a_file_that_is_no_story_is_bad_input(tmp_path, name, words):
    (tmp_path / "bad.json").write_text("{}")
    result = call("rehearse", SEWING, "--story", tmp_path / name)
    assert result.exit_code == 2 and words in result.stderr


def test_where_nothing_fails_it_says_that_there_is_no_story(tmp_path):
    result = call("prove", SEWING.parents[1] / "garden-workshop" / "job.toml", "--export", tmp_path / "kept")
    assert f"No story to write into {tmp_path / 'kept'}: nothing fails in a way that has one." in result.stdout and not (tmp_path / "kept").exists()
