"""A bundle on a simulated board with a read-only partition: its modules run there in place, and no other's ever do."""

import json
import shutil

import pytest

from pattress import interpreter
from pattress.bundle import write_bundle

from .test_on_board import BOOT, MS, PENDANT, SETTLE, VIRTUAL, OnBoard, press, wired

KEPT = "partition.bin"
TOLD = """
with open("partition.bin", "wb") as file:
    file.write(flash.memory)
print(json.dumps([flash.operations, sorted({name.split(".")[0] for name in sys.modules if name.split(".")[0] in "abc"})]))
print(json.dumps([machine"""


class WithPartition(OnBoard):
    """`operations` are those on the partition in the last life, `packages` where its modules came from."""

    def __init__(self, bundle, flash, size=128 * 1024):
        super().__init__(bundle, flash)
        (flash / KEPT).write_bytes(b"\xff" * size)

    def live(self, *script, seconds=2.0, seed="", closed=(), **world):
        have = f'import partition\nflash = partition.have(bytearray(open("{KEPT}", "rb").read()))\n{seed}'
        program = BOOT.replace("VIRTUAL", repr(str(VIRTUAL))).replace("SEED", have).replace("print(json.dumps([machine", TOLD)
        *self.said, told, last = interpreter.run(program, folder=self.flash, lines=[self.world(script, seconds, closed, world)])
        self.operations, self.packages = json.loads(told)
        driven, self.log = json.loads(last)
        self.driven = [tuple(row) for row in driven]
        return self

    def is_whole(self):
        """Return whether the pendant's switch still acts in time."""
        self.live(*press(self.pins["switches"][0], 300 * MS))
        (closed, level), *_ = self.relay(PENDANT)
        return level == 1 and SETTLE - MS <= closed - 300 * MS <= SETTLE + 5 * MS


@pytest.fixture(scope="module")
def bundles(room, tmp_path_factory):
    """Return two bundles of the same job that differ in a title."""
    folder = tmp_path_factory.mktemp("two")
    for name in ("one", "two"):
        write_bundle(folder / name, room, wired(room) | {"title": name}, findings=(), accepted={})
    return folder


@pytest.fixture()
def board(bundles, tmp_path):
    return WithPartition(bundles / "one", tmp_path)


def test_the_first_start_makes_the_copy_and_runs_from_it_and_the_next_one_finds_it(board):
    assert board.is_whole() and board.packages == ["c"] and board.operations > 20
    board.live(seconds=63)                              # healthy: the start before this one was interrupted
    assert board.live(seconds=1).packages == ["c"] and board.operations == 0


def test_after_a_crash_or_an_early_cut_the_slots_own_files_run(board):
    board.live(seconds=1)
    assert board.is_whole() and board.packages == ["a"]
    board.live(seconds=5)                               # the supply is found steady: the cut after that was a plain one
    assert board.is_whole() and board.packages == ["c"]
    board.log = [("bitten", 0)]
    assert board.is_whole() and board.packages == ["a"]


def test_another_bundle_gets_a_copy_of_its_own(board, bundles):
    board.live(seconds=63)
    shutil.rmtree(board.flash / "a")
    shutil.copytree(bundles / "two", board.flash / "a")
    assert board.is_whole() and board.packages == ["c"] and board.operations > 20
    digest = json.loads((bundles / "two" / "manifest.json").read_text())["digest"]
    assert digest.encode() in (board.flash / KEPT).read_bytes()[:256]


@pytest.mark.parametrize("left", [1, 2, 9, 40])
def test_power_cut_while_the_copy_is_made_costs_a_start_and_no_program(board, left):
    board.live(seed=f"flash.left, flash.tear, flash.error = {left}, (2, False), SystemExit")
    assert board.packages in ([], ["a"]) and board.operations >= left and board.relay(PENDANT) == []
    assert board.is_whole() and board.packages == ["a"]
    board.live(seconds=63)
    assert board.live(seconds=1).packages == ["c"]


def test_a_partition_that_is_too_small_or_fails_is_told_and_the_slots_own_files_run(bundles, tmp_path):
    board = WithPartition(bundles / "one", tmp_path, size=8192)
    assert board.is_whole() and board.packages == ["a"] and any("do not fit" in line for line in board.said)


def test_a_board_that_knows_such_partitions_and_has_none_runs_from_the_slot(board):
    assert board.live(seed="sys.modules['vfs'].rom_ioctl = lambda *given: -22", seconds=1).packages == ["a"] and board.said == []
