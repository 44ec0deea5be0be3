"""Issued packs: lettered, dated, kept, with what moved since the one before; and what cannot be issued is told."""

import json
import re
import shutil
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

from pattress.cli import main
from pattress.handover.issues import next_revision

EXAMPLE = Path(__file__).parents[2] / "examples" / "garden-workshop" / "job.toml"


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    """Return a runner of handover on a job that was issued as A, changed, and issued as B."""
    folder = tmp_path_factory.mktemp("issued")
    job = folder / "job.toml"
    shutil.copyfile(EXAMPLE, job)

    def run(*words):
        return CliRunner().invoke(main, ["handover", str(job), "--out", str(folder / "out"), "--days", "1", *words])

    run.job, run.out = job, folder / "out"
    run.first = run("--issue", "for the first fix")
    run.again = run("--issue", "once more")
    run.unissued = job.write_text(job.read_text("utf-8").replace('section = "1.5 mm2"', 'section = "2.5 mm2"', 1), "utf-8") and run()
    run.between = (run.out / "sheets" / "builder.html").read_text("utf-8")
    run.second = run("--issue", "a thicker   run")
    return run


def record(home):
    return json.loads((home.out / "issued" / "issues.json").read_text("utf-8"))


def test_each_issue_is_kept_whole_with_its_job(home):
    assert home.first.exit_code == home.second.exit_code == 0, home.first.output + home.second.output
    for revision in "AB":
        kept = home.out / "issued" / revision
        assert {path.name for path in kept.iterdir()} == {"job.toml", "handover.html", "sheets", "drawings", "schedules"}
        assert len(list((kept / "sheets").iterdir())) == 15
    assert (home.out / "issued" / "A" / "job.toml").read_bytes() == EXAMPLE.read_bytes()
    assert (home.out / "issued" / "B" / "job.toml").read_bytes() == home.job.read_bytes()
    assert (home.out / "issued" / "B" / "sheets" / "builder.html").read_bytes() == (home.out / "sheets" / "builder.html").read_bytes()


def test_the_record_says_when_why_of_what_and_what_moved(home):
    first, second = record(home)
    assert (first["revision"], first["reason"], first["moved"]) == ("A", "for the first fix", "")
    assert (second["revision"], second["reason"]) == ("B", "a thicker run") and re.match(r"\d+ findings", second["moved"])
    assert first["date"] == second["date"] == date.today().isoformat() and first["design"] != second["design"]


def test_every_sheet_bears_its_revision_and_the_table_of_all(home):
    for name in ("electrician", "builder", "calculation"):
        sheet = (home.out / "sheets" / f"{name}.html").read_text("utf-8")
        assert f"; revision B, {date.today().isoformat()}." in sheet and "a thicker run" in sheet and "for the first fix" in sheet and "first issue" in sheet
    diagram = (home.out / "drawings" / "circuit-0.svg").read_text("utf-8")
    assert ">B</text>" in diagram and date.today().isoformat() in diagram
    assert "revision B" not in (home.out / "issued" / "A" / "sheets" / "builder.html").read_text("utf-8")


def test_between_two_issues_a_sheet_says_that_it_is_not_issued(home):
    assert home.unissued.exit_code == 0 and "; revision after A, not issued." in home.between


def test_the_same_design_is_not_issued_twice(home):
    assert home.again.exit_code == 2 and len(record(home)) == 2
    assert f"revision A of {date.today().isoformat()} is of this job and design already: nothing was issued\n  allowed: --issue after a change" in home.again.stderr


@pytest.mark.parametrize("reason, words", [("", "--issue has a reason of 0 letters"), (" ", "--issue has a reason of 0 letters"), ("x" * 121, "--issue has a reason of 121 letters")])
def test_a_reason_that_no_sheet_can_print_is_refused_before_anything_is_written(home, reason, words):
    found = home("--issue", reason)
    assert found.exit_code == 2 and found.stderr.startswith(words) and len(record(home)) == 2


def test_a_record_that_cannot_be_read_is_told(home, tmp_path):
    folder = tmp_path / "issued"
    folder.mkdir()
    (folder / "issues.json").write_text("[{", "utf-8")
    found = CliRunner().invoke(main, ["handover", str(home.job), "--out", str(tmp_path), "--days", "1", "--issue", "x"])
    assert found.exit_code == 2 and found.stderr.splitlines()[-2].startswith(f"{folder / 'issues.json'} cannot be read: line 1 is no JSON")


def test_letters_go_on_behind_z():
    assert [next_revision([None] * number) for number in (0, 1, 25, 26, 27, 51, 52, 701, 702)] == ["A", "B", "Z", "AA", "AB", "AZ", "BA", "ZZ", "AAA"]
