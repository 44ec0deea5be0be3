"""The page of a job with a board file of its own: taken, taken up when it changes, and told in words when it cannot be used."""

import asyncio
import re

import pytest

from pattress.job import JobError
from pattress.stock.own import Own
from pattress.web import application
from pattress.web.draft import Draft

from .served_page import EXAMPLES

BOARD = 'type = "my-board"\nlike = "esp32-38"\n[pins]\n4 = { reserved = "my display" }\n'


@pytest.fixture
def file(tmp_path):
    (tmp_path / "my-board.toml").write_text(BOARD)
    job = tmp_path / "job.toml"
    job.write_text((EXAMPLES / "sewing-room" / "job.toml").read_text().replace('"rp2040-wifi"', '"my-board"\nfile = "my-board.toml"', 1))
    return job


def test_the_board_is_taken_and_taken_up_when_its_file_changes(file):
    draft = Draft(file)
    state, board = draft.state, draft.now.design.board
    assert board.pin(4).reserved == "my display" and draft.look() is False
    (file.parent / "my-board.toml").write_text(BOARD.replace("my display", "my buzzer, which is louder"))
    assert draft.look() is True and draft.now.design.board.pin(4).reserved == "my buzzer, which is louder"
    assert draft.state != state and draft.can_undo is False and draft.look() is False


def test_a_board_file_that_cannot_be_used_leaves_the_last_good_version_and_is_told(file):
    draft = Draft(file)
    (file.parent / "my-board.toml").write_text(BOARD.replace("reserved", "reserve"))
    assert draft.look() is True and draft.now.design.board.pin(4).reserved == "my display"
    told = draft.trouble.problems[0]
    assert (told.key, told.nearest) == ("board.file", "") and "my-board.toml:4: pins.4 is an entry with the key 'reserve'" in told.found
    (file.parent / "my-board.toml").unlink()
    draft.look()
    assert "and there is no such file beside the job file" in str(draft.trouble)
    (file.parent / "my-board.toml").write_text(BOARD)
    assert draft.look() is True and draft.trouble is None


def test_an_edit_that_names_no_board_is_refused_and_nothing_is_written(file):
    draft, before = Draft(file), file.read_bytes()
    for edits, words in (([(("board", "file"), "not-there.toml")], "board.file is 'not-there.toml', and there is no such file beside the job file\n"),
                         ([(("board", "type"), "pico w")], "board.type is 'pico w'\n"),
                         ([(("board", "file"), "job.toml")], "board.file is 'job.toml', which cannot be used: ")):
        with pytest.raises(JobError, match=re.escape(words)):
            draft.write(edits)
    assert file.read_bytes() == before
    draft.write([(("board", "type"), "rp2040-wifi"), (("board", "file"), None)])
    assert draft.now.design.board.type == "rp2040-wifi"
    assert draft.undo().design.board.type == "my-board"


def test_boards_given_to_the_page_are_there_beside_those_of_the_stock(file):
    own = file.parent / "other.toml"
    own.write_text('type = "other"\nlike = "esp32-30"\n')
    draft = Draft(file, Own(boards=(own,)))
    assert {"my-board", "other", "esp32"} <= set(draft.now.design.results["boards"])
    unchanged = draft.trial([(("site", "ambient"), "31 degC")])
    assert unchanged.design.results["boards"] is draft.now.design.results["boards"]


# The watcher looks at both files; a version on another board is another version: its proof and its documents are not those of before.
def test_a_tab_is_told_when_only_the_board_file_changes(file, monkeypatch):
    class News:
        told = []

        def tell(self, kind, what):
            self.told.append((kind, what["state"]))

    async def followed(draft):
        watching = asyncio.create_task(application._watch(draft, News()))
        await asyncio.sleep(0.2)
        assert News.told == []
        (file.parent / "my-board.toml").write_text(BOARD.replace("my display", "my buzzer, which is louder"))
        for _ in range(100):
            if News.told:
                break
            await asyncio.sleep(0.05)
        watching.cancel()

    monkeypatch.setattr(application, "LOOK_EVERY", 0.02)
    draft = Draft(file)
    before = draft.now
    asyncio.run(followed(draft))
    assert News.told == [("change", draft.state)] and draft.now.text == before.text and draft.now.digest != before.digest
    draft.write([(("supply", "tolerance"), "8 %")])


def test_a_board_file_that_comes_after_the_text_that_names_it_is_taken_up(file, monkeypatch):
    board = file.parent / "my-board.toml"
    text = file.read_text()
    file.write_text(text.replace('"my-board"\nfile = "my-board.toml"', '"rp2040-wifi"'))
    board.unlink()
    draft = Draft(file)

    class News:
        def tell(self, kind, what):
            pass

    async def followed():
        watching = asyncio.create_task(application._watch(draft, News()))
        file.write_text(text)
        await asyncio.sleep(0.5)
        assert draft.trouble is not None
        board.write_text(BOARD)
        for _ in range(100):
            if draft.trouble is None:
                break
            await asyncio.sleep(0.05)
        watching.cancel()

    monkeypatch.setattr(application, "LOOK_EVERY", 0.02)
    asyncio.run(followed())
    assert draft.trouble is None and draft.now.design.board.type == "my-board"
