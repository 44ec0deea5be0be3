"""What a load or fan does by itself, and who may put it on, in a few fixed sentences of the owner's.

    THING is on for at most TIME
    THING is on for TIME
    THING is on for TIME, anew at each asking
    THING is put on at the wall only          THING is not switched over the network
    THING rests for at least TIME             THING comes on at most N times an hour
    THING is on while ...                     THING is at step N while ...
    THING stays off while ...
    THING is on only while ...
    THING stays off once INPUT was closed for TIME, until INPUT is closed for TIME
    while ..., the rules of THING rest
    when OTHER comes on, ACTION               when INPUT opens, ACTION
    when INPUT has been open for TIME, ACTION

THING is the key of a load or fan; "the" may stand before it. Capitals and a full stop at the end are
read, too. What "while" may stand before is said in `condition`; "when" stands before a moment. "At most" is a limit:
asking for what is on already does not make it longer, off and on again does. "For TIME" is a stay: it goes off by
itself, and with "anew at each asking" each asking for on begins the time anew. "At the wall only": the network may
switch it off, never on; a switch, a regulator and a remote may. A rest is kept before it comes on again, after a power cut too;
"at most N times an hour" is a rest of an hour's Nth, so that no hour has more. "Is on while" puts it on when that begins and off when
it is over, and leaves it to a hand in between. "Stays off" binds a hand, too. ACTION is what a switch does: on, off, set.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

from pattress.job.action import EVERYTHING, Action, parse_action
from pattress.job.condition import LONGEST as LONGEST
from pattress.job.condition import LOOKS, SHORTEST, WAITS, Condition, State, condition_of, time_of
from pattress.job.sentence import ARTICLE, THING, nearest_form, place_of, plain, with_key
from pattress.quantity import parse
from pattress.refusal import Refusal, as_found, word_list

Kind = Literal["limit", "stay", "wall", "kept", "top", "start", "rested", "often", "apart", "hold", "lock", "only", "latch", "rest", "when"]
FORMS = (
    '"iron is on for at most 30 min"', '"stairs is on for 3 min"', '"stairs is on for 3 min, anew at each asking"',
    '"stairs is on for 3 min, anew at each asking, with a warning 30 s before"',
    '"iron is put on at the wall only"', '"freezer is not switched over the network"',
    '"boiler and oven are never on together"', '"fill, drain and heat are never on together, 5 s between"',
    '"ceiling is at step 3 at most"', '"ceiling starts at step 1 at most"',
    '"dryer rests for at least 5 min"', '"pump comes on at most 6 times an hour"', '"extract is on while bath is on, from 2 min, and for 15 min after"',
    '"heater is on while room is below 19 degC, until 20 degC"', '"extract is at step 2 while inside is damper than outside by 3 g/m3, until 1.5 g/m3"',
    '"pump stays off while well is open, and for 20 min after"', '"boiler is on only while pump is on"',
    '"water stays off once leak was closed for 1 s, until reset is closed for 2 s"', '"while away is on, the rules of porch rest"',
    '"when window opens, off heater"', '"when room has been open for 10 min, off everything"',
)
ALLOWED = ", ".join(FORMS)
HOUR = 3600             # [s]
# Between two that are never on together: half a second at least and usually a second where a motor is reversed (common practice, no source);
# the least is many times what a relay takes to open and to cease to bounce, some 20 ms (from memory of relay sheets). [s]
BETWEEN, LEAST_BETWEEN = 1.0, 0.1
MOST_RULES = 64                         # of one job
RULE_VERBS = ("on", "off", "set")       # what a rule may do in a moment

LEAST_WARNING = 5.0     # time to reach a switch in the dark (common practice, no source) [s]

_ANEW = ", anew at each asking"
_WARNED = r", with a warning (?P<warning>.+) before"
_FORMS: tuple[tuple[Kind, str], ...] = (
    ("limit", rf"{THING} is on for at most (?P<time>.+)"),
    ("stay", rf"{THING} is on for (?P<time>.+?)(?P<anew>{_ANEW})?(?:{_WARNED})?"),
    ("wall", rf"{THING} is put on at the wall only"),
    ("kept", rf"{THING} is not switched over the network"),
    ("top", rf"{THING} is at step (?P<step>\S+) at most"),
    ("start", rf"{THING} starts at step (?P<step>\S+) at most"),
    ("rested", rf"{THING} rests for at least (?P<time>.+)"),
    ("often", rf"{THING} comes on at most (?P<times>\S+) times? an hour"),
    ("apart", r"(?P<things>.+) are never on together(?:, (?P<time>.+) between)?"),
    ("only", rf"{THING} is on only while {LOOKS}"),
    ("hold", rf"{THING} is (?:on|at step (?P<step>\S+)) while {LOOKS}{WAITS}"),
    ("lock", rf"{THING} stays off while {LOOKS}{WAITS}"),
    ("latch", rf"{THING} stays off once {ARTICLE}(?P<contact>\S+) was (?P<position>open|closed)(?: for (?P<since>[^,]+))?, "
             rf"until {ARTICLE}(?P<release>\S+) is (?P<released>open|closed)(?: for (?P<held>.+))?"),
    ("rest", rf"while {LOOKS}{WAITS}, the rules of (?P<things>.+) rest"),
    ("when", rf"when {ARTICLE}(?:(?P<other>\S+) (?P<switched>comes on|goes off)|(?P<contact>\S+) (?P<position>opens|closes)"
            rf"|(?:(?P<lasted>\S+) has been (?P<lasting>on|off)|(?P<stood>\S+) has been (?P<standing>open|closed)) for (?P<since>[^,]+)), (?P<action>.+)"),
)
_SENTENCES = {kind: re.compile(sentence, re.IGNORECASE) for kind, sentence in _FORMS}
_PATTERNS = (        # the same sentences word by word; * stands for a word of the owner's
    "* is on for at most * *", "* is on for * *", f"* is on for * *{_ANEW}", "* is on for * *, with a warning * * before", f"* is on for * *{_ANEW}, with a warning * * before",
    "* is put on at the wall only",
    "* is not switched over the network", "* is at step * at most", "* starts at step * at most", "* and * are never on together", "* and * are never on together, * * between", "* rests for at least * *", "* comes on at most * times an hour",
    *(f"{act} while {look}{waits}" for act in ("* is on", "* is at step *", "* stays off", "* is on only")
      for look in ("* is on", "* is off", "* is open", "* is closed", "* is below * *, until * *", "* is above * *, until * *",
                   "* is damper than * by * *, until * *")
      for waits in ("", ", from * *", ", and for * * after", ", from * *, and for * * after")),
    "* stays off once * was closed for * *, until * is closed for * *", "* stays off once * was open for * *, until * is closed for * *",
    "while * is on, the rules of * rest", "while * is closed, the rules of * rest", "while * is open, the rules of * rest",
    "when * opens, off *", "when * closes, off *", "when * opens, on *", "when * closes, on *", "when * comes on, off *", "when * goes off, off *",
    "when * comes on, on *", "when * has been open for * *, off *", "when * has been closed for * *, off *",
)
_BETWEEN_KEYS = re.compile(r",| and ", re.IGNORECASE)
_WITH_ARTICLE = re.compile(f"^{ARTICLE}", re.IGNORECASE)
_ONE_FIGURE = re.compile(r".+ while .+ is (?:below|above|damper than .+ by) [^,]+", re.IGNORECASE)
_WHAT_MOVES = (("other", "switched"), ("contact", "position"), ("lasted", "lasting"), ("stood", "standing"))       # places of a moment: a key, and what it does
_MOMENTS: dict[str, State] = {"comes on": "on", "goes off": "off", "opens": "open", "closes": "closed", "on": "on", "off": "off", "open": "open", "closed": "closed"}


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule as read. What goes with its kind: `time` [s] with "limit", "stay", "rested" and "often", where it is the rest,
    and with "apart", where it passes between two;
    `renews`: each asking for on begins a stay anew; `warning`: so long before its end it goes dark for a moment [s], 0 = it does not.

    `condition` with all that wait for something, `release` with a "latch", `step` with a "hold" of a fan, a "top" and a "start", `action` with
    "when". `thing` is "" with "when", "rest" and "apart", of which `several` holds the keys; `things` holds what every rule acts on.
    """

    says: str
    kind: Kind
    thing: str
    time: float = 0.0
    renews: bool = False
    warning: float = 0.0
    condition: Condition | None = None
    release: Condition | None = None
    step: int | None = None
    action: Action | None = None
    several: tuple[str, ...] = ()

    @property
    def things(self) -> tuple[str, ...]:
        """Return the keys that it acts on, EVERYTHING among them where it says so."""
        return self.action.things if self.action else self.several or (self.thing,)

    @property
    def puts_on(self) -> bool:
        """Return whether it puts something on by itself."""
        return self.kind == "hold" or self.action is not None and (self.action.verb == "on" or bool(self.action.step))

    @property
    def conditions(self) -> tuple[Condition, ...]:
        """Return what it waits for."""
        return tuple(filter(None, (self.condition, self.release)))

    def names(self, section: str, key: str) -> bool:
        """Return whether it names what has this key in a section of the job file."""
        source = {"input": "input", "sensor": "sensor"}.get(section, "thing")
        waited_for = {one for condition in self.conditions if condition.source == source for one in (condition.key, condition.other_sensor)}
        return key in waited_for or (source == "thing" and key in self.things)

    def __str__(self) -> str:
        return self.says


def parse_rule(found: object) -> Rule:
    """Read a rule.

    Raises
    ------
    Refusal
        The text is none of the sentences, or a time or a figure cannot be read or is out of range. Whether the things
        exist is checked by the job as a whole.
    """
    says = plain(found, ALLOWED)
    for kind, sentence in _SENTENCES.items():
        match = sentence.fullmatch(says)
        rule = _read(kind, says, match.groupdict()) if match else None
        if rule is not None:
            return rule
    if _ONE_FIGURE.fullmatch(says):
        raise Refusal(f"{as_found(found)}, with one figure", 'two figures where something is measured: ", until ..." with the one at which it is over')
    raise Refusal(as_found(found), f"a sentence such as {ALLOWED}", nearest_form(says, _PATTERNS))


def with_thing(says: str, key: str, new: str) -> str:
    """Return the sentence of a rule in which a load or fan has another key; as it is written where it does not name it."""
    return with_key(says, _SENTENCES.values(), key, new, ("thing", "other", "things", "lasted", "action"))


def with_input(says: str, key: str, new: str) -> str:
    """As `with_thing`, of an input."""
    return with_key(says, _SENTENCES.values(), key, new, ("contact", "release", "stood"))


def with_sensor(says: str, key: str, new: str) -> str:
    """As `with_thing`, of a sensor."""
    return with_key(says, _SENTENCES.values(), key, new, ("sensor", "inside", "outside"))


def _read(kind: Kind, says: str, places: Mapping[str, str | None]) -> Rule | None:
    """Return the rule of a kind in the places of its sentence; None where another form is nearer than a time that cannot be read."""
    thing = place_of(places, "thing")
    if kind in ("limit", "stay"):
        found = places["time"] or ""
        if len(found.split()) > 2 and nearest_form(says, _PATTERNS):
            return None
        warning = places.get("warning")
        return Rule(says, kind, thing, parse(found, "s", least=SHORTEST, most=LONGEST), bool(places.get("anew")),
                    parse(warning, "s", least=LEAST_WARNING, most=LONGEST) if warning else 0.0)
    if kind in ("wall", "kept"):
        return Rule(says, kind, thing)
    if kind in ("top", "start"):
        return Rule(says, kind, thing, step=_step(places["step"]))
    if kind == "rested":
        return Rule(says, kind, thing, parse(places["time"] or "", "s", least=SHORTEST, most=LONGEST))
    if kind == "often":
        return Rule(says, kind, thing, HOUR / _times(places["times"] or ""))
    if kind == "latch":
        condition = Condition(place_of(places, "contact"), _open_or_closed(places, "position"), since=time_of(places, "since"))
        release = Condition(place_of(places, "release"), _open_or_closed(places, "released"), since=time_of(places, "held"))
        return Rule(says, kind, thing, condition=condition, release=release)
    if kind == "when":
        return Rule(says, kind, "", condition=_moment(places), action=_action(places["action"] or ""))
    if kind == "apart":
        return Rule(says, kind, "", parse(places["time"], "s", least=LEAST_BETWEEN, most=LONGEST) if places["time"] else BETWEEN, several=_listed(places))
    condition = condition_of(places)
    if kind == "rest":
        return Rule(says, kind, "", condition=condition, several=_listed(places))
    return Rule(says, kind, thing, condition=condition, step=_step(places.get("step")))


def _listed(places: Mapping[str, str | None]) -> tuple[str, ...]:
    """Return the keys of a list such as "a, b and c"."""
    return tuple(_WITH_ARTICLE.sub("", one.strip()).casefold() for one in _BETWEEN_KEYS.split(places["things"] or ""))


def _open_or_closed(places: Mapping[str, str | None], place: str) -> Literal["open", "closed"]:
    return "open" if place_of(places, place) == "open" else "closed"


def _moment(places: Mapping[str, str | None]) -> Condition:
    key, word = next((place_of(places, key), place_of(places, word)) for key, word in _WHAT_MOVES if places[key])
    return Condition(key, _MOMENTS[word], since=time_of(places, "since"))


def _action(found: str) -> Action:
    action = parse_action(found)
    if action.verb not in RULE_VERBS:
        raise Refusal(as_found(found), f"{word_list(RULE_VERBS)}: a rule does not depend on what was before", f"on {', '.join(action.things)}")
    return replace(action, things=tuple(thing.casefold() for thing in action.things)) if action.things != (EVERYTHING,) else action


def _times(found: str) -> int:
    if not (found.isascii() and found.isdecimal() and len(found) <= 4 and 1 <= int(found) <= HOUR):
        raise Refusal(as_found(found), f"a whole number of times an hour from 1 to {HOUR}")
    return int(found)


def _step(found: str | None) -> int | None:
    if found is None:
        return None
    if not (found.isascii() and found.isdecimal() and len(found) <= 3 and int(found)):
        raise Refusal(as_found(found), "a step of a fan, 1 or more")
    return int(found)
