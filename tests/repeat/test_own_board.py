"""A board of one's own goes with a published job, and with the job of whoever adopts it; or is refused, and nothing is written."""

import tomllib

import pytest
from click.testing import CliRunner

from pattress.cli import main
from pattress.design import design_of
from pattress.repeat.writing import as_toml
from pattress.stock.boards import load_boards, read_board

from .publishers import SEWING_ROOM

BOARD = '''# Mine, behind the boiler.
type = "my-board"
like = "esp32-38"
title = "A board that I made"
[pins]
4 = { reserved = "my display", note = "soldered on" }   # my note
'''


def call(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture
def job(tmp_path):
    (tmp_path / "mine.toml").write_text(BOARD)
    file = tmp_path / "job.toml"
    file.write_text(SEWING_ROOM.read_text().replace('type = "rp2040-wifi"', 'type = "my-board"\nfile = "mine.toml"', 1))
    return file


def answered(answers, tmp_path, **board):
    file = tmp_path / "answers.toml"
    given = answers | ({"board": board} if board else {})
    file.write_text("\n".join(f"{section} = {as_toml(table)}" for section, table in given.items()))
    return file


def test_the_board_goes_along_without_comments_and_its_words_are_listed(job, tmp_path):
    told = call("bundle", job, "--publish", tmp_path / "out")
    assert told.exit_code == 0, told.output
    text = (tmp_path / "out" / "board.toml").read_text()
    assert "boiler" not in text and "my note" not in text and read_board(text, "board.toml") == read_board(BOARD, "board.toml")
    assert tomllib.loads((tmp_path / "out" / "job.toml").read_text())["board"] == {"type": "my-board", "file": "board.toml"}
    words = " ".join(told.stdout.split())
    assert "my-board" in words and "A board that I made" in words and "soldered on" in words
    assert "board.toml" in tomllib.loads((tmp_path / "out" / "points.toml").read_text())["files"]
    assert design_of(tmp_path / "out" / "job.toml").board.pin(4).reserved == "my display"


def test_a_board_that_the_job_does_not_name_the_file_of_is_refused_and_nothing_is_written(job, tmp_path):
    job.write_text(job.read_text().replace('file = "mine.toml"\n', ""))
    told = call("bundle", job, "--boards", tmp_path / "mine.toml", "--publish", tmp_path / "out")
    assert (told.exit_code, told.stderr) == (2, "the board 'my-board' is of a file that the job does not name, and would not be in the folder\n"
                                             '  allowed: a board of the stock, or [board] file = "my-board.toml" in the job, with that file beside it\n')
    assert not (tmp_path / "out").exists()


def test_an_adopted_job_has_the_board_beside_it_unless_another_is_named(job, tmp_path, answers):
    call("bundle", job, "--publish", tmp_path / "out")
    kept = tmp_path / "kept.toml"
    told = call("adopt", tmp_path / "out", "--answers", answered(answers, tmp_path), "--into", kept)
    assert told.exit_code == 0, told.output
    assert f"Written: {tmp_path / 'kept-board.toml'}: the board that the job names" in told.stdout
    assert tomllib.loads(kept.read_text())["board"] == {"type": "my-board", "file": "kept-board.toml"}
    assert design_of(kept).board.title == "A board that I made"
    other = tmp_path / "other.toml"
    assert call("adopt", tmp_path / "out", "--answers", answered(answers, tmp_path, type="esp32-38"), "--into", other).exit_code == 0
    assert tomllib.loads(other.read_text())["board"] == {"type": "esp32-38"} and not (tmp_path / "other-board.toml").exists()


def test_nothing_is_written_where_the_board_cannot_be_or_is_not_known(job, tmp_path, answers):
    call("bundle", job, "--publish", tmp_path / "out")
    (tmp_path / "kept-board.toml").write_text("of somebody else")
    told = call("adopt", tmp_path / "out", "--answers", answered(answers, tmp_path), "--into", tmp_path / "kept.toml")
    assert told.exit_code == 2 and "kept-board.toml is there already" in told.stderr
    assert not (tmp_path / "kept.toml").exists() and (tmp_path / "kept-board.toml").read_text() == "of somebody else"
    slip = call("adopt", tmp_path / "out", "--answers", answered(answers, tmp_path, type="pico w"), "--into", tmp_path / "slip.toml")
    assert slip.exit_code == 2 and "board.type is 'pico w'" in slip.stderr and "nearest: rp2040-wifi" in slip.stderr
    assert not (tmp_path / "slip.toml").exists()


def test_a_damaged_board_file_of_a_published_job_is_told(job, tmp_path, answers):
    call("bundle", job, "--publish", tmp_path / "out")
    (tmp_path / "out" / "board.toml").write_text(BOARD)
    told = call("adopt", tmp_path / "out", "--answers", answered(answers, tmp_path), "--into", tmp_path / "kept.toml")
    assert told.exit_code == 2 and "board.toml differs" in told.stderr and not (tmp_path / "kept.toml").exists()


def test_the_stock_has_no_board_of_that_name():
    assert "my-board" not in load_boards()
