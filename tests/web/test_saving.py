"""The file is whole whatever happens: killed in mid-save, written by two, ended by Ctrl-C with tabs open."""

import os
import re
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import httpx
import pytest

from pattress.job import load
from pattress.web.draft import Draft, WrittenMeanwhile

from .served_page import EXAMPLES

POWER = [(("load", "battens", "power"), "37 W")]
# Saves, and stops dead on one side of the rename until it is killed.
SAVING = """
import os, sys, time
from pathlib import Path
from pattress.web.draft import Draft
draft, rename = Draft(Path(sys.argv[1])), os.replace
def stopping(*names):
    if sys.argv[2] == "after":
        rename(*names)
    print("there", flush=True)
    time.sleep(60)
os.replace = stopping
draft.write([(("load", "battens", "power"), "37 W")])
"""


@pytest.fixture
def file(tmp_path):
    """The garden workshop, quick to build."""
    return Path(shutil.copy(EXAMPLES / "garden-workshop" / "job.toml", tmp_path / "job.toml"))


@pytest.mark.parametrize("side", ["before", "after"])
def test_killed_in_mid_save_the_file_is_the_old_or_the_new_one(file, side):
    old = file.read_bytes()
    child = subprocess.Popen([sys.executable, "-c", SAVING, str(file), side], stdout=subprocess.PIPE)
    assert child.stdout.readline() == b"there\n"
    child.kill()
    child.wait()
    child.stdout.close()
    if side == "before":
        assert file.read_bytes() == old
        assert load(file).load["battens"].power != 37.0
    else:
        assert load(file).load["battens"].power == 37.0
    Draft(file)                       # whatever was left lying beside it is in nobody's way


def test_a_text_written_by_another_is_never_overwritten(file):
    draft = Draft(file)
    theirs = file.read_text().replace("[job]\n", "[job]\n# a note in the editor\n")
    file.write_text(theirs)
    with pytest.raises(WrittenMeanwhile, match="^$"):
        draft.write(POWER)
    assert file.read_text() == theirs and draft.now.text == theirs
    draft.write(POWER)
    assert "# a note in the editor" in file.read_text() and load(file).load["battens"].power == 37.0
    draft.undo()
    assert file.read_text() == theirs


def test_a_change_made_for_another_version_is_not_made(file):
    draft = Draft(file)
    version = draft.now
    draft.write(POWER)
    with pytest.raises(WrittenMeanwhile, match="^$"):
        draft.replace(version.text, over=version)
    with pytest.raises(WrittenMeanwhile, match="^$"):
        draft.write(POWER, over=version)
    assert load(file).load["battens"].power == 37.0


def test_undo_goes_no_further_than_a_file_that_cannot_be_used(file):
    draft = Draft(file)
    draft.write(POWER)
    file.write_text("[job\n")
    with pytest.raises(WrittenMeanwhile, match="^$"):
        draft.undo()
    assert file.read_text() == "[job\n" and draft.trouble is not None and draft.can_undo


def test_a_file_that_vanished_is_told_and_not_made_anew(file):
    draft = Draft(file)
    file.unlink()
    assert draft.look() and "it is not there" in str(draft.trouble)
    with pytest.raises(WrittenMeanwhile, match="^$"):
        draft.write(POWER)
    assert not file.exists()


@pytest.mark.parametrize("content, words", [
    (b"\xff\xfe", "the byte 0xff is no text here"), (b"x" * 300_000, "it is larger than any job file"), (b"[" * 5000, "a line of 5000 characters"),
    (b"a = " + b"[" * 900, "brackets within brackets"), (b"", "the job has neither a load nor a fan"),
])
def test_a_hostile_file_underneath_is_told_and_the_last_good_design_stays(file, content, words):
    draft = Draft(file)
    before = draft.now
    file.write_bytes(content)
    assert draft.look() and words in str(draft.trouble)
    assert draft.now is before


def start(*arguments):
    """Return the command running and the lines it printed until it is ready."""
    environment = os.environ | {"PYTHONUNBUFFERED": "1"}
    child = subprocess.Popen([Path(sys.executable).with_name("pattress"), "page", *arguments, "--no-browser"], stdout=subprocess.PIPE,
                             stderr=subprocess.PIPE, text=True, env=environment)
    lines = []
    for line in child.stdout:
        lines.append(line.rstrip())
        if line.startswith("End it"):
            break
    return child, lines


def test_the_command_prints_an_address_and_ends_on_ctrl_c_with_a_tab_open(file):
    child, lines = start(str(file))
    address = re.search(r"http://127\.0\.0\.1:\d+/\?key=\S+", "\n".join(lines))[0]
    with httpx.Client(follow_redirects=True) as client:
        assert "Garden workshop" in client.get(address).text
        with client.stream("GET", address.split("?")[0] + "news") as news:
            assert next(news.iter_lines()) == "retry: 1000"
            start_of_end = time.monotonic()
            child.send_signal(signal.SIGINT)
            _, complaints = child.communicate(timeout=20)
    assert time.monotonic() - start_of_end < 10
    assert child.returncode == 0 and complaints == ""


def test_in_the_local_network_a_passphrase_of_six_words_is_printed(file):
    child, lines = start(str(file), "--lan")
    child.send_signal(signal.SIGINT)
    child.communicate(timeout=20)
    told = next(line for line in lines if "passphrase: " in line)
    assert len(told.partition("passphrase: ")[2].split()) == 6
    assert any("not encrypted" in line for line in lines)


def test_a_port_in_use_and_a_job_that_cannot_be_read_are_told_in_words(file, tmp_path):
    import socket

    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        done = subprocess.run([Path(sys.executable).with_name("pattress"), "page", str(file), "--no-browser", "--port", str(port)],
                              capture_output=True, text=True, timeout=60)
        assert done.returncode == 2 and done.stderr.startswith(f"port {port} cannot be used: Address already in use\n  allowed: another number")
    gone = tmp_path / "nothing.toml"
    done = subprocess.run([Path(sys.executable).with_name("pattress"), "page", str(gone)], capture_output=True, text=True, timeout=60)
    assert done.returncode == 2 and "it is not there" in done.stderr
