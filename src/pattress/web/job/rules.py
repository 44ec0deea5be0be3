"""The sheet of rules: each a sentence to edit, new ones composed from choices, and a table of who may do what."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from pattress.design.permissions import Permissions, permissions_of
from pattress.design.tables import with_table
from pattress.design.tally import NOT_PROVEN, counts_in_words, counts_of
from pattress.errors import PattressError, UseError
from pattress.finding import Verdict
from pattress.job import Job, JobError
from pattress.job.agreement import as_key
from pattress.job.rule import Rule
from pattress.plural import counted
from pattress.refusal import word_list
from pattress.web.draft import Edit, Version, WrittenMeanwhile, table_of
from pattress.web.job import things
from pattress.web.job.composing import CALLED, Composing, choices, composing_of, filled, free_key, on_one_line, untold
from pattress.web.job.deletion import along, taken_out
from pattress.web.job.editing import errors_by_key, typed, with_typed
from pattress.web.job.form_fields import Field, Group, group_of, record_of
from pattress.web.job.rule_forms import FORMS, Form, composed
from pattress.web.job.thing import CONFLICT, TROUBLE, moved_words
from pattress.web.program.proving import proof_of
from pattress.web.sheet import Asked, Go, NoSuchSheet, Sheet, Stay

HERE, NEW = "/rules", "/rules/new/"
OF_RULES = "rule/"                # how the names of the fields of sentences begin
NO_RULES = "This job has no rule: nothing happens by itself, and whoever can ask may put anything on and off."


@dataclass(frozen=True, slots=True)
class Told:
    """One rule: its key, the field of its sentence, and what it speaks of, address and name of each."""

    key: str
    field: Field
    is_typed: bool                # and not what the file says
    about: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class RulesSheet:
    """The rules of a job."""

    told: tuple[Told, ...]
    agreement: str                # whether they agree with the job and with one another, in words; "" without a rule
    verdict: Verdict              # of that
    proof: str
    proof_verdict: str            # "" where nothing is proven
    forms: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
    composing: Composing | None
    permissions: tuple[Permissions, ...]
    strays: tuple[str, ...]       # what was refused and stands at no rule


def view(asked: Asked) -> RulesSheet:
    """Return the rules as the file has them; what is wrong with the file as it stands is told at its rule."""
    trouble = asked.draft.trouble
    about = errors_by_key(trouble) if trouble else {}
    return _sheet(asked, {}, {key: words for key, words in about.items() if key.removesuffix(".says") in {f"rule.{one}" for one in asked.draft.now.design.job.rule}}, composing=_begun(asked))


def choose(asked: Asked) -> Go | Stay:
    """Show the places of the form that was chosen."""
    form = asked.form.get("form", "")
    return Go(f"{NEW}{form}#adding") if form in FORMS else Stay(None, "Choose a form first.")


def write(asked: Asked) -> Go | Stay:
    """Write every sentence that was changed and can be read; the others stay as typed, each with why."""
    return _after(asked, asked.form, "")


def remove(asked: Asked) -> Go | Stay:
    """Take a rule out of the job file, and write what else was typed."""
    key, version = asked.form.get("do", "").partition(":")[2], asked.draft.now
    if key not in version.design.job.rule:
        return Stay(_sheet(asked, asked.form, {}), f"This job has no rule {key[:60]}.")
    try:
        asked.draft.replace(taken_out(version, ("rule", key), along(version, "rule", key), str(asked.draft.file)), over=version)
    except WrittenMeanwhile:
        return Stay(_sheet(asked, asked.form, {}), CONFLICT, 409)
    except PattressError as error:
        return Stay(_sheet(asked, asked.form, {}), str(error))
    return _after(asked, {name: text for name, text in asked.form.items() if name != f"{OF_RULES}{key}/says"}, f"Taken away: rule.{key}. Undo brings it back.")


def add(asked: Asked) -> Go | Stay:
    """Write the rule that was composed into the job file."""
    form, posted, version = _form(asked), asked.form, asked.draft.now
    places, job = filled(form, posted), version.design.job
    lacking = untold(form, places)
    if lacking:
        return _not_added(asked, form, {"": lacking}, "")
    says, key = composed(form, places), as_key(posted.get(CALLED, "")) or free_key(job, places)
    if key in job.rule:
        return _not_added(asked, form, {f"rule.{key}": f"rule.{key} is there already. Give the new one another name."}, key)
    try:
        asked.draft.replace(with_table(version.text, ("rule", key), {"says": says}), over=version)
    except JobError as error:
        return _not_added(asked, form, errors_by_key(error), key)
    except UseError as error:
        return _not_added(asked, form, {"": str(error)}, key)
    except WrittenMeanwhile:
        return _not_added(asked, form, {}, key, CONFLICT)
    return Go(HERE, f"Added: rule.{key}. {moved_words(version.design, asked.draft.now.design)}")


def _not_added(asked: Asked, form: Form, errors: Mapping[str, str], key: str, said: str = "Nothing was added; the file is as it was.") -> Stay:
    """Return the sheet with the form as it was filled; what the new rule makes wrong at another stands there."""
    known = {f"rule.{one}.says" for one in asked.draft.now.design.job.rule}
    of_name = errors.get(f"rule.{key}", "") if key else ""
    at_sentence = tuple(words for found, words in errors.items() if found not in known and words != of_name)
    composing = composing_of(form, asked.draft.now.design.job, asked.form, at_sentence, of_name)
    return Stay(_sheet(asked, {}, {found: words for found, words in errors.items() if found in known}, composing=composing), said, 409 if said == CONFLICT else 422)


@dataclass(frozen=True, slots=True)
class _Outcome:
    """What became of the sentences that were typed: the version before, rules written, errors by key, and what is in the way of all."""

    before: Version
    written: tuple[str, ...] = ()
    errors: Mapping[str, str] = field(default_factory=dict)
    in_the_way: str = ""
    status: int = 422


def _after(asked: Asked, form: Mapping[str, str], said: str) -> Go | Stay:
    """Return what is shown once the sentences of a form are written, as far as they can be."""
    form = {name: on_one_line(text) if name.startswith(OF_RULES) else text for name, text in form.items()}
    found = _all_written(asked, form)
    if found.written:
        said = f"{said} Written: {word_list(found.written)}. {moved_words(found.before.design, asked.draft.now.design)}".strip()
    if found.in_the_way or found.errors:
        told = found.in_the_way or f"Not written: {word_list(key.removesuffix('.says') for key in found.errors)}. What was typed is kept."
        return Stay(_sheet(asked, form, found.errors, composing=_begun(asked)), f"{said} {told}".strip(), found.status)
    return Go(_address(asked), said)


def _all_written(asked: Asked, form: Mapping[str, str]) -> _Outcome:
    """Write the changed sentences over the text they were typed over: all together, or where that is refused, those that can be."""
    before = asked.draft.now
    while True:
        version = asked.draft.now
        edits, conflicts = _wanted(asked, version, form)
        try:
            written, refused = _tried(asked, edits, version)
        except UseError as error:                        # a full disk, a folder of somebody else
            return _Outcome(before, in_the_way=str(error))
        except WrittenMeanwhile:
            if asked.draft.trouble is not None:          # the file as it stands cannot be used: it comes first
                return _Outcome(before, in_the_way=TROUBLE, status=409)
            continue
        return _Outcome(before, written, conflicts | refused, status=409 if conflicts else 422)


def _wanted(asked: Asked, version: Version, form: Mapping[str, str]) -> tuple[list[Edit], dict[str, str]]:
    """Return the edits that a form asks for, and by key where the file has moved on since it was filled."""
    text = asked.draft.text_of(form.get("version", ""))
    base = None if text is None else table_of(text).get("rule", {})
    edits: list[Edit] = []
    conflicts: dict[str, str] = {}
    rules = version.design.job.rule
    for key in rules:
        wanted = typed(_group(key, version.table["rule"]), None if base is None else _group(key, base), form)
        edits += wanted.edits
        conflicts |= wanted.conflicts
    for name, words in form.items():
        key = name.removeprefix(OF_RULES).removesuffix("/says")
        if name.startswith(OF_RULES) and key not in rules and words != (base or {}).get(key, {}).get("says", ""):
            conflicts[f"rule.{key[:60]}"] = f"rule.{key[:60]} was taken out of the file meanwhile. You typed: {words}"
    return edits, conflicts


def _tried(asked: Asked, edits: list[Edit], version: Version) -> tuple[tuple[str, ...], dict[str, str]]:
    """Return which rules were written, and the words about those that were refused, by key; each is tried again after others have gone in."""
    batches, written, refused = [edits] if len(edits) > 1 else [], list[str](), dict[str, str]()
    batches += [[edit] for edit in edits]
    was = len(batches) + 1
    while batches and len(batches) < was:
        was, again, refused = len(batches), [], {}
        for batch in batches:
            keys = [f"rule.{path[1]}" for path, _ in batch]
            if set(keys) <= set(written):
                continue
            try:
                version = asked.draft.write(batch, over=version)
                written += keys
            except JobError as error:
                again.append(batch)
                words = errors_by_key(error)
                if len(batch) == 1:
                    elsewhere = f"Not written: what it would make wrong is told at {word_list(key.removesuffix('.says') for key in words)}."
                    refused |= words if f"{keys[0]}.says" in words else {f"{keys[0]}.says": elsewhere, **words}
        batches = [batch for batch in again if len(batch) == 1]
    return tuple(written), refused


def _sheet(asked: Asked, form: Mapping[str, str], errors: Mapping[str, str], composing: Composing | None = None) -> RulesSheet:
    version = asked.draft.now
    job = version.design.job
    told = tuple(_told(key, ruled.says, version, form, errors) for key, ruled in job.rule.items())
    known = {one.field.key for one in told}
    verdict, agreement = _agreement(asked, len(job.rule), errors)
    counts = None if (claims := proof_of(asked)) is None else counts_of(claims)
    return RulesSheet(
        told, agreement, verdict,
        f"{NOT_PROVEN[0].upper()}{NOT_PROVEN[1:]}: what the rules claim among the rest." if counts is None else f"Proven as the job stands: {counts_in_words(counts)}.",
        "" if not counts else counts[0][0], choices(), composing, permissions_of(job),
        tuple(words for key, words in errors.items() if key not in known))


def _told(key: str, rule: Rule, version: Version, form: Mapping[str, str], errors: Mapping[str, str]) -> Told:
    now = _group(key, version.table["rule"])
    shown = with_typed(now, form, errors).fields[0]
    return Told(key, shown, shown.text != now.fields[0].text or bool(shown.error), tuple(_about(rule, version.design.job)))


def _group(key: str, rules: Mapping[str, Any]) -> Group:
    return group_of(record_of("rule"), ("rule", key), rules.get(key, {}), {})


def _about(rule: Rule, job: Job) -> Iterator[tuple[str, str]]:
    """Yield address and name of everything that a rule speaks of, in the order of the job."""
    for section in ("load", "fan", "input", "sensor"):
        for key, thing in getattr(job, section).items():
            if rule.names(section, key):
                yield things.address_of((section, key)), thing.name


def _agreement(asked: Asked, count: int, errors: Mapping[str, str]) -> tuple[Verdict, str]:
    if asked.draft.trouble is not None:
        return Verdict.FAILS, f"{asked.draft.file.name} cannot be used as it stands. The rules below are those of the last text that could be read."
    subject, verb = ("rule", "agrees") if count == 1 else (counted(count, "rule"), "agree")
    agree = f"The {subject} in the file {verb} with the rest of the job and with one another."
    if errors:
        return Verdict.FAILS, f"What was typed last is not written: it does not agree, or cannot be read. {agree if count else ''}".strip()
    return Verdict.HOLDS, agree if count else NO_RULES


def _form(asked: Asked) -> Form:
    if asked.place.get("form") not in FORMS:
        raise NoSuchSheet("There is no form of a rule by that name.")
    return FORMS[asked.place["form"]]


def _begun(asked: Asked) -> Composing | None:
    return composing_of(_form(asked), asked.draft.now.design.job, {}) if "form" in asked.place else None


def _address(asked: Asked) -> str:
    return f"{NEW}{asked.place['form']}" if "form" in asked.place else HERE


ACTIONS = {"write": write, "remove": remove, "choose": choose}
SHEETS = (
    Sheet(HERE, "Rules", "rules.html", view, ACTIONS),
    Sheet(f"{NEW}{{form}}", "", "rules.html", view, {**ACTIONS, "add": add}),
)
