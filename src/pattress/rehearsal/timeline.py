"""The picture of a rehearsed day: what was on when, and who had asked for it.

The day is folded into quarters so that it reads on a phone and on paper. Shape says who
asked, filling says whether it had an effect, hatching what was missing; colour says nothing
that is not said otherwise too.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pattress.controller.core import Plan
from pattress.drawing import Box, Picture, Piece
from pattress.drawing.axes import Scale, time_axis
from pattress.drawing.lettering import LEADING, SANS
from pattress.drawing.look import HALO, HEAD, INK, LEADER, LIGHT, NO_NETWORK, NO_POWER, PAPER, TEXT, TICK
from pattress.drawing.pieces import group, line, paragraph, path, rectangle, text
from pattress.plural import counted
from pattress.rehearsal.day import HOUR, MINUTE, Day, Names, Span, UserAction, clock
from pattress.rehearsal.lines import CONTACT
from pattress.rehearsal.monitor import Stretch, stretches

WIDTH, LEFT, RIGHT = 420.0, 10.0, 410.0      # of the picture: what is drawn lies between
QUARTER = 6 * HOUR
LINE = LEADING * TEXT
BAR = 22                # height of a bar at the highest level
NAMED = 19              # room for a row's name
ROW = 52                # a name, its bar and the marks on the bar's foot
MARK = 5.2              # half the size of a mark
TOGETHER = 9            # marks of one kind nearer than this are drawn once, with their number
NUMBER = 30             # room that a mark with its number takes
FOLLOWS_MS = 1_000      # a channel that changes so soon after a user action changed because of it
NOBODYS = -1            # the row of what means nothing to this controller
HATCHES = {"network": NO_NETWORK, "power": NO_POWER}
COLUMN, ENTRY = 200.0, 22.0      # of the legend
KEY = "A number in a bar is the step of a fan; a thin line before it is its start kick. ×3: three at about this time."

SHAPES = {
    "switch": ("wall switch", "M0,-{s} L{s},{s} L-{s},{s} Z"),
    "regulator": ("regulator", "M0,-{d} L{d},0 L0,{d} L-{d},0 Z"),
    "remote": ("remote", "M-{s},0 A{s},{s} 0 1 1 {s},0 A{s},{s} 0 1 1 -{s},0 Z"),
    "network": ("network", "M-{q},-{q} H{q} V{q} H-{q} Z"),
    "other remote": ("another remote", "M-{q},-{q} L{q},{q} M-{q},{q} L{q},-{q}"),
    CONTACT: ("contact free again", "M0,-{d} V{d} M-{d},0 H{d}"),
}


@dataclass(frozen=True, slots=True)
class _Mark:
    x: float
    what: str
    is_effect: bool
    words: tuple[str, ...]


def timeline(day: Day, table: Mapping[str, Any], names: Names | None = None) -> Picture:
    """Return a day as a picture for a telephone and for paper. `table` is the plan it was rehearsed with."""
    names = names or Names.of(table)
    plan = Plan(table)
    lit = [stretches(plan, day.log, channel, day.length) for channel in range(plan.channels)]
    summary = _summary(day)
    parts, y = paragraph(LEFT, 22, day.title, RIGHT - LEFT, size=HEAD, bold=True)
    rows, y = paragraph(LEFT, y, summary, RIGHT - LEFT)
    parts, y = [*parts, *rows], y - LINE
    for start in range(0, day.length, QUARTER):
        drawn, y = _quarter(day, plan, names, lit, start, y)
        parts += drawn
    drawn, y = _legend(y + 8, any(user_action.what == CONTACT for user_action in day.user_actions))
    parts += drawn
    lasting = (f"{names.channels[channel]} {_lasting(within, 0, day.length)}" for channel, within in enumerate(lit) if within)
    return Picture(f"{day.title}: what was on when, and who had asked for it", "; ".join((summary, *lasting)), Box(0, 0, WIDTH, y), tuple(parts))


def _summary(day: Day) -> str:
    facts = day.facts
    slowest = f"slowest wall switch {facts.responses[-1]} ms" if facts.responses else "no wall switch moved a relay"
    problems = "no problem seen" if not day.problems else f"{counted(len(day.problems), 'problem')} seen"
    words = f"{counted(sum(facts.closings), 'relay closing')}, {counted(facts.saves, 'snapshot')}, {counted(facts.news, 'message')}; "
    return words + f"{slowest}; {problems}."


def _quarter(day: Day, plan: Plan, names: Names, lit: Sequence[Sequence[Stretch]], start: int, y: float) -> tuple[list[Piece], float]:
    """Draw six hours; return the parts and where the next may begin."""
    end = min(start + QUARTER, day.length)
    marks = _marks(day.user_actions, lit, start, end)
    spans = [span for span in day.spans if span.start < end and span.end > start]
    on = [channel for channel in range(plan.channels) if _within(lit[channel], start, end)]
    shown = sorted({*on, *marks} - {NOBODYS})
    hours = f"{start // HOUR:02d} to {end // HOUR:02d} h"
    parts = [line(((LEFT, y + 10), (RIGHT, y + 10)), weight=TICK)]
    if not shown and not marks and not spans:
        return [*parts, text(LEFT, y + 10 + LINE, f"{hours}: all off, nothing happens")], y + LINE + 12
    rows = [*shown, *([NOBODYS] if NOBODYS in marks else [])]
    top, foot = y + 31, y + 33 + sum(_height(row) for row in rows)
    parts += time_axis(_scale(start), y + 26, ((hour, f"{hour // HOUR:02d}") for hour in range(start, end + 1, HOUR)), size=TEXT, above=top - y - 26, below=foot - y - 26)
    parts += [_band(span, start, end, top, foot) for span in spans]
    at = top + 2
    for channel in rows:
        name = "Means nothing here" if channel == NOBODYS else names.channels[channel]
        within = [] if channel == NOBODYS else _within(lit[channel], start, end)
        lasting = f"on {_lasting(within, start, end)}" if within else ""
        room = RIGHT - LEFT - (SANS.width(lasting, TEXT) + 8 if lasting else 0)
        parts.append(text(LEFT, at + 14, SANS.shortened(name, room, TEXT), halo=True))
        if lasting:
            parts.append(text(RIGHT, at + 14, lasting, anchor="end", halo=True))
        if channel != NOBODYS:
            parts.append(line(((LEFT, at + NAMED + BAR), (RIGHT, at + NAMED + BAR)), weight=LEADER))
            parts += _bars(within, plan.top(channel), start, end, at + NAMED)
        row = marks.get(channel, [])
        parts += [_drawn(mark, at + _height(channel) - 9, [other.x for other in row]) for mark in row]
        at += _height(channel)
    off = [names.channels[channel] for channel in range(plan.channels) if channel not in shown]
    rows_below, below = paragraph(LEFT, foot + LINE - 2, f"All the time off: {', '.join(off)}" if off else "", RIGHT - LEFT)
    return [*parts, *rows_below], below - LINE + 4


def _marks(user_actions: Iterable[UserAction], lit: Sequence[Sequence[Stretch]], start: int, end: int) -> dict[int, list[_Mark]]:
    """Return the marks of each channel's row; those that follow closely upon each other are one."""
    marks: dict[int, list[_Mark]] = {}
    for user_action in user_actions:
        if not start <= user_action.at < end:
            continue
        moved = [channel for channel in user_action.channels if _changes(lit[channel], user_action.at)]
        rows = (moved if user_action.outcome.is_effect else ()) or user_action.channels[:1] or (NOBODYS,)
        words = f"{clock(user_action.at)[:8]} {user_action.name}: {user_action.outcome}"
        if user_action.response is not None:
            words += f" after {user_action.response} ms"
        for row in rows:
            mark = _Mark(_x(user_action.at, start), user_action.what, user_action.outcome.is_effect, (words,))
            row_marks = marks.setdefault(row, [])
            reach = NUMBER if row == NOBODYS else TOGETHER
            near = next((place for place, one in enumerate(row_marks) if mark.x - one.x < reach
                         and (one.what, one.is_effect) == (mark.what, mark.is_effect)), None)
            if near is None:
                row_marks.append(mark)
            else:
                first = row_marks[near]
                row_marks[near] = _Mark(first.x, first.what, first.is_effect, (*first.words, words))
    return marks


def _drawn(mark: _Mark, y: float, others: Iterable[float] = ()) -> Piece:
    """Return a mark: full when it had an effect, hollow when not.

    When it is several, their number stands beside it, if no other mark of the row is there.
    """
    shape = SHAPES[mark.what][1].format(s=MARK, d=MARK * 1.25, q=MARK * 0.85)
    has_room = not any(mark.x < other < mark.x + NUMBER for other in others) and mark.x + NUMBER < WIDTH
    several = [text(MARK + 2, 9, f"×{len(mark.words)}", halo=True)] if len(mark.words) > 1 and has_room else []
    return group((path(shape, stroke=PAPER, weight=HALO), path(shape, fill=INK if mark.is_effect else PAPER, stroke=INK, weight=TICK), *several),
                 at=(mark.x, y), title="; ".join(mark.words))


def _bars(within: Iterable[Stretch], top: int, start: int, end: int, y: float) -> Iterable[Piece]:
    for one in within:
        left, right = _x(max(one.start, start), start), _x(min(one.end, end), start)
        wide, high = max(right - left, 1.0), BAR * (1.0 if top == 1 else 0.5 + 0.5 * (one.level - 1) / (top - 1))
        yield rectangle(Box(left, y + BAR - high, left + wide, y + BAR), fill=LIGHT, stroke=INK, weight=LEADER)
        if top > 1 and wide > 24:
            yield text(left + wide / 2, y + BAR - 1.5, str(one.level), anchor="middle", bold=True)


def _lasting(within: Sequence[Stretch], start: int, end: int) -> str:
    """Return how long something was on, in words."""
    minutes = sum(min(one.end, end) - max(one.start, start) for one in within) / MINUTE
    return f"{minutes / 60:.1f} h" if minutes >= 60 else f"{minutes:.0f} min" if minutes >= 1 else "< 1 min"


def _band(span: Span, start: int, end: int, top: float, foot: float) -> Piece:
    left, right = _x(max(span.start, start), start), _x(min(span.end, end), start)
    left = min(left, RIGHT - 3.0)
    return rectangle(Box(left, top, max(right, left + 3.0), foot), fill=HATCHES[span.what],
                     title=f"no {span.what} from {clock(span.start)[:8]} to {clock(span.end)[:8]}")


def _legend(y: float, with_contacts: bool) -> tuple[list[Piece], float]:
    parts = [line(((LEFT, y), (RIGHT, y)), weight=TICK)]
    entries = [(_drawn(_Mark(0, what, True, (words,)), 0), words) for what, (words, _) in SHAPES.items() if what != CONTACT or with_contacts]
    entries.append((_drawn(_Mark(0, "switch", False, ("no effect",)), 0), "hollow: no effect"))
    entries += [(rectangle(Box(-7, -7, 7, 7), fill=hatch, stroke=INK, weight=LEADER), f"no {what}") for what, hatch in HATCHES.items()]
    for place, (drawn, words) in enumerate(entries):
        parts.append(group((drawn, text(14, 5, words)), at=(LEFT + 8 + place % 2 * COLUMN, y + 18 + place // 2 * ENTRY)))
    rows, y = paragraph(LEFT, y + 18 + (len(entries) - 1) // 2 * ENTRY + 8 + LINE, KEY, RIGHT - LEFT)
    return [*parts, *rows], y - LINE + 10


def _height(row: int) -> int:
    return ROW if row != NOBODYS else ROW - BAR + 6


def _within(lit: Sequence[Stretch], start: int, end: int) -> list[Stretch]:
    return [one for one in lit if one.start < end and one.end > start]


def _changes(lit: Sequence[Stretch], at: int) -> bool:
    """Return whether a channel changed at once after a moment."""
    return any(at <= moment <= at + FOLLOWS_MS for one in lit for moment in (one.start, one.end))


def _scale(start: int) -> Scale:
    """Return the scale of the six hours from a moment."""
    return Scale(start, start + QUARTER, LEFT, RIGHT)


def _x(at: int, start: int) -> float:
    return _scale(start)(at)
