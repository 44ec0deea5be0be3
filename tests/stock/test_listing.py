"""What docs and `pattress new` say of the boards is what their files say."""

from pathlib import Path

from pattress.job import starter
from pattress.stock.boards import load_boards
from pattress.stock.listing import called, document, in_order, pins, uses

BOARDS = load_boards()
PAGE = Path(__file__).parents[2] / "docs" / "boards.md"


def test_the_page_is_made_from_the_files():
    assert PAGE.read_text("utf-8") == document(BOARDS), "write it anew: python -m tests.stock.boards_document > docs/boards.md"


def test_the_page_has_every_pin_at_an_edge_with_what_is_printed_on_it():
    rows = [line for line in PAGE.read_text("utf-8").splitlines() if line.startswith(("| left |", "| right |"))]
    assert len(rows) == sum(bool(pin.edge) for board in BOARDS.values() for pin in board.pins)
    assert "| left | 3 | 36 | VP | floating | input only |" in rows
    assert "| right | 17 | 8 | D1 | weak high | taken: flash memory |" in rows


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
