"""The examples, designed, proven and rehearsed once for all tests of this folder."""

from functools import cache
from pathlib import Path

from pattress.design import design_of
from pattress.proof import prove
from pattress.rehearsal.rehearse import rehearse

EXAMPLES = Path(__file__).parents[2] / "examples"
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
