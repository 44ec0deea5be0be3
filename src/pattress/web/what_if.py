"""What if: the job beside a variant of it. The variant is typed, pushed by a slider, or the cheapest cure of what fails."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pattress.design.comparison import Comparison, Direction, Move, compare
from pattress.design.cures import Cure, cure
from pattress.design.prices import load_prices
from pattress.finding import Figure, Finding
from pattress.quantity import show
from pattress.web.draft import Edit, Version
from pattress.web.sheet import Asked, Go, Stay

SLIDERS = (       # key of the job file, what it is, unit as written, least, most, step
    (("supply", "tolerance"), "how far the mains may stray", "%", 0, 20, 1),
    (("site", "ambient"), "warmth around the controller", "degC", -10, 70, 1),
)


@dataclass(frozen=True, slots=True)
class Slider:
    """A value that can be pushed: where it stands in the file, and in the variant."""

    name: str
    label: str
    unit: str
    least: int
    most: int
    step: int
    now: str                      # as the file's design has it
    value: str                    # in the variant


@dataclass(frozen=True, slots=True)
class Row:
    """One finding in both."""

    direction: str
    question: str
    id: str
    before: str
    after: str
    before_verdict: str
    after_verdict: str


@dataclass(frozen=True, slots=True)
class Step:
    """One change of a cure."""

    key: str
    before: str
    after: str
    price: int
    without: tuple[str, ...]      # what fails without it


@dataclass(frozen=True, slots=True)
class WhatIf:
    """The job beside a variant."""

    sliders: tuple[Slider, ...]
    variant: str                  # what is different in it, in words; "" while nothing is
    rows: tuple[Row, ...]
    parts: tuple[tuple[str, str, str], ...]
    same: str                     # said when nothing moves
    steps: tuple[Step, ...] = ()
    cure: str = ""                # what the search for a cure has found, in words
    writes: str = ""              # what "write it" would be called; "" when there is nothing to write


def view(asked: Asked) -> WhatIf:
    """Return the job beside the variant that the address asks for."""
    edits = _pushed(asked.query, asked.version)
    if not edits:
        return WhatIf(_sliders(asked, {}), "", (), (), "Push a slider, or look for the cheapest cure.")
    return _beside(asked, asked.draft.trial(edits), edits, asked.query)


def look(asked: Asked) -> Stay:
    """Show the variant of the sliders, writing nothing."""
    edits = _pushed(asked.form, asked.version)
    if not edits:
        return Stay(WhatIf(_sliders(asked, asked.form), "", (), (), "Nothing is different from the job file."), "", 200)
    return Stay(_beside(asked, asked.draft.trial(edits), edits, asked.form), "", 200)


def take(asked: Asked) -> Go:
    """Write the variant of the sliders into the job file."""
    edits = _pushed(asked.form, asked.version)
    if edits:
        asked.draft.write(edits, over=asked.version)
    return Go("/what-if", "Written." if edits else "Nothing is different from the job file.")


def propose(asked: Asked) -> Stay:
    """Show the cheapest changes after which as little as possible fails, writing nothing."""
    found = cure(asked.design, load_prices())
    edits = _edits(found)
    moved = compare(found.before, found.after)
    steps = tuple(Step(change.key, change.before, change.after, change.price,
                       tuple(f"{finding.verdict} [{finding.id}], {state(finding)}" for finding in change.buys)) for change in found.changes)
    context = WhatIf(_sliders(asked, {}), "the cheapest cure" if edits else "", rows(moved), _parts(moved), "Nothing would move.",
                     steps, _said(found), f"Write these {len(steps)} changes" if edits else "")
    return Stay(context, "", 200)


def cure_it(asked: Asked) -> Go:
    """Write the cheapest cure into the job file, found anew so that it is the one of the text as it stands."""
    found = cure(asked.design, load_prices())
    edits = _edits(found)
    if edits:
        asked.draft.write(edits, over=asked.version)
    return Go("/what-if", f"Written: {len(found.changes)} changes. Undo takes them back." if edits else "There is nothing to change.")


DEEDS = {"look": look, "take": take, "propose": propose, "cure": cure_it}


def rows(moved: Comparison) -> tuple[Row, ...]:
    """Return the findings that move, worst first."""
    return tuple(_row(move) for move in moved.moves)


def state(finding: Finding | None) -> str:
    """Return the figures of a finding in words."""
    if finding is None:
        return "not asked"
    if finding.value is None or finding.limit is None:
        return ""
    return f"{_figure(finding.value)}, {finding.sense} {_figure(finding.limit)}"


def _row(move: Move) -> Row:
    words = {Direction.GONE: "no more asked", Direction.NEW: "newly asked"}
    return Row(words.get(move.direction, str(move.direction)), move.question, move.id, state(move.before), state(move.after),
               str(move.before.verdict) if move.before else "", str(move.after.verdict) if move.after else "")


def _beside(asked: Asked, variant: Version, edits: tuple[Edit, ...], values: Mapping[str, str]) -> WhatIf:
    moved = compare(asked.design, variant.design)
    words = "; ".join(f"{'.'.join(map(str, path))} = {value}" for path, value in edits)
    return WhatIf(_sliders(asked, values), words, rows(moved), _parts(moved), "No finding moves.", writes="Write it into the job file")


def _pushed(values: Mapping[str, str], version: Version) -> tuple[Edit, ...]:
    """Return the edits that the sliders ask for; what is no number or stands as it was is none."""
    edits: list[Edit] = []
    for path, _, unit, least, most, _ in SLIDERS:
        try:
            value = float(values[_name(path)])
        except (KeyError, ValueError):
            continue
        if least <= value <= most and abs(value - _now(version, path, unit)) > 1e-9:
            edits.append((path, f"{value:g} {unit}"))
    return tuple(edits)


def _sliders(asked: Asked, values: Mapping[str, str]) -> tuple[Slider, ...]:
    found = []
    for path, label, unit, least, most, step in SLIDERS:
        now = f"{_now(asked.version, path, unit):g}"
        typed = values.get(_name(path), now)
        found.append(Slider(_name(path), label, unit, least, most, step, now, typed if _is_number(typed) else now))
    return tuple(found)


def _now(version: Version, path: tuple[str, str], unit: str) -> float:
    value = getattr(getattr(version.design.job, path[0]), path[1])
    return round(value * 100, 9) if unit == "%" else value


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def _name(path: tuple[str, str]) -> str:
    return "/".join(path)


def _parts(moved: Comparison) -> tuple[tuple[str, str, str], ...]:
    return tuple((one.what, _word(one.before), _word(one.after)) for one in moved.parts)


def _word(value: Any) -> str:
    return "none" if value is None else str(value)


def _edits(found: Cure) -> tuple[Edit, ...]:
    return tuple(edit for change in found.changes for edit in change.edits)


def _said(found: Cure) -> str:
    if not found.changes:
        left = ", ".join(finding.id for finding in found.failing)
        return f"No set of changes to relays, devices, cables, board or soldered wires cures {left}." if left else "Nothing fails; there is nothing to cure."
    proof = "There is no cheaper set (proven)." if found.proven else "Whether there is a cheaper set is not proven."
    left = f" Still failing: {', '.join(finding.id for finding in found.failing)}." if found.failing else ""
    return f"Price {found.price} together; prices order trouble and money, they are no currency. {proof}{left}"


def _figure(figure: Figure) -> str:
    return show(figure.value, figure.unit)
