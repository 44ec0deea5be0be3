"""What pydantic found wrong with a document, as refusals in plain words."""

import re
from collections.abc import Iterator
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel, ValidationError, WithJsonSchema
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from pattress.job.field_types import TABLE, WORD
from pattress.job.model import Job
from pattress.job.problem import Path
from pattress.refusal import Refusal, as_found, nearest, word_list

_QUOTED = re.compile(r"'([^']*)'")


def refusals(error: ValidationError) -> Iterator[tuple[Path, Refusal, bool]]:
    """Yield path, refusal, and whether the key itself is meant, for each fault."""
    faults = [
        (tuple(part for part in fault["loc"] if part not in (TABLE, WORD)), fault) for fault in error.errors(include_url=False)
    ]
    told = [(path, _refusal(fault, path), fault["type"]) for path, fault in faults]
    meant = {(*path[:-1], refusal.nearest) for path, refusal, kind in told if kind == "extra_forbidden"}
    for path, refusal, kind in told:
        if kind != "missing" or path not in meant:       # a misspelt key is one fault, not two
            yield path, refusal, kind == "extra_forbidden"


def _refusal(fault: ErrorDetails, path: Path) -> Refusal:
    kind, found = fault["type"], fault["input"]
    if kind == "value_error" and isinstance(fault["ctx"]["error"], Refusal):
        return fault["ctx"]["error"]
    if kind == "missing":
        return Refusal("missing", allowed_at(path))
    if kind == "extra_forbidden":
        keys = record_at(path[:-1]).model_fields
        return Refusal("not a key that is known here", word_list(keys), nearest(path[-1], keys))
    if kind == "literal_error":
        words = _QUOTED.findall(fault["ctx"]["expected"])
        return Refusal(as_found(found), allowed_at(path), nearest(found, words))
    return Refusal(as_found(found), allowed_at(path))


def allowed_at(path: Path) -> str:
    """Return in words what may stand at a path."""
    if len(path) == 1 and path[0] in Job.model_fields:
        return f"a table, [{path[0]}]" if _is_record(Job.model_fields[path[0]].annotation) else f"tables, [{path[0]}.NAME]"
    field = record_at(path[:-1]).model_fields.get(path[-1]) if path and isinstance(path[-1], str) else None
    return _words(field) if field else _item_words(path)


def _words(field: FieldInfo) -> str:
    """Return the words of a field: of its reader, its choice of words, or its table."""
    for mark in (*field.metadata, *_parts(field.annotation)):      # of a key that may be missing, the mark lies within
        if isinstance(mark, WithJsonSchema) and mark.json_schema is not None:
            return str(mark.json_schema["description"])
    words = [word for choice in _parts(field.annotation) if get_origin(choice) is Literal for word in get_args(choice)]
    record = next((part for part in _parts(field.annotation) if _is_record(part)), None)
    if record is not None:
        keys = word_list(name for name, inner in record.model_fields.items() if inner.is_required())
        return f"a table with {keys}" + "".join(f', or "{word}"' for word in words)
    if field.annotation is bool:
        return "true or false"
    return word_list(words) or "a table"


def _item_words(path: Path) -> str:
    """Return the words of an item in a list or of an entry under a free name."""
    parent = path[:-1]
    if isinstance(path[-1], int):
        return allowed_at(parent)
    record = record_at(path)
    keys = word_list(name for name, field in record.model_fields.items() if field.is_required())
    return f"a table with {keys}" if record is not Job else "a table"


def record_at(path: Path) -> type[BaseModel]:
    """Return the record that holds the keys under a path; free names of tables are passed over."""
    record: type[BaseModel] = Job
    is_free_name = False
    for part in path:
        field = None if is_free_name or isinstance(part, int) else record.model_fields.get(part)
        is_free_name = field is not None and get_origin(field.annotation) is dict
        inner = next((part for part in _parts(field.annotation) if _is_record(part)), None) if field else None
        record = inner or record
    return record


def _parts(annotation: Any) -> Iterator[Any]:
    yield annotation
    if get_origin(annotation) is not Literal:
        for inner in get_args(annotation):
            yield from _parts(inner)


def _is_record(annotation: Any) -> bool:
    return isinstance(annotation, type) and issubclass(annotation, BaseModel)
