"""What a load or fan does by itself, and who may put it on, in a few fixed sentences of the owner's.

    THING is on for at most TIME
    THING is on for TIME
    THING is on for TIME, anew at each asking
    THING is put on at the wall only

THING is the key of a load or fan; "the" may stand before it. Capitals and a full stop at the end are read,
too. TIME runs from the moment it came on. "At most" is a limit: asking for what is on already does not make
it longer, off and on again does. "For TIME" is a stay: it goes off by itself, and with "anew at each asking"
each asking for on begins the time anew. "At the wall only": the network may switch it off, never on; a
switch, a regulator and a remote may.
"""

import re
from dataclasses import dataclass
from typing import Literal

from pattress.job.sentence import THING, nearest_form, place_of, plain, with_key
from pattress.quantity import parse
from pattress.refusal import Refusal, as_found

Kind = Literal["limit", "stay", "wall"]
FORMS = (
    '"iron is on for at most 30 min"', '"stairs is on for 3 min"', '"stairs is on for 3 min, anew at each asking"',
    '"iron is put on at the wall only"',
)
ALLOWED = ", ".join(FORMS)
SHORTEST, LONGEST = 1.0, 86_400.0       # [s]; the board counts milliseconds in small whole numbers, below 2^30
MOST_RULES = 64                         # of one job

_ANEW = ", anew at each asking"
_SENTENCES: dict[Kind, re.Pattern[str]] = {
    "limit": re.compile(rf"{THING} is on for at most (?P<time>.+)", re.IGNORECASE),
    "stay": re.compile(rf"{THING} is on for (?P<time>.+?)(?P<anew>{_ANEW})?", re.IGNORECASE),
    "wall": re.compile(rf"{THING} is put on at the wall only", re.IGNORECASE),
}
_PATTERNS = (        # the same sentences word by word; * stands for a word of the owner's
    "* is on for at most * *", "* is on for * *", f"* is on for * *{_ANEW}", "* is put on at the wall only",
)


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule as read. `time` [s] goes with "limit" and "stay"; `renews`: each asking for on begins a stay anew."""

    says: str
    kind: Kind
    thing: str
    time: float = 0.0
    renews: bool = False

    def __str__(self) -> str:
        return self.says


def parse_rule(found: object) -> Rule:
    """Read a rule.

    Raises
    ------
    Refusal
        The text is none of the sentences, or a time cannot be read or is out of range. Whether the thing
        exists is checked by the job as a whole.
    """
    says = plain(found, ALLOWED)
    for kind, sentence in _SENTENCES.items():
        match = sentence.fullmatch(says)
        if match and (time := _time(match, says)) is not None:
            return Rule(says, kind, place_of(match.groupdict(), "thing"), time, bool(match.groupdict().get("anew")))
    raise Refusal(as_found(found), f"a sentence such as {ALLOWED}", nearest_form(says, _PATTERNS))


def with_thing(says: str, key: str, new: str) -> str:
    """Return the sentence of a rule in which a load or fan has another key; as it is written where it does not name it."""
    return with_key(says, _SENTENCES.values(), key, new)


def _time(match: re.Match[str], says: str) -> float | None:
    """Return the time of a sentence [s], 0 where its form has none; None where another form is nearer than a time that cannot be read."""
    found = match.groupdict().get("time")
    if found is None:
        return 0.0
    if len(found.split()) > 2 and nearest_form(says, _PATTERNS):
        return None
    return parse(found, "s", least=SHORTEST, most=LONGEST)
