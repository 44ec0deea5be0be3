"""Designs that the hand-over tests read, made once."""

import pytest

from .designs import NAMES, example
from .random_jobs import designs

JOBS = 200


@pytest.fixture(scope="session")
def random_designs():
    return designs(JOBS, example("garden-workshop"))


@pytest.fixture(scope="module", params=NAMES)
def design(request):
    return example(request.param)
