"""What is stepped through on the page: a story of the proof, or a rehearsed day, at one of its events."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from pattress.web.sheet import NoSuchSheet

AROUND = 12                   # events told before and after the one that is shown


@dataclass(frozen=True, slots=True)
class Event:
    """One event as a line to go to."""

    number: int
    address: str
    words: str
    outcome: str
    found: tuple[str, ...]        # what is wrong then
    current: bool


@dataclass(frozen=True, slots=True)
class Stepped:
    """A sequence of events at one of them; `title` heads it, `sentence` says what it is about."""

    title: str
    sentence: str
    id: str                       # of the property, "" where there is none
    stale: bool
    caption: str                  # under the drawing
    svg: str
    standing: tuple[str, ...]
    events: tuple[Event, ...]
    ways: tuple[tuple[str, str, str], ...]      # address, words and the relation it has to this one
    found: tuple[str, ...]        # what is wrong now


def event_asked(step: str | None, last: int, *, otherwise: int) -> int:
    """Return the number of the event in an address, `otherwise` when none is named; raises NoSuchSheet."""
    text = str(otherwise) if step is None else step
    if not (text.isascii() and text.isdecimal() and len(text) < 6 and 1 <= int(text) <= last):
        raise NoSuchSheet(f"There are steps 1 to {last}.")
    return int(text)


def events_around(address: str, at: int, told: Sequence[tuple[str, str, tuple[str, ...]]]) -> tuple[Event, ...]:
    """Return the events around number `at`, of all that are told as words, outcome and what is wrong."""
    first, last = max(at - AROUND, 1), min(at + AROUND, len(told))
    return tuple(Event(number, f"{address}/{number}", *told[number - 1], number == at) for number in range(first, last + 1))


def ways_on(address: str, at: int, last: int, is_wrong: Callable[[int], bool]) -> tuple[tuple[str, str, str], ...]:
    """Return where one can go from event `at`: a step back or on, the next event at which something is wrong, an end."""
    after = next((number for number in (*range(at + 1, last + 1), *range(1, at)) if is_wrong(number)), None)
    ways = [("One step back", "prev", at - 1), ("One step on", "next", at + 1), ("Next problem", "", after),
            ("First step", "", 1 if at - AROUND > 1 else None), ("Last step", "", last if at + AROUND < last else None)]
    return tuple((f"{address}/{number}", words, relation) for words, relation, number in ways if number is not None and 1 <= number <= last)
