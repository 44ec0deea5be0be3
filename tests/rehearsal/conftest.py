"""The invented sewing room, and one rehearsal of it that several tests read."""

import importlib.util
from pathlib import Path

import pytest

from pattress.rehearsal.rehearse import rehearse


def _load_plans():
    spec = importlib.util.spec_from_file_location("rehearsal_plans", Path(__file__).with_name("plans.py"))
    plans = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(plans)
    return plans


@pytest.fixture(scope="session")
def plans():
    """Return the module with the invented plans."""
    return _load_plans()


@pytest.fixture()
def room(plans):
    """Return the table of the sewing room, free to be changed."""
    return plans.sewing_room()


@pytest.fixture(scope="session")
def rehearsal(plans):
    """Return a rehearsal of the sewing room: the scripted day and five random ones, both interpreters."""
    return rehearse(plans.sewing_room(), seed=20, days=5)
