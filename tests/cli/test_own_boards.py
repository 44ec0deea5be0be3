"""A board of one's own: by the job's own file or by --boards, in every command, and what is told when it cannot be used."""

import json
import tomllib
from pathlib import Path

import pytest
from click.testing import CliRunner

from pattress.cli import main
from pattress.stock.boards import load_boards

SEWING = Path(__file__).parents[2] / "examples" / "sewing-room" / "job.toml"
BOARD = 'type = "my-board"\nlike = "esp32-38"\ntitle = "A board that I made"\n[pins]\n4 = { reserved = "my display" }\n'


def call(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


def job_with(folder, lines, board=BOARD, name="my-board.toml"):
    """Return the sewing room in a folder with these lines in place of its board's type, and a board file beside it."""
    if board is not None:
        (folder / name).write_text(board)
    job = folder / "job.toml"
    job.write_text(SEWING.read_text().replace('type = "rp2040-wifi"', lines, 1))
    return job


OWN = 'type = "my-board"\nfile = "my-board.toml"'


def test_the_jobs_own_board_file_is_taken(tmp_path):
    job = job_with(tmp_path, OWN)
    found = {one["id"]: one for one in json.loads(call("check", job, "--json").stdout)["findings"]}
    assert found["pins.board"]["inputs"][0]["figure"] == "my-board" and found["pins.board"]["verdict"] == "holds"
    soldered = job_with(tmp_path, OWN + "\npins = { status = 4 }")
    refused = call("check", soldered)
    assert refused.exit_code == 1 and "GPIO4 belongs to the board itself: my display" in " ".join(refused.stdout.split())
    assert call("check", job_with(tmp_path, 'type = "esp32-38"\npins = { status = 4 }')).exit_code == 0


COMMANDS = [("check",), ("check", "--fix"), ("explain", "pins.board"), ("compare", None), ("prove", "--stuck"), ("fan",)]


@pytest.mark.parametrize("words", COMMANDS, ids=lambda words: "-".join(filter(None, words)))
def test_boards_given_with_the_command_are_taken_by_all_that_take_parts(words, tmp_path):
    job = job_with(tmp_path, 'type = "my-board"')
    command, *rest = (job if word is None else word for word in words)
    given = (command, job, *rest, *(("--out", tmp_path / "out") if command == "fan" else ()))
    assert call(*given, "--boards", tmp_path / "my-board.toml").exit_code == 0
    refused = call(*given)
    assert refused.exit_code == 2 and "board.type is 'my-board'" in refused.stderr


def test_every_command_that_takes_parts_takes_boards():
    for name, command in main.commands.items():
        options = {option for one in command.params for option in one.opts}
        assert ("--parts" in options) == ("--boards" in options), name
    assert sum("--boards" in {option for one in command.params for option in one.opts} for command in main.commands.values()) >= 11


ALL = ", ".join(load_boards())
TYPE = SEWING.read_text()[:SEWING.read_text().index('type = "rp2040-wifi"')].count("\n") + 1        # the line of the file on which the board's type stands
MESSAGES = [     # lines of [board], the board file, what is told
    ('type = "pico w"', None, f"job.toml:{TYPE}:8: board.type is 'pico w'\n  allowed: {ALL}\n  nearest: rp2040-wifi\n"),
    ('type = "esp32s3 n16r8"', None, f"job.toml:{TYPE}:8: board.type is 'esp32s3 n16r8'\n  allowed: {ALL}\n  nearest: esp32-s3-octal\n"),
    ('type = "my-board"\nfile = "my-bord.toml"', BOARD, f"job.toml:{TYPE + 1}:8: board.file is 'my-bord.toml', and there is no such file beside the job file\n"
     "  allowed: the name of a board file beside it\n  nearest: my-board.toml\n"),
    ('type = "my-board"\nfile = "../my-board.toml"', BOARD, f"job.toml:{TYPE + 1}:8: board.file is '../my-board.toml', which does not lie beside the job file\n"
     '  allowed: the name of a board file beside it, such as "my-board.toml"\n'),
    ('type = "my-board"\nfile = "/etc/passwd"', BOARD, f"job.toml:{TYPE + 1}:8: board.file is '/etc/passwd', which does not lie beside the job file\n"
     '  allowed: the name of a board file beside it, such as "my-board.toml"\n'),
    ('type = "esp32"\nfile = "my-board.toml"', BOARD, f"job.toml:{TYPE}:8: board.type is 'esp32', and board.file gives another board\n"
     "  allowed: my-board; or a board of the stock without board.file\n  nearest: my-board\n"),
    (OWN, BOARD.replace("reserved", "reserve"), "my-board.toml:5: pins.4 is an entry with the key 'reserve'\n  allowed: edge, output, pull_up, pull_down, adc, "
     "reset, reserved, console, driven, carries, interrupt, differs, label, place, pulses, strap, note, source\n  nearest: reserved\n"),
    (OWN, BOARD.replace("esp32-38", "esp32-wrovr"), f"my-board.toml:2: like is 'esp32-wrovr'\n  allowed: {ALL}\n  nearest: esp32-wrover\n"),
    (OWN, "type = 'my-board'\nlike =\n", "my-board.toml:2: it is no TOML: Invalid value (at line 2, column 7)\n  allowed: a TOML file\n"),
    ('type = "my-board"\nfile = 7', BOARD, f"job.toml:{TYPE + 1}:8: board.file is 7\n  allowed: text in quotes, 1 to 200 characters on one line\n"),
]


@pytest.mark.parametrize("lines, board, message", MESSAGES)
def test_what_cannot_be_used_is_told_with_file_line_key_allowed_and_nearest(lines, board, message, tmp_path):
    told = call("bundle", job_with(tmp_path, lines, board), "--out", tmp_path / "out")
    assert (told.exit_code, told.stderr.replace(f"{tmp_path}/", ""), told.stdout) == (2, message, "")
    assert not (tmp_path / "out").exists()


def test_another_board_proposed_by_fix_leaves_the_own_file_out(tmp_path):
    small = 'type = "my-board"\nlike = "esp32-c3"\n'
    job = job_with(tmp_path, OWN, small)
    assert call("check", job, "--fix", "--write").exit_code == 0
    board = tomllib.loads(job.read_text())["board"]
    assert board["type"] != "my-board" and "file" not in board and call("check", job).exit_code == 0


def test_a_bundle_of_an_own_board_names_it_and_has_its_pins(tmp_path):
    job = job_with(tmp_path, OWN)
    assert call("bundle", job, "--out", tmp_path / "out").exit_code == 0
    told = json.loads(call("check", job, "--json").stdout)
    wiring = json.loads((tmp_path / "out" / "bundle" / "board.json").read_text())
    assert told["verdict"] != "fails" and wiring["board"] == "my-board" and wiring["status"] == 16         # on the board it is like: 4, which this one has reserved


def test_new_lists_the_boards_their_pins_and_what_is_printed_on_them(tmp_path):
    told = call("new", tmp_path / "job.toml").stdout
    assert "\nrp2040-wifi: RP2040 with Wi-Fi, 40-pin board; called Pico W, Raspberry Pi Pico W, Pico WH, RP2040 W\n  pins: 0 (GP0), 1 (GP1), " in told
    assert all(f"\n{name}: " in told for name in load_boards())
    assert told.endswith(f"Written: {tmp_path / 'job.toml'}. Change it to what the home has, then: pattress check {tmp_path / 'job.toml'}\n")
