"""The owner's requirements, in a few fixed sentences that can be proven.

    THING is never on while OTHER is on
    THING is on only while OTHER is on
    after a power cut THING stays off         after a power cut THING comes on
    THING follows its switch within TIME      THING follows its regulator within TIME
    THING is switched at most N times an hour
    THING is never on longer than TIME
    THING is put on at the wall only
    THING reaches step STEP at most
    off everything leaves nothing on

THING and OTHER are keys of loads or fans; "the" may stand before one. Capitals and a full stop at the end are
read, too. A channel stays off after a power cut until somebody
asks for it. It comes on when it is on once its waits are over, whatever was saved, and stays so until somebody or a rule
asks otherwise. It is on only while another is on when nothing outlasts that but the time of a rule that then ends it. It follows its control when its relays have taken up what was asked, a start kick
included, TIME after the last edge of the contact. It is switched each time its relays close. It is
on for as long as nobody switches it off, a change of step included. It is put on at the wall when a
switch, a regulator or a remote asked for it: neither the network nor the return of the power. A fan reaches a step when
its relays stay in it; a start kick above it does not count. Off everything leaves nothing on when every relay is
open at the end of the step in which a control or a rule does it, but for what somebody else asks for in that step.
"""

import re
from dataclasses import dataclass
from typing import Literal

from pattress.job.sentence import ARTICLE, THING, nearest_form, place_of, plain, with_key
from pattress.quantity import parse
from pattress.refusal import Refusal, as_found

Form = Literal["never while", "only while", "stays off", "comes on", "follows", "at most", "never longer", "at the wall", "step at most", "leaves nothing"]
FORMS = (
    '"iron is never on while heater is on"', '"boiler is on only while pump is on"', '"after a power cut iron stays off"',
    '"after a power cut freezer comes on"', '"lamp follows its switch within 1 s"', '"fan follows its regulator within 1 s"', '"pump is switched at most 6 times an hour"',
    '"iron is never on longer than 30 min"', '"iron is put on at the wall only"', '"fan reaches step 2 at most"', '"off everything leaves nothing on"',
)
ALLOWED = ", ".join(FORMS)
LONGEST_TIME: dict[Form, float] = {"follows": 3600.0, "never longer": 86400.0}      # of those with a time [s]
MOST_TIMES = 3600           # an hour
HIGHEST_STEP = 6            # of any fan; which ones this fan has is said by the job as a whole

_SENTENCES: dict[Form, re.Pattern[str]] = {
    "never while": re.compile(rf"{THING} is never on while {ARTICLE}(?P<other>\S+) is on", re.IGNORECASE),
    "only while": re.compile(rf"{THING} is on only while {ARTICLE}(?P<other>\S+) is on", re.IGNORECASE),
    "stays off": re.compile(rf"after a power cut {THING} stays off", re.IGNORECASE),
    "comes on": re.compile(rf"after a power cut {THING} comes on", re.IGNORECASE),
    "follows": re.compile(rf"{THING} follows its (?P<control>switch|regulator) within (?P<time>.+)", re.IGNORECASE),
    "at most": re.compile(rf"{THING} is switched at most (?P<times>\S+) times? an hour", re.IGNORECASE),
    "never longer": re.compile(rf"{THING} is never on longer than (?P<time>.+)", re.IGNORECASE),
    "at the wall": re.compile(rf"{THING} is put on at the wall only", re.IGNORECASE),
    "step at most": re.compile(rf"{THING} reaches step (?P<step>\S+) at most", re.IGNORECASE),
    "leaves nothing": re.compile(r"off everything leaves nothing on", re.IGNORECASE),
}
_TURNED = re.compile(rf"{THING} (?P<does>stays off|comes on) after a power cut", re.IGNORECASE)
_PATTERNS = (        # the same sentences word by word; * stands for a word of the owner's
    "* is never on while * is on", "* is on only while * is on", "after a power cut * stays off", "after a power cut * comes on",
    "* follows its switch within * *", "* follows its regulator within * *", "* is switched at most * times an hour",
    "* is never on longer than * *", "* is put on at the wall only", "* reaches step * at most", "off everything leaves nothing on",
)


@dataclass(frozen=True, slots=True)
class Wish:
    """One wish as read. `other` goes with "never while" and "only while", `control` and `time` [s] with "follows", `time` with "never longer", too, `times` with "at most", `step` with "step at most"; "leaves nothing" has no `thing`."""

    says: str
    form: Form
    thing: str = ""
    other: str = ""
    control: str = ""
    time: float = 0.0
    times: int = 0
    step: int = 0

    @property
    def things(self) -> tuple[str, ...]:
        """Return the keys that it names."""
        return tuple(filter(None, (self.thing, self.other)))

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
            if thing and other == thing:
                raise Refusal(as_found(found), "two different loads or fans")
            return Wish(
                says, form, thing, other, control,
                parse(parts["time"], "s", above=0.0, most=LONGEST_TIME[form]) if "time" in parts else 0.0,
                _whole(parts["times"], MOST_TIMES, "of times an hour ") if "times" in parts else 0,
                _whole(parts["step"], HIGHEST_STEP) if "step" in parts else 0,
            )
    turned = _TURNED.fullmatch(says)
    if turned:
        raise Refusal(as_found(found), f"a sentence such as {ALLOWED}", f"after a power cut {turned['thing']} {turned['does']}")
    raise Refusal(as_found(found), f"a sentence such as {ALLOWED}", nearest_form(says, _PATTERNS))


def with_thing(says: str, key: str, new: str) -> str:
    """Return the sentence of a wish in which a load or fan has another key; as it is written where it does not name it."""
    return with_key(says, _SENTENCES.values(), key, new)


def _whole(found: str, most: int, of_what: str = "") -> int:
    if not (found.isascii() and found.isdecimal() and len(found) <= 4 and 1 <= int(found) <= most):
        raise Refusal(as_found(found), f"a whole number {of_what}from 1 to {most}")
    return int(found)
