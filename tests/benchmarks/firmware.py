"""What a board's real firmware makes of the sewing room's bundle, on an emulated RP2040: start-up, switches, memory.

Emulated time at 125 MHz; a real chip waits for its flash besides, which the emulator does not know.
"""

import json
from pathlib import Path
from random import Random
from statistics import median
from tempfile import TemporaryDirectory

from pattress.design import design_of

from ..firmware.emulated import FIRMWARE, Emulated, files, flash_of, heap_of, with_storage
from .board import JOB, KIB, SETTINGS

LOADED_MS, MEASURED_MS, ALL_MS = 3000, 11_500, 14_000    # all modules are there; the memory was looked at; the longest life
THROWS, WINDOW_MS, SWITCH, LAMP = 40, 45, "switch.door_right", "relay.wall"


def main() -> None:
    """Print when relays are open and contacts looked at, how long a switch takes, and what is in use, for four ways to run."""
    design = design_of(JOB)
    pins = design.facts["pins"]
    with TemporaryDirectory() as place:
        total, own = heap_of(FIRMWARE)
        print(f"Real firmware on an emulated RP2040: a heap of {total / KIB:.0f} KiB, {own / KIB:.1f} in use before any program")
        for network in (False, True):
            folder = Path(place, f"network-{network}")
            folder.mkdir()
            files(design, folder)
            if network:
                (folder / "network.json").write_text(json.dumps(SETTINGS))
            new = flash_of(FIRMWARE, folder)
            first = Emulated(new)
            first.start(ALL_MS)
            print(f"  {'with' if network else 'without'} network, first start with its copy: first look at {first.looks[0]:.0f} ms")
            for name, flash in (("in place", with_storage(first.flash, new)), ("from files", first.flash)):
                board = Emulated(flash)
                board.run(LOADED_MS)
                took = throws(board, pins[SWITCH], pins[LAMP])
                board.run(MEASURED_MS)
                free = board.report(within=ALL_MS - MEASURED_MS)["least free heap [B]"]
                print(f"    {name:<10} relays open at {board.driven[0][0]:.0f} ms, first look at {board.looks[0]:.0f} ms; "
                      f"switch to relay, {len(took)} throws: median {median(took):.1f} ms, most {max(took):.1f} ms; "
                      f"in use {(total - free) / KIB:.1f} KiB")


def throws(board: Emulated, switch: int, lamp: int) -> list[float]:
    """Throw a switch at odd moments; return what each took to its relay [ms]."""
    chance, level, took = Random(1), 1, []
    for _ in range(THROWS):
        level, thrown = 1 - level, board.now + 5 + 8 * chance.random()
        board.at(thrown, lambda level=level: board.put(switch, level))
        board.run(thrown + WINDOW_MS)
        took += [moment - thrown for moment, number, _ in board.driven if number == lamp and moment > thrown]
    return took


if __name__ == "__main__":
    main()
