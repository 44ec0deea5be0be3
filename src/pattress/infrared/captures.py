"""Reading captures from text: the board's, lists of durations, and what the kernel's tools print.

Forms, told apart line by line and freely mixed in one file:

* durations in a row, `9000 4500 562 ...` or `9000, 4500, ...`, mark first; a line is a capture of its own;
* signed durations, `+9000 -4500 ...`, as `ir-ctl --receive` prints them and the board's capture does;
* one state per line, `pulse 9000`, `space 4500`, as `mode2` and `irsimsend` print; also `timeout N`, `carrier N`.

Text after `#` or `//` is a comment. A silence of `PRESS_GAP` or more parts presses, and so does a time-out, unless it
is shorter than any silence after a frame or the space behind it says that the key was held.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from pattress.controller.infrared.timings import GAP
from pattress.errors import PattressError
from pattress.incoming import FileRefusal, text_of
from pattress.refusal import advice, as_found, nearest

PRESS_GAP = 250_000          # silence between two presses [us]: the kernel's key-up time
HELD_GAP = 120_000           # a held key is silent for less between its frames [us]: longest is NEC's, 108 ms less a mark of 12
LONGEST = 10_000_000         # of one duration [us]
MOST = 1_000_000             # durations in one text
LARGEST = 16 * 1024 * 1024   # bytes of it
_STATES = {"pulse": 1, "space": -1, "timeout": -1, "gap": -1}
_HEADINGS = ("using ", "trying ", "warning: ", "running as ")     # what mode2 says before it begins
_FORMS = "durations in us (9000 4500 562 ... or +9000 -4500 ...), or lines 'pulse 9000' and 'space 4500'"


class CaptureError(PattressError):
    """A text holds no captures. Usual cause: another kind of file, or a line cut off in copying."""

    def __init__(self, where: str | Path, found: str, allowed: str, nearest: str = "") -> None:
        super().__init__(f"{where}: found {found}{advice(allowed, nearest)}")


@dataclass(frozen=True)
class Capture:
    """One press as received: durations [us] from a mark, and the line it began on (0: not from a text)."""

    durations: tuple[int, ...]
    line: int = 0


def read_captures(path: Path) -> tuple[Capture, ...]:
    """Return the `Capture`s in a text file. Raises CaptureError with file and line."""
    try:
        text = text_of(path, "a file of captures", LARGEST)
    except FileRefusal as refusal:
        raise CaptureError(path, f"no readable file ({refusal.found})", _FORMS) from None
    return parse_captures(text, where=str(path))


def parse_captures(text: str, *, where: str = "capture") -> tuple[Capture, ...]:
    """Return the `Capture`s in a text, one per press.

    Raises
    ------
    CaptureError
        A line is of no known form, a duration is out of range, or there is none; with `where` and the line.
    """
    captures: list[Capture] = []
    stream: list[tuple[int, bool, int]] = []
    total = 0
    for number, line in enumerate(text.split("\n"), start=1):
        line = re.split(r"#|//", line, maxsplit=1)[0].strip("[](){},; \t\r\f\v")
        if not line or line.lower().startswith(_HEADINGS):
            continue
        place = f"{where}:{number}"
        words = re.split(r"[\s,;]+", line)
        state = _state_line(words, place)
        if state is None:                              # a row is a capture of its own
            row = _row(words, place)
            total += len(row)
            captures += _presses(stream)
            captures += _presses([(value, False, number) for value in row])
            stream = []
        elif state:
            stream.append((state, words[0].lower() == "timeout" and -state >= GAP, number))
            total += 1
        if total > MOST:
            raise CaptureError(place, f"more than {MOST} durations", "a part of the capture")
    captures += _presses(stream)
    if not captures:
        raise CaptureError(where, "no capture", _FORMS)
    return tuple(captures)


def _state_line(words: Sequence[str], where: str) -> int | None:
    """The signed duration of a line such as `pulse 9000`; 0 for one that carries none; None if it is a row."""
    word = words[0].lower()
    if word == "carrier" and len(words) == 2:
        return 0
    if word in _STATES:
        if len(words) != 2:
            raise CaptureError(where, f"{len(words) - 1} numbers after {word!r}", f"one, as in '{word} 560'")
        return _STATES[word] * _duration(words[1], where)
    if word[:1].isalpha():
        raise CaptureError(where, as_found(word), _FORMS, nearest(word, (*_STATES, "carrier")))
    return None


def _row(words: Sequence[str], where: str) -> list[int]:
    """Signed durations of one row; unsigned ones are mark, space, mark, ..."""
    signed = any(word[:1] in ("+", "-") for word in words)
    values = []
    for place, word in enumerate(words):
        value = _duration(word.lstrip("+-") if signed else word, where)
        negative = word.startswith("-") if signed else place & 1
        values.append(-value if negative else value)
    return values


def _duration(word: str, where: str) -> int:
    if not re.fullmatch(r"[0-9]{1,9}", word) or int(word) > LONGEST:
        raise CaptureError(where, as_found(word), f"a duration of 0 to {LONGEST} us as a whole number")
    return int(word)


def _presses(stream: Sequence[tuple[int, bool, int]]) -> list[Capture]:
    """Return the presses in a stream of (signed duration, whether it is a time-out, line)."""
    found: list[Capture] = []
    press: list[int] = []
    begun = 0
    timed_out = is_told = False         # since the last mark; whether a space told the silence after it
    for value, is_timeout, line in stream:
        if not value or not press and value < 0:
            continue
        if value > 0:
            if timed_out and not (is_told and press[-1] < HELD_GAP):
                found.append(Capture(tuple(press), begun))
                press = []
            timed_out = is_told = False
            begun = begun if press else line
        elif is_timeout:
            timed_out = True
        else:
            is_told = timed_out
        if press and (value > 0) == (len(press) & 1 == 1):
            press[-1] += abs(value)
        else:
            press.append(abs(value))
        if not len(press) & 1 and press[-1] >= PRESS_GAP:
            found.append(Capture(tuple(press), begun))
            press, timed_out = [], False
    if press:
        found.append(Capture(tuple(press), begun))
    return found
