"""What the rules of a job do to one load or fan: put it on, put it off, keep it off, limit it."""

from collections.abc import Iterator
from typing import Literal

from pattress.job.action import EVERYTHING
from pattress.job.model import Job
from pattress.job.rule import Rule


def acts_on(rule: Rule, job: Job) -> tuple[str, ...]:
    """Return what a rule acts on, by its keys: "everything" is all loads and fans, and no mode."""
    return (*job.load, *job.fan) if EVERYTHING in rule.things else rule.things


def rules_on(job: Job, key: str) -> Iterator[tuple[str, Rule]]:
    """Yield every rule that acts on a load, fan or mode, with its key."""
    for name, ruled in job.rule.items():
        if key in acts_on(ruled.says, job):
            yield name, ruled.says


def puts_on(job: Job, key: str) -> tuple[str, ...]:
    """Return the keys of the rules that put a load or fan on by themselves."""
    return tuple(name for name, rule in rules_on(job, key) if rule.puts_on)


def step_most(job: Job, key: str, kind: Literal["top", "start"] = "top") -> int:
    """Return the highest step at which the rules let a fan be, or come on with "start"; 0 where none says so."""
    return next((rule.step for _, rule in rules_on(job, key) if rule.kind == kind and rule.step is not None), 0)


def closings_an_operation(job: Job, key: str) -> int:
    """Return how often the relays of a load or fan close each time it comes on: a warning opens and closes them once more."""
    return 1 + any(rule.warning > 0 for _, rule in rules_on(job, key))
