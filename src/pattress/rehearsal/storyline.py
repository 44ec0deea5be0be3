"""A story drawn: one row for each step, one lane for each channel whose relays move, as text and as a picture.

Steps stand at equal distance: the proof lets waits run out in any order, so a story has an
order of events, not a clock.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from textwrap import wrap
from typing import Any

from pattress.controller.core import Plan
from pattress.drawing import Box, Picture, Piece
from pattress.drawing.lettering import LEADING, SANS
from pattress.drawing.look import HEAD, INK, LEADER, LIGHT, PAPER, RULE, TEXT, TICK
from pattress.drawing.pieces import line, paragraph, rectangle, text
from pattress.proof import Story
from pattress.rehearsal.day import Names
from pattress.rehearsal.monitor import level_of

WIDTH = 80                  # of the text, in letters
LEFT, RIGHT, WIDE = 10.0, 410.0, 420.0      # of the picture: what is drawn lies between
NUMBER = 30                 # room for the number of a step
LANE = 20                   # width of a lane in the picture
LINE = LEADING * TEXT
KEY = "A filled lane is on, a number in it the step of a fan; ! is a pattern the channel does not have. Steps have an order, not a duration."
MOST_LANES = 12             # drawn; a story about more shows the first
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
FORBIDDEN = "!"             # relays closed that are none of the channel's levels


@dataclass(frozen=True, slots=True)
class Lane:
    """A channel in a story: its letter, its name, and after each step its level, None for a forbidden pattern."""

    letter: str
    name: str
    levels: tuple[int | None, ...]


def lanes(story: Story, table: Mapping[str, Any], names: Names | None = None) -> tuple[Lane, ...]:
    """Return the channels that are on, or wrong, at some step of a story, at most as many as can be drawn.

    A channel that changes between two steps without being told of is not part of the story: the
    exploration puts what it does not look at into any state.
    """
    plan, names = Plan(table), names or Names.of(table)
    found = []
    for channel in range(plan.channels):
        levels = tuple(level_of(plan, channel, step.relays) for step in story.steps)
        told = all(before == after or names.channels[channel] in step.outcome
                   for before, after, step in zip(levels, levels[1:], story.steps[1:]))
        if told and any(level != 0 for level in levels):
            found.append((names.channels[channel], levels))
    return tuple(Lane(LETTERS[place], *one) for place, one in enumerate(found[:MOST_LANES]))


def storyline(story: Story, table: Mapping[str, Any], names: Names | None = None) -> str:
    """Return a story as text: a column for each lane, then what happens."""
    drawn = lanes(story, table, names)
    indent = " " * (6 + 2 * len(drawn))
    rows = wrap(f"Broken: {story.sentence} [{story.property_id}]", WIDTH)
    rows += [f"  {lane.letter}  {lane.name}" for lane in drawn]
    if drawn:
        rows += ["     " + " ".join(lane.letter for lane in drawn)]
    for number, step in enumerate(story.steps):
        marks = " ".join(_mark(lane.levels[number]) for lane in drawn)
        words = f"{step.words} -> {step.outcome}" if step.outcome else step.words
        rows += wrap(words, WIDTH, initial_indent=f"{number + 1:>3}. {marks}{'  ' if marks else ''}".ljust(len(indent)), subsequent_indent=indent)
    return "\n".join([*rows, *wrap(f"Found: {story.found}", WIDTH, subsequent_indent=" " * 7)])


def story_picture(story: Story, table: Mapping[str, Any], names: Names | None = None) -> Picture:
    """Return a story as a picture for a telephone and for paper."""
    drawn = lanes(story, table, names)
    title = f"How it breaks: {story.property_id}"
    words_at = LEFT + NUMBER + LANE * len(drawn) + 8
    parts, y = paragraph(LEFT, 22, title, RIGHT - LEFT, size=HEAD, bold=True)
    for words in (story.sentence, *(f"{lane.letter}  {lane.name}" for lane in drawn)):
        rows, y = paragraph(LEFT, y, words, RIGHT - LEFT)
        parts, y = parts + rows, y + 3
    y += 4
    for place, lane in enumerate(drawn):
        parts.append(text(_lane_x(place), y, lane.letter, anchor="middle", bold=True))
    y += 6
    for number, step in enumerate(story.steps):
        told = [row for words in (step.words, f"→ {step.outcome}" if step.outcome else "") for row in SANS.wrapped(words, RIGHT - words_at, TEXT)]
        height = LINE * len(told) + 10
        parts += [line(((LEFT, y), (RIGHT, y)), stroke=RULE, weight=LEADER), text(LEFT, y + LINE, f"{number + 1}.")]
        for place, lane in enumerate(drawn):
            parts += _cell(_lane_x(place), y, height, lane.levels[number])
        parts += [text(words_at, y + LINE * (row + 1), words) for row, words in enumerate(told)]
        y += height
    parts.append(line(((LEFT, y), (RIGHT, y)), weight=TICK))
    for words in (f"Found: {story.found}", KEY):
        rows, y = paragraph(LEFT, y + LINE + 3, words, RIGHT - LEFT)
        parts, y = parts + rows, y - LINE + 3
    steps = (f"{number}. {step.words}{f', then {step.outcome}' if step.outcome else ''}" for number, step in enumerate(story.steps, 1))
    return Picture(title, "; ".join((story.sentence, *steps, f"found: {story.found}")), Box(0, 0, WIDE, y + 8), tuple(parts))


def _mark(level: int | None) -> str:
    return FORBIDDEN if level is None else "." if not level else str(level) if level < 10 else "#"


def _lane_x(place: int) -> float:
    return LEFT + NUMBER + LANE * place + LANE / 2


def _cell(x: float, y: float, height: float, level: int | None) -> Sequence[Piece]:
    if level == 0:
        return (line(((x, y), (x, y + height)), weight=LEADER),)
    lane = Box(x - LANE / 2 + 2, y, x + LANE / 2 - 2, y + height)
    return rectangle(lane, fill=LIGHT if level else PAPER, stroke=INK, weight=LEADER), text(x, y + height / 2 + 5, _mark(level), anchor="middle", bold=True)
