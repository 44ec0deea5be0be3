"""What a rule waits for: another load or fan on or off, an input open or closed, a reading below or above a figure.

    while OTHER is on                          OTHER, a load or fan, is asked to be on; or off
    while INPUT is closed                      or open
    while SENSOR is below 19 degC, until 20 degC        or above; in degC, or in % of relative humidity
    while SENSOR is damper than OUTSIDE by 3 g/m3, until 1.5 g/m3      water in the air, of two sensors

"While" stands before what lasts. Where something is measured there are two figures: one at which it begins, one
at which it is over. `, from TIME` behind it waits until it has been so for TIME, `, and for TIME after` goes on for so long.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from pattress.job.sentence import ARTICLE, place_of
from pattress.quantity import parse
from pattress.refusal import Refusal, as_found

State = Literal["on", "off", "open", "closed", "below", "above", "damper"]
Source = Literal["thing", "input", "sensor"]
SHORTEST, LONGEST = 1.0, 86_400.0       # of a time [s]; the board counts milliseconds in small whole numbers, below 2^30
COLDEST, HOTTEST = -40.0, 80.0          # that a sensor of either class can read and a rule name [degC]
WETTEST = 50.0                          # difference of water in the air that a rule may name [g/m3]; saturated air at 40 degC holds 51

LOOKS = (
    rf"(?:{ARTICLE}(?P<other>\S+) is (?P<switched>on|off)"
    rf"|{ARTICLE}(?P<contact>\S+) is (?P<position>open|closed)"
    rf"|{ARTICLE}(?P<sensor>\S+) is (?P<side>below|above) (?P<begin>[^,]+), until (?P<end>[^,]+?)"
    rf"|{ARTICLE}(?P<inside>\S+) is (?P<damper>damper) than {ARTICLE}(?P<outside>\S+) by (?P<more>[^,]+), until (?P<less>[^,]+?))"
)
WAITS = r"(?:, from (?P<since>[^,]+?))?(?:,? and for (?P<after>[^,]+) after)?"
_GRAMS = re.compile(r"(?P<number>[0-9]+(?:[.,][0-9]+)?) ?g/m(?:3|³)")


@dataclass(frozen=True, slots=True)
class Condition:
    """What a rule waits for. `key` and, of two sensors, `other_sensor` name it; `begin` and `end` go with a reading [degC, share or g/m3].

    `since` is how long it must have been so, `after` for how long it goes on [s].
    """

    key: str
    state: State
    begin: float = 0.0
    end: float = 0.0
    is_share: bool = False
    other_sensor: str = ""
    since: float = 0.0
    after: float = 0.0

    @property
    def source(self) -> Source:
        """Return what it looks at."""
        return "thing" if self.state in ("on", "off") else "input" if self.state in ("open", "closed") else "sensor"


def condition_of(match: Mapping[str, str | None]) -> Condition:
    """Return the condition in the places of a sentence that `LOOKS` and `WAITS` found. Raises Refusal where a figure cannot be read or the two are swapped."""
    since, after = (time_of(match, place) for place in ("since", "after"))
    if match.get("other"):
        return Condition(place_of(match, "other"), "on" if place_of(match, "switched") == "on" else "off", since=since, after=after)
    if match.get("contact"):
        return Condition(place_of(match, "contact"), "open" if place_of(match, "position") == "open" else "closed", since=since, after=after)
    if match.get("damper"):
        more, less = (_grams(match.get(place) or "") for place in ("more", "less"))
        _require_apart(match.get("more") or "", match.get("less") or "", less < more, "a smaller figure to end at")
        return Condition(place_of(match, "inside"), "damper", more, less, other_sensor=place_of(match, "outside"), since=since, after=after)
    begin, end = match.get("begin") or "", match.get("end") or ""
    is_share = begin.rstrip().endswith("%")
    first, last = (parse(one, "", least=0.0, most=1.0) if is_share else parse(one, "degC", least=COLDEST, most=HOTTEST) for one in (begin, end))
    is_below = place_of(match, "side") == "below"
    _require_apart(begin, end, first < last if is_below else last < first, f"{'a higher' if is_below else 'a lower'} figure to end at")
    return Condition(place_of(match, "sensor"), "below" if is_below else "above", first, last, is_share, since=since, after=after)


def time_of(match: Mapping[str, str | None], place: str) -> float:
    """Return the time in a place of a sentence [s], 0 where there is none. Raises Refusal where it cannot be read or is out of range."""
    found = match.get(place)
    return parse(found, "s", least=SHORTEST, most=LONGEST) if found else 0.0


def _grams(found: str) -> float:
    match = _GRAMS.fullmatch(found.strip())
    if match is None or float(match["number"].replace(",", ".")) > WETTEST:
        raise Refusal(as_found(found), f'water in the air such as "3 g/m3", at most {WETTEST:g} g/m3')
    return float(match["number"].replace(",", "."))


def _require_apart(begin: str, end: str, is_apart: bool, allowed: str) -> None:
    if not is_apart:
        raise Refusal(f"{as_found(begin)}, until {as_found(end)}", f"{allowed}; the two are swapped or the same")
