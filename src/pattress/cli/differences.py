"""Changes of a job as plain text and for --json: what a cure proposes, what moves between two jobs."""

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pattress.cli.plain import plain
from pattress.cli.text import brief, figure, headed, wrapped
from pattress.finding import Finding

if TYPE_CHECKING:
    from pattress.design.comparison import Comparison, Difference, Move
    from pattress.design.cures import Change, Cure

PRICES_ARE = "prices order trouble and money, they are no currency"
NOTHING = "-"


def cure(found: "Cure", job: Path, *, written: bool) -> str:
    """Return what a search for a cure has found: each change with what it buys, what is left, what is written."""
    lines = [change(one) for one in found.changes]
    if found.changes:
        lines += ["", f"{_count(len(found.changes), 'change')}, price {found.price} together ({PRICES_ARE}). "
                      f"{_cured(found)}", _standing(found)]
    elif not found.failing:
        lines.append(f"Nothing to change: no check of {job} fails{_accepted(found)}.")
    if found.failing:
        lines += ["", "No set of changes to relays, devices, cables, board or soldered wires cures these:"
                  if found.proven else "The search was stopped; with the best it has seen these still fail:"]
        lines += [brief(finding) for finding in found.failing]
    if found.unknown:
        lines += ["", "Unknown, to be settled by a measurement: " + ", ".join(finding.id for finding in found.unknown)]
    if written:
        lines += ["", f"Written: {job}. Check it: pattress check {job}"]
    elif found.changes:
        lines += ["", f"Nothing is written. To write the changes: pattress check {job} --fix --write"]
    return "\n".join(lines)


def change(one: "Change") -> str:
    """Return one change: key, old and new value, price, and what fails without it."""
    lines = [headed("change", f"{one.key}: {one.before} -> {one.after}", f"[price {one.price}]")]
    if not one.buys:
        lines += wrapped("It belongs to another of these changes.")
    for finding in one.buys:
        lines += wrapped(f"Without it: {finding.verdict} [{finding.id}], {_figures(finding)}")
    return "\n".join(lines)


def cure_facts(found: "Cure") -> dict[str, Any]:
    """Return a cure as plain values."""
    return {
        "changes": [{"key": one.key, "before": one.before, "after": one.after, "price": one.price,
                     "without": {finding.id: str(finding.verdict) for finding in one.buys}} for one in found.changes],
        "price": found.price, "proven": found.proven, "tried": found.tried, "cured": list(found.cured),
        "failing": plain(found.failing), "unknown": [finding.id for finding in found.unknown],
    }


def comparison(found: "Comparison", before: Path, after: Path) -> str:
    """Return what moves between two jobs, worst first."""
    lines = [move(one) for one in found.moves]
    lines += [difference("part", one) for one in found.parts] + [difference("plan", one) for one in found.plan]
    tally = ", ".join(f"{number} {word}" for word, number in _tally(found.moves)) or "no finding moves"
    lines.append(f"{chr(10) if lines else ''}{before} -> {after}: {tally}; "
                 f"{_count(len(found.parts), 'part')} and {_count(len(found.plan), 'place')} of the plan differ.")
    return "\n".join(lines)


def move(one: "Move") -> str:
    """Return one move: direction, question, and verdict with figures before and after."""
    return "\n".join((headed(one.direction, one.question, f"[{one.id}]"), *wrapped(f"{_state(one.before)} -> {_state(one.after)}")))


def difference(word: str, one: "Difference") -> str:
    """Return a part or a place of the plan that differs, in a line."""
    return f"{word:<8} {one.what}: {_value(one.before)} -> {_value(one.after)}"


def comparison_facts(found: "Comparison") -> dict[str, Any]:
    """Return a comparison as plain values."""
    return {
        "moves": [{"id": one.id, "question": one.question, "direction": str(one.direction),
                   "before": plain(one.before), "after": plain(one.after)} for one in found.moves],
        "parts": plain(found.parts), "plan": plain(found.plan),
    }


def _cured(found: "Cure") -> str:
    number = len(found.cured)
    if not number:
        return "They settle what was unknown."
    return f"{_count(number, 'check')} that failed {'no longer does' if number == 1 else 'no longer do'}."


def _standing(found: "Cure") -> str:
    tried = _count(found.tried, "design")
    return f"There is no cheaper set (proven; {tried} tried)." if found.proven else (
        f"Whether there is a cheaper set is not proven: the search stopped after {tried}.")


def _accepted(found: "Cure") -> str:
    return f", but for {', '.join(sorted(found.before.accepted))}, which somebody answers for" if found.before.accepted else ""


def _figures(finding: Finding) -> str:
    if finding.value is None or finding.limit is None:
        return finding.question
    return f"{figure(finding.value)}, {finding.sense} {figure(finding.limit)}"


def _state(finding: Finding | None) -> str:
    if finding is None:
        return "not asked"
    if finding.value is None or finding.limit is None:
        return str(finding.verdict)
    return f"{finding.verdict} {figure(finding.value)}, {finding.sense} {figure(finding.limit)}"


def _value(value: Any) -> str:
    return NOTHING if value is None else str(value)


def _tally(moves: Iterable["Move"]) -> Sequence[tuple[str, int]]:
    from pattress.design.comparison import Direction

    found: dict[str, int] = {}
    for one in sorted(moves, key=lambda one: list(Direction).index(one.direction)):
        found[str(one.direction)] = found.get(str(one.direction), 0) + 1
    return tuple(found.items())


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"
