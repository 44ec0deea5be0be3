"""How alike two names sound: the cheapest way to turn the sounds of one into those of the other.

Replacing a sound costs less the more often listeners take it for the other (R. N. Shepard's
symmetric likeness (p12 + p21) / (p11 + p22) of a confusion table, from memory of his work of 1972);
leaving one out or adding one costs a fixed share. The sum is divided by the number of sounds of the
longer name, so one sound that differs weighs less in a long name; a name of fewer than three sounds
counts as three, for "way" and "may" differ in one sound only.

The two limits were set beside the word lists in the tests: `CLOSE` takes 7 in 10 of the pairs that
listeners did take for one another and under 1 in 100 of other pairs of the same words, `NEAR` most
and under 1 in 25. They are ours, no standard's, and no voice assistant was asked.
"""

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

from pattress.spoken.sounds import Said, Sounds

CLOSE = 0.35           # apart at most this far, two names are likely to be taken for one another
NEAR = 0.45            # apart at most this far, they may be, in a noisy room
SHORTEST = 3           # sounds that a name counts as, at least
SAME_CLASS = 0.4       # the cost of two sounds that the tables do not tell apart
LEFT_OUT = 0.8         # the cost of a sound too many or too few
WEAK_LEFT_OUT = 0.5    # of one that is easily lost
WEAK = ("HH", "AH", "T", "D", "Z", "L", "N")


def apart(one: Said, other: Said) -> float:
    """Return how far two names are apart: 0 for the same sounds, about 1 for nothing in common; the nearest ways of saying them count."""
    return min(distance(first, second) for first in one.ways for second in other.ways)


def distance(one: Sounds, other: Sounds) -> float:
    """Return how far two rows of sounds are apart, 0 to 1."""
    if not one or not other:
        return 0.0 if one == other else 1.0
    row = [0.0]
    for sound in other:
        row.append(row[-1] + _left_out(sound))
    for first in one:
        above, row = row, [row[0] + _left_out(first)]
        for place, second in enumerate(other):
            row.append(min(above[place] + replaced(first, second), above[place + 1] + _left_out(first), row[-1] + _left_out(second)))
    return min(1.0, row[-1] / max(len(one), len(other), SHORTEST))


@cache
def replaced(one: str, other: str) -> float:
    """Return the cost of hearing one sound for another, 0 to 1; a vowel for a consonant costs 1."""
    if one == other:
        return 0.0
    first, second = _taken_as(one), _taken_as(other)
    return SAME_CLASS if first == second else 1.0 - min(1.0, _likeness().get((first, second), 0.0))


def _left_out(sound: str) -> float:
    return WEAK_LEFT_OUT if sound in WEAK else LEFT_OUT


def _taken_as(sound: str) -> str:
    return str(_tables()["taken_as"].get(sound, sound))


@cache
def _tables() -> dict[str, Any]:
    return tomllib.loads(files(__package__).joinpath("confusions.toml").read_text("utf-8"))


@cache
def _likeness() -> dict[tuple[str, str], float]:
    found = {}
    for name in ("vowels", "consonants"):
        table = _tables()[name]
        sounds, shares = table["sounds"], [[count / sum(row) for count in row] for row in table["counts"]]
        for i, one in enumerate(sounds):
            for j, other in enumerate(sounds):
                found[one, other] = (shares[i][j] + shares[j][i]) / (shares[i][i] + shares[j][j])
    return found
