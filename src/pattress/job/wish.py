"""The owner's requirements, in a few fixed sentences that can be proven.

    THING is never on while OTHER is on
    after a power cut THING stays off
    THING follows its switch within TIME      THING follows its regulator within TIME
    THING is switched at most N times an hour
    THING is never on longer than TIME
    THING is put on at the wall only

THING and OTHER are keys of loads or fans; "the" may stand before one. Capitals and a full stop at the end are
read, too. A channel stays off after a power cut until somebody
asks for it. It follows its control when its relays have taken up what was asked, a start kick
included, TIME after the last edge of the contact. It is switched each time its relays close. It is
on for as long as nobody switches it off, a change of step included. It is put on at the wall when a
switch, a regulator or a remote asked for it: neither the network nor the return of the power.
"""

import re
from dataclasses import dataclass
from typing import Literal

from pattress.job.sentence import ARTICLE, THING, nearest_form, place_of, plain, with_key
from pattress.quantity import parse
from pattress.refusal import Refusal, as_found

Form = Literal["never while", "stays off", "follows", "at most", "never longer", "at the wall"]
FORMS = (
    '"iron is never on while heater is on"', '"after a power cut iron stays off"', '"lamp follows its switch within 1 s"',
    '"fan follows its regulator within 1 s"', '"pump is switched at most 6 times an hour"',
    '"iron is never on longer than 30 min"', '"iron is put on at the wall only"',
)
ALLOWED = ", ".join(FORMS)
LONGEST_TIME: dict[Form, float] = {"follows": 3600.0, "never longer": 86400.0}      # of those with a time [s]
MOST_TIMES = 3600           # an hour

_SENTENCES: dict[Form, re.Pattern[str]] = {
    "never while": re.compile(rf"{THING} is never on while {ARTICLE}(?P<other>\S+) is on", re.IGNORECASE),
    "stays off": re.compile(rf"after a power cut {THING} stays off", re.IGNORECASE),
    "follows": re.compile(rf"{THING} follows its (?P<control>switch|regulator) within (?P<time>.+)", re.IGNORECASE),
    "at most": re.compile(rf"{THING} is switched at most (?P<times>\S+) times? an hour", re.IGNORECASE),
    "never longer": re.compile(rf"{THING} is never on longer than (?P<time>.+)", re.IGNORECASE),
    "at the wall": re.compile(rf"{THING} is put on at the wall only", re.IGNORECASE),
}
_PATTERNS = (        # the same sentences word by word; * stands for a word of the owner's
    "* is never on while * is on", "after a power cut * stays off", "* follows its switch within * *",
    "* follows its regulator within * *", "* is switched at most * times an hour", "* is never on longer than * *", "* is put on at the wall only",
)


@dataclass(frozen=True, slots=True)
class Wish:
    """One wish as read. `other` goes with "never while", `control` and `time` [s] with "follows", `time` with "never longer", too, `times` with "at most"."""

    says: str
    form: Form
    thing: str
    other: str = ""
    control: str = ""
    time: float = 0.0
    times: int = 0

    @property
    def things(self) -> tuple[str, ...]:
        """Return the keys that it names."""
        return (self.thing, self.other) if self.other else (self.thing,)

    def __str__(self) -> str:
        return self.says


def parse_wish(found: object) -> Wish:
    """Read a wish.

    Raises
    ------
    Refusal
        The text is none of the sentences, a time cannot be read or is out of range. Whether the
        things exist is checked by the job as a whole.
    """
    says = plain(found, ALLOWED)
    for form, sentence in _SENTENCES.items():
        match = sentence.fullmatch(says)
        if match:
            parts = match.groupdict()
            thing, other, control = (place_of(parts, place) for place in ("thing", "other", "control"))
            if other == thing:
                raise Refusal(as_found(found), "two different loads or fans")
            return Wish(
                says, form, thing, other, control,
                parse(parts["time"], "s", above=0.0, most=LONGEST_TIME[form]) if "time" in parts else 0.0,
                _times(parts["times"]) if "times" in parts else 0,
            )
    raise Refusal(as_found(found), f"a sentence such as {ALLOWED}", nearest_form(says, _PATTERNS))


def with_thing(says: str, key: str, new: str) -> str:
    """Return the sentence of a wish in which a load or fan has another key; as it is written where it does not name it."""
    return with_key(says, _SENTENCES.values(), key, new)


def _times(found: str) -> int:
    if not (found.isascii() and found.isdecimal() and len(found) <= 4 and 1 <= int(found) <= MOST_TIMES):
        raise Refusal(as_found(found), f"a whole number of times an hour from 1 to {MOST_TIMES}")
    return int(found)
