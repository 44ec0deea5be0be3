"""The form of a thing: every key of the job file is there, and has its words."""

import pytest
from pydantic import BaseModel

from pattress.job import model
from pattress.job.model import Job
from pattress.web.job.form_fields import Kind, _words_of_fields, group_of, record_of, value_of, words_of

RECORDS = [record for record in vars(model).values() if isinstance(record, type) and issubclass(record, BaseModel)
           and record.__module__ == model.__name__ and record.model_fields and record not in (Job, model.Channel)]


@pytest.mark.parametrize("record", RECORDS, ids=lambda record: record.__name__)
def test_every_key_has_a_name_for_people(record):
    told = _words_of_fields()
    own = {name for one in record.__mro__ for name in told.get(one.__name__, {})}
    untold = [name for name in record.model_fields if name not in own and name not in told["any"]]
    assert untold == []


def test_no_words_are_told_of_keys_that_are_not_there():
    records = {record.__name__: record for record in RECORDS}
    for name, keys in _words_of_fields().items():
        if name != "any":
            assert keys.keys() <= records[name].model_fields.keys(), name


@pytest.mark.parametrize("section", list(Job.model_fields))
def test_the_form_of_a_section_has_a_field_or_a_group_for_every_key(section):
    record = record_of(section)
    group = group_of(record, (section, "x"), {}, {})
    shown = {field.path[2] for field in group.fields} | {inner.path[2] for inner in group.groups}
    assert shown == set(record.model_fields)


@pytest.mark.parametrize("section, name, typed, value", [
    ("load", "count", "4", 4), ("load", "count", "four", "four"), ("load", "power_factor", "0.9", 0.9), ("load", "power", "75 W", "75 W"),
    ("load", "power", " ", None), ("load", "spoken", "a\nb", ["a", "b"]), ("load", "spoken", "a", "a"), ("board", "status_lamp", "false", False),
    ("board", "status_lamp", "perhaps", "perhaps"), ("fan", "wanted", "evenly spaced", "evenly spaced"), ("fan", "wanted", "50 %, 100 %", ["50 %", "100 %"]),
    ("supply", "tolerance", "10 %", "10 %"),
])
def test_what_is_typed_becomes_the_value_that_the_file_has(section, name, typed, value):
    group = group_of(record_of(section), (section, "x"), {}, {})
    field = next(field for field in group.fields if field.path[-1] == name)
    assert value_of(field, typed) == value
    assert field.label == words_of(record_of(section), name)[0]


def test_the_kinds_of_fields():
    group = group_of(record_of("load"), ("load", "x"), {"feed": "lights"}, {"feed": ("lights", "sockets")})
    kinds = {field.path[-1]: field.kind for field in group.fields}
    assert kinds["feed"] is Kind.WORDS and kinds["power"] is Kind.TEXT and kinds["count"] is Kind.NUMBER and kinds["spoken"] is Kind.LINES
    assert group_of(record_of("job"), ("job",), {}, {}).fields[1].kind is Kind.LONG
