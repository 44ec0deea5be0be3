"""Findings, stories and tables as plain text for a terminal: one shape for each kind of message."""

from collections.abc import Iterable, Sequence
from itertools import zip_longest
from textwrap import wrap
from typing import TYPE_CHECKING

from pattress.finding import Figure, Finding, Input, Verdict, margin_words
from pattress.job.model import Acceptance
from pattress.plural import counted
from pattress.quantity import show

if TYPE_CHECKING:
    from pattress.proof import Property
    from pattress.rehearsal.rehearse import Rehearsal
    from pattress.spoken.clashes import Clash

WIDTH = 80                # of a terminal, as it opens on most machines
INDENT = " " * 9
BETWEEN, NARROW = 2, 16    # columns of a table: what is between two, and how narrow one is never made for the sake of others


def figure(value: Figure | str | None) -> str:
    """Return a figure as people write it."""
    if value is None:
        return "-"
    return value if isinstance(value, str) else show(value.value, value.unit)


def headed(word: str, words: str, tag: str) -> str:
    """Return a word, what it is about, and a tag at the right edge: in one line, or in more where they are long."""
    lines = wrap(words, WIDTH, initial_indent=f"{word:<8} ", subsequent_indent=INDENT, break_long_words=False, break_on_hyphens=False)
    if len(lines[-1]) + BETWEEN + len(tag) > WIDTH:
        lines.append("")
    return "\n".join([*lines[:-1], f"{lines[-1]}{tag:>{WIDTH - len(lines[-1])}}"])


def verdict_line(finding: Finding) -> str:
    """Return how a finding begins: verdict, question, id."""
    return headed(finding.verdict, finding.question, f"[{finding.id}]")


def brief(finding: Finding) -> str:
    """Return a finding in a few lines: value against limit, corner, what to change."""
    lines = [verdict_line(finding)]
    if finding.value is not None and finding.limit is not None:
        words = f"{figure(finding.value)}, {finding.sense} {figure(finding.limit)}"
        if finding.margin is not None:
            words += f", margin {margin_words(finding.margin)}"
        lines += wrapped(words + ("." if not finding.corner else f"; {finding.corner}."))
    if finding.detail:
        lines += wrapped(finding.detail)
    for assumption in finding.assumptions:
        lines += wrapped(f"Not known: {assumption.key}. Taken: {assumption.taken}. To settle it: {assumption.measure}")
    if finding.verdict is not Verdict.HOLDS:
        for change in finding.change:
            lines += wrapped(f"Change: {change}")
    return "\n".join(lines)


def whole(finding: Finding) -> str:
    """Return everything a finding knows: formula, numbers put in, sources, limits."""
    lines = [verdict_line(finding)]
    rows = [("Value", figure(finding.value)), ("Nominal", figure(finding.nominal)),
            ("Limit", f"{finding.sense} {figure(finding.limit)}" if finding.limit else "-")]
    if finding.margin is not None:
        rows.append(("Margin", margin_words(finding.margin)))
    rows += [("Corner", finding.corner), ("Formula", finding.formula), ("Detail", finding.detail)]
    for name, words in rows:
        if words and words != "-":
            lines += _labelled(name, words)
    for put_in in finding.inputs:
        lines += _labelled("Put in", _input(put_in))
    for assumption in finding.assumptions:
        lines += _labelled("Not known", f"{assumption.key}. Taken: {assumption.taken}, because {assumption.why}. "
                                        f"To settle it: {assumption.measure}")
    for source in finding.sources:
        lines += _labelled("Source", str(source))
    for change in finding.change:
        lines += _labelled("Change", change)
    if finding.covers_not:
        lines += _labelled("Left out", finding.covers_not)
    stops = "stops the bundle" if finding.safety else "does not stop the bundle"
    if finding.safety:
        stops += ", and so does not knowing" if not finding.on_site else "; not knowing stops live steps on site"
    lines += _labelled("If it fails", stops)
    return "\n".join(lines)


def clash(clash: "Clash") -> str:
    """Return a name that may be misheard: verdict, what it is taken for, and what to call the thing instead."""
    return "\n".join([headed(clash.verdict, clash.told, f"[names.{clash.name.thing}]"), *wrapped(clash.advice)])


def claim(prop: "Property") -> str:
    """Return a property of the control program: verdict, its sentence, id, and in how many steps it was judged."""
    return headed(prop.verdict, prop.sentence, f"[{prop.id}] {counted(prop.transitions, 'step')}")


def acceptance(acceptance: Acceptance) -> str:
    """Return who answers for a failed check, and why."""
    return f"{acceptance.reason} ({acceptance.by}, {acceptance.date})"


def rehearsal(rehearsal: "Rehearsal") -> str:
    """Return what happened on each day, the problems in full."""
    rows = [
        (day.title, str(day.facts.events), str(len(day.facts.responses)), _milliseconds(day.facts.response(0.5)),
         _milliseconds(day.facts.response(1.0)), str(sum(day.facts.closings)), str(day.facts.saves), str(len(day.problems)))
        for day in rehearsal.days
    ]
    head = ("day", "events", "wall operations", "median", "slowest", "relay closings", "snapshots", "problems")
    lines = [table(head, rows), "", rehearsal.summary]
    lines += [f"{day}: {problem}" for day, problem in rehearsal.problems]
    if rehearsal.difference is not None:
        lines.append(str(rehearsal.difference))
    return "\n".join(lines)


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Return a table with aligned columns; where it is wider than the width, its widest columns are wrapped between words."""
    cells = [list(head), *[list(row) for row in rows]]
    widths = [max(len(row[i]) for row in cells) for i in range(len(head))]
    words = [max((len(word) for row in cells for word in row[i].split()), default=0) for i in range(len(head))]
    roomy = _fitted(widths, [max(least, min(width, NARROW)) for least, width in zip(words, widths)])
    heads = _fitted(widths, [max([least, *(len(row[i]) for row in cells[1:])]) for i, least in enumerate(words)])      # only heads give way
    fitting = (found for found in (roomy, heads, _fitted(widths, words)) if _across(found) <= WIDTH)
    widths, gap = next(fitting, roomy), " " * BETWEEN
    lines = []
    for row in cells:
        folded_cells = [wrap(cell, width, break_long_words=False) if len(cell) > width else [cell] for cell, width in zip(row, widths)]
        for pieces in zip_longest(*folded_cells, fillvalue=""):
            lines.append(gap.join(piece.ljust(width) for piece, width in zip(pieces, widths)).rstrip())
        if row is cells[0]:
            lines.append(gap.join("-" * width for width in widths))
    return "\n".join(lines)


def _across(widths: Sequence[int]) -> int:
    return sum(widths) + BETWEEN * (len(widths) - 1)


def _fitted(widths: Sequence[int], least: Sequence[int]) -> list[int]:
    """Return the widths of columns of which the widest give way, none below its least, until they fit or none can."""
    found = list(widths)
    while _across(found) > WIDTH and (wide := [i for i, width in enumerate(found) if width > least[i]]):
        found[max(wide, key=found.__getitem__)] -= 1
    return found


def folded(words: str) -> str:
    """Return words with each line that is too long folded between words, indented as it begins; what has no space stays whole."""
    lines = []
    for line in words.split("\n"):
        indent = len(line) - len(line.lstrip())
        lines += wrap(line, WIDTH, subsequent_indent=" " * (indent + 2), break_long_words=False, break_on_hyphens=False) if len(line) > WIDTH else [line]
    return "\n".join(lines)


def wrapped(words: str) -> list[str]:
    """Return words in lines of the width, keeping the line breaks and indents they have."""
    lines = []
    for line in words.splitlines():
        inner = INDENT + line[: len(line) - len(line.lstrip())]
        lines += wrap(line.strip(), WIDTH, initial_indent=inner, subsequent_indent=inner)
    return lines


def _milliseconds(time: int | None) -> str:
    return "-" if time is None else f"{time} ms"


def _input(put_in: Input) -> str:
    source = f"; {put_in.source}" if put_in.source else ""
    return f"{put_in.name} = {figure(put_in.figure)} ({put_in.origin}{source})"


def _labelled(label: str, words: str) -> list[str]:
    return wrap(" ".join(words.split()), WIDTH, initial_indent=f"  {label + ':':<13}", subsequent_indent=" " * 15)
