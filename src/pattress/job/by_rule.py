"""What the rules of a job do to one load or fan: put it on, put it off, keep it off, limit it."""

from collections.abc import Iterator

from pattress.job.action import EVERYTHING
from pattress.job.model import Job
from pattress.job.rule import Rule


def rules_on(job: Job, key: str) -> Iterator[tuple[str, Rule]]:
    """Yield every rule that acts on a load or fan, with its key."""
    for name, ruled in job.rule.items():
        if key in ruled.says.things or EVERYTHING in ruled.says.things:
            yield name, ruled.says


def puts_on(job: Job, key: str) -> tuple[str, ...]:
    """Return the keys of the rules that put a load or fan on by themselves."""
    return tuple(name for name, rule in rules_on(job, key) if rule.kind == "hold" or (rule.action is not None and rule.action.verb != "off"))
