"""From a posted form to edits of the job file, field by field, over the text that the form was typed over.

A field that was left as it was is no edit. A field that somebody else has changed in the meantime
is not overwritten: what was typed stays in the form, beside what the file now says.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from pattress.job import JobError
from pattress.job.problem import Path
from pattress.refusal import advice
from pattress.web.draft import Edit
from pattress.web.job.form_fields import AS_GIVEN, Field, Group, value_of

ONE_MORE = "one-more:"             # before the name of a field whose lines can be chosen


@dataclass(frozen=True, slots=True)
class Typed:
    """What a form asks for: edits to make, and by key what was typed where the file has moved on."""

    edits: tuple[Edit, ...]
    conflicts: Mapping[str, str]


def typed(now: Group, base: Group | None, form: Mapping[str, str]) -> Typed:
    """Return what a form asks for.

    `now` is the thing as the file has it, `base` as the form was filled from; None when nobody
    knows any more, and then nothing that differs is written.
    """
    before = {field.name: field.text for field in base.all_fields()} if base else {}
    given: dict[Path, Any] = {}
    conflicts: dict[str, str] = {}
    for field in now.all_fields():
        text = text_in(form, field)
        if text in (before.get(field.name), field.text):
            continue
        if field.text != before.get(field.name, "" if base else None):
            conflicts[field.key] = f"The file was changed meanwhile and now says {field.text or 'nothing'}. You typed {text or 'nothing'}."
        else:
            given[field.path] = value_of(field, text)
    return Typed(tuple(edits_of(now, given)), conflicts)


def with_typed(group: Group, form: Mapping[str, str], errors: Mapping[str, str]) -> Group:
    """Return a group showing what was typed, with errors at the fields they are about, by key."""
    return replace(
        group,
        fields=tuple(replace(field, text=text_in(form, field), error=errors.get(field.key, "")) for field in group.fields),
        groups=tuple(with_typed(inner, form, errors) for inner in group.groups),
        error="" if any(field.path == group.path for field in group.fields) else errors.get(group.key, ""),
    )


def errors_by_key(error: JobError) -> dict[str, str]:
    """Return the words of each problem by the key it is about; "item 2 of switch.door.does" goes to its list."""
    words: dict[str, str] = {}
    for problem in error.problems:
        key = problem.key.rpartition(" of ")[2]
        told = f"{problem.key} is {problem.found}" if problem.key else problem.found
        words[key] = "\n".join(filter(None, (words.get(key), told + advice(problem.allowed, problem.nearest))))
    return words


def text_in(form: Mapping[str, str], field: Field) -> str:
    """Return what a form says for a field, with the line that was chosen for it as one line more."""
    text, more = clean(form.get(field.name, field.text)), clean(form.get(f"{ONE_MORE}{field.name}", ""))
    return clean(f"{text}\n{more}") if more else text


def clean(text: str) -> str:
    """Return a posted text with the line ends of the file and nothing around it."""
    return text.replace("\r\n", "\n").strip()


def edits_of(group: Group, given: Mapping[Path, Any]) -> Iterator[Edit]:
    """Yield the edits that give values to keys under a table; a table in it that begins, or loses its last key, is written as a whole."""
    words = {field.path: field for field in group.fields}
    tables = {inner.path for inner in group.groups}
    for field in group.fields:
        if field.path in given and field.path not in tables:
            yield field.path, given[field.path]
    for inner in group.groups:
        yield from _inner_edits(inner, words.get(inner.path), given)


def _inner_edits(inner: Group, word: Field | None, given: Mapping[Path, Any]) -> Iterator[Edit]:
    changes = tuple(edits_of(inner, given))
    filled = {edit[0][-1]: edit[1] for edit in changes if edit[1] is not None and len(edit[0]) == len(inner.path) + 1}
    if word is not None and word.path in given and given[word.path] != AS_GIVEN:
        yield word.path, given[word.path]                     # a word, or nothing at all
    elif word is not None and word.text != AS_GIVEN and (filled or given.get(word.path) == AS_GIVEN):
        yield inner.path, filled
    elif inner.is_optional and not inner.is_there and filled:
        yield inner.path, filled
    elif inner.is_optional and inner.is_there and changes and _is_left_empty(inner, given):
        yield inner.path, None
    else:
        yield from changes


def _is_left_empty(group: Group, given: Mapping[Path, Any]) -> bool:
    return all(given.get(field.path, field.text or None) is None for field in group.fields) and not any(
        inner.groups or inner.fields for inner in group.groups)
