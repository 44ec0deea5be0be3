"""Designs that the hand-over tests read, made once; their own modules of this folder can be imported."""

import sys
from functools import cache
from pathlib import Path

import pytest

from pattress.design import design_of

sys.path.insert(0, str(Path(__file__).parent))
EXAMPLES = Path(__file__).parents[2] / "examples"
JOBS = 200
NAMES = ("sewing-room", "landing", "garden-workshop")


@cache
def example(name):
    return design_of(EXAMPLES / name / "job.toml")


@pytest.fixture(scope="session")
def random_designs():
    from random_jobs import designs

    return designs(JOBS, example("garden-workshop"))


@pytest.fixture(scope="module", params=NAMES)
def design(request):
    return example(request.param)
