"""What if: the job beside a variant of it. The variant is typed, pushed by a slider, or the cheapest cure of what fails."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from pattress.design.comparison import Comparison, Direction, Move, compare
from pattress.design.cures import Cure, cure
from pattress.design.prices import load_prices
from pattress.errors import UseError
from pattress.finding import Figure, Finding
from pattress.job import JobError
from pattress.job.problem import key_path
from pattress.plural import counted
from pattress.quantity import show
from pattress.refusal import advice, nearest
from pattress.web.design.unknowns import NotKnown, not_known, price_of_measuring, settled
from pattress.web.draft import Edit, Version
from pattress.web.job import things
from pattress.web.job.editing import clean, edits_of, errors_by_key
from pattress.web.job.form_fields import Field, Group, value_of
from pattress.web.job.thing import form_of
from pattress.web.sheet import Asked, Go, Stay

SLIDERS = (       # key of the job file, what it is, unit as written, least, most, step
    (("supply", "tolerance"), "how far the mains may stray", "%", 0, 20, 1),
    (("site", "ambient"), "warmth around the controller", "degC", -10, 70, 1),
    (("parts", "tolerance"), "how far parts may stray", "%", 0, 300, 25),
)
STRAYING = "parts/tolerance"      # the one that is no key of the job: it stands on the sheets of the parts
ON_THE_SHEETS = "The tolerance of parts stands on their sheets, not in the job file: there is nothing to write."

MOST_CHOICES = 6


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
class Choice:
    """A key of the job that has another value in the variant. The last one offered is empty."""

    number: int
    key: str
    text: str
    now: str                      # what the file says there
    error: str = ""


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
    choices: tuple[Choice, ...]
    keys: tuple[tuple[str, str], ...]           # every key that may be chosen, and what it is with what the file says
    strays: tuple[str, ...]       # why there is no such variant, beside what is said at a choice
    variant: str = ""             # what is different in it, in words; "" while nothing is
    rows: tuple[Row, ...] = ()
    parts: tuple[tuple[str, str, str], ...] = ()
    same: str = ""                # said when nothing moves
    steps: tuple[Step, ...] = ()
    cure: str = ""                # what the search for a cure has found, in words
    writes: str = ""              # what "write it" would be called; "" when there is nothing to write
    unknown: tuple[NotKnown, ...] = ()
    measuring: str = ""           # what a measurement costs, in words; "" before it was asked what it would settle


def view(asked: Asked) -> WhatIf:
    """Return the job beside the variant that the address asks for."""
    return _look(asked, asked.query, "Push a slider, change a key, or look for the cheapest cure.")


def look(asked: Asked) -> Stay:
    """Show the variant that was pushed and typed, writing nothing."""
    return Stay(_look(asked, asked.form, "Nothing is different from the job file."), "", 200)


def take(asked: Asked) -> Go | Stay:
    """Write the variant into the job file, all of it in one step that undo takes back."""
    keys = _keys(asked.version)
    edits, errors = _varied(asked.form, asked.version, keys)
    if edits and not errors:
        try:
            asked.draft.write(edits, over=asked.version)
        except (JobError, UseError) as error:
            errors = _errors(error)
    if errors:
        return Stay(_sheet(asked, asked.form, keys, errors), "Nothing was written; the file is as it was.")
    nothing = ON_THE_SHEETS if _times(asked.form) != 1.0 else "Nothing is different from the job file."
    return Go("/what-if", "Written. Undo takes it back." if edits else nothing)


def settle(asked: Asked) -> Stay:
    """Show what measuring each unknown would settle, the most decisive first, writing nothing."""
    return Stay(replace(view(asked), unknown=settled(asked.draft), measuring=price_of_measuring()), "", 200)


def propose(asked: Asked) -> Stay:
    """Show the cheapest changes after which as little as possible fails, writing nothing."""
    found = cure(asked.design, load_prices())
    edits = _edits(found)
    moved = compare(found.before, found.after)
    steps = tuple(Step(change.key, change.before, change.after, change.price,
                       tuple(f"{finding.verdict} [{finding.id}], {state(finding)}" for finding in change.buys)) for change in found.changes)
    context = replace(
        _sheet(asked, {}, _keys(asked.version), {}), variant="the cheapest cure" if edits else "", rows=rows(moved), parts=_parts(moved),
        same="Nothing would move.", steps=steps, cure=_said(found), writes=("Write this change" if len(steps) == 1 else f"Write these {len(steps)} changes") if edits else "")
    return Stay(context, "", 200)


def cure_it(asked: Asked) -> Go:
    """Write the cheapest cure into the job file, found anew so that it is the one of the text as it stands."""
    found = cure(asked.design, load_prices())
    edits = _edits(found)
    if edits:
        asked.draft.write(edits, over=asked.version)
    return Go("/what-if", f"Written: {counted(len(found.changes), 'change')}. Undo takes {'it' if len(found.changes) == 1 else 'them'} back." if edits else "There is nothing to change.")


ACTIONS = {"look": look, "take": take, "propose": propose, "cure": cure_it, "settle": settle}


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


def _look(asked: Asked, values: Mapping[str, str], otherwise: str) -> WhatIf:
    """Return the job beside the variant of some values; what cannot be is told at the choice it is about."""
    keys = _keys(asked.version)
    edits, errors = _varied(values, asked.version, keys)
    times = _times(values)
    if (edits or times != 1.0) and not errors:
        try:
            moved = compare(asked.design, asked.draft.trial(edits, times).design)
        except (JobError, UseError) as error:
            errors = _errors(error)
        else:
            strays = (f"parts that stray to {times:.0%} of what their sheets say".replace("%", " %"),) if times != 1.0 else ()
            words = "; ".join((*(f"{key_path(path)} = {value}" for path, value in edits), *strays))
            return replace(_sheet(asked, values, keys, {}), variant=words, rows=rows(moved), parts=_parts(moved),
                           same="No finding moves.", writes="Write it into the job file" if edits else "")
    return replace(_sheet(asked, values, keys, errors), same="There is no such variant." if errors else otherwise)


def _sheet(asked: Asked, values: Mapping[str, str], keys: Mapping[str, tuple[Group, Field]], errors: Mapping[str, str]) -> WhatIf:
    """Return the sheet with what was pushed and typed, and nothing beside it yet."""
    choices = [Choice(number, key, text, keys[key][1].text if key in keys else "", errors.get(key, ""))
               for number, (key, text) in enumerate(_chosen(values), 1)]
    if len(choices) < MOST_CHOICES:
        choices.append(Choice(len(choices) + 1, "", "", ""))
    told = tuple(words for key, words in errors.items() if key not in {choice.key for choice in choices})
    offered = tuple((key, ", ".join(filter(None, (field.label, field.text)))) for key, (_, field) in keys.items())
    return WhatIf(_sliders(asked, values), tuple(choices), offered, told, unknown=not_known(asked.design))


def _keys(version: Version) -> dict[str, tuple[Group, Field]]:
    """Return every field of the job by its dotted key, with the form of its thing."""
    job = version.design.job
    found: dict[str, tuple[Group, Field]] = {}
    for section in (*things.SINGLE, *things.NAMED):
        for key in ("",) if section in things.SINGLE else getattr(job, section):
            form = form_of(section, key, version.table, version.design)
            found |= {field.key: (form, field) for field in form.all_fields()}
    return found


def _chosen(values: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    """Return key and text of each choice that was made, in order."""
    rows = [(clean(values.get(f"key-{number}", ""))[:200], clean(values.get(f"text-{number}", ""))) for number in range(1, MOST_CHOICES + 1)]
    return tuple(row for row in rows if row[0])


def _varied(values: Mapping[str, str], version: Version, keys: Mapping[str, tuple[Group, Field]]) -> tuple[tuple[Edit, ...], dict[str, str]]:
    """Return the edits of sliders and choices, and by key why one cannot be."""
    edits, errors = list(_pushed(values, version)), {}
    for key, text in _chosen(values):
        if key not in keys:
            errors[key] = f"{key} is no key of this job" + advice("one of those offered", nearest(key, keys))
        elif text and text != keys[key][1].text:         # a key alone is a choice in the making
            form, field = keys[key]
            edits += edits_of(form, {field.path: value_of(field, text)})
    return tuple(edits), errors


def _errors(error: JobError | UseError) -> dict[str, str]:
    return errors_by_key(error) if isinstance(error, JobError) else {"": str(error)}


def _pushed(values: Mapping[str, str], version: Version) -> tuple[Edit, ...]:
    """Return the edits that the sliders ask for; what is no number or stands as it was is none."""
    edits: list[Edit] = []
    for path, _, unit, least, most, _ in SLIDERS:
        try:
            value = float(values[_name(path)])
        except (KeyError, ValueError):
            continue
        if _name(path) != STRAYING and least <= value <= most and abs(value - _now(version, path, unit)) > 1e-9:
            edits.append((path, f"{value:g} {unit}"))
    return tuple(edits)


def _times(values: Mapping[str, str]) -> float:
    """Return how far parts stray beside what their sheets say; 1 where that is not said, or no such slider can say it."""
    least, most = next((least, most) for path, _, _, least, most, _ in SLIDERS if _name(path) == STRAYING)
    try:
        percent = float(values.get(STRAYING, "100"))
    except ValueError:
        return 1.0
    return percent / 100 if least <= percent <= most else 1.0


def _sliders(asked: Asked, values: Mapping[str, str]) -> tuple[Slider, ...]:
    found = []
    for path, label, unit, least, most, step in SLIDERS:
        now = f"{_now(asked.version, path, unit):g}"
        typed = values.get(_name(path), now)
        found.append(Slider(_name(path), label, unit, least, most, step, now, typed if _is_number(typed) else now))
    return tuple(found)


def _now(version: Version, path: tuple[str, str], unit: str) -> float:
    if _name(path) == STRAYING:
        return 100.0
    value: float = getattr(getattr(version.design.job, path[0]), path[1])
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
