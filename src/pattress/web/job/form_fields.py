"""The fields of a thing as a form, made from the models of the job file.

A field's text is what the file writes there; what a person types is read back by the same reader
as the file. A record within a record becomes a group of fields.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cache
from importlib.resources import files
from tomllib import loads
from typing import Annotated, Any, Literal, get_args, get_origin

from pydantic import BaseModel, WithJsonSchema
from pydantic.fields import FieldInfo

from pattress.job.model import Job
from pattress.job.problem import Path, key_path
from pattress.job.translation import allowed_at
from pattress.quantity import show
from pattress.quantity.units import KINDS

AS_GIVEN = "as given below"        # of a table that may also be one of some words
MORE = "+"                         # the key of an entry that is being added

_WHOLE = re.compile(r"[+-]?[0-9]{1,18}")
_NUMBER = re.compile(r"[+-]?[0-9]{1,18}\.[0-9]{1,18}")


class Kind(StrEnum):
    """How a field is typed."""

    TEXT = "text"                  # one line
    LONG = "long text"
    LINES = "lines"                # a list, one item on a line
    SPEEDS = "speeds"              # a word, or a list in one line
    WORDS = "words"                # one of some words
    NUMBER = "number"              # written without quotes in the file
    YES = "yes or no"


class Holds(StrEnum):
    """What a table holds that has many entries."""

    NUMBERS = "numbers"            # under free names: soldered pins
    TABLES = "tables"              # under keys: buttons
    LIST = "list"                  # one after the other: readings


@dataclass(frozen=True, slots=True)
class Placed:
    """What stands at a path of the job file."""

    path: Path

    @property
    def name(self) -> str:
        """Return its name in a form."""
        return "/".join(str(part) for part in self.path)

    @property
    def key(self) -> str:
        """Return the dotted key that messages name."""
        return key_path(self.path)


@dataclass(frozen=True, slots=True)
class Field(Placed):
    """One value of the job file as a form field."""

    label: str
    kind: Kind
    text: str                      # as the file has it, "" where it says nothing
    words: tuple[str, ...]         # of WORDS, lines that LINES may take, and words that TEXT takes beside quantities
    allowed: str                   # in the words of the command line
    default: str                   # what holds while the file says nothing; "" when it must say something
    needed: bool
    inside: str                    # form name of the choice of words that its record hangs on, ""
    error: str = ""
    note: str = ""                 # what its being unknown costs
    help: str = ""


@dataclass(frozen=True, slots=True)
class Group(Placed):
    """Fields that stand in one table of the file."""

    title: str
    fields: tuple[Field, ...]
    groups: tuple["Group", ...]
    is_there: bool = True          # whether the file has the table
    is_optional: bool = False      # whether it may be missing
    removable: bool = False        # whether it is one of many
    holds: Holds | None = None
    adding: "Group | None" = None  # the form of one more, its key "+"; of tables that hold many
    error: str = ""

    @property
    def has_errors(self) -> bool:
        """Return whether something in it is wrong."""
        return bool(self.error) or any(field.error for field in self.fields) or any(inner.has_errors for inner in self.groups)

    def all_fields(self) -> Iterator[Field]:
        """Yield its fields and those of all groups within."""
        yield from self.fields
        for group in self.groups:
            yield from group.all_fields()


def group_of(record: type[BaseModel], path: Path, table: Mapping[str, Any], choices: Mapping[str, tuple[str, ...]]) -> Group:
    """Return the form of a record at a path.

    `table` is what the file has there. `choices` are the words that a key takes in this job, by
    the key's last part: feeds, fans, walls, boards, relays.
    """
    return _group(record, path, path[-1] if path else "", table if isinstance(table, Mapping) else {}, choices, "")


def _group(record: type[BaseModel], path: Path, title: str | int, table: Mapping[str, Any], choices: Mapping[str, tuple[str, ...]],
           inside: str, removable: bool = False) -> Group:
    """Return the group: the name first, then what is its own, then what it shares with others of its kind."""
    fields: list[Field] = []
    groups: list[Group] = []
    for name, field in sorted(record.model_fields.items(), key=lambda row: (row[0] != "name", row[0] not in record.__annotations__)):
        at, found = (*path, name), table.get(name)
        inner, words, many = _shape(field)
        if inner is None and many:                                            # board.pins: free names, plain values
            groups.append(Group(at, words_of(record, name)[0], tuple(_number(at, row, text) for row, text in _flat(found).items()), (),
                                holds=Holds.NUMBERS, adding=Group((*at, MORE), "one more", (_number(at, MORE, None),), ())))
        elif inner is None:
            fields.append(_field(record, at, field, found, choices, inside))
        elif many:
            rows = found.items() if isinstance(found, Mapping) else enumerate(found or ())
            inners = tuple(_group(inner, (*at, key), f"{_label(name)} {key + 1 if many == 'list' else key}", row if isinstance(row, Mapping) else {}, choices, "", True) for key, row in rows)
            adding = _group(inner, (*at, MORE), "one more", {}, choices, "")
            groups.append(Group(at, words_of(record, name)[0], (), inners, holds=Holds.LIST if many == "list" else Holds.TABLES, adding=adding))
        else:
            given = found if isinstance(found, Mapping) else {}
            choice = ""
            if words:
                text = AS_GIVEN if isinstance(found, Mapping) else written(found)
                label, help_line = words_of(record, name)
                choice_field = Field(at, label, Kind.WORDS, text, (*words, AS_GIVEN), allowed_at(at), _default(field),
                                     field.is_required(), inside, help=help_line)
                fields.append(choice_field)
                choice = choice_field.name
            group = _group(inner, at, words_of(record, name)[0], given, choices, choice or inside)
            optional = not field.is_required() and not words
            groups.append(replace(group, is_there=isinstance(found, Mapping), is_optional=optional))
    return Group(path, str(title), tuple(fields), tuple(groups), removable=removable)


def _number(table: Path, key: str, found: Any) -> Field:
    return Field((*table, key), _label(key), Kind.NUMBER, written(found), (), allowed_at((*table, key)), "", False, "")


def _field(record: type[BaseModel], path: Path, field: FieldInfo, found: Any, choices: Mapping[str, tuple[str, ...]], inside: str) -> Field:
    words = _words(field.annotation)
    schema = _schema(field)
    types = schema.get("type", "string" if "anyOf" not in schema else "list")
    kind = Kind.TEXT
    if field.annotation is bool:
        kind, words = Kind.YES, ("true", "false")
    elif "integer" in types or types == "number" or types == ["number", "string"]:
        kind = Kind.NUMBER
    elif "array" in types:
        kind = Kind.SPEEDS
    elif types == "list":
        kind = Kind.LINES
    elif not schema and words:
        kind = Kind.WORDS
    elif schema.get("description", "").startswith("text in quotes") and "one line" not in schema["description"]:
        kind = Kind.LONG
    name = str(path[-1])
    if kind is Kind.TEXT and name in choices:
        kind, words = Kind.WORDS, choices[name]
    elif kind is Kind.LINES:
        words = choices.get(name, ())
    text = written(found, "\n" if kind is Kind.LINES else ", ")
    if kind is Kind.WORDS and text and text not in words:
        words = (*words, text)
    label, help_line = words_of(record, name)
    return Field(path, label, kind, text, words, allowed_at(path), _default(field), field.is_required(), inside, help=help_line)


def value_of(field: Field, typed: str) -> Any:
    """Return the TOML value of what was typed, None where the key goes away.

    Whether it can be used is for the reader to say: a text that is no number stays a text.
    """
    typed = typed.replace("\r\n", "\n").strip()
    if not typed:
        return None
    if field.kind is Kind.YES:
        return {"true": True, "false": False}.get(typed, typed)
    if field.kind is Kind.NUMBER:
        return int(typed) if _WHOLE.fullmatch(typed) else float(typed) if _NUMBER.fullmatch(typed) else typed
    if field.kind is Kind.LINES:
        lines = [line.strip() for line in typed.split("\n") if line.strip()]
        return lines[0] if len(lines) == 1 else lines
    if field.kind is Kind.SPEEDS and typed[0].isdigit():
        return [part.strip() for part in re.split(r"[,;\n]", typed) if part.strip()]
    return typed


def written(found: Any, joint: str = ", ") -> str:
    """Return a value of the document as a person types it in a form."""
    if found is None:
        return ""
    if isinstance(found, bool):
        return "true" if found else "false"
    if isinstance(found, list):
        return joint.join(written(item) for item in found)
    return str(found).strip()


def _shape(field: FieldInfo) -> tuple[type[BaseModel] | None, tuple[str, ...], str]:
    """Return the record in a field, the words it may be instead, and whether there are many of it ("list", "names", "")."""
    annotation = _bare(field.annotation)
    if get_origin(annotation) is dict:
        inner = _bare(get_args(annotation)[1])
        return (inner if _is_record(inner) else None), (), "names"
    if get_origin(annotation) is tuple:
        inner = _bare(get_args(annotation)[0])
        return (inner, (), "list") if _is_record(inner) else (None, (), "")
    records = [inner for part in _parts(annotation) for inner in (_bare(part),) if _is_record(inner)]
    return (records[0], _words(annotation), "") if records else (None, (), "")


def _parts(annotation: Any) -> Iterator[Any]:
    yield annotation
    if get_origin(annotation) is not Literal:
        for inner in get_args(annotation):
            if isinstance(inner, type) or get_origin(inner) is not None:
                yield from _parts(inner)


def _words(annotation: Any) -> tuple[str, ...]:
    return tuple(dict.fromkeys(word for part in _parts(annotation) if get_origin(part) is Literal for word in get_args(part)))


def _marks(field: FieldInfo) -> Iterator[Any]:
    yield from field.metadata
    if get_origin(field.annotation) is Annotated:
        yield from get_args(field.annotation)[1:]


def _schema(field: FieldInfo) -> dict[str, Any]:
    """Return the schema that a field's reader carries; an empty one where pydantic reads by the type alone."""
    return next((mark.json_schema for mark in _marks(field) if isinstance(mark, WithJsonSchema) and mark.json_schema is not None), {})


def _bare(annotation: Any) -> Any:
    return get_args(annotation)[0] if get_origin(annotation) is Annotated else annotation


def _is_record(annotation: Any) -> bool:
    return isinstance(annotation, type) and issubclass(annotation, BaseModel)


def _flat(found: Any, before: str = "") -> dict[str, Any]:
    """Return a table with keys joined by dots."""
    rows: dict[str, Any] = {}
    for key, inner in found.items() if isinstance(found, Mapping) else ():
        rows |= _flat(inner, f"{before}{key}.") if isinstance(inner, Mapping) else {f"{before}{key}": inner}
    return rows


def _default(field: FieldInfo) -> str:
    """Return what holds while the file says nothing, in words; "" when it must say something."""
    if field.is_required() or field.default is None or isinstance(field.default, (BaseModel, dict)):
        return ""
    if isinstance(field.default, tuple):
        return ""
    if isinstance(field.default, float):
        return _shown_default(field)
    return written(field.default)


def _shown_default(field: FieldInfo) -> str:
    described = _schema(field).get("description", "")
    unit = next((base for base, kind in KINDS.items() if described.startswith(f"{kind.name} such as")), None)
    return f"{field.default:g}" if unit is None else show(field.default, unit or "%")


def words_of(record: type[BaseModel], name: str) -> tuple[str, str]:
    """Return what a key is called on the page, and its line of help; the key itself where nothing is told."""
    of_records = (_words_of_fields().get(one.__name__, {}).get(name) for one in record.__mro__)
    label, help_line = next(filter(None, of_records), None) or _words_of_fields()["any"].get(name) or (_label(name), "")
    return label, help_line


@cache
def _words_of_fields() -> dict[str, dict[str, list[str]]]:
    return loads(files(__package__).joinpath("words.toml").read_text("utf-8"))


def _label(name: str | int) -> str:
    return str(name).replace("_", " ")


def record_of(section: str) -> type[BaseModel]:
    """Return the record of a section of the job file, of one entry where it has many."""
    annotation = _bare(Job.model_fields[section].annotation)
    record: type[BaseModel] = _bare(get_args(annotation)[1]) if get_origin(annotation) is dict else annotation
    return record

