"""What a person sees of a text: nothing that acts on a terminal is printed, and no name is made of nothing."""

import json
import tomllib

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from pattress.cli import main
from pattress.cli.terminal import print_json, say
from pattress.job import JobError, read, starter
from pattress.repeat.writing import as_toml
from pattress.visible import is_seen, shown

ACTS = ["\x1b", "\x07", "\r", "\x7f", "\x85", "\u200b", "\u202e", "\u2066", "\u2028", "\ufeff", "\udcff", "\U000e0041"]


@pytest.mark.parametrize("text", ["\u3164", "\u2800\u2800", "\u0301", "\u0301\u0302", " ", "", "hall\u3164", "\u115f", "\uffa0", "a\u202eb", "a\x1b[31m", "a\nb"])
def test_what_cannot_be_seen_is_no_name(text):
    assert not is_seen(text)


@pytest.mark.parametrize("text", ["Hall", "Küche", "Cafe\u0301", "客厅", "거실", "1", "(?)", "درج"])
def test_names_of_any_script_are_seen(text):
    assert is_seen(text)


@pytest.mark.parametrize("name", ["\\u3164", "\\u2800", "\\u0301", "Hall\\uffa0", "\\u202ellaH"])
def test_a_job_takes_no_name_that_cannot_be_seen(name):
    text = starter().replace('name = "Pendant"', f'name = "{name}"', 1)
    assert text != starter()
    with pytest.raises(JobError) as refused:
        read(text, "home.toml")
    assert f"load.pendant.name is {ascii(tomllib.loads(f'x = {chr(34)}{name}{chr(34)}')['x'])}\n  allowed: text in quotes, 1 to 60 characters on one line" in str(refused.value)


def test_a_note_takes_lines_and_nothing_that_acts():
    def noted(words):
        return starter().replace("[job]\n", f"[job]\nnote = {words}\n", 1)

    assert read(noted('"""\none\n\ttwo"""'), "home.toml")[0].job.note == "one\n\ttwo"
    with pytest.raises(JobError, match="job.note is "):
        read(noted('"one \\u001b[31m"'), "home.toml")


@pytest.mark.parametrize("acts", ACTS)
def test_what_acts_is_printed_as_an_escape(acts, capsys):
    say(f"a{acts}b\nc")
    assert capsys.readouterr().out == f"a{shown(acts)}b\nc\n" and shown(acts).startswith("\\") and shown(acts).isascii()


@given(st.text())
def test_json_and_toml_come_back_whatever_is_in_them(text):
    if any("\ud800" <= one <= "\udfff" for one in text):
        return
    written = as_toml(text)
    assert tomllib.loads(f"x = {written}")["x"] == text and shown(written) == written


@pytest.mark.parametrize("acts", ACTS)
def test_printed_json_is_read_back_as_it_was(acts, capsys):
    print_json({"name": f"a{acts}b"})
    printed = capsys.readouterr().out
    assert json.loads(printed)["name"] == f"a{acts}b" and shown(printed) == printed


def test_a_file_whose_name_is_no_text_is_told_of(tmp_path):
    result = CliRunner().invoke(main, ["check", str(tmp_path / "h\udcff\x1b.toml")])
    assert result.exit_code == 2 and result.stderr.startswith(f"{tmp_path}/h\\udcff\\u001b.toml: it is not there\n")
