"""What the owner's sentences have in common: fixed forms, an article before a thing, the nearest form where none fits."""

import re
from collections.abc import Iterable, Mapping
from difflib import SequenceMatcher
from itertools import product

from pattress.refusal import Refusal, as_found

LONGEST = 200               # characters of one sentence
SLIP = 0.8                  # likeness of sentences from which one is taken for a misspelt other
ARTICLE = r"(?:(?:the|an?) )?"
THING = rf"{ARTICLE}(?P<thing>\S+)"


def plain(found: object, allowed: str) -> str:
    """Return a sentence with single spaces and without its full stop. Raises Refusal when it is no text of one line."""
    if not isinstance(found, str) or len(found) > LONGEST or not found.isprintable():
        raise Refusal(as_found(found), f"a sentence such as {allowed}")
    return _even(found)


def with_key(says: str, sentences: Iterable[re.Pattern[str]], key: str, new: str, groups: Iterable[str] = ("thing", "other")) -> str:
    """Return a sentence of these forms in which what the `groups` of its form name has another key; as it is written where it does not name it."""
    sentence = _even(says)
    match = next(found for one in sentences if (found := one.fullmatch(sentence)))
    whole, spans = re.compile(rf"(?<![^\s,]){re.escape(key)}(?![^\s,])", re.IGNORECASE), []
    for group in groups:
        start, end = match.span(group) if group in match.groupdict() else (-1, -1)
        spans += [found.span() for found in whole.finditer(sentence, start, end)] if start >= 0 else []
    for start, end in sorted(spans, reverse=True):
        sentence = sentence[:start] + new + sentence[end:]
    return sentence if spans else says


def place_of(match: Mapping[str, str | None], group: str) -> str:
    """Return the key in a place of a sentence, "" where the sentence has no such place: keys are in small letters."""
    return (match.get(group) or "").casefold()


def nearest_form(says: str, patterns: Iterable[str]) -> str:
    """Return the sentence that was most likely meant, with the owner's own words in its places, or "".

    `patterns` are the forms word by word; * stands for a word of the owner's.
    """
    meant, closest = "", SLIP
    bare = re.sub(r"\bthe (?!power|wall)", "", says, flags=re.IGNORECASE)
    for written, pattern in product(dict.fromkeys((says, bare)), patterns):
        words, places = written.split(), pattern.split()
        if len(places) == len(words):
            filled = [place.replace("*", word.rstrip(",") if place.endswith(",") else word) for word, place in zip(words, places, strict=True)]
            likeness = SequenceMatcher(None, written.casefold(), " ".join(filled).casefold()).ratio()
            if likeness > closest:
                meant, closest = " ".join(filled), likeness
    return meant


def _even(sentence: str) -> str:
    return " ".join(sentence.split()).removesuffix(".")
