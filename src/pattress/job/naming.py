"""What stands in a job file under each section, and what is said of a name that stands there not."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

from pattress.job.action import EVERYTHING, Action
from pattress.job.model import Job
from pattress.job.problem import Path
from pattress.plural import counted
from pattress.refusal import Refusal, as_found, nearest, word_list

Disagreement = tuple[Path, Refusal, bool]       # where, why, whether the key itself is meant

STEPPED = ("up", "down", "set")
CLOSEST = 60        # names listed in a message at most


@dataclass(frozen=True, slots=True)
class Names:
    """What stands in the file under each section, sound or not."""

    of: Mapping[str, tuple[str, ...]]

    @property
    def things(self) -> tuple[str, ...]:
        """Return the keys of all loads, fans and modes: what can be on or off."""
        return tuple(dict.fromkeys(self.of["load"] + self.of["fan"] + self.of["mode"]))


def not_among(found: str, known: tuple[str, ...], what: str) -> Refusal:
    allowed = word_list(known[:CLOSEST]) or f"the key of a {what}; the job has none yet"
    return Refusal(f"{as_found(found)}, which is no {what}", allowed, nearest(found, known))


def no_such_thing(says: str, thing: str, names: Names) -> Refusal:
    """Return why a sentence cannot be about a thing, with the sentence that was most likely meant."""
    refusal = not_among(thing, names.things, "load or fan")
    meant = re.sub(rf"\b{re.escape(thing)}(?!\S)", refusal.nearest, says, flags=re.IGNORECASE) if refusal.nearest else ""
    return Refusal(f"{as_found(says)}; there is no load or fan {as_found(thing)}", refusal.allowed, meant)


def unfit(action: Action, thing: str, job: Job, names: Names) -> Refusal | None:
    """Return why an action cannot be done to a thing, or None."""
    shown = as_found(str(action))
    if thing == EVERYTHING:
        return None if action.verb == "off" else Refusal(shown, f'"off {EVERYTHING}" only', f"off {EVERYTHING}")
    if thing not in names.things:
        refusal = not_among(thing, names.things, "load or fan")
        meant = tuple(refusal.nearest if other == thing else other for other in action.things)
        likely = str(replace(action, things=meant)) if refusal.nearest else ""
        return Refusal(f"{shown}; there is no load or fan {as_found(thing)}", refusal.allowed, likely)
    if action.verb in STEPPED and thing not in names.of["fan"]:
        fans = word_list(names.of["fan"][:CLOSEST]) or "none in this job"
        return Refusal(f"{shown}; {thing} has no steps", f"{action.verb} with a fan: {fans}")
    fan = job.fan.get(thing)
    if action.step is not None and fan is not None and action.step > fan.steps:
        return Refusal(f"{shown}; {thing} has {counted(fan.steps, 'step')}", f"0 to {fan.steps}")
    return None
