"""Firmware and flash that the tests of this room share."""

from pathlib import Path

import pytest

from pattress.design import design_of

from .emulated import FIRMWARE, Emulated, files, flash_of, with_storage

JOB = Path(__file__).parents[2] / "examples" / "sewing-room" / "job.toml"


def is_debian() -> bool:
    return "\nID=debian\n" in Path("/etc/os-release").read_text("utf-8")


@pytest.fixture(scope="session")
def firmware():
    """Return the firmware that `make test` built. Where Debian's sources are at hand it must be there."""
    if not FIRMWARE.exists() and not is_debian():
        pytest.skip("the firmware is built from Debian's sources, and this is another distribution")
    assert FIRMWARE.exists(), "the firmware is missing: sh tests/firmware/build.sh .venv/firmware"
    return FIRMWARE


@pytest.fixture(scope="session")
def design():
    return design_of(JOB)


@pytest.fixture(scope="session")
def new(firmware, design, tmp_path_factory):
    """Return the flash of a board that was just given its first program."""
    return flash_of(firmware, files(design, tmp_path_factory.mktemp("new")))


@pytest.fixture(scope="session")
def first(new):
    """Return the first life of that board, up to where its loop turns: the copy for the read-only partition is made in it."""
    board = Emulated(new)
    board.start(3000)
    return board


@pytest.fixture(scope="session")
def settled(new, first):
    """Return the flash of that board when all went well: the copy is there, and nothing is on trial."""
    return with_storage(first.flash, new)
