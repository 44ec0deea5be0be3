"""A published sewing room, made once, and answers to everything that is asked anew."""

from copy import deepcopy

import pytest

from pattress.cautions import CAUTIONS
from pattress.design import design_of
from pattress.repeat.folder import write_folder
from pattress.repeat.publishing import publish

from .publishers import ANSWERS, SEWING_ROOM, document_of


@pytest.fixture(scope="session")
def design():
    return design_of(SEWING_ROOM)


@pytest.fixture(scope="session")
def published(design, tmp_path_factory):
    folder = tmp_path_factory.mktemp("published") / "folder"
    write_folder(folder, publish(document_of("sewing-room"), design, CAUTIONS))
    return folder


@pytest.fixture
def answers():
    """Return the least that an adopter of the sewing room has to answer."""
    return deepcopy(ANSWERS)
