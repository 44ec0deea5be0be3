"""The sewing room's bundle on a board: the interpreter's real firmware for the RP2040, on an emulated chip."""

import json
from dataclasses import dataclass

import pytest

from pattress.controller.loop import MEMORY_MS
from pattress.infrared.encoding import signal
from pattress.job.code import Code

from ..benchmarks.board import KIB, SETTINGS
from .emulated import Emulated, files, flash_of, heap_of, with_storage

LOADED_MS = 3000                    # the network's modules are there by then
SETTLE_MS, ALLOWED_MS = 20, 5       # of the plan; design: switch edge to relay within the settling time plus 5 ms
START_MS = 1000                     # the limit from power-up to a switch that acts
BEATS = (0.0, 1.3, 2.9, 3.1, 4.7)   # moments between two looks, whatever their beat [ms]
LATCHING, LAMP = "door_right", "wall"
KEYS = ("drawer.power", "drawer.green")


@dataclass(frozen=True)
class Life:
    """What one life of a board showed. Moments are in ms from power-up."""

    board: Emulated
    took: tuple[float, ...]                 # from each throw of a switch to its relay
    moved: dict[str, tuple[int, int]]       # how often its relay had moved before and after a code, by button
    flash: bytes                            # when the power was cut
    least_free: int                         # of memory [bytes], after a collection of garbage


@pytest.fixture(scope="module")
def life(firmware, first, design, tmp_path_factory):
    """Throw a switch at odd moments, send codes of the remote, wait until what stands is saved, and cut the power.

    The network is loaded, without a way out: a broker that cannot be reached, no visitor.
    """
    pins, folder = design.facts["pins"], tmp_path_factory.mktemp("network")
    (files(design, folder) / "network.json").write_text(json.dumps(SETTINGS))
    lamp, board = pins[f"relay.{LAMP}"], Emulated(with_storage(first.flash, flash_of(firmware, folder)))
    board.put(pins["infrared"], 1)
    board.run(LOADED_MS)
    took, level = [], 1
    for beat in BEATS:
        level, thrown = 1 - level, board.now + 5 + beat
        board.at(thrown, lambda level=level: board.put(pins[f"switch.{LATCHING}"], level))
        board.run(thrown + 45)
        took += [moment - thrown for moment, number, _ in board.driven if number == lamp and moment > thrown]
    moved = {}
    for key in KEYS:
        button = next(button for button in design.plan["buttons"] if button["key"] == key)
        relay = pins["relay." + design.plan["channels"][button["acts"][0][0]]["key"]]
        before = len(levels(board, relay))
        send(board, pins["infrared"], Code(button["protocol"], button["address"], button["command"]))
        moved[key] = before, len(levels(board, relay))
    board.run(max(board.now + design.plan["save_ms"], MEMORY_MS) + 500)
    return Life(board, tuple(took), moved, board.flash, board.report()["least free heap [B]"])


def send(board, pin, code):
    """Send one press; a mark pulls the receiver's line low."""
    at = board.now + 1
    for number, duration in enumerate(signal(code).durations):
        board.at(at, lambda level=number % 2: board.put(pin, level))
        last, at = at, at + abs(duration) / 1000
    board.keep_awake(last)
    board.run(at)


def levels(board, pin):
    return [level for _, number, level in board.driven if number == pin]


def started(flash):
    board = Emulated(flash)
    board.start(START_MS)
    return board


def test_every_relay_is_driven_open_before_anything_else(first, design):
    relays = [pin for name, pin in design.facts["pins"].items() if name.startswith("relay.")]
    begun = first.driven[:len(relays)]
    assert sorted(number for _, number, _ in begun) == sorted(relays)
    assert all(level == 0 for *_, level in begun)
    assert begun[-1][0] < 60 < first.looks[0]


def test_switches_act_within_a_second_of_power_up(life):
    from_files = started(life.flash)      # without a healthy report since: then the slot's own files are taken
    assert life.board.looks[0] < START_MS / 2
    assert life.board.looks[0] < from_files.looks[0] < START_MS


def test_a_switch_reaches_its_relay_in_time(life):
    assert len(life.took) == len(BEATS)
    assert all(SETTLE_MS <= took < SETTLE_MS + ALLOWED_MS for took in life.took)


@pytest.mark.parametrize("key", KEYS)
def test_a_code_of_the_remote_moves_its_relay_once(life, key):
    """Heard by a state machine of the chip, which the firmware itself runs."""
    before, after = life.moved[key]
    assert after == before + 1


def test_with_the_network_loaded_less_than_64_kib_are_in_use(firmware, life):
    """All that is in use, the interpreter's own 4 KiB too."""
    whole, own = heap_of(firmware)
    assert 8 * own < whole - life.least_free < 64 * KIB < whole / 3


def test_a_program_that_cannot_start_gives_way_to_the_minimal_one(firmware, design, tmp_path):
    """Three tries, each ended by a restart of the chip; then the wall switches work."""
    pins = design.facts["pins"]
    (files(design, tmp_path) / "a" / "full.mpy").write_bytes(b"damaged")
    board = Emulated(flash_of(firmware, tmp_path))
    board.start(4 * START_MS)
    moved = len(levels(board, pins[f"relay.{LAMP}"]))
    board.put(pins[f"switch.{LATCHING}"], 0)
    board.run(board.now + 60)
    assert len(levels(board, pins[f"relay.{LAMP}"])) == moved + 1
    told = "".join(board.asked("report", "report end"))
    assert '"program": "minimal"' in told and '"starts without a healthy report": 4' in told


def test_after_a_power_cut_the_lamp_is_as_it_was(life, settled, design):
    """The pendant lamps, switched by the remote: their policy is to be as they were."""
    relay = design.facts["pins"]["relay.pendant"]
    assert levels(life.board, relay) == [0, 1]      # dark at power-up, then lit
    again = started(life.flash)
    assert levels(again, relay) == [0, 1]
    assert levels(started(settled), relay) == [0]   # without what was saved they stay dark
