"""What touches a board, checked against the type stubs of each board's interpreter (1.29; `micropython-*-stubs`).

On the board the pin class, `machine` and the radio are handed in, under names that are always
the same. In a copy of the source those names get the stubs' types, so that every call on them is
checked. The stubs were generated from the interpreter's documentation and firmware; they
allow some that a board refuses, such as `hard=True` on ESP32, so a check passed is no run on a board.
"""

import ast
import subprocess
import sys
from functools import partial
from pathlib import Path

import pytest

from pattress.bundle.contents import ONLY_ON
from pattress.stock.boards import load_boards

CONTROLLER = Path(__file__).parents[3] / "src" / "pattress" / "controller"
NOT_ON_BOARD = ("digest.py", "replay.py", "main.py")
STUBS = Path(sys.prefix) / "boards"
WITH_STUBS = ("esp32", "esp32-c3", "esp32-s3", "rp2040-wifi", "rp2350-wifi")       # one board for each interpreter
HANDED_IN = {"pin_class": "type[machine.Pin]", "radio": "network.WLAN"}
JUDGED = ("attr-defined", "call-arg", "call-overload", "arg-type", "import-not-found")
KNOWN = {
    'drivers/infrared_machine.py: No overload variant of "set" matches argument types "Any", "int"': "in a machine's program it is the assembler's",
    'beginning.py: Cannot find implementation or library stub for module named "board.drivers.infrared_machine"':
        "no bundle for that port has it; the pin's interrupt is taken then",
    'network/setup.py: "WLAN" has no attribute "ioctl"': "asked for on RP2040 and RP2350 only, whose stubs have it",
    'network/service.py: "SSLContext" has no attribute "verify_mode"': "the interpreter has it, its documentation says so; the stub does not",
}


def typed(text):
    """Return a module's text in which what is handed in has the type of the stubs."""
    changes = []
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.arg) and node.arg in HANDED_IN:
            changes.append((node.lineno, node.col_offset, node.arg, f"{node.arg}: {HANDED_IN[node.arg]}"))
        elif isinstance(node, ast.arg) and node.arg == "machine":
            changes.append((node.lineno, node.col_offset, "machine", "_machine"))
        elif isinstance(node, ast.Attribute) and node.attr == "machine" and isinstance(node.ctx, ast.Load):
            changes.append((node.lineno, node.col_offset, ast.unparse(node), "machine"))
    lines = text.splitlines()
    for number, column, old, new in sorted(changes, reverse=True):
        line = lines[number - 1]
        assert line[column:].startswith(old)
        lines[number - 1] = line[:column] + new + line[column + len(old):]
    return "\n".join([*lines, "import machine", "import network", ""])


def faults(board, folder, change=lambda name, text: text):
    """Return what the type checker finds in a copy of the source against a board's stubs."""
    stubs = STUBS / board
    assert (stubs / "machine.pyi").exists(), f"no stubs for {board}: run `sh tests/board-stubs.sh {sys.prefix}`"
    port = load_boards()[board].micropython["port"].value
    for path in CONTROLLER.rglob("*.py"):
        if path.name not in NOT_ON_BOARD and ONLY_ON.get(path.relative_to(CONTROLLER).with_suffix("").as_posix(), port) == port:
            name = path.relative_to(CONTROLLER).as_posix()
            copy = folder / "board" / name
            copy.parent.mkdir(parents=True, exist_ok=True)
            copy.write_text(typed(change(name, path.read_text("utf-8"))), "utf-8")
    ended = subprocess.run(
        [sys.executable, "-m", "mypy", "--check-untyped-defs", "--custom-typeshed-dir", stubs, "--no-site-packages",
         "--python-version", "3.11", "--platform", "micropython", "--cache-dir", folder.parent / f"checked-{board}", "--hide-error-context", "-p", "board"],
        cwd=folder, env={"MYPYPATH": f"{stubs}:{folder}"}, capture_output=True, text=True, check=False)
    assert "board/" in ended.stdout and "checked" in ended.stdout, ended.stdout + ended.stderr
    found = []
    for line in ended.stdout.splitlines():
        place, _, words = line.partition(": error: ")
        if place.startswith("board/") and words.rpartition("[")[2].rstrip("]") in JUDGED:
            found.append(f"{place.removeprefix('board/').partition(':')[0]}: {words.rpartition('  [')[0]}")
    return found


def test_every_board_of_the_stock_runs_an_interpreter_that_is_checked():
    boards = load_boards()
    assert {board.chip for board in boards.values()} == {boards[board].chip for board in WITH_STUBS}


@pytest.mark.parametrize("board", WITH_STUBS)
def test_every_call_on_the_board_is_one_its_interpreter_has(board, tmp_path):
    assert [fault for fault in faults(board, tmp_path) if fault not in KNOWN] == []


SEEDED = {
    "drivers/pins.py": ("pin_class.PULL_UP)", "pin_class.PULL_UPWARD)"),
    "drivers/infrared_capture.py": ("handler=self.edge", "callback=self.edge"),
    "start.py": ("machine.WDT(timeout=", "machine.WDT(seconds="),
    "network/wifi.py": ("radio.isconnected()", "radio.is_connected()"),
    "parts.py": ("machine.reset_cause()", "machine.cause_of_reset()"),
}


def seeded(name, text):
    old, new = SEEDED.get(name, ("", ""))
    assert old in text
    return text.replace(old, new) if old else text


@pytest.mark.parametrize("board", ["rp2040-wifi", "esp32"])
def test_a_wrong_call_in_each_of_five_modules_is_found(board, tmp_path):
    assert set(SEEDED) == {fault.partition(":")[0] for fault in faults(board, tmp_path, seeded) if fault not in KNOWN}
