"""Whether switches that tell presses apart agree with the rest of the job.

Some hands find a second press within the time hard, or never hear of it. So nothing may be had by a double press only:
whatever it does, something else that a hand reaches does, too - another press of any switch, a regulator, a remote
button whose code is known. The network and rules do not count: not everybody in a home has a phone at hand.
"""

from collections.abc import Iterator

from pattress.job.action import EVERYTHING, Action
from pattress.job.field_types import UNKNOWN
from pattress.job.levels import levels_of
from pattress.job.model import Job
from pattress.job.naming import Disagreement, Names
from pattress.refusal import Refusal, as_found

ASKED_FOR = ("load", "fan", "mode", "switch", "regulator", "remote")
ANOTHER_WAY = "what a single press, a held one, a regulator or a remote button with a known code does, too: not every hand can press twice in time"
Had = set[tuple[str, str]]      # thing, and what becomes of it: on, off, up, down, a step


def press_disagreements(job: Job, names: Names) -> Iterator[Disagreement]:
    """Yield everything in which switches that tell presses apart disagree with the job."""
    for key, switch in job.switch.items():
        for how in ("held", "twice"):
            if switch.kind == "latching" and how in switch.presses:
                found = "given for a latching switch, which stays where it is put"
                yield ("switch", key, how), Refusal(found, f"no {how} there; it is for a retractive switch, which springs back"), True
    if any(len(getattr(job, section)) < len(names.of[section]) for section in ASKED_FOR):
        return          # one of them has a fault of its own, so nothing can be said of what it does
    had = _had_otherwise(job)
    for key, switch in job.switch.items():
        for place, action in enumerate(switch.twice):
            missing = [f"{thing} {_words(what)}" for thing, what in sorted(_brought(action, job) - had)]
            if missing:
                yield ("switch", key, "twice", place), Refusal(f"{as_found(str(action))}; only by a double press {missing[0]}", ANOTHER_WAY), False


def _words(what: str) -> str:
    return {"on": "comes on", "off": "goes off", "up": "goes up a step", "down": "goes down a step"}.get(what, f"comes to step {what}")


def _had_otherwise(job: Job) -> Had:
    """Return all that a hand can have without pressing twice."""
    acts = [action for switch in job.switch.values() for how, does in switch.presses.items() if how != "twice" for action in does]
    acts += [action for remote in job.remote.values() for button in remote.button.values() if button.code != UNKNOWN for action in button.does]
    had = {one for action in acts for one in _brought(action, job)}
    had |= {(thing, "on") for thing, what in had if what not in ("off", "down")}
    for regulator in job.regulator.values():
        levels = levels_of(job, regulator) if regulator.fan in job.fan else []
        had |= {(regulator.fan, what) for what in ("on", "up", "down")} | {(regulator.fan, str(level) if level else "off") for level in levels}
    return had


def _brought(action: Action, job: Job) -> Had:
    """Return what an action brings about. A toggle brings both about."""
    things = (*job.load, *job.fan) if action.things == (EVERYTHING,) else action.things
    what = {"toggle": ("on", "off"), "set": (str(action.step) if action.step else "off",)}.get(action.verb, (action.verb,))
    return {(thing, one) for thing in things for one in what}
