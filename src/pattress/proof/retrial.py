"""A story judged again: does the program still break the property along this way?

The property itself judges, not a copy of what was seen: a story of an exploration is followed
move by move, each in every filling that the exploration draws from; a run is run again; a wish
is judged again as a whole, and so is a way that ends in going round without end.
"""

from collections.abc import Mapping
from types import ModuleType
from typing import Any

from pattress.job.wish import Wish

from .exploration import Exploration
from .owner import judge_wishes
from .parts import part_named
from .power_up import BROWN_OUT, brown_out_run, power_up_run
from .properties import Failure
from .rings import RINGS, rings_run
from .story import Story
from .subject import Subject

ENDLESS = "becomes-quiet"


def retry(table: Mapping[str, Any], story: Story, core: ModuleType | None = None, *, wishes: Mapping[str, Wish] | None = None,
          has_network: bool = True) -> Failure | None:
    """Return what still fails along a story under a plan's table, None when nothing does.

    `wishes` are the owner's, by name, needed for the story of a wish. Raises ValueError when the
    plan has no such part or the job no such wish.
    """
    subject = Subject(table, core, has_network=has_network)
    if story.property_id.startswith("wish."):
        verdict = next((one for one in judge_wishes(subject, wishes or {}, has_network, set()) if one.id == story.property_id), None)
        if verdict is None and "+" not in story.property_id:
            raise ValueError(f"{story.property_id} is no wish of this job; its wishes: {', '.join(wishes or {}) or 'none'}")
        return None if verdict is None or verdict.holds else Failure(verdict.id, verdict.detail)     # a pair is told only when it fails
    if not story.moves:
        again, _ = {BROWN_OUT: brown_out_run, RINGS: rings_run}.get(story.part, power_up_run)(subject)
        return None if again is None else Failure(again.property_id, again.found)
    part = part_named(subject, story.part)
    if part is None:
        raise ValueError(f"this plan has no part {story.part!r}")
    if story.property_id == ENDLESS:
        found = Exploration(part).run().failures.get(ENDLESS)
        return found and found[0]
    return Exploration(part).follow(story.moves)
