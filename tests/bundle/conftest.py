"""The invented sewing room of the rehearsal's tests, bundled once."""

import importlib.util
from pathlib import Path

import pytest

from pattress.bundle import write_bundle

from .test_on_board import OnBoard, wired

FACTS = {"title": "Sewing room (invented)", "board": "none: a test"}
PLANS = Path(__file__).parents[1] / "rehearsal" / "plans.py"


@pytest.fixture(scope="session")
def room():
    """Return the table of the sewing room."""
    spec = importlib.util.spec_from_file_location("rehearsal_plans", PLANS)
    plans = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(plans)
    return plans.sewing_room()


@pytest.fixture(scope="session")
def written(room, tmp_path_factory):
    """Return a bundle that no test may change, as (folder, manifest)."""
    folder = tmp_path_factory.mktemp("bundles") / "room"
    return folder, write_bundle(folder, room, FACTS, findings=(), accepted={})


@pytest.fixture()
def bundle(room, tmp_path):
    """Return the folder of a bundle that may be changed."""
    write_bundle(tmp_path / "room", room, FACTS, findings=(), accepted={})
    return tmp_path / "room"


@pytest.fixture(scope="session")
def wired_bundle(room, tmp_path_factory):
    """Return the folder of a bundle with a pin for every wire."""
    folder = tmp_path_factory.mktemp("wired") / "room"
    write_bundle(folder, room, wired(room), findings=(), accepted={})
    return folder


@pytest.fixture()
def board(wired_bundle, tmp_path):
    """Return a simulated board with that bundle in slot a."""
    return OnBoard(wired_bundle, tmp_path)
