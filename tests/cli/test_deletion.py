"""Handing a home over: what is deleted is named before, asked for, and gone; everything else stays."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from pattress.bundle import secrets
from pattress.cli import main

ROOT = Path(__file__).parents[2]


def call(*words, typed=None):
    return CliRunner().invoke(main, [str(word) for word in words], input=typed)


@pytest.fixture
def home(tmp_path):
    """Return a job with secrets, what a killed write left of them, results, an issued copy, answers, and a person's own notes."""
    job = tmp_path / "home.toml"
    job.write_bytes((ROOT / "examples/landing/job.toml").read_bytes())
    secrets.store(job, secrets.Secrets(passphrase="invented words", signing_key="00" * 32))
    for name in (".home.secrets.toml.abc", "answers.toml", "out/issued/A/job.toml", "out/issued/issues.json", "out/sheets/label.html", "out/bundle/manifest.json",
                 "out/handover.html", "out/day-0.svg", "out/notes.txt", "other.secrets.toml"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text("x", "utf-8")
    return job


def left(folder):
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())


def asked(home, *words, typed=None):
    return call("handover", home, "--delete-personal-data", "--out", home.parent / "out", "--answers", home.parent / "answers.toml", *words, typed=typed)


def test_it_says_what_it_deletes_before_it_does_and_deletes_it(home):
    done = asked(home, typed="y\n")
    assert done.exit_code == 0, done.output
    before, _, after = done.stdout.partition("Delete all of this? [y/N]")
    for name in ("home.secrets.toml: the passphrase, the key that signs updates", ".home.secrets.toml.abc: ", "answers.toml: answers that were given to `pattress adopt`",
                 "out/issued: every issued copy", "out/sheets: sheets, and the label", "out/bundle: the bundle", "out/handover.html: ", "out/day-0.svg: "):
        assert f"\n  {home.parent}/{name}" in before
    assert f"It leaves {home} as it is, which says what the home has.\nIt does not delete what lies elsewhere: in a controller without --port, in backups," in before
    assert "Deleted: " in after and left(home.parent) == ["home.toml", "other.secrets.toml", "out/notes.txt"]


@pytest.mark.parametrize("typed", ["n\n", "\n", ""])
def test_whoever_does_not_say_yes_keeps_everything(home, typed):
    before = left(home.parent)
    done = asked(home, typed=typed)
    assert done.exit_code == 2 and done.stderr.endswith("nothing was deleted\n") and left(home.parent) == before


def test_a_script_says_yes_beforehand(home):
    assert asked(home, "--json").stderr == "--json was given without --yes\n  allowed: pattress handover JOB --delete-personal-data --yes --json\n"
    done = asked(home, "--json", "--yes")
    assert str(secrets.place(home)) in json.loads(done.stdout)["deleted"] and not secrets.place(home).exists()


def test_a_link_is_taken_away_and_what_it_leads_to_stays(home, tmp_path):
    (tmp_path / "private").mkdir()
    (tmp_path / "private" / "kept").write_text("x", "utf-8")
    (tmp_path / "out" / "drawings").symlink_to(tmp_path / "private")
    assert asked(home, "--yes").exit_code == 0
    assert not (tmp_path / "out" / "drawings").is_symlink() and (tmp_path / "private" / "kept").is_file()


def test_results_of_another_job_are_not_deleted(home, tmp_path):
    (tmp_path / "out" / "results-of.txt").write_text("../other.toml\n", "utf-8")
    before = left(tmp_path)
    done = asked(home, "--yes")
    assert done.exit_code == 2 and left(tmp_path) == before
    assert done.stderr == f"{tmp_path / 'out'} holds the results of another job, {tmp_path / 'other.toml'}\n  allowed: --out with the folder that holds those of {home}\n"


def test_the_words_where_there_is_nothing_or_no_such_file(home, tmp_path):
    bare = tmp_path / "bare.toml"
    assert call("handover", bare, "--delete-personal-data", "--out", tmp_path / "none").stderr == (
        f"there is nothing of {bare} to delete: no {tmp_path / 'bare.secrets.toml'}, no results in {tmp_path / 'none'}\n  allowed: --out FOLDER, --answers FILE\n")
    assert call("handover", home, "--delete-personal-data", "--answers", tmp_path / "gone").stderr == (
        f"{tmp_path / 'gone'} is no file of answers\n  allowed: --answers with a file that was given to `pattress adopt`\n")
    assert "--yes was given without --delete-personal-data" in call("handover", home, "--yes").stderr
