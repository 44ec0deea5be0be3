"""What a switch or a remote button does, as a person writes it: "toggle pendant", "set ceiling 3".

    on THING    off THING    toggle THING    up THING    down THING    set THING STEP
    off everything

THING is the key of a load or a fan. "toggle desk, shelf" acts on several together.
"""

from dataclasses import dataclass
from typing import Literal

from pattress.refusal import Refusal, as_found, nearest, word_list

Verb = Literal["on", "off", "toggle", "up", "down", "set"]
VERBS: tuple[Verb, ...] = ("on", "off", "toggle", "up", "down", "set")
EVERYTHING = "everything"
LONGEST = 400                # characters of one action


@dataclass(frozen=True, slots=True)
class Action:
    """One verb on one or several channels; `step` only with "set"."""

    verb: Verb
    things: tuple[str, ...]
    step: int | None = None

    def __str__(self) -> str:
        step = "" if self.step is None else f" {self.step}"
        return f"{self.verb} {', '.join(self.things)}{step}"


def is_off_everything(action: Action) -> bool:
    """Return whether an action is "off everything"."""
    return action.things == (EVERYTHING,) and action.verb == "off"


def parse_action(found: object) -> Action:
    """Read an action.

    Raises
    ------
    Refusal
        The text is no action. Whether the things exist is checked by the job as a whole.
    """
    if not isinstance(found, str) or len(found) > LONGEST or not found.isprintable():
        raise Refusal(as_found(found), 'text such as "toggle pendant"')
    verb, _, rest = found.strip().partition(" ")
    if verb not in VERBS:
        meant = nearest(verb, VERBS)
        raise Refusal(
            as_found(found), f"{word_list(VERBS)}, each followed by what it acts on", f"{meant} {rest}".strip() if meant else ""
        )
    step = None
    if verb == "set":
        rest, _, last = rest.strip().rpartition(" ")
        if not (last.isascii() and last.isdecimal() and len(last) <= 3):
            raise Refusal(as_found(found), '"set" with a fan and a step number, such as "set ceiling 3"')
        step = int(last)
    things = tuple(thing.strip() for thing in rest.split(","))
    if not all(things):
        raise Refusal(as_found(found), f'"{verb}" followed by the key of a load or fan')
    return Action(verb, things, step)
