"""check --fix and compare, as a person meets them: exact words, what lies on the disk, how they end."""

import json
from time import monotonic

import pytest
from click.testing import CliRunner

from pattress.cli import differences, main
from pattress.design.comparison import Difference, Move
from pattress.design.cures import Change
from pattress.finding import Figure, Finding, Sense, Verdict
from tests.design import seeded

FAILING = Finding(id="contacts.iron", question="Can the relay carry it?", subject="load.iron", verdict=Verdict.FAILS,
                  value=Figure(10.5, "A"), limit=Figure(7.0, "A"), sense=Sense.AT_MOST)
HOLDING = Finding(id="contacts.iron", question="Can the relay carry it?", subject="load.iron", verdict=Verdict.HOLDS,
                  value=Figure(10.5, "A"), limit=Figure(16.0, "A"), sense=Sense.AT_MOST)


def call(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture
def faulty(tmp_path):
    file = tmp_path / "job.toml"
    file.write_text(seeded.text(seeded.WEAK, seeded.LATE, example="garden-workshop"), "utf-8")
    return file


def test_fix_proposes_and_writes_nothing(faulty):
    before = faulty.read_bytes()
    result = call("check", faulty, "--fix")
    assert result.exit_code == 0
    lines = result.stdout.splitlines()
    assert lines[0] == f"change   load.extractor.relay: G5LE-1A DC5 -> RTS3L005{'[price 14]':>26}"
    assert lines[1].startswith("         Without it: fails [contacts.extractor], 4.33 A, at most 1.67 A")      # 370 W, cos phi 0.75, 114 V; 10 A over six
    assert f"change   feed.machines.device: D 20 A -> C 20 A{'[price 41]':>33}" in lines
    assert "2 changes, price 55 together (prices order trouble and money, they are no currency). 5 checks that failed no longer do." in lines
    assert any(line.startswith("There is no cheaper set (proven; ") for line in lines)
    assert f"Nothing is written. To write the changes: pattress check {faulty} --fix --write" in lines
    assert result.stdout.count("Mains can kill and burn.") == 1
    assert result.stderr.startswith("candidate 1: 0 for changes, 5 failing\n")
    assert faulty.read_bytes() == before
    assert [file.name for file in faulty.parent.iterdir()] == ["job.toml"]


def test_fix_writes_when_asked_and_the_file_then_checks(faulty):
    assert call("check", faulty).exit_code == 1
    result = call("check", faulty, "--fix", "--write")
    assert result.exit_code == 0
    assert f"\nWritten: {faulty}. Check it: pattress check {faulty}\n" in result.stdout
    assert "Nothing is written" not in result.stdout
    assert faulty.read_text("utf-8") == seeded.text(
        ("[load.extractor]\n", '[load.extractor]\nrelay = "RTS3L005"\n'), example="garden-workshop")
    assert call("check", faulty).exit_code == 0
    again = call("check", faulty, "--fix", "--write")
    assert again.stdout.startswith(f"Nothing to change: no check of {faulty} fails.\n")
    assert "Written" not in again.stdout


def test_fix_as_json_is_all_there_is_on_stdout(faulty):
    result = call("check", faulty, "--fix", "--json")
    found = json.loads(result.stdout)
    assert result.stderr == ""
    assert [(change["key"], change["after"]) for change in found["changes"]] == [
        ("load.extractor.relay", "RTS3L005"), ("feed.machines.device", "C 20 A")]
    assert found["changes"][1]["without"] == {"trip.extractor": "fails", "trip.compressor": "fails"}
    assert (found["price"], found["proven"], found["failing"], found["written"]) == (55, True, [], False)


def test_what_nothing_cures_is_said_and_ends_with_1(tmp_path):
    file = tmp_path / "job.toml"
    file.write_text(seeded.text(seeded.NO_BREAKING), "utf-8")
    result = call("check", file, "--fix", "--write")
    assert result.exit_code == 1
    assert ("No set of changes to relays, devices, cables, board or soldered wires cures these:\n"
            "fails    Can the device of feed lights break the largest fault?") in result.stdout
    assert "Nothing to change" not in result.stdout
    assert file.read_text("utf-8") == seeded.text(seeded.NO_BREAKING)


def test_own_prices_change_the_choice(faulty, tmp_path):
    prices = tmp_path / "mine.toml"
    prices.write_text("[relay]\nplace = 0\nchange = 1\n")
    found = json.loads(call("check", faulty, "--fix", "--prices", prices, "--json").stdout)
    assert [change["price"] for change in found["changes"]] == [1, 41]


@pytest.mark.parametrize("option", [("--write",), ("--prices", "mine.toml")])
def test_options_of_fix_are_refused_without_it(faulty, option):
    result = call("check", faulty, *option)
    assert result.exit_code == 2
    assert result.stderr == f"{option[0]} was given without --fix\n  allowed: pattress check JOB --fix {option[0]}\n"


def test_the_sewing_room_with_three_faults_takes_seconds(tmp_path):
    file = tmp_path / "job.toml"
    file.write_text(seeded.text(seeded.RELAY, seeded.CABLE, seeded.CURVE, seeded.SURGE), "utf-8")
    start = monotonic()
    assert call("check", file, "--fix").exit_code == 0
    assert monotonic() - start < 20.0            # about 2 s on a quiet machine; a busy one is no failure


def test_compare_says_what_moves_and_ends_with_0(faulty, tmp_path):
    sound = tmp_path / "sound.toml"
    sound.write_text(seeded.text(example="garden-workshop"), "utf-8")
    result = call("compare", sound, faulty)
    assert result.exit_code == 0
    assert result.stdout.startswith("worse    ")
    assert "part     relay of extractor: RTS3L005 -> G5LE-1A DC5\n" in result.stdout
    assert f"\n{sound} -> {faulty}: " in result.stdout
    same = call("compare", sound, sound)
    assert same.stdout == f"{sound} -> {sound}: no finding moves; 0 parts and 0 places of the plan differ.\n"
    found = json.loads(call("compare", sound, faulty, "--json").stdout)
    assert {move["id"] for move in found["moves"] if move["direction"] == "worse"} >= {"contacts.extractor", "trip.extractor"}
    assert found["parts"] == [{"what": "relay of extractor", "before": "RTS3L005", "after": "G5LE-1A DC5"}]


def test_compare_of_a_missing_file_is_bad_input(faulty, tmp_path):
    result = call("compare", faulty, tmp_path / "none.toml")
    assert result.exit_code == 2 and result.stdout == "" and "none.toml" in result.stderr


def test_words_of_a_change_a_move_and_a_difference():
    assert differences.change(Change("load.iron.relay", "A", "B", 12, (FAILING,), ())) == "\n".join((
        f"change   load.iron.relay: A -> B{'[price 12]':>48}",
        "         Without it: fails [contacts.iron], 10.5 A, at most 7 A",
    ))
    assert differences.change(Change("board.pins.x", "pin 3", "any pin", 50, (), ())).splitlines()[1:] == [
        "         It belongs to another of these changes."]
    assert differences.move(Move("contacts.iron", FAILING.question, HOLDING, FAILING)) == "\n".join((
        f"worse    Can the relay carry it?{'[contacts.iron]':>48}",
        "         holds 10.5 A, at most 16 A -> fails 10.5 A, at most 7 A",
    ))
    assert differences.move(Move("contacts.iron", FAILING.question, None, FAILING)).splitlines()[1] == (
        "         not asked -> fails 10.5 A, at most 7 A")
    assert differences.difference("plan", Difference("channels.iron.name", None, "Iron")) == "plan     channels.iron.name: - -> Iron"
