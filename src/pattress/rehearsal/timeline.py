"""The picture of a rehearsed day: what was on when, and who had asked for it.

The day is folded into quarters so that it reads on a phone and on paper. Shape says who
asked, filling says whether it had an effect, hatching what was missing; colour says nothing
that is not said otherwise too.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

from pattress.controller.core import Plan
from pattress.plural import counted
from pattress.rehearsal.day import HOUR, MINUTE, Day, UserAction, Names, Span, clock
from pattress.rehearsal.lines import CONTACT
from pattress.rehearsal.drawing import FAINT, INK, LEFT, LIT, PAPER, RIGHT, WIDTH, line, paragraph, picture, text
from pattress.rehearsal.monitor import Stretch, stretches

QUARTER = 6 * HOUR
BAR = 22                # height of a bar at the highest level
ROW = 48                # a name, its bar and the marks on the bar's foot
MARK = 5.2              # half the size of a mark
TOGETHER = 9            # marks of one kind nearer than this are drawn once, with their number
NUMBER = 26             # room that a mark with its number takes
FOLLOWS_MS = 1_000      # a channel that changes so soon after a user action changed because of it
NOBODYS = -1            # the row of what means nothing to this controller

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


def timeline(day: Day, table: Mapping[str, Any], names: Names | None = None) -> str:
    """Return a day as an SVG picture that needs nothing beside it.

    `table` is the plan it was rehearsed with. Text is at least 12 of the 420 units across.
    """
    names = names or Names.of(table)
    plan = Plan(table)
    lit = [stretches(plan, day.log, channel, day.length) for channel in range(plan.channels)]
    key = "".join(letter for letter in day.title.lower() if letter.isalnum())
    parts, y = _heading(day)
    for start in range(0, day.length, QUARTER):
        drawn, y = _quarter(day, plan, names, lit, start, y, key)
        parts += drawn
    drawn, y = _legend(y + 6, key, any(user_action.what == CONTACT for user_action in day.user_actions))
    parts += drawn
    return picture(f"{day.title}: what was on when, and who had asked for it", y, parts, _hatching(key))


def _heading(day: Day) -> tuple[list[str], float]:
    facts = day.facts
    slowest = f"slowest wall switch {facts.responses[-1]} ms" if facts.responses else "no wall switch moved a relay"
    problems = "no problem seen" if not day.problems else f"{counted(len(day.problems), 'problem')} seen"
    words = f"{counted(sum(facts.closings), 'relay closing')}, {counted(facts.saves, 'snapshot')}, {counted(facts.news, 'message')}; "
    words += f"{slowest}; {problems}."
    rows, y = paragraph(40, words)
    return [text(LEFT, 22, day.title, size=17, weight=600), *rows], y


def _quarter(day: Day, plan: Plan, names: Names, lit: Sequence[Sequence[Stretch]], start: int, y: float,
             key: str) -> tuple[list[str], float]:
    """Draw six hours; return the parts and where the next may begin."""
    end = min(start + QUARTER, day.length)
    marks = _marks(day.user_actions, lit, start, end)
    spans = [span for span in day.spans if span.start < end and span.end > start]
    on = [channel for channel in range(plan.channels) if _within(lit[channel], start, end)]
    shown = sorted({*on, *marks} - {NOBODYS})
    hours = f"{start // HOUR:02d} to {end // HOUR:02d} h"
    if not shown and not marks and not spans:
        return [line(LEFT, RIGHT, y + 4), text(LEFT, y + 20, f"{hours}: all off, nothing happens")], y + 30
    rows = [*shown, *([NOBODYS] if NOBODYS in marks else [])]
    top, foot = y + 22, y + 24 + sum(_height(row) for row in rows)
    parts = [line(LEFT, RIGHT, y + 4)]
    for hour in range(start, end + 1, HOUR):
        x = _x(hour, start)
        anchor = "start" if hour == start else "end" if hour == end else "middle"
        parts.append(text(x, y + 18, f"{hour // HOUR:02d}", anchor=anchor, weight=600))
        parts.append(f'<path d="M{x:g},{top:g} V{foot:g}" stroke="{FAINT}" stroke-width="0.7"/>')
    parts += [_band(span, start, end, top, foot, key) for span in spans]
    at = top + 2
    for channel in rows:
        name = "Means nothing here" if channel == NOBODYS else names.channels[channel]
        parts.append(text(LEFT, at + 13, name, halo=True))
        if channel != NOBODYS:
            within = _within(lit[channel], start, end)
            parts += _time_on(within, start, end, at + 13)
            parts.append(f'<path d="M{LEFT},{at + 17 + BAR:g} H{RIGHT}" stroke="{INK}" stroke-width="0.6"/>')
            parts += _bars(within, plan.top(channel), start, end, at + 17)
        row = marks.get(channel, [])
        parts += [_drawn(mark, at + _height(channel) - 9, [other.x for other in row]) for mark in row]
        at += _height(channel)
    off = [names.channels[channel] for channel in range(plan.channels) if channel not in shown]
    words = f"All the time off: {', '.join(off)}" if off else ""
    lines, y = paragraph(foot + 14, words)
    return [*parts, *lines], y


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


def _drawn(mark: _Mark, y: float, others: Iterable[float] = ()) -> str:
    """Return a mark: full when it had an effect, hollow when not.

    When it is several, their number stands beside it, if no other mark of the row is there.
    """
    path = SHAPES[mark.what][1].format(s=MARK, d=MARK * 1.25, q=MARK * 0.85)
    fill = INK if mark.is_effect else PAPER
    has_room = not any(mark.x < other < mark.x + NUMBER for other in others) and mark.x + NUMBER < WIDTH
    several = text(MARK + 2, 11, f"×{len(mark.words)}", halo=True) if len(mark.words) > 1 and has_room else ""
    return (f'<g transform="translate({mark.x:.1f},{y:g})"><title>{escape("; ".join(mark.words))}</title>'
            f'<path d="{path}" stroke="{PAPER}" stroke-width="3.4"/>'
            f'<path d="{path}" fill="{fill}" stroke="{INK}" stroke-width="1.3"/>{several}</g>')


def _bars(within: Iterable[Stretch], top: int, start: int, end: int, y: float) -> Iterable[str]:
    for one in within:
        left, right = _x(max(one.start, start), start), _x(min(one.end, end), start)
        wide, high = max(right - left, 1.0), BAR * (1.0 if top == 1 else 0.5 + 0.5 * (one.level - 1) / (top - 1))
        yield (f'<rect x="{left:.1f}" y="{y + BAR - high:.1f}" width="{wide:.1f}" height="{high:.1f}" '
               f'fill="{LIT}" stroke="{INK}" stroke-width="0.8"/>')
        if top > 1 and wide > 24:
            yield text(left + wide / 2, y + BAR - 1.5, str(one.level), anchor="middle", weight=600)


def _time_on(within: Sequence[Stretch], start: int, end: int, y: float) -> Iterable[str]:
    minutes = sum(min(one.end, end) - max(one.start, start) for one in within) / MINUTE
    if within:
        long = f"{minutes / 60:.1f} h" if minutes >= 60 else f"{minutes:.0f} min" if minutes >= 1 else "< 1 min"
        words = f"on {long}"
        yield text(RIGHT, y, words, anchor="end", halo=True)


def _band(span: Span, start: int, end: int, top: float, foot: float, key: str) -> str:
    left, right = _x(max(span.start, start), start), _x(min(span.end, end), start)
    wide = max(right - left, 3.0)
    return (f'<rect x="{left:.1f}" y="{top:g}" width="{wide:.1f}" height="{foot - top:g}" '
            f'fill="url(#{key}-{span.what})"><title>no {span.what} from {clock(span.start)[:8]} '
            f"to {clock(span.end)[:8]}</title></rect>")


def _legend(y: float, key: str, with_contacts: bool) -> tuple[list[str], float]:
    parts = [line(LEFT, RIGHT, y)]
    entries = [(_drawn(_Mark(0, what, True, (words,)), 0), words) for what, (words, _) in SHAPES.items() if what != CONTACT or with_contacts]
    entries.append((_drawn(_Mark(0, "switch", False, ("no effect",)), 0), "hollow: no effect"))
    for what in ("network", "power"):
        swatch = (f'<rect x="-7" y="-7" width="14" height="14" fill="url(#{key}-{what})" '
                  f'stroke="{INK}" stroke-width="0.6"/>')
        entries.append((swatch, f"no {what}"))
    for place, (drawn, words) in enumerate(entries):
        x, row = LEFT + 8 + place % 3 * 134, y + 18 + place // 3 * 20
        parts.append(f'<g transform="translate({x},{row:g})">{drawn}{text(13, 4, words)}</g>')
    y += 18 + (len(entries) - 1) // 3 * 20 + 25
    words = ("A number in a bar is the step of a fan; a thin line before it is its start kick. "
             "×3: three at about this time.")
    rows, y = paragraph(y, words)
    return [*parts, *rows], y


def _hatching(key: str) -> str:
    pattern = '<pattern id="{}-{}" width="{}" height="{}" patternUnits="userSpaceOnUse" patternTransform="rotate({})">'
    return "".join((
        "<defs>",
        pattern.format(key, "network", 7, 7, 45),
        '<rect width="7" height="7" fill="#eef1f6"/><path d="M0,0 V7" stroke="#9aa3b5" stroke-width="1.6"/></pattern>',
        pattern.format(key, "power", 4, 4, -45),
        f'<rect width="4" height="4" fill="#b9bec9"/><path d="M0,0 V4 M0,0 H4" stroke="{INK}" stroke-width="1.5"/>',
        "</pattern></defs>"))


def _height(row: int) -> int:
    return ROW if row != NOBODYS else ROW - BAR + 6


def _within(lit: Sequence[Stretch], start: int, end: int) -> list[Stretch]:
    return [one for one in lit if one.start < end and one.end > start]


def _changes(lit: Sequence[Stretch], at: int) -> bool:
    """Return whether a channel changed at once after a moment."""
    return any(at <= moment <= at + FOLLOWS_MS for one in lit for moment in (one.start, one.end))


def _x(at: int, start: int) -> float:
    return LEFT + (RIGHT - LEFT) * (at - start) / QUARTER
