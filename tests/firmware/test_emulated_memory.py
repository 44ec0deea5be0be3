"""How much of an emulated board's memory the sewing room's bundle takes."""

import json

from pattress.controller.loop import MEMORY_MS

from ..benchmarks.board import KIB, SETTINGS
from .emulated import Emulated, files, flash_of, heap_of, with_storage


def test_with_the_network_loaded_less_than_64_kib_are_in_use(firmware, first, design, tmp_path):
    """All that is in use, the interpreter's own 4 KiB too, at the loop's first look at it; no visitor, and a broker that cannot be reached."""
    (files(design, tmp_path) / "network.json").write_text(json.dumps(SETTINGS))
    board = Emulated(with_storage(first.flash, flash_of(firmware, tmp_path)))
    board.run(MEMORY_MS + 1000)
    whole, own = heap_of(firmware)
    used = whole - board.report()["least free heap [B]"]
    assert 8 * own < used < 64 * KIB < whole / 3
