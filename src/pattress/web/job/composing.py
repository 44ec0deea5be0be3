"""A rule being composed: its form chosen, and its places as fields within the sentence."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import count

from pattress.job import Job
from pattress.job.agreement import as_key
from pattress.web.job.editing import clean
from pattress.web.job.rule_forms import FORMS, PLACES, Form, composed, keys_of, missing, pieces_of

CALLED = "called"                  # the field in which the new rule gets its name
NEEDED = {"things": ("load", "load or fan"), "fans": ("fan", "fan"), "steps": ("fan", "fan"), "inputs": ("input", "input"), "sensors": ("sensor", "sensor")}
LONGEST_SHOWN = 80                 # characters of a place


@dataclass(frozen=True, slots=True)
class Blank:
    """A place of the sentence as a field: a choice where there are options, value and words of each, else a text."""

    name: str
    label: str
    text: str
    example: str
    options: tuple[tuple[str, str], ...]
    may_stay_empty: bool
    is_chosen: bool               # from options
    is_missing: bool


@dataclass(frozen=True, slots=True)
class Part:
    """Words of the sentence, with the field that follows them or None."""

    words: str
    blank: Blank | None


@dataclass(frozen=True, slots=True)
class Composing:
    """The form of one rule."""

    form: str
    words: str
    parts: tuple[Part, ...]
    called: str
    sentence: str                             # as it was composed, when it was refused
    errors: tuple[str, ...]
    called_error: str
    lacking: tuple[tuple[str, str], ...]      # what the job does not have yet that the form asks for: section and what it is called


def choices() -> tuple[tuple[str, tuple[tuple[str, str], ...]], ...]:
    """Return the forms to choose from by their groups, key and words of each."""
    groups = dict.fromkeys(form.group for form in FORMS.values())
    return tuple((group, tuple((form.key, form.words) for form in FORMS.values() if form.group == group)) for group in groups)


def filled(form: Form, posted: Mapping[str, str]) -> dict[str, str]:
    """Return what was posted for the places of a form, on one line each; the first of the words where nothing was."""
    names = [piece.place for piece in pieces_of(form) if piece.place]
    return {name: on_one_line(posted.get(name, (PLACES[name].words or ("",))[0])) for name in names}


def on_one_line(text: str) -> str:
    """Return a posted text as a sentence in one line."""
    return " ".join(clean(text).split())


def composing_of(form: Form, job: Job, posted: Mapping[str, str], errors: tuple[str, ...] = (), called_error: str = "") -> Composing:
    """Return the form of a rule filled with what was posted, and why it was refused."""
    places = filled(form, posted)
    lacks = missing(form, places) if posted else ()
    parts = tuple(Part(piece.words, _blank(piece.place, piece.may_stay_empty, job, places[piece.place], piece.place in lacks) if piece.place else None)
                  for piece in pieces_of(form))
    sources = dict.fromkeys(PLACES[part.blank.name].of for part in parts if part.blank and not part.blank.may_stay_empty)
    lacking = dict.fromkeys(NEEDED[of] for of in sources if of in NEEDED and not keys_of(job, of))
    return Composing(form.key, form.words, parts, posted.get(CALLED, "")[:60], composed(form, places) if errors and not lacks else "", errors, called_error, tuple(lacking))


def _blank(name: str, may_stay_empty: bool, job: Job, text: str, is_missing: bool) -> Blank:
    place = PLACES[name]
    options = tuple((word, word) for word in place.words) or keys_of(job, place.of)
    if options and text and text not in dict(options):
        options = (*options, (text, text))
    return Blank(name, place.what, text[:LONGEST_SHOWN] if not place.of else text, place.example, options, may_stay_empty, bool(place.of or place.words), is_missing)


def untold(form: Form, places: Mapping[str, str]) -> str:
    """Return in words which places are missing, "" where none is."""
    lacks = [PLACES[name].what for name in missing(form, places)]
    return f"Still missing: {', '.join(lacks)}." if lacks else ""


def free_key(job: Job, places: Mapping[str, str]) -> str:
    """Return a key for a rule that was given none: that of what it acts on, with a number where a rule has it already."""
    acts_on = places.get("thing") or places.get("fan") or places.get("action", "").partition(" ")[2]
    stem = as_key(acts_on)[:28].strip("_") or "rule"
    return next(key for number in count(1) if (key := stem if number == 1 else f"{stem}_{number}") not in job.rule)
