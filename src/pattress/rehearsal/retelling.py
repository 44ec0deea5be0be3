"""A story of the proof lived again: its very events, under both interpreters, and judged once more.

A story is kept in a file with the plan it was told of, so that it stays true when the job changes.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pattress.controller import core
from pattress.controller.digest import CORE, canonical, digest
from pattress.controller.replay import answers, begin_line, set_line, step_line
from pattress.errors import UseError
from pattress.incoming import FileRefusal, json_of, text_of
from pattress.interpreter import InterpreterError, ask
from pattress.job.wish import Wish, parse_wish
from pattress.proof import Story, retry, story_of
from pattress.visible import shown

FORMAT = 1
LARGEST = 4 * 1024 * 1024       # bytes of a story's file: with it goes the plan it was told of
LONGEST_WORDS, COUNTED = 10_000, 1 << 30      # characters of a text; the largest number a board counts without a heap
STORY_FILE = "a story's file; `pattress prove JOB --export FOLDER` writes one"
STOPS = "the program stops"
KINDS = ("channels", "switches", "regulators", "buttons")


@dataclass(frozen=True, slots=True)
class Told:
    """A story with all that it takes to live it again: the plan's table, the owner's wishes, whether there is a network."""

    story: Story
    table: Mapping[str, Any]
    wishes: Mapping[str, Wish] = field(default_factory=dict)
    has_network: bool = True

    @property
    def sentence(self) -> str:
        """Return what must hold along the story; of a wish, as the owner says it now."""
        wish = self.wishes.get(self.story.property_id.removeprefix("wish."))
        return wish.says if wish else self.story.sentence

    def text(self) -> str:
        """Return it as the JSON of a file that `read_story` reads."""
        return json.dumps({
            "format": FORMAT, "program_and_plan": digest(self.table), "story": self.story.to_json(), "plan": self.table,
            "wishes": {name: wish.says for name, wish in self.wishes.items()}, "has_network": self.has_network,
        }, indent=1) + "\n"

    def under(self, other: "Told") -> "Told":
        """Return the same story under another job's plan. Raises UseError when that plan has other things."""
        for kind in KINDS:
            here, there = ([row["key"] for row in table[kind]] for table in (self.table, other.table))
            if here != there:
                raise UseError(f"the story was told of another plan\n  its {kind}: {', '.join(here) or 'none'}\n"
                               f"  those of this job: {', '.join(there) or 'none'}")
        return Told(self.story, other.table, other.wishes, other.has_network)


@dataclass(frozen=True, slots=True)
class Retelling:
    """What came of a story lived again.

    `relays` are those closed after each step. `failure` says how it still breaks its property, ""
    when it does no more; `difference` where the interpreters answered differently, "" when alike.
    """

    relays: tuple[int, ...]
    failure: str
    difference: str

    @property
    def holds(self) -> bool:
        """Return whether the property holds along the story and both interpreters agree."""
        return not self.failure and not self.difference


def read_story(file: Path) -> Told:
    """Read a story's file. Raises UseError when it is none."""
    try:
        found = json_of(text_of(file, STORY_FILE, LARGEST))
        if found["format"] != FORMAT:
            raise ValueError(f"its format is {found['format']!r}, not {FORMAT}")
        wishes = {name: parse_wish(says) for name, says in found["wishes"].items()}
        core.Plan(found["plan"])
        story = story_of(found["story"])
        keys = [row["key"] for kind in KINDS for row in found["plan"][kind]]
        if not isinstance(found["has_network"], bool) or not _is_plain(story) or not all(isinstance(key, str) for key in keys):
            raise ValueError("it holds what no step and no move is made of")
        return Told(story, found["plan"], wishes, found["has_network"])
    except FileRefusal as refusal:
        raise UseError(refusal.at(file)) from None
    except (KeyError, TypeError, ValueError, AttributeError, IndexError, OverflowError) as error:
        raise UseError(f"{file} is no story that `pattress prove JOB --export FOLDER` wrote: {error}") from error


def retell(told: Told, *, core_folder: Path = CORE) -> Retelling:
    """Live a story again under both interpreters and judge it.

    `core_folder` is the folder `core` that MicroPython runs. Raises UseError when the story's
    part or wish is not in the job.
    """
    questions, ends = _questions(told.story)
    here = _here(told.table, questions)
    there = _there(told.table, questions, core_folder)
    difference = next((f"question {number}: {question}\n  CPython answers      {one}\n  MicroPython answers  {other}"
                       for number, (question, one, other) in enumerate(zip(questions, here, there), start=1) if one != other), "")
    try:
        failure = retry(told.table, told.story, wishes=told.wishes, has_network=told.has_network)
    except ValueError as error:
        raise UseError(str(error)) from error
    except (IndexError, KeyError, TypeError, AttributeError, OverflowError) as error:
        raise UseError(f"the story cannot be lived again under this plan: no move of it is {error}") from error
    relays = tuple(int(here[end].split()[2]) for end in ends if end < len(here) and here[end] != STOPS)
    return Retelling(relays, f"{failure.id}: {failure.detail}" if failure else "", difference)


def _questions(story: Story) -> tuple[list[str], list[int]]:
    """Return the questions that a story puts to the program, and the place of the last one of each step."""
    questions, ends = [], []
    for step in story.steps:
        if step.begin:
            questions.append(begin_line(*step.begin))
        if step.sets:
            questions.append(set_line(step.sets))
        questions.append("tell" if step.tells else step_line(step.row, False, False))
        ends.append(len(questions) - 1)
    return questions, ends


def _here(table: Mapping[str, Any], questions: list[str]) -> list[str]:
    found: list[str] = []
    try:
        for answer in answers(core, core.Plan(table), questions):
            found.append(answer)
    except Exception:       # a broken program may do anything; that it stops is an answer, too
        found.append(STOPS)
    return found + [STOPS] * (len(questions) - len(found))


def _there(table: Mapping[str, Any], questions: list[str], core_folder: Path) -> list[str]:
    """Return MicroPython's answers; where it stops, those up to there."""
    found: list[str] = []
    answered, stops = 0, len(questions) + 1           # so many questions are answered; so many stop it
    count = len(questions)
    while answered < count < stops:
        try:
            found = list(ask(questions[:count], folder=core_folder.parent, table=canonical(table).decode()))
            answered = count
        except InterpreterError:
            stops = count
        count = (answered + stops) // 2
    return found + [STOPS] * (len(questions) - len(found))


def _is_plain(story: Story) -> bool:
    """Return whether the fields of a story are what its types say: printable texts, truths, and whole numbers that a board can count."""
    return (_are_words(story.property_id, story.sentence, story.part, story.found)
            and all(_are_words(step.words, step.outcome) and _are_numbers(step.row, step.sets, step.relays) and isinstance(step.tells, bool) for step in story.steps)
            and all(_are_words(move.words, move.mover) and _are_numbers(move.kind, move.row, move.poke, move.expire, move.asks) and isinstance(move.known, bool)
                    for move in story.moves))


def _are_words(*found: Any) -> bool:
    return all(isinstance(one, str) and len(one) <= LONGEST_WORDS and shown(one) == one for one in found)


def _are_numbers(*found: Any) -> bool:
    return all(_are_numbers(*one) if isinstance(one, tuple) else isinstance(one, int) and abs(one) <= COUNTED for one in found)
