"""docs/messages.md explains messages that are really printed, and the lamp as it really blinks."""

import re
from pathlib import Path

import pytest

from pattress.controller.drivers.pins import PATTERNS

ROOT = Path(__file__).parents[1]
DOCUMENT = (ROOT / "docs" / "messages.md").read_text("utf-8")
SOURCE = "\n".join(file.read_text("utf-8") for file in sorted((ROOT / "src").rglob("*.py")))
LAMP = ("starting", "running", "running, network not reached", "minimal program after crashes", "new program on trial",
        "sensor, flash or wiring needs a look")          # in the order of `PATTERNS`
VERDICTS = ("holds", "tight", "unknown", "fails")
MESSAGES = [text for text in re.findall(r"^\| `([^`]+)` \|", DOCUMENT, re.MULTILINE) if text not in VERDICTS]


def pieces(message: str) -> list[str]:
    """Return the words of a message between what differs."""
    return [piece.strip() for piece in re.split(r"\b[A-Z]+\b", message) if len(piece.strip()) > 3]


def test_there_are_messages():
    assert len(MESSAGES) > 20 and all(map(pieces, MESSAGES))


@pytest.mark.parametrize("message", MESSAGES)
def test_message_is_one_of_ours(message):
    assert [piece for piece in pieces(message) if piece not in SOURCE] == []


def test_the_lamp_blinks_as_told():
    """Each pattern's words are told, with as many blinks as it has, and the time it takes."""
    told = {means.split(":")[0]: shows for shows, means in re.findall(r"^\| ([^|`]+) \| ([^|]+) \|$", DOCUMENT, re.MULTILINE)}
    counts = {"a": 1, "two": 2, "three": 3}
    for words, lengths in zip(LAMP, PATTERNS, strict=True):
        shows = told[words]
        if shows.split()[0] in counts:
            assert (counts[shows.split()[0]], sum(lengths), set(lengths[::2])) == (len(lengths) // 2, 30, {1})
        else:
            assert {"lit": (10, 0), "half a second lit, half a second dark": (5, 5), "lit with a short dark every second": (9, 1)}[shows] == tuple(lengths)
