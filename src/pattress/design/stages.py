"""The pipeline: named stages, each a pure function of the results of the ones before.

A stage's parameters are the names of what it needs, so the order is the only thing to keep.
A new question is a module in `sizing` with a `findings` function and one line in QUESTIONS.
Rebuilding with an earlier design at hand runs only the stages whose inputs have changed.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from inspect import signature
from typing import Any


@dataclass(frozen=True)
class Stage:
    """A step of the pipeline: its name, what computes it, and whether it answers questions."""

    name: str
    compute: Callable[..., Any]
    answers: bool = False
    needs: tuple[str, ...] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "needs", tuple(signature(self.compute).parameters))


def run(stages: tuple[Stage, ...], given: Mapping[str, Any], earlier: Mapping[str, Any] | None = None,
        progress: Callable[[str], None] | None = None) -> dict[str, Any]:
    """Return the results of all stages by name, together with what was given.

    With `earlier` (an earlier return value) a stage whose inputs are all equal to those of
    then is not run again. Raises KeyError when a stage needs what no earlier one computes.
    """
    results = dict(given)
    for stage in stages:
        inputs = {name: results[name] for name in stage.needs}
        if earlier is not None and stage.name in earlier and all(
            name in earlier and (earlier[name] is value or earlier[name] == value) for name, value in inputs.items()
        ):
            results[stage.name] = earlier[stage.name]
            continue
        if progress:
            progress(stage.name)
        results[stage.name] = stage.compute(**inputs)
    return results


def needed_for(stages: tuple[Stage, ...], name: str) -> tuple[Stage, ...]:
    """Return the stages that the one of that name rests on, and itself, in order."""
    wanted, needed = {name}, []
    for stage in reversed(stages):
        if stage.name in wanted:
            wanted.update(stage.needs)
            needed.append(stage)
    return tuple(reversed(needed))
