"""What docs and `pattress new` say of the boards is what their files say."""

from pathlib import Path

from pattress.job import starter
from pattress.stock.boards import load_boards
from pattress.stock.listing import called, document, in_order, pin_rows, pins, same_header, uses

BOARDS = load_boards()
PAGE = Path(__file__).parents[2] / "docs" / "boards.md"


def test_the_page_is_made_from_the_files():
    assert PAGE.read_text("utf-8") == document(BOARDS), "write it anew: python -m tests.stock.boards_document > docs/boards.md"


def test_the_page_has_every_pin_at_an_edge_with_what_is_printed_on_it():
    """The rows below a board's heading, and for those that are left out the rows of the board it refers to."""
    chapters = {chapter.partition("`")[0]: chapter for chapter in PAGE.read_text("utf-8").split("\n## `")[1:]}
    rows = {kind: [line for line in chapter.splitlines() if line.startswith(("| left |", "| right |"))] for kind, chapter in chapters.items()}
    for board in BOARDS.values():
        referred = [kind for kind in BOARDS if f"[`{kind}`](#{kind})" in chapters[board.type]]
        told = {tuple(row.split(" | ")[:3]): row for kind in (*referred, board.type) for row in rows[kind]}
        assert sorted(told.values()) == sorted(pin_rows(board)), board.type
        assert len(pin_rows(board)) == sum(bool(pin.edge) for pin in board.pins)
    assert "| left | 2 | 36 | VP | floating | input only |" in rows["esp32"]
    assert "| right | 17 | 8 | D1 | weak high | taken: flash memory |" in rows["esp32-38"]


def test_a_board_refers_to_the_first_one_with_the_same_header():
    referred = {board.type: before.type for board in BOARDS.values() if (before := same_header(board, BOARDS))}
    assert referred == {"esp32-30": "esp32", "esp32-wrover": "esp32-38", "esp32-s3-octal": "esp32-s3", "esp32-s3-quad": "esp32-s3", "rp2350-wifi": "rp2040-wifi"}


def test_the_starter_names_every_type_with_its_board():
    lines = starter().splitlines()
    for board in BOARDS.values():
        assert f"#   {board.type:<15}{board.title}" in lines, board.type
    assert sum(line.startswith(("#   esp32", "#   rp2")) for line in lines) == len(BOARDS)


def test_words_of_a_pin():
    board = BOARDS["esp32-38"]
    assert uses(board.pin(1)) == "console: the console sends on it, and the boot log before"
    assert uses(board.pin(0)) == "read at reset: low starts the firmware loader; has the BOOT button on it"
    assert uses(BOARDS["esp32"].pin(16)) == "differs: taken by the extra memory of modules that have it (WROVER)" and uses(board.pin(16)) == ""
    assert pins(BOARDS["esp32-c3-usb"]) == "5, 6, 7, 8, 9, 10, 20, 21, 4, 3, 2, 1, 0"
    assert pins(board).startswith("36 (VP), 39 (VN), 34, 35, 32") and "D1" not in pins(board)
    assert called(BOARDS["rp2040-wifi"]) == "RP2040 with Wi-Fi, 40-pin board; called Pico W, Raspberry Pi Pico W, Pico WH, RP2040 W"
    assert [one.type for one in in_order(BOARDS)][:4] == ["esp32", "esp32-30", "esp32-38", "esp32-c3"]
