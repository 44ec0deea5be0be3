"""Designs that the hand-over tests read, made once; their own modules of this folder can be imported."""

import sys
from functools import cache
from pathlib import Path

import pytest

from pattress.design import design_of
from pattress.proof import prove
from pattress.rehearsal.rehearse import rehearse

sys.path.insert(0, str(Path(__file__).parent))
EXAMPLES = Path(__file__).parents[2] / "examples"
JOBS = 200
NAMES = ("sewing-room", "landing", "garden-workshop")


@cache
def example(name):
    return design_of(EXAMPLES / name / "job.toml")


@cache
def outcome(name):
    """Return the proof and the rehearsal of an example."""
    design = example(name)
    wishes = {key: wished.says for key, wished in design.job.wish.items()}
    return (prove(design.plan, wishes=wishes, has_network=design.job.network.wifi),
            rehearse(design.plan, seed=1, days=1, micropython=False))


@pytest.fixture(scope="session")
def random_designs():
    from random_jobs import designs

    return designs(JOBS, example("garden-workshop"))


@pytest.fixture(scope="module", params=NAMES)
def design(request):
    return example(request.param)
