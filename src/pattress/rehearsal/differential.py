"""The differential run: the same day under MicroPython, every event fed again, every answer compared.

The board runs the same source under another interpreter. Here that interpreter gets the events of a
rehearsed day; each answer and the checksum of the whole state must agree.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pattress.controller.digest import CORE, canonical
from pattress.interpreter import ask
from pattress.rehearsal.day import Day, clock


@dataclass(frozen=True, slots=True)
class Difference:
    """The first event that the two interpreters answer differently."""

    title: str
    number: int
    at: int
    question: str
    here: str
    there: str

    def __str__(self) -> str:
        return (f"{self.title}, event {self.number} at {clock(self.at)}: {self.question}\n"
                f"  CPython answers      {self.here}\n"
                f"  MicroPython answers  {self.there}")


def difference(table: Mapping[str, Any], day: Day, *, core_folder: Path = CORE) -> Difference | None:
    """Return the first difference between a day and the same events under MicroPython; None if all agree.

    `core_folder` is the folder `core` with the program's source that MicroPython runs. Raises
    InterpreterError when the interpreter stops.
    """
    entries = tuple(day.fed())
    questions = [entry.question() for entry in entries]
    answers = ask(questions, folder=core_folder.parent, table=canonical(table).decode())
    for number, (entry, question) in enumerate(zip(entries, questions, strict=True), start=1):
        there = answers[number - 1] if number <= len(answers) else "nothing"
        if entry.answer() != there:
            return Difference(day.title, number, entry.at, question, entry.answer(), there)
    return None
