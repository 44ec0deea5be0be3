"""Each command works alone: what it prints, what it leaves on the disk, how it ends."""

import json
import os
import pty
import re
import subprocess
import sys
from dataclasses import fields, is_dataclass
from pathlib import Path

import pytest
from click.testing import CliRunner

from pattress.cli import main
from pattress.design import design_of
from pattress.finding import Figure
from pattress.quantity import parse
from pattress.quantity.units import SPELLINGS

EXAMPLES = Path(__file__).parents[2] / "examples"
SEWING, LANDING = (str(EXAMPLES / name / "job.toml") for name in ("sewing-room", "landing"))


def call(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.mark.parametrize("job, code", [(SEWING, 0), (LANDING, 1)])
def test_check_ends_with_what_it_found(job, code):
    result = call("check", job)
    assert result.exit_code == code
    assert ("fails" in result.stdout.splitlines()[-5]) == bool(code)


def test_check_begins_with_the_worst_and_ends_with_what_fails():
    lines = call("check", LANDING).stdout.splitlines()
    verdicts = [line.split()[0] for line in lines if line.startswith(("holds ", "tight ", "unknown ", "fails "))]
    assert lines[0].startswith("fails ") and verdicts == sorted(verdicts, key=["fails", "unknown", "tight", "holds"].index)
    assert ". Fails: pins.board. Explain one: " in next(line for line in lines if line.startswith(f"{LANDING}: "))


@pytest.mark.parametrize("words", [("check", SEWING), ("prove", SEWING), ("names", SEWING), ("fan", SEWING), ("check", LANDING, "--fix"), ("check", "no/such/job.toml"),
                                   ("prove", SEWING, "--together", "nothing")])
def test_on_a_terminal_no_line_is_wider_than_80_columns(words, tmp_path):
    ours, theirs = pty.openpty()
    running = subprocess.Popen([sys.executable, "-c", "from pattress.cli import main; main()", *words], cwd=tmp_path, stdout=theirs, stderr=theirs)
    os.close(theirs)
    printed = b""
    try:
        while piece := os.read(ours, 65536):
            printed += piece
    except OSError:                        # the other end is closed
        pass
    running.wait(60)
    os.close(ours)
    shown = []
    for line in printed.decode().replace("\r\n", "\n").split("\n"):
        before, back, last = line.rpartition("\r")
        assert not back or last.startswith("\x1b[K") or not last, "progress stands before what is printed: " + line[-200:]
        shown += [piece.replace("\x1b[K", "") for piece in (*before.split("\r"), last)]
    assert len(shown) > 2 and [line for line in shown if len(line) > 80 and " " in line.strip()] == []


def test_check_shows_the_cautions_once():
    assert call("check", SEWING).stdout.count("Mains can kill and burn.") == 1


def test_json_is_all_there_is_on_stdout():
    for words in (("check", SEWING), ("explain", SEWING, "making.pendant"), ("prove", SEWING)):
        result = call(*words, "--json")
        json.loads(result.stdout)
        assert result.exit_code == 0


def figures(value):
    """Yield every figure in a tree of findings, and in what --json makes of one: a value and its unit."""
    if isinstance(value, Figure):
        yield value.value, value.unit
    elif isinstance(value, dict) and set(value) == {"value", "unit"}:
        yield value["value"], value["unit"]
    elif isinstance(value, dict):
        yield from (figure for inner in value.values() for figure in figures(inner))
    elif isinstance(value, (list, tuple)):
        yield from (figure for inner in value for figure in figures(inner))
    elif is_dataclass(value):
        yield from (figure for field in fields(value) for figure in figures(getattr(value, field.name)))


@pytest.mark.parametrize("example", ["sewing-room", "garden-workshop", "landing"])
def test_a_value_and_its_unit_agree_in_json(example):
    """Read with the unit beside it, each value is the one in SI that the design holds."""
    job = EXAMPLES / example / "job.toml"
    told = list(figures(json.loads(call("check", job, "--json").stdout)["findings"]))
    held = list(figures(design_of(job).findings))
    assert len(told) == len(held) > 100
    for (value, unit), (si, shown) in zip(told, held):
        if shown in SPELLINGS:
            assert parse(f"{value!r} {unit}", unit) == pytest.approx(si, rel=1e-12), (value, unit)
        else:
            assert (value, unit) == (si, shown)
    assert (0.05 if example == "garden-workshop" else 0.1, "") in told
    assert "%" not in {unit for _, unit in told}


def test_json_findings_carry_figures_and_margin():
    found = json.loads(call("check", SEWING, "--json").stdout)
    by_id = {finding["id"]: finding for finding in found["findings"]}
    heater = by_id["contacts.ironing"]
    # 2.2 kW / 230 V at 253 V = 10.52 A: a resistive load draws more when the mains is high.
    assert heater["value"]["value"] == pytest.approx(2200 / 230 * 1.1, rel=1e-6)
    assert heater["margin"] == pytest.approx(1 - heater["value"]["value"] / heater["limit"]["value"])


def test_a_missing_job_file_is_bad_input(tmp_path):
    result = call("check", tmp_path / "none.toml")
    assert result.exit_code == 2
    assert str(tmp_path / "none.toml") in result.stderr
    assert result.stdout == ""


def test_an_unknown_finding_names_the_nearest():
    result = call("explain", SEWING, "making.pendnt")
    assert result.exit_code == 2
    assert result.stderr.startswith("there is no finding 'making.pendnt' in this job\n  nearest: making.pendant")


def test_names_that_only_the_stock_knows_are_refused_with_their_line(tmp_path):
    job = tmp_path / "job.toml"
    text = Path(SEWING).read_text("utf-8").replace('type = "rp2040-wifi"', 'type = "rp2040-wfi"')
    job.write_text(text.replace("[load.bench]\n", '[load.bench]\nrelay = "RT314999"\n'), "utf-8")
    lines = job.read_text("utf-8").splitlines()
    result = call("check", job)
    assert result.exit_code == 2
    for key, found, near in (("load.bench.relay", "RT314999", "RT314"), ("board.type", "rp2040-wfi", "rp2040-wifi")):
        line = next(number for number, words in enumerate(lines, 1) if found in words)
        problem = next(block for block in result.stderr.split(f"{job}:") if f"{key} is {found!r}" in block)
        assert problem.startswith(f"{line}:")
        assert "\n  allowed: " in problem and f"\n  nearest: {near}" in problem


def test_a_wire_that_the_job_does_not_have_is_refused_with_its_line(tmp_path):
    job = tmp_path / "job.toml"
    job.write_text(Path(SEWING).read_text("utf-8").replace(
        'type = "rp2040-wifi"', 'type = "rp2040-wifi"\npins = { "relay.pendent" = 3 }'), "utf-8")
    result = call("check", job)
    assert result.exit_code == 2
    assert "board.pins.\"relay.pendent\" is 'relay.pendent'" in result.stderr
    assert "\n  nearest: relay.pendant" in result.stderr


def test_new_writes_a_job_that_passes_and_never_overwrites(tmp_path):
    job = tmp_path / "mine" / "job.toml"
    assert call("new", job).exit_code == 0
    assert call("check", job).exit_code == 0
    before = job.read_bytes()
    again = call("new", job)
    assert again.exit_code == 2
    assert again.stderr == f"{job} is there already; choose another name, such as {job.with_name('job-2.toml')}\n"
    assert job.read_bytes() == before
    assert [file.name for file in job.parent.iterdir()] == ["job.toml"]


def test_the_bundle_is_refused_while_a_safety_check_fails_and_written_once_accepted(tmp_path):
    job = tmp_path / "job.toml"
    weak = Path(SEWING).read_text("utf-8").replace("[load.ironing]\n", '[load.ironing]\nrelay = "SRD-05VDC-SL-A"\n')
    job.write_text(weak, "utf-8")
    refused = call("bundle", job, "--out", tmp_path / "out")
    assert refused.exit_code == 1
    assert not (tmp_path / "out").exists()
    failing = [finding["id"] for finding in json.loads(call("check", job, "--json").stdout)["findings"]
               if finding["verdict"] == "fails" and finding["safety"]]
    assert "contacts.ironing" in failing         # a 7 A contact under 10.5 A
    job.write_text(weak + "".join(
        f'\n[accept."{key}"]\nreason = "measured on site, see sheet"\nby = "A. Person"\ndate = "2026-11-25"\n' for key in failing))
    accepted = call("bundle", job, "--out", tmp_path / "out")
    assert accepted.exit_code == 0, accepted.stderr
    manifest = json.loads((tmp_path / "out" / "bundle" / "manifest.json").read_text())
    assert sorted(manifest["accepted"]) == sorted(failing)
    checked = call("check", job)
    assert "accepted [contacts.ironing]: measured on site, see sheet (A. Person, 2026-11-25)" in checked.stdout
    assert checked.exit_code == 0


def test_schema_is_a_json_schema():
    from jsonschema import Draft202012Validator

    Draft202012Validator.check_schema(json.loads(call("schema").stdout))


def test_demo_leaves_the_whole_pack(tmp_path):
    result = call("demo", SEWING, "--out", tmp_path / "pack")
    assert result.exit_code == 0, result.output
    assert sorted(path.name for path in (tmp_path / "pack").iterdir()) == [
        "bundle", "day-0.svg", "day-1.svg", "drawings", "handover.html", "results-of.txt", "schedules", "sheets"]
    assert sorted(path.name for path in (tmp_path / "pack" / "sheets").iterdir()) == sorted(
        f"{sheet}{form}" for sheet in ("builder", "calculation", "electrician", "household", "labels") for form in (".html", "-a4.pdf", "-letter.pdf"))
    for step in ("sizing and pins", "proof", "rehearsal", "bundle", "bundle alive", "hand-over page", "hand-over pack"):
        assert f"\n{step} " in result.stdout
    assert re.search(r"^bundle alive +heard ", result.stdout, re.MULTILINE)
    assert re.search(r'^    channel/pendant +{"level":1,"of":1,"cause":"switch"', result.stdout, re.MULTILINE)


def test_help_says_what_each_command_is_for():
    words = call("--help").stdout
    for name in main.commands:
        assert f"\n  {name} " in words
        assert call(name, "--help").exit_code == 0
