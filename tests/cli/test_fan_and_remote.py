"""`pattress fan` and `pattress remote` as a person runs them."""

import json
from pathlib import Path
from random import Random

import pytest
from click.testing import CliRunner

from pattress.cli import main
from pattress.infrared.encoding import signal
from pattress.job import load
from pattress.job.code import parse_code
from tests.infrared import disturbance

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
        "fan-ceiling-closing.svg", "fan-ceiling-spread.svg", "fan-ceiling-steps.svg", "fan-ceiling-torque-speed.svg", "results-of.txt"]


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


def test_several_presses_in_one_file_are_parted_at_the_receiver_s_time_outs(tmp_path):
    sent = call("remote", "send", "rc5 0x05:0x0c").stdout
    file, job = tmp_path / "presses.txt", tmp_path / "job.toml"
    file.write_text(f"{sent}timeout 125000\n" * 3)
    job.write_bytes(SEWING.read_bytes())
    result = call("remote", "learn", file, "--into", job, "--button", "drawer.stop")
    assert result.exit_code == 0 and result.stdout.startswith("rc5 0x05:0x0c: 3 of 3 presses agree"), result.output
    assert str(load(job).remote["drawer"].button["stop"].code) == "rc5 0x05:0x0c"


@pytest.mark.parametrize("presses, words", [
    (["rc5 0x05:0x0c"] * 2, "3 presses that agree are needed, and 2 were heard: press the same button at least 3 times into one file, "
                            "with a pause after each press"),
    (["rc5 0x05:0x0c"] * 2 + ["rc5 0x05:0x0d"], "3 presses that agree are needed, and 2 of 3 say rc5 0x05:0x0c: hold the remote closer, "
                                                "away from lamps, and press again"),
])
def test_what_three_presses_do_not_agree_on_is_not_written(tmp_path, presses, words):
    file, job = tmp_path / "presses.txt", tmp_path / "job.toml"
    file.write_text("".join(call("remote", "send", code).stdout + "timeout 125000\n" for code in presses))
    job.write_bytes(SEWING.read_bytes())
    result = call("remote", "learn", file, "--into", job, "--button", "drawer.stop")
    assert result.exit_code == 1 and result.stdout.endswith(f"\nnot written: {words}\n")
    assert job.read_bytes() == SEWING.read_bytes()
    assert json.loads(call("remote", "learn", file, "--json").stdout)["lacking"] == words


@pytest.mark.parametrize("sent, words", [
    ([300, 600, *[300, 1400, 300, 600] * 9, 300], "of no known protocol; the board acts on it once it was learnt from three presses that agree"),
    (signal(parse_code("sharp 0x05:0x2a")).durations[:31], "half of a pair, the other half is missing; hold the button longer, record the whole press"),
    (disturbance.glitched(signal(parse_code("jvc 0x03:0x17")).durations, Random(0), count=4),
     "disturbed; keep the receiver away from lamps, hold the remote closer, press again"),
])
def test_a_frame_too_weak_to_act_on_says_why_and_what_to_do(tmp_path, sent, words):
    file = tmp_path / "weak.txt"
    file.write_text(" ".join(map(str, sent)))
    result = call("remote", "decode", file)
    assert result.exit_code == 0 and f" is too weak: {words}\n" in result.stdout and "  too weak\n" in result.stdout


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


def test_a_keymap_that_cannot_be_read_is_skipped_by_name_and_the_others_are_compared(tmp_path):
    good, broken, strange = (tmp_path / f"{name}.toml" for name in ("television", "broken", "strange"))
    good.write_text('[[protocols]]\nname = "television"\nprotocol = "nec"\nvariant = "nec"\n[protocols.scancodes]\n0x408 = "KEY_POWER"\n'
                    '[[protocols]]\nname = "television"\nprotocol = "imon"\n[protocols.scancodes]\n0x1 = "KEY_A"\n')
    broken.write_text("[[protocols]\n")
    strange.write_text('[[protocols]]\nprotocol = "imon"\n[protocols.scancodes]\n0x01 = "KEY_A"\n')
    result = call("remote", "compare", SEWING, broken, good, strange, tmp_path / "gone.toml")
    assert result.exit_code == 1 and "television KEY_POWER (nec 0x04:0x08) triggers power" in result.stdout
    assert f"\nskipped {broken}: found no readable file (it is no TOML: " in result.stdout
    assert f"\nskipped {strange}: found 1 code, none of a protocol decoded here\n" in result.stdout
    assert f"\nskipped {tmp_path / 'gone.toml'}: found no readable file (it is not there)\n" in result.stdout
    assert "\nleft out of television: 1 button of protocols not decoded here\n" in result.stdout
    told = json.loads(call("remote", "compare", SEWING, broken, good, "--json").stdout)
    assert len(told["skipped"]) == 1 and told["skipped"][0].startswith(f"{broken}: found no readable file (it is no TOML: ")
    assert told["left_out"] == {"television": ["KEY_A 0x1 (imon)"]}


def test_where_no_keymap_can_be_read_nothing_is_said_of_collisions(tmp_path):
    (tmp_path / "broken.toml").write_text("[[protocols]\n")
    result = call("remote", "compare", SEWING, tmp_path / "broken.toml", tmp_path / "gone.toml")
    assert result.exit_code == 2 and result.stdout == ""
    assert f"{tmp_path / 'broken.toml'}: found no readable file (it is no TOML: " in result.stderr and f"\n{tmp_path / 'gone.toml'}: found no readable file" in result.stderr


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
