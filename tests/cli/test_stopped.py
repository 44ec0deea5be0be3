"""What is left when a command is stopped in the middle, or finds no room to write: a sentence, exit code 2, nothing half written."""

import signal
import subprocess
import sys
from pathlib import Path

import pytest

SEWING = str(Path(__file__).parents[2] / "examples" / "sewing-room" / "job.toml")


def begun(*words, **how):
    """Start a command as a terminal does, with what it prints at hand."""
    return subprocess.Popen([sys.executable, "-c", "from pattress.cli import main; main()", *words],
                            stderr=subprocess.PIPE, text=True, **{"stdout": subprocess.PIPE} | how)


def stopped_at(running, word):
    """Press Ctrl-C as soon as progress tells a word; return the exit code and what was printed."""
    while word not in (line := running.stderr.readline()):
        assert line, f"it ended before {word!r}"
    running.send_signal(signal.SIGINT)
    out, err = running.communicate(timeout=60)
    return running.returncode, out, err


@pytest.mark.parametrize("word", ["proof 1/", "proof 20/"])
def test_ctrl_c_ends_with_a_word_after_the_pins_were_solved_too(word):
    code, out, err = stopped_at(begun("prove", SEWING), word)
    assert (code, out) == (2, "") and err.endswith("\nstopped; no file is half written\n")


def test_ctrl_c_while_channels_are_explored_together_tells_what_was_done():
    code, out, err = stopped_at(begun("prove", SEWING, "--together", "all", "--workers", "2"), "depth 2")
    assert code == 1 and "Traceback" not in err and "\nunknown: " in out and "stopped" in out


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no full device")
def test_a_full_disk_behind_the_output_is_told():
    with open("/dev/full", "w") as full:
        running = begun("check", SEWING, stdout=full)
        _, err = running.communicate(timeout=60)
    assert (running.returncode, err) == (2, "what is printed cannot be written or read: No space left on device\n")


@pytest.mark.parametrize("command", ["bundle", "handover", "rehearse", "fan"])
def test_a_place_that_cannot_be_written_is_named(tmp_path, command):
    (tmp_path / "file").write_text("")
    running = begun(command, SEWING, "--out", str(tmp_path / "file" / "out"))
    _, err = running.communicate(timeout=60)
    assert running.returncode == 2 and "Traceback" not in err
    assert err.splitlines()[-1].startswith(f"{tmp_path / 'file' / 'out'}") and err.endswith("cannot be written: Not a directory\n")
    assert [path.name for path in tmp_path.rglob("*")] == ["file"]
