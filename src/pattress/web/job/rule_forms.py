"""The forms in which a rule can be composed, each a sentence of `job.rule` with named places, and what each place takes.

One table: a new sentence of `job.rule` is a row here. A place stands in braces; what stands in brackets is left out while
the place in it is empty. What is composed is read by the same reader as the job file, so nothing here says what is right.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from pattress.job import Job
from pattress.job.action import EVERYTHING
from pattress.job.rule import Kind

_PLACE = re.compile(r"\{(\w+)\}")
_OPTIONAL = re.compile(r"\[([^\]]*)\]")
_PIECE = re.compile(rf"{_OPTIONAL.pattern}|{_PLACE.pattern}|([^\[{{]+)")
WAITS = "[, from {since}][, and for {after} after]"


@dataclass(frozen=True, slots=True)
class Place:
    """What goes into a place: a key or one of some words, chosen; or a text with an example. `of` names the keys of a job, in `keys_of`."""

    what: str
    of: str = ""
    words: tuple[str, ...] = ()
    example: str = ""


@dataclass(frozen=True, slots=True)
class Form:
    """One form of a rule: its kind, the group it is listed in, what it says in plain words, and its sentence."""

    key: str
    kind: Kind
    group: str
    words: str
    sentence: str


@dataclass(frozen=True, slots=True)
class Piece:
    """A part of a sentence: words, or a place by its name; `may_stay_empty` with a place and the words around it."""

    words: str = ""
    place: str = ""
    may_stay_empty: bool = False


PLACES = {
    "thing": Place("a load or fan", "things"), "fan": Place("a fan", "fans"), "other": Place("another load or fan", "things"),
    "also": Place("one more load or fan", "things"), "too": Place("one more load or fan", "things"),
    "contact": Place("an input", "inputs"), "release": Place("the input that lets go", "inputs"),
    "sensor": Place("a sensor", "sensors"), "outside": Place("another sensor", "sensors"),
    "step": Place("a step", "steps"), "action": Place("what is done", "actions"),
    "switched": Place("on or off", words=("on", "off")), "moment": Place("comes on or goes off", words=("comes on", "goes off")),
    "position": Place("open or closed", words=("open", "closed")), "released": Place("open or closed", words=("closed", "open")),
    "turned": Place("opens or closes", words=("opens", "closes")), "side": Place("below or above", words=("below", "above")),
    "time": Place("a time", example="30 min"), "times": Place("how many times", example="6"), "since": Place("how long it must have been so", example="2 min"),
    "warning": Place("so long before, where it shall go dark for a moment", example="30 s"),
    "after": Place("for how long it goes on", example="15 min"), "held": Place("how long that must have been so", example="2 s"),
    "begin": Place("where it begins", example="19 degC"), "end": Place("where it is over", example="20 degC"),
    "more": Place("where it begins", example="3 g/m3"), "less": Place("where it is over", example="1.5 g/m3"),
}
_LOOKS = (
    ("thing", "another load or fan is on or off", "{other} is {switched}"),
    ("input", "an input is open or closed", "{contact} is {position}"),
    ("reading", "a sensor reads below or above a figure", "{sensor} is {side} {begin}, until {end}"),
    ("damper", "it is damper at one sensor than at another", "{sensor} is damper than {outside} by {more}, until {less}"),
)
_LASTING: tuple[tuple[str, Kind, str, str, str], ...] = (         # key, kind, group, words, sentence up to the condition and from it on
    ("on", "hold", "On while something lasts", "is on while", "{thing} is on while |" + WAITS),
    ("step", "hold", "A fan at a step while something lasts", "is at a step while", "{fan} is at step {step} while |" + WAITS),
    ("off", "lock", "Off while something lasts", "stays off while", "{thing} stays off while |" + WAITS),
    ("only", "only", "On only while something lasts", "is on only while", "{thing} is on only while |"),
    ("rest", "rest", "Other rules rest while something lasts", "the rules of a load or fan rest while", f"while |{WAITS}, the rules of {{thing}}[, {{also}}][, {{too}}] rest"),
)
_BY_ITSELF, _MOMENT = "Off by itself after a time", "In a moment"
FORMS: dict[str, Form] = {form.key: form for form in (
    Form("limit", "limit", _BY_ITSELF, "is on for a time at most, however often somebody asks", "{thing} is on for at most {time}"),
    Form("stay", "stay", _BY_ITSELF, "is on for a time", "{thing} is on for {time}[, with a warning {warning} before]"),
    Form("stay-anew", "stay", _BY_ITSELF, "is on for a time, anew at each asking", "{thing} is on for {time}, anew at each asking[, with a warning {warning} before]"),
    Form("wall", "wall", "Who may put it on", "is put on at the wall only", "{thing} is put on at the wall only"),
    Form("kept", "kept", "Who may put it on", "is not switched over the network at all", "{thing} is not switched over the network"),
    Form("rested", "rested", "Not too often", "is off for a time at least before it comes on again", "{thing} rests for at least {time}"),
    Form("often", "often", "Not too often", "comes on so many times an hour at most", "{thing} comes on at most {times} times an hour"),
    Form("top", "top", "A fan's steps", "is at a step at most", "{fan} is at step {step} at most"),
    Form("start", "start", "A fan's steps", "comes on at a step at most, and may be asked for more then", "{fan} starts at step {step} at most"),
    Form("apart", "apart", "Never together", "are never on together", "{thing} and {other}[ and {also}][ and {too}] are never on together[, {time} between]"),
    *(Form(f"{key}-{look}", kind, group, f"{words} {lasts}", sentence.replace("|", condition))
      for key, kind, group, words, sentence in _LASTING for look, lasts, condition in _LOOKS),
    Form("latch", "latch", "Off until it is let go", "stays off once an input was open or closed, until another lets it go",
         "{thing} stays off once {contact} was {position}[ for {since}], until {release} is {released}[ for {held}]"),
    Form("when-thing", "when", _MOMENT, "when another load or fan comes on or goes off, something is done", "when {other} {moment}, {action}"),
    Form("when-input", "when", _MOMENT, "when an input opens or closes, something is done", "when {contact} {turned}, {action}"),
    Form("when-thing-has", "when", _MOMENT, "when another load or fan has been on or off for a time, something is done", "when {other} has been {switched} for {time}, {action}"),
    Form("when-input-has", "when", _MOMENT, "when an input has been open or closed for a time, something is done", "when {contact} has been {position} for {time}, {action}"),
)}


def composed(form: Form, filled: Mapping[str, str]) -> str:
    """Return the sentence of a form with its places filled; what is optional is left out where its place is empty."""
    def kept(match: re.Match[str]) -> str:
        return match[1] if all(filled.get(place) for place in _PLACE.findall(match[1])) else ""

    return _PLACE.sub(lambda match: filled.get(match[1], ""), _OPTIONAL.sub(kept, form.sentence))


def pieces_of(form: Form) -> Iterator[Piece]:
    """Yield the words and places of a form in the order of its sentence."""
    for optional, place, words in _PIECE.findall(form.sentence):
        if optional:
            before, name, after = _PLACE.split(optional)
            yield from (Piece(before, name, True), Piece(after))
        else:
            yield Piece(words, place)


def missing(form: Form, filled: Mapping[str, str]) -> tuple[str, ...]:
    """Return the names of places that are empty and must not be."""
    return tuple(piece.place for piece in pieces_of(form) if piece.place and not piece.may_stay_empty and not filled.get(piece.place))


def keys_of(job: Job, of: str) -> tuple[tuple[str, str], ...]:
    """Return what can be chosen for a place in a job: what stands in the sentence, and how a person reads it."""
    things = job.load | job.fan
    match of:
        case "things":
            return _named(things)
        case "fans":
            return _named(job.fan)
        case "inputs":
            return _named(job.input)
        case "sensors":
            return _named(job.sensor)
        case "steps":
            most = max((fan.steps for fan in job.fan.values()), default=0)
            return tuple((str(step), str(step)) for step in range(1, most + 1))
        case "actions":
            steps = [f"set {key} {step}" for key, fan in job.fan.items() for step in range(1, fan.steps + 1)]
            acts = [f"{verb} {key}" for key in things for verb in ("off", "on")]
            return tuple((act, act) for act in (*acts, *steps, f"off {EVERYTHING}"))
    return ()


def _named(things: Mapping[str, object]) -> tuple[tuple[str, str], ...]:
    return tuple((key, f"{getattr(thing, 'name', key)} ({key})") for key, thing in things.items())
