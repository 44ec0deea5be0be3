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
from difflib import SequenceMatcher
from itertools import product
from typing import Literal

from pattress.quantity import parse
from pattress.refusal import Refusal, as_found

Form = Literal["never while", "stays off", "follows", "at most", "never longer", "at the wall"]
FORMS = (
    '"iron is never on while heater is on"', '"after a power cut iron stays off"', '"lamp follows its switch within 1 s"',
    '"fan follows its regulator within 1 s"', '"pump is switched at most 6 times an hour"',
    '"iron is never on longer than 30 min"', '"iron is put on at the wall only"',
)
ALLOWED = ", ".join(FORMS)
LONGEST = 200               # characters of one wish
LONGEST_TIME: dict[Form, float] = {"follows": 3600.0, "never longer": 86400.0}      # of those with a time [s]
MOST_TIMES = 3600           # an hour
SLIP = 0.8                  # likeness of sentences from which one is taken for a misspelt other

_ARTICLE = r"(?:(?:the|an?) )?"
_THING = rf"{_ARTICLE}(?P<thing>\S+)"
_SENTENCES: dict[Form, re.Pattern[str]] = {
    "never while": re.compile(rf"{_THING} is never on while {_ARTICLE}(?P<other>\S+) is on", re.IGNORECASE),
    "stays off": re.compile(rf"after a power cut {_THING} stays off", re.IGNORECASE),
    "follows": re.compile(rf"{_THING} follows its (?P<control>switch|regulator) within (?P<time>.+)", re.IGNORECASE),
    "at most": re.compile(rf"{_THING} is switched at most (?P<times>\S+) times? an hour", re.IGNORECASE),
    "never longer": re.compile(rf"{_THING} is never on longer than (?P<time>.+)", re.IGNORECASE),
    "at the wall": re.compile(rf"{_THING} is put on at the wall only", re.IGNORECASE),
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
    if not isinstance(found, str) or len(found) > LONGEST or not found.isprintable():
        raise Refusal(as_found(found), f"a sentence such as {ALLOWED}")
    says = " ".join(found.split()).removesuffix(".")
    for form, sentence in _SENTENCES.items():
        match = sentence.fullmatch(says)
        if match:
            parts = match.groupdict()
            thing, other, control = ((parts.get(place) or "").casefold() for place in ("thing", "other", "control"))     # keys are in small letters
            if other == thing:
                raise Refusal(as_found(found), "two different loads or fans")
            return Wish(
                says, form, thing, other, control,
                parse(parts["time"], "s", above=0.0, most=LONGEST_TIME[form]) if "time" in parts else 0.0,
                _times(parts["times"]) if "times" in parts else 0,
            )
    raise Refusal(as_found(found), f"a sentence such as {ALLOWED}", _nearest(says))


def with_thing(says: str, key: str, new: str) -> str:
    """Return the sentence of a wish in which a load or fan has another key; as it is written where it does not name it."""
    plain = " ".join(says.split()).removesuffix(".")
    match = next(found for sentence in _SENTENCES.values() if (found := sentence.fullmatch(plain)))
    spans = [match.span(group) for group in ("thing", "other") if (match.groupdict().get(group) or "").casefold() == key]
    for start, end in sorted(spans, reverse=True):
        plain = plain[:start] + new + plain[end:]
    return plain if spans else says


def _times(found: str) -> int:
    if not (found.isascii() and found.isdecimal() and len(found) <= 4 and 1 <= int(found) <= MOST_TIMES):
        raise Refusal(as_found(found), f"a whole number of times an hour from 1 to {MOST_TIMES}")
    return int(found)


def _nearest(says: str) -> str:
    """Return the sentence that was most likely meant, with the owner's own words in its places, or ""."""
    meant, closest = "", SLIP
    bare = re.sub(r"\bthe (?!power)", "", says, flags=re.IGNORECASE)
    for written, pattern in product(dict.fromkeys((says, bare)), _PATTERNS):
        words, places = written.split(), pattern.split()
        if len(places) == len(words):
            filled = [word if place == "*" else place for word, place in zip(words, places, strict=True)]
            likeness = SequenceMatcher(None, written.casefold(), " ".join(filled).casefold()).ratio()
            if likeness > closest:
                meant, closest = " ".join(filled), likeness
    return meant
