"""Which unit was meant by a word that is none? Only what has the size that was meant is proposed, else nothing.

A word counts as a unit spelt out ("kilowatt", "kwatt", "milli-amps") or with a slip in it ("kilowat"). Where units of
two sizes are equally near, or a unit that is not read here is (horsepower, kilowatt-hours, turns a second), nobody can
tell which was meant. A slip is a letter left out, added, replaced, or swapped with its neighbour: one in a short word,
two in a longer one, as long as no other size is within reach, too.
"""

import re
from collections.abc import Callable
from functools import cache
from typing import NamedTuple

from pattress.quantity.units import SPELLINGS, WORDS, Unit

PREFIX_WORDS = {
    "femto": ("f", -15), "pico": ("p", -12), "nano": ("n", -9), "micro": ("u", -6), "milli": ("m", -3), "centi": ("c", -2), "deci": ("d", -1),
    "deca": ("da", 1), "hecto": ("h", 2), "kilo": ("k", 3), "mega": ("M", 6), "giga": ("G", 9), "tera": ("T", 12),
}
# Other words for units that are read here, and the spelling to propose. "mmfd" and "uuF" are a millionth of a
# millionth, as old capacitors are marked (from memory).
ALIASES = {
    "hr": "h", "hrs": "h", "mins": "min", "VAC": "V", "VDC": "V", "centigrade": "degC", "micron": "um", "microns": "um", "henries": "H", "henrys": "H",
    "mmfd": "pF", "mmf": "pF", "uuF": "pF", "sqm": "m2", "sqcm": "cm2", "mmsq": "mm2", "squaremillimetre": "mm2", "squaremillimetres": "mm2",
    "squaremillimeter": "mm2", "squaremillimeters": "mm2", "gram": "g", "grams": "g", "kilogram": "kg", "kilograms": "kg", "kilos": "kg",
}
# Units that people know and the job file does not take: what is one of them, or near one, is not taken for another.
NOT_OF_A_JOB = (
    "hp bhp horsepower PS btu cal kcal Wh kWh mWh MWh Ah mAh var kvar Nm lb lbs oz pound pounds yd yard yards mile miles mil mils thou degF deg degree "
    "degrees fahrenheit rps r/s rev/s rad rad/s week weeks month months year years permille permil ppm kgf lbf dB dBm kcmil MCM sqin sqft in2 ft2 "
    "Ws VAs As Vs siemens mho Pa bar psi lux lumen lm Vpp Vpk App mg tonne ton bit byte"
).split()
SHORT = 6                    # letters, from which on a word may have two slips


class Name(NamedTuple):
    """A word for a unit: its size, and the spelling that is proposed for it, "" when there is none to propose."""

    unit: Unit | None
    proposal: str
    letter: str = ""         # the prefix that is a single letter before a word


def meant(written: str, base: str) -> tuple[str, ...]:
    """Return the spelling of the unit of the kind `base` that a person meant; two where only the case of a letter parts them, none when nobody can tell."""
    word = re.sub(r"(?<=[A-Za-z])[ .-]+(?=[A-Za-z]|$)", "", written)
    if word in _names():
        return _agreed([_names()[word]], base)
    folded = word.casefold()
    if same := _by(str.casefold).get(folded):
        return _agreed(same, base) or _either(same, base)
    near = _near(folded)
    if doubled := _by(_single).get(_single(word)):
        return _agreed([*doubled, *(name for how_far, _, name in near if how_far <= 1)], base)
    return _agreed([name for *_, name in near], base)


def _near(word: str) -> list[tuple[int, int, Name]]:
    """Return (slips, shortness, name) of the names that are near a word in small letters, the nearest and longest first."""
    if len(word) < 2:
        return []
    most, found, letters, signs = (1 if len(word) < SHORT else 2), [], set(word), _signs(word)
    for known, names in _by(str.casefold).items():
        if abs(len(known) - len(word)) <= most and len(letters.symmetric_difference(known)) <= 2 * most and _signs(known) == signs:
            how_far = slips(word, known)
            if how_far <= most:
                found += [(how_far, -len(known), name) for name in names if not name.letter or name.letter[0].casefold() == word[0]]
    return sorted(found, key=lambda one: one[:2])


def slips(one: str, other: str) -> int:
    """Return how many letters are left out, added, replaced, or swapped with their neighbour between two words (optimal string alignment)."""
    above: list[int] = []
    row = list(range(len(other) + 1))
    for i, first in enumerate(one, 1):
        before, above, row = above, row, [i]
        for j, second in enumerate(other, 1):
            row.append(min(above[j] + 1, row[-1] + 1, above[j - 1] + (first != second)))
            if i > 1 and j > 1 and first == other[j - 2] and one[i - 2] == second:
                row[j] = min(row[j], before[j - 2] + 1)
    return row[-1]


def _agreed(some: list[Name], base: str) -> tuple[str, ...]:
    """Return the proposal of names that all have one size of the kind `base`; nothing otherwise."""
    units = {name.unit for name in some}
    unit = next(iter(units), None)
    return (some[0].proposal,) if len(units) == 1 and unit is not None and unit.base == base and some[0].proposal else ()


def _either(some: list[Name], base: str) -> tuple[str, ...]:
    """Return the proposals of two sizes that only the case of a letter parts."""
    found = tuple(dict.fromkeys(name.proposal for name in some))
    return found if all(found) and all(name.unit is not None and name.unit.base == base for name in some) else ()


def _single(word: str) -> str:
    """Return a word in small letters, each of a row of the same ones told once."""
    return re.sub(r"(.)\1+", r"\1", word.casefold())


def _signs(word: str) -> str:
    return re.sub("[A-Za-z]", "", word)


@cache
def _by(how: Callable[[str], str]) -> dict[str, list[Name]]:
    """Return the names of units by their words written in another way."""
    found: dict[str, list[Name]] = {}
    for known, name in _names().items():
        found.setdefault(how(known), []).append(name)
    return found


@cache
def _names() -> dict[str, Name]:
    """Return every word that means a unit, with its size."""
    found = {name: Name(None, "") for name in NOT_OF_A_JOB}
    for base, words in WORDS.items():
        symbol = words[0]
        if "k" + symbol not in SPELLINGS and "m" + symbol not in SPELLINGS:
            words = words[:1]                            # nobody spells out a prefix with it, but "kK" is not K
        for spelt, (letter, exponent) in PREFIX_WORDS.items():
            unit, proposal = Unit(base, exponent), letter + symbol if letter + symbol in SPELLINGS else ""
            for word in words:
                found[spelt + word] = Name(unit, proposal)
                if word[0] == "o":                   # megohm, kilohm
                    found[spelt[:-1] + word] = Name(unit, proposal)
                found[letter + word] = Name(unit, proposal, letter)
    found |= {name: Name(SPELLINGS[proposal], proposal) for name, proposal in ALIASES.items()}
    return found | {name: Name(unit, name) for name, unit in SPELLINGS.items()}
