"""Memory of a whole life with numbers as wide as a board's: steady, and no more than was measured when this was written."""

from pathlib import Path

import pytest

from pattress.bundle import write_bundle
from pattress.design import design_of

from ...bench import board
from . import narrow_interpreter

KIB = 1024
MOST = {False: 72 * KIB, True: 128 * KIB}        # without and with the network; the aim is 64 KiB


def test_the_build_with_narrow_numbers_has_narrow_numbers(tmp_path):
    *_, wide = narrow_interpreter.run("import sys\nprint(sys.maxsize)", folder=tmp_path, beside={})[:1]
    assert wide == "2147483647"


def test_what_it_cannot_run_is_an_error(tmp_path):
    with pytest.raises(RuntimeError, match="no module named 'nothing'"):
        narrow_interpreter.run("import nothing", folder=tmp_path, beside={})


@pytest.mark.parametrize("network", [False, True], ids=["without the network", "with its modules"])
def test_memory_in_use_is_steady(network, tmp_path):
    design = design_of(Path("examples/sewing-room/job.toml"))
    write_bundle(tmp_path / "room", design.plan, design.facts, findings=(), accepted={})
    found = board.live(tmp_path / "room", design.facts, 90, narrow=True, network=network)
    weighed = found["weighed"]
    assert len(weighed) == 8 and len(found["times"]) > 5
    assert max(weighed) < MOST[network]
    assert max(weighed[4:]) <= max(weighed[:4]) + KIB
