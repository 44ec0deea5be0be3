"""The sheet on which something new comes into the job: a load, a switch, another contact, a fan, a remote, a sensor, a feed, a wall, a rule, a wish."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from pattress.design.tables import with_table
from pattress.job import JobError
from pattress.job.agreement import as_key
from pattress.job.problem import Path
from pattress.web.job import things
from pattress.web.job.editing import errors_by_key, typed, with_typed
from pattress.web.job.form_fields import MORE, Field, Group, Kind, group_of, record_of
from pattress.web.job.home import Room, room_of
from pattress.web.job.thing import choices_of
from pattress.web.sheet import Asked, Go, NoSuchSheet, Stay

# A remote needs a button to be of use; everything else begins with its own needed keys.
FIRST_BUTTON = "button"


@dataclass(frozen=True, slots=True)
class Choosing:
    """What can be added."""

    room: Room
    kinds: tuple[tuple[str, str], ...]      # address and word
    section: str = ""


@dataclass(frozen=True, slots=True)
class Adding:
    """The form of one new thing."""

    room: Room
    section: str
    what: str
    key: str
    asked: Group
    strays: tuple[str, ...]


def view(asked: Asked) -> Choosing | Adding:
    """Return what can be added, or the form of the kind in the address."""
    if "section" not in asked.place:
        kinds = tuple((f"/add/{section}", what) for section, what in things.NAMED.items())
        return Choosing(room_of(asked.design), kinds)
    return _sheet(asked, _begun(asked), {})


def _begun(asked: Asked) -> dict[str, str]:
    """Return what a form is filled with before anybody types: an acceptance with the finding in the address, and today."""
    if asked.place["section"] != "accept":
        return {}
    day = next(field for field in _form(asked).fields if field.path[-1] == "date")
    return {"key": asked.query.get("finding", ""), day.name: date.today().isoformat()}


def add(asked: Asked) -> Go | Stay:
    """Write the new thing into the job file."""
    section, form, version = asked.place["section"], asked.form, asked.draft.now
    group = _form(asked)
    values: dict[str, Any] = {}
    for path, value in typed(group, group, form).edits:
        if value is not None:
            _put(values, path[2:], value)
    key = form.get("key", "").strip() or as_key(str(values.get("name", "")))
    if section != "accept":
        key = as_key(key)
    if not key:
        return Stay(_sheet(asked, form, {_of(section): "A name is missing: the page makes the key in the job file of it."}), "Nothing was added.")
    if key in getattr(version.design.job, section):
        return Stay(_sheet(asked, form, {_of(section): f"{section}.{key} is there already. Give the new one another key."}), "Nothing was added.")
    try:
        asked.draft.replace(with_table(version.text, (section, key), values), over=version)
    except JobError as error:
        moved = {_moved(found, section, key): words for found, words in errors_by_key(error).items()}
        return Stay(_sheet(asked, form, moved), "Nothing was added; the file is as it was.")
    return Go(things.address_of((section, key)), f"Added: {section} {key}.")


def _sheet(asked: Asked, form: Mapping[str, str], errors: Mapping[str, str]) -> Adding:
    section = asked.place["section"]
    group = with_typed(_form(asked), form, errors)
    known = {field.key for field in group.all_fields()} | {inner.key for inner in group.groups}
    return Adding(room_of(asked.draft.now.design), section, things.NAMED[section], form.get("key", "")[:60], group,
                  tuple(words for key, words in errors.items() if key not in known))


def _form(asked: Asked) -> Group:
    section = asked.place["section"]
    if section not in things.NAMED:
        raise NoSuchSheet(f"Nothing of the kind {section} can be added.")
    group = group_of(record_of(section), (section, MORE), {}, choices_of(asked.draft.now.design))
    return _with_button(group) if section == "remote" else group


def _with_button(group: Group) -> Group:
    """Return the form of a remote with its first button, whose key is `button`."""
    does = Field((*group.path, "button", FIRST_BUTTON, "does"), "first button does", Kind.LINES, "", (), "what to do, such as \"toggle pendant\"", "", True, "")
    code = Field((*group.path, "button", FIRST_BUTTON, "code"), "its code", Kind.TEXT, "", ("unknown",), "a code such as \"nec 0x04:0x08\", or \"unknown\"", "unknown", False, "")
    return Group(group.path, group.title, (*group.fields, does, code), ())


def _put(table: Any, path: Path, value: Any) -> None:
    for part in path[:-1]:
        table = table.setdefault(part, {})
    table[path[-1]] = value


def _of(section: str) -> str:
    return f"{section}.{MORE}"


def _moved(found: str, section: str, key: str) -> str:
    """Return the key that the form names of one in a message."""
    for shown in (f'{section}."{key}"', f"{section}.{key}"):
        if found == shown or found.startswith(f"{shown}."):
            return f'{section}."{MORE}"{found[len(shown):]}'
    return found
