"""What a person can do in a live run, as a value and as one line of text.

    throw SWITCH            a latching switch           turn REGULATOR POSITION
    press SWITCH            a retractive one, held      button BUTTON [HELD_MS]
    release SWITCH          and let go                  ask CHANNEL VERB [LEVEL]
    open INPUT              close INPUT
    cut power               restore power               drop network    find network
    wait MILLISECONDS

SWITCH, REGULATOR, BUTTON, INPUT and CHANNEL are keys of the plan; VERB is one of the network's.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pattress.controller import core
from pattress.controller.core.plan import top_of
from pattress.errors import UseError
from pattress.refusal import advice, as_found, nearest, word_list

# Verb: what it is done to, and whether a number follows (None: it may).
VERBS: dict[str, tuple[str, bool | None]] = {
    "throw": ("switch", False), "press": ("switch", False), "release": ("switch", False), "turn": ("regulator", True),
    "button": ("button", None), "open": ("input", False), "close": ("input", False), "ask": ("channel", None), "cut": ("power", False), "restore": ("power", False),
    "drop": ("network", False), "find": ("network", False), "wait": ("", True),
}


@dataclass(frozen=True, slots=True)
class ActionLine:
    """One stimulus: `place` is that of the control or channel in the plan, `act` the network's verb.

    `number` is a position, a level, how long a button is held or time passes [ms]; None where none was given.
    """

    verb: str
    place: int = 0
    number: int | None = None
    act: int = 0

    @property
    def given(self) -> int:
        """Return the number of a verb that takes one. Raises UseError where none was given."""
        if self.number is None:
            raise UseError(f"{self.verb} needs one whole number, zero or more")
        return self.number


def action_line(table: Mapping[str, Any], line: str) -> ActionLine:
    """Read a line of text. Raises UseError with what is allowed and nearest when it means nothing here."""
    verb, *words = line.split() or [""]
    if verb not in VERBS:
        raise UseError(_refused("a stimulus", verb, tuple(VERBS)))
    thing, takes_number = VERBS[verb]
    if not thing:
        return ActionLine(verb, number=_number(words, line, takes_number))
    if not words:
        raise UseError(f"{verb} needs the {thing}\n  found: {line!r}")
    name, *words = words
    if thing in ("power", "network"):
        if name != thing:
            raise UseError(_refused(f"what can be {verb}", name, (thing,)))
        return ActionLine(verb, number=_number(words, line, takes_number))
    place = _place(_rows(table, verb, thing), name, f"{'an' if thing == 'input' else 'a'} {thing} to {verb}")
    act = 0
    if verb == "ask":
        if not words:
            raise UseError(f"ask needs what to do\n  found: {line!r}\n  allowed: {', '.join(core.VERBS)}")
        act, words = _place(core.VERBS, words[0], "a verb"), words[1:]
        takes_number = act == core.SET
    number = _number(words, line, takes_number)
    top = _top(table, verb, place)
    if top is not None and number is not None and number > top:
        raise UseError(f"{verb} {name} must be 0 to {top}, found {number}")
    return ActionLine(verb, place, number, act)


def _top(table: Mapping[str, Any], verb: str, place: int) -> int | None:
    """Return the highest number that may follow; None where any may."""
    if verb == "turn":
        return len(table["regulators"][place]["levels"]) - 1
    return top_of(table["channels"][place]) if verb == "ask" else None


def _rows(table: Mapping[str, Any], verb: str, thing: str) -> list[str | None]:
    """Return the keys a verb may be used on, by place; None where the kind of switch does not fit."""
    rows = table.get("switches" if thing == "switch" else f"{thing}s", ())
    if thing != "switch":
        return [row["key"] for row in rows]
    return [row["key"] if bool(row["latching"]) == (verb == "throw") else None for row in rows]


def _place(allowed: Sequence[str | None], found: str, what: str) -> int:
    if found not in allowed:
        raise UseError(_refused(what, found, tuple(one for one in allowed if one)))
    return allowed.index(found)


def _refused(what: str, found: str, allowed: Sequence[str]) -> str:
    return f"{as_found(found)} is not {what}{advice(word_list(allowed) or 'none in this job', nearest(found, allowed))}"


def _number(words: list[str], line: str, takes_number: bool | None) -> int | None:
    """Return the one number that follows, if one may; None if none does."""
    if not words and not takes_number:
        return None
    if len(words) != 1 or takes_number is False or not (words[0].isascii() and words[0].isdigit()):
        wanted = {True: "one whole number, zero or more", None: "one whole number or nothing", False: "nothing"}[takes_number]
        raise UseError(f"{line!r}: {wanted} must follow, found {' '.join(words) or 'nothing'}")
    return int(words[0])
