"""`pattress fan` and `pattress remote` as a person runs them."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from pattress.cli import main
from pattress.job import load
from pattress.job.code import parse_code

SEWING = Path(__file__).parents[2] / "examples" / "sewing-room" / "job.toml"
WORKSHOP = SEWING.parents[1] / "garden-workshop" / "job.toml"


def call(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture
def presses(tmp_path):
    """Three presses of one button, as the kernel's tools print them."""
    sent = call("remote", "send", "rc5 0x05:0x0c").stdout
    file = tmp_path / "presses.txt"
    file.write_text("".join(f"{sent}space 400000\n" for _ in range(3)))
    return file


def test_a_fan_s_tables_and_pictures(tmp_path):
    result = call("fan", SEWING, "--samples", 200, "--out", tmp_path)
    assert result.exit_code == 0, result.output
    for title in ("Steps, at nominal mains", "Motor, an estimate from the nameplate", "What to measure next", "Over 200 fans",
                  "Other regulators at", "Single faults, at nominal mains"):
        assert f"\n{title}" in result.stdout
    assert sorted(file.name for file in tmp_path.iterdir()) == [
        "fan-ceiling-closing.svg", "fan-ceiling-spread.svg", "fan-ceiling-steps.svg", "fan-ceiling-torque-speed.svg"]


def test_a_fan_in_json_is_all_there_is(tmp_path):
    found = json.loads(call("fan", SEWING, "--out", tmp_path, "--json").stdout)
    steps = found["ceiling"]["tables"][0]["rows"]
    assert [row[0] for row in steps] == ["1", "2", "3", "4"]
    assert float(steps[-1][2]) == pytest.approx(380, rel=0.02)      # full speed is the nameplate's


def test_a_fan_that_is_not_there_is_named_with_those_that_are():
    result = call("fan", SEWING, "--fan", "celing")
    assert result.exit_code == 2
    assert result.stderr == "there is no fan 'celing' in this job\n  allowed: ceiling\n"


def test_what_is_sent_is_what_is_decoded(tmp_path):
    file = tmp_path / "sent.txt"
    file.write_text(call("remote", "send", "nec 0x04:0x08", "--held", 1).stdout)
    assert file.read_text().startswith("carrier 37917\npulse 9000\nspace 4500\n")
    result = call("remote", "decode", file, "--draw", tmp_path / "capture.svg")
    assert result.exit_code == 0
    assert [line.split()[1:4] for line in result.stdout.splitlines()[2:]] == [["nec", "0x04:0x08", "press"], ["nec", "0x04:0x08", "held"]]
    assert (tmp_path / "capture.svg").read_text().startswith("<svg")


def test_noise_holds_no_frame_and_ends_with_one(tmp_path):
    file = tmp_path / "noise.txt"
    file.write_text("100 30000 120 9000 90\n")
    result = call("remote", "decode", file)
    assert result.exit_code == 1
    assert result.stdout == "no frame of any protocol\n1 of 1 capture holds no frame\n"


def test_a_learnt_code_goes_into_the_job_and_nothing_else_changes(tmp_path, presses):
    job = tmp_path / "job.toml"
    job.write_bytes(SEWING.read_bytes())
    result = call("remote", "learn", presses, "--into", job, "--button", "drawer.stop")
    assert result.exit_code == 0, result.output
    assert result.stdout.startswith("rc5 0x05:0x0c: 3 of 3 presses agree")
    before, after = SEWING.read_text("utf-8").splitlines(), job.read_text("utf-8").splitlines()
    changed = [(old, new) for old, new in zip(before, after, strict=True) if old != new]
    assert changed == [('stop     = { code = "unknown", does = "off ceiling" }', 'stop     = { code = "rc5 0x05:0x0c", does = "off ceiling" }')]
    assert str(load(job).remote["drawer"].button["stop"].code) == "rc5 0x05:0x0c"


def test_a_button_that_is_not_there_leaves_the_job_alone(tmp_path, presses):
    job = tmp_path / "job.toml"
    job.write_bytes(SEWING.read_bytes())
    result = call("remote", "learn", presses, "--into", job, "--button", "drawer.stp")
    assert result.exit_code == 2
    assert result.stderr.startswith(f"{job} has no button 'drawer.stp'\n  allowed: drawer.power, ")
    assert result.stderr.endswith("\n  nearest: drawer.stop\n")
    assert job.read_bytes() == SEWING.read_bytes()


def test_into_wants_a_button(presses):
    result = call("remote", "learn", presses, "--button", "drawer.stop")
    assert result.exit_code == 2
    assert result.stderr == "--into and --button go together: --into JOB --button REMOTE.BUTTON\n"


def test_remotes_that_collide_are_told_with_a_free_address(tmp_path):
    keymap = tmp_path / "television.toml"
    keymap.write_text('[[protocols]]\nname = "television"\nprotocol = "nec"\nvariant = "nec"\n[protocols.scancodes]\n0x408 = "KEY_POWER"\n')
    result = call("remote", "compare", SEWING, keymap)
    assert result.exit_code == 1
    assert "television KEY_POWER (nec 0x04:0x08) triggers power (nec 0x04:0x08): the same frame" in result.stdout
    assert "\nfree for Remote from the drawer: " in result.stdout
    assert result.stdout.endswith("Remotes that are not given were not looked at.\n")


def test_the_buttons_of_a_keymap_are_listed_with_codes_the_job_file_takes():
    keymap = Path("/usr/lib/udev/rc_keymaps/rc6_mce.toml")        # Debian package ir-keytable; without it this test fails
    listed = json.loads(call("remote", "buttons", keymap, "--json").stdout)
    assert listed["name"] == "rc6_mce"
    assert all(str(parse_code(code)) == code for code in listed["buttons"].values())
    # Linux, rc6_mce.toml: 0x800f040c = "KEY_SLEEP"; vendor 0x800f, the toggle bit 15 masked out
    assert listed["buttons"]["KEY_SLEEP"] == "rc6mce 0x800f:0x040c"


def test_without_another_remote_nothing_collides():
    result = call("remote", "compare", SEWING)
    assert result.exit_code == 0
    assert result.stdout.startswith("no button of the remotes given triggers another\n")


def test_a_code_that_is_none_names_what_is_allowed():
    result = call("remote", "send", "nex 1:2")
    assert result.exit_code == 2
    assert result.stderr.startswith("code is 'nex 1:2', whose protocol is not known here\n  allowed: nec, ")
