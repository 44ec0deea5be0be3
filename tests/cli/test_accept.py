"""`pattress accept`: who answers for a finding, in one line, and what it does to the gate."""

import json
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

from pattress.cli import main
from pattress.job import load

EXAMPLE = Path(__file__).parents[2] / "examples" / "sewing-room" / "job.toml"
GIVEN = ("--reason", "Measured: 9 A for all four lamps together", "--by", "A. Fitter (invented)")


def call(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture
def unknown(tmp_path):
    """Return a job whose lamps have an unknown inrush, on a relay that bears lamps of the usual kind and not of every kind."""
    file = tmp_path / "job.toml"
    text = EXAMPLE.read_text("utf-8").replace('inrush = { peak = "8 A", duration = "500 us" }', 'relay = "RT314005"\ninrush = "unknown"')
    file.write_text(text, "utf-8")
    return file


def test_what_nobody_knows_stops_the_bundle_until_somebody_answers_for_it(unknown, tmp_path):
    checked = call("check", unknown)
    assert checked.exit_code == 1
    assert "Unknown, and stops the bundle: making.pendant." in checked.stdout
    refused = call("bundle", unknown, "--out", tmp_path / "out")
    assert refused.exit_code == 1 and not (tmp_path / "out").exists()
    assert ("No bundle while making.pendant is unknown. Settle what is not known, above.\n"
            'Or somebody answers for it, on every sheet: pattress accept JOB making.pendant --reason "..." --by "..."') in refused.stdout
    before = unknown.read_text("utf-8")
    accepted = call("accept", unknown, "making.pendant", *GIVEN)
    assert accepted.exit_code == 0
    assert f"Written into {unknown}: A. Fitter (invented) answers for [making.pendant]. Every sheet will say so." in accepted.stdout
    assert unknown.read_text("utf-8").startswith(before.rstrip("\n"))
    row = load(unknown).accept["making.pendant"]
    assert (row.reason, row.by, row.date) == (GIVEN[1], GIVEN[3], date.today().isoformat())
    assert call("check", unknown).exit_code == 0
    assert call("bundle", unknown, "--out", tmp_path / "out").exit_code == 0
    manifest = json.loads((tmp_path / "out" / "bundle" / "manifest.json").read_text("utf-8"))
    assert list(manifest["accepted"]) == ["making.pendant"]


@pytest.mark.parametrize("words, code, said", [
    (("making.pendants", *GIVEN), 2, "there is no finding 'making.pendants' in this job\n  nearest: making.pendant, "),
    (("contacts.pendant", *GIVEN), 2, "contacts.pendant holds and stops nothing: there is nothing to accept\n  allowed: the id of a finding that fails"),
    (("insulation_test.mains", *GIVEN), 2, "insulation_test.mains is unknown and stops nothing: there is nothing to accept\n"),
    (("making.pendant", "--reason", "short", "--by", "A. Fitter"), 2, 'accept."making.pendant".reason is \'short\'\n  allowed: text in quotes, 10 to 2000 characters'),
    (("making.pendant", *GIVEN[:2], "--by", ""), 2, 'accept."making.pendant".by is \'\''),
])
def test_what_cannot_be_accepted_is_said_and_nothing_is_written(unknown, words, code, said):
    before = unknown.read_text("utf-8")
    result = call("accept", unknown, *words)
    assert result.exit_code == code and said in result.stderr and unknown.read_text("utf-8") == before


def test_a_finding_is_accepted_once(unknown):
    assert call("accept", unknown, "making.pendant", *GIVEN).exit_code == 0
    again = call("accept", unknown, "making.pendant", *GIVEN)
    assert again.exit_code == 2
    assert again.stderr.startswith("making.pendant is accepted already: Measured: 9 A for all four lamps together (A. Fitter (invented), ")


def test_accept_as_json_is_all_there_is_on_stdout(unknown):
    found = json.loads(call("accept", unknown, "making.pendant", *GIVEN, "--json").stdout)
    assert (found["accepted"], found["by"]) == ("making.pendant", "A. Fitter (invented)")


def test_explain_says_what_not_knowing_does(unknown):
    assert "stops the bundle, and so does not knowing" in call("explain", unknown, "making.pendant").stdout.replace("\n               ", " ")
    assert "not knowing stops live steps on site" in call("explain", unknown, "trip.pendant").stdout.replace("\n               ", " ")
