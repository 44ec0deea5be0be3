"""Folders as the board has them, one for each interpreter, written once."""

import pytest

from . import places


@pytest.fixture(scope="session", params=places.INTERPRETERS)
def place(request, tmp_path_factory):
    """A folder with the controller for one interpreter, as (folder, interpreter)."""
    return places.write_place(tmp_path_factory.mktemp(request.param), request.param), request.param
