"""The copy in the read-only partition: laid out as the interpreter reads it, replaced safely, used only for its own bundle."""

import os
import sys
from pathlib import Path

import pytest
from mpremote.romfs import VfsRomWriter

from pattress import interpreter
from pattress.controller import rom

DRIVERS = Path(__file__).with_name("drivers")
sys.path.insert(0, str(DRIVERS / "virtual"))
from partition import SIZE, Partition  # noqa: E402  the stand-in that the simulated boards have

sys.path.pop(0)


@pytest.fixture()
def bundle(tmp_path):
    """Return a folder like a bundle's, with files of every length that matters."""
    folder = tmp_path / "bundle"
    for name, length in {"full.mpy": 10, "long.mpy": 3 * SIZE, "even.mpy": 127, "core/__init__.mpy": 128, "network/page.css.z": 1,
                         "network/deep/empty.mpy": 0, "plan.json": 9, "main.py": 5, "root/start.mpy": 7}.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(os.urandom(length))
    return folder


def copied(folder, label=b"a digest"):
    partition = Partition(bytearray(b"\x55" * 8 * SIZE))
    rom.fill(partition, ("bundle", label), str(folder), "c", lambda: None)
    return partition


def by_another(folder, label=b"a digest"):
    """Return the image as the tool of the interpreter's makers writes it: mpremote's VfsRomWriter."""
    writer = VfsRomWriter()

    def below(path, is_top):
        for inner in sorted(path.iterdir(), key=lambda inner: inner.name):
            if inner.is_dir() and not (is_top and inner.name == "root"):
                writer.opendir(inner.name)
                below(inner, False)
                writer.closedir()
            elif inner.suffix in (".mpy", ".z"):
                writer.mkfile(inner.name, inner.read_bytes())

    writer.mkfile("bundle", label)
    writer.opendir("c")
    below(folder, True)
    writer.closedir()
    return writer.finalise()


@pytest.mark.parametrize("label", [b"a digest", b"a digest."], ids=["even", "odd"])
def test_the_image_is_byte_for_byte_that_of_the_interpreters_own_tool(bundle, label):
    image, memory = by_another(bundle, label), copied(bundle, label).memory
    assert memory[:len(image)] == image
    used = -(-len(image) // SIZE) * SIZE
    assert set(memory[len(image):used]) <= {0} and set(memory[used:]) == {0x55}       # and nothing beyond its blocks is touched


def test_modules_that_do_not_fit_are_an_error_and_leave_the_partition_alone(bundle):
    partition = Partition(bytearray(b"\x55" * 3 * SIZE))
    with pytest.raises(OSError, match="do not fit"):
        rom.fill(partition, ("bundle", b"x"), str(bundle), "c", lambda: None)
    assert set(partition.memory) == {0x55}


def test_flash_that_does_not_keep_what_is_written_is_found_out_before_the_copy_counts(bundle):
    partition = Partition(bytearray(b"\x55" * 8 * SIZE))
    partition.is_blank = lambda start, end: False
    partition.ioctl = lambda operation, argument: {4: 8, 5: SIZE}.get(operation, 0)      # nothing is ever erased
    with pytest.raises(OSError, match="did not keep"):
        rom.fill(partition, ("bundle", b"x"), str(bundle), "c", lambda: None)
    assert partition.memory[:3] == bytes(3)


def test_the_watchdog_is_fed_before_every_block(bundle):
    fed = []
    rom.fill(Partition(bytearray(b"\xff" * 8 * SIZE)), ("bundle", b"x"), str(bundle), "c", lambda: fed.append(1))
    assert len(fed) == 4                # 12.7 KiB


def cut(folder, careless=False):
    """Return (cuts, old, new, none, other) of the script that cuts the power in every operation."""
    for name, fill in (("old", b"old"), ("new", b"new code")):
        (folder / name).mkdir(exist_ok=True)
        for number in range(3):
            (folder / name / f"module{number}.mpy").write_bytes(fill * (300 + 100 * number))
    (folder / "rom.py").write_text(Path(rom.__file__).read_text("utf-8"))
    program = (DRIVERS / "rom_cuts.py").read_text("utf-8").replace("VIRTUAL", repr(str(DRIVERS / "virtual")))
    program = program.replace("CARELESS = False", f"CARELESS = {careless!r}")
    return [int(word) for word in interpreter.run(program, folder=folder)[-1].split()]


def test_power_cut_in_any_operation_leaves_the_old_copy_the_new_one_or_none(tmp_path):
    """Each operation done in no part, in quarters from either end, or whole."""
    cuts, olds, news, none, others = cut(tmp_path)
    assert cuts >= 60 and others == 0 and olds > 0 and news > 0 and none > 20


@pytest.mark.parametrize("careless", ["early", "late"])
def test_a_copy_that_counts_too_early_or_too_late_is_found_out(tmp_path, careless):
    assert cut(tmp_path, careless)[4] > 0
