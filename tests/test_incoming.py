"""The one way in for files: ordinary ones only, so much and no more, no walls; and what is written stays where it belongs."""

import os
import stat
from threading import Thread
from time import sleep

import pytest

from pattress.atomic_write import rewrite, write_inside
from pattress.bundle.secrets import load as load_secrets
from pattress.bundle.secrets import place
from pattress.bundle.settings import authority_of
from pattress.design.prices import load_prices
from pattress.errors import PattressError, UseError
from pattress.handover.issues import read_issues
from pattress.incoming import LARGEST, FileRefusal, json_of, text_of, toml_of
from pattress.infrared.captures import read_captures
from pattress.infrared.scancode import read_keymap
from pattress.job import load
from pattress.rehearsal.retelling import read_story
from pattress.repeat.folder import read_folder
from pattress.stock.boards import load_boards
from pattress.stock.parts import load_parts
from pattress.web.draft import Draft


def secrets_at(file):
    os.rename(file, place(file))
    os.chmod(place(file), 0o600)
    return load_secrets(file)


def record_at(file):
    (file.parent / "issued").mkdir()
    os.rename(file, file.parent / "issued" / "issues.json")
    return read_issues(file.parent)


def points_at(file):
    os.rename(file, file.parent / "points.toml")
    return read_folder(file.parent)


READERS = {
    "job": load, "page": Draft, "parts": load_parts, "boards": lambda file: load_boards([file]), "prices": load_prices, "captures": read_captures, "keymap": read_keymap,
    "story": read_story, "secrets": secrets_at, "authority": lambda file: authority_of(file, file.name), "issues": record_at, "points": points_at,
}


@pytest.mark.parametrize("reader", READERS)
def test_a_pipe_is_never_waited_for(tmp_path, reader):
    os.mkfifo(tmp_path / "given")
    seen = []
    thread = Thread(target=lambda: seen.append(refusal(READERS[reader], tmp_path / "given")), daemon=True)
    thread.start()
    thread.join(5)
    assert seen and seen[0]


def refusal(reader, file):
    try:
        reader(file)
    except PattressError as error:
        return str(error)


@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize("content", [b"x = " + b"[" * 5000, b"a." * 900 + b"a = 1", b"x = " + b"9" * 5000, b"{" * 3000, b'{"a": ' * 900 + b"1", b"\xff\xfe", b"#" * (17 << 20)])
def test_walls_of_any_kind_are_refused_in_words(tmp_path, reader, content):
    (tmp_path / "given").write_bytes(content)
    assert refusal(READERS[reader], tmp_path / "given")


def test_a_pipe_that_takes_the_place_of_a_file_while_it_is_opened_is_not_waited_for(tmp_path, monkeypatch):
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "file").write_text("a = 1")
    plain = os.stat(tmp_path / "file")
    monkeypatch.setattr(os, "stat", lambda path: plain)
    with pytest.raises(FileRefusal, match="it is no ordinary file"):
        text_of(tmp_path / "pipe", "a job file")


@pytest.mark.parametrize("make, words", [
    (lambda path: None, "it is not there\n  allowed: the path of a parts file"),
    (lambda path: path.mkdir(), "it is a folder\n  allowed: the path of a parts file"),
    (lambda path: path.write_bytes(b"x" * (LARGEST + 1)), "it is larger than any parts file\n  allowed: at most 256 KiB"),
])
def test_what_is_no_file_of_that_size_is_told(tmp_path, make, words):
    make(tmp_path / "given")
    with pytest.raises(FileRefusal) as refused:
        text_of(tmp_path / "given", "a parts file")
    assert refused.value.at("given") == f"given: {words}"


@pytest.mark.parametrize("text, words", [
    ("a = [\n" + "[" * 30, "given:2: brackets within brackets, too deep\n  allowed: at most 24 open at a time"),
    ("\n" + "a" * 2001, "given:2: a line of 2001 characters\n  allowed: at most 2000"),
    ("a." * 30 + "a = 1", "given: keys within keys, too deep\n  allowed: at most 24 in one another"),
    ("a = 0x" + "_" * 3, "given:1: it is no TOML: Expected newline or end of document after a statement (at line 1, column 6)\n  allowed: a TOML file"),
])
def test_the_words_about_toml_that_cannot_be_taken(text, words):
    with pytest.raises(FileRefusal) as refused:
        toml_of(text)
    assert refused.value.at("given") == words


@pytest.mark.parametrize("text, words", [
    ("[1,\n2", "given:2: line 2 is no JSON\n  allowed: a JSON file"),
    ("[NaN]", "given: NaN, which is no number\n  allowed: finite numbers"),
    ("9" * 5000, "given:1: something that cannot be read as JSON\n  allowed: numbers and lists of an ordinary size"),
])
def test_the_words_about_json_that_cannot_be_taken(text, words):
    with pytest.raises(FileRefusal) as refused:
        json_of(text)
    assert refused.value.at("given") == words


def test_a_linked_file_is_written_where_it_lies_and_stays_a_link(tmp_path):
    (tmp_path / "real").mkdir()
    real, link = tmp_path / "real" / "home.toml", tmp_path / "home.toml"
    real.write_text("old")
    real.chmod(0o600)
    link.symlink_to(real)
    rewrite(link, "new")
    assert link.is_symlink() and real.read_text() == "new" and stat.S_IMODE(real.stat().st_mode) == 0o600


def test_nothing_is_written_through_a_linked_folder(tmp_path):
    elsewhere, folder = tmp_path / "elsewhere", tmp_path / "folder"
    elsewhere.mkdir()
    folder.mkdir()
    (folder / "drawings").symlink_to(elsewhere)
    with pytest.raises(UseError, match=f"^{folder / 'drawings'} is a link to another folder, and nothing is written through it\n  allowed: take the link away, or choose another folder$"):
        write_inside(folder, "drawings/wall-0.svg", "x")
    assert list(elsewhere.iterdir()) == []
    (tmp_path / "shortcut").symlink_to(folder)               # the folder itself is the person's own choice
    assert write_inside(tmp_path / "shortcut", "sheets/builder.html", "x").read_text() == "x"


def test_a_page_whose_job_file_was_a_pipe_for_a_moment_goes_on(tmp_path):
    from pattress.job import starter

    file, aside = tmp_path / "home.toml", tmp_path / "aside"
    file.write_text(starter(), "utf-8")
    draft = Draft(file)
    os.rename(file, aside)
    os.mkfifo(file)
    looked = []
    thread = Thread(target=lambda: looked.append(draft.look()), daemon=True)
    thread.start()
    sleep(0.2)
    thread.join(3)
    assert looked == [True] and "it is no ordinary file" in str(draft.trouble)
    os.replace(aside, file)
    assert draft.look() and draft.trouble is None
