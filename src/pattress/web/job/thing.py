"""The sheet of one thing: what it is, what was asked, the findings that concern it, and what would cure them."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, get_args

from pattress.design import Design
from pattress.design.comparison import Direction, compare
from pattress.errors import UseError
from pattress.finding import Verdict
from pattress.job import Job, JobError
from pattress.job.action import EVERYTHING
from pattress.job.agreement import as_key
from pattress.job.model import UNKNOWN, Press
from pattress.job.problem import key_path
from pattress.plural import counted
from pattress.web.draft import Version, WrittenMeanwhile, table_of
from pattress.web.job import things
from pattress.web.job.deletion import along, taken_out, told
from pattress.web.job.editing import errors_by_key, typed, with_typed
from pattress.web.job.findings import Shown, shown
from pattress.web.job.form_fields import MORE, Group, Holds, group_of, record_of
from pattress.web.job.home import Room, room_of
from pattress.web.job.naming import RENAMED, named, naming
from pattress.web.job.naming import told as named_along
from pattress.web.sheet import Asked, Go, NoSuchSheet, Stay

CONFLICT = "Nothing was written: the file was changed meanwhile where you typed. Look at what it says now, then write again."
TROUBLE = "Nothing was written: the file as it stands cannot be used. Put it right first; what you typed is still here."

MOVES_TOLD = 3


@dataclass(frozen=True, slots=True)
class ThingSheet:
    """One thing beside the drawing."""

    room: Room
    path: str
    name: str
    what: str
    asked: Group                       # the fields of the job file
    strays: tuple[str, ...]            # what stands in the way of the last edit and belongs to no field here
    removable: bool
    wanting: tuple[Shown, ...]         # findings about it that do not hold with room to spare
    findings: tuple[Shown, ...]        # about it, all others
    touched: tuple[Shown, ...]         # about other things, reckoned with a value of this one
    ways: tuple[tuple[str, str], ...]  # addresses and words of other sheets about it
    leaving: tuple[str, ...] = ()      # what would go along, when it was asked to be taken away
    called: str = ""                   # its key, or the one that was asked for; "" where it cannot have another
    following: tuple[str, ...] = ()    # what would change with its key, when another was asked for


def view(asked: Asked) -> ThingSheet:
    """Return the sheet of the thing in the address; raises NoSuchSheet."""
    return _sheet(asked, {}, {})


def write(asked: Asked) -> Go | Stay:
    """Write what was typed into the job file, over the text that it was typed over."""
    form = _with_unknown(asked.form)
    while True:
        version = asked.draft.now
        wanted = typed(_asked_of(asked, version), _base(asked), form)
        if wanted.conflicts:
            return Stay(_sheet(asked, form, wanted.conflicts), CONFLICT, 409)
        if not wanted.edits:
            return Go(_address(asked))
        try:
            return Go(_address(asked), f"Written. {moved_words(version.design, asked.draft.write(wanted.edits, over=version).design)}")
        except JobError as error:
            return _refused(asked, form, errors_by_key(error))
        except UseError as error:                        # a full disk, a folder of somebody else
            return Stay(_sheet(asked, form, {}), str(error))
        except WrittenMeanwhile:
            if asked.draft.trouble is not None:          # the file as it stands cannot be used: it comes first
                return Stay(_sheet(asked, form, {}), TROUBLE, 409)


def add(asked: Asked) -> Go | Stay:
    """Add an entry to a table of the thing: a button, a soldered pin, a reading."""
    version, where = asked.draft.now, asked.form.get("do", "").partition(":")[2]
    table = next((group for group in _groups(_asked_of(asked, version)) if group.name == where and group.adding), None)
    if table is None or table.adding is None:
        return Stay(None, "There is no such table to add to.")
    key = _new_key(table, asked.form.get("key", ""))
    values = {path[-1]: value for path, value in typed(table.adding, table.adding, asked.form).edits if value is not None}
    value = values.get(MORE) if table.holds is Holds.NUMBERS else values
    path = (*table.path, key)
    missing = "A name is missing." if key == "" else "A number is missing." if value is None else ""
    if key in {entry.path[-1] for entry in (*table.groups, *table.fields)}:
        missing = f"{key_path(path)} is there already."
    if missing:
        return Stay(_sheet(asked, asked.form, {table.key: missing}), "Nothing was added.")
    try:
        asked.draft.write([(path, value)], over=version)
    except JobError as error:
        words = errors_by_key(error)
        return _refused(asked, asked.form, {_moved(told, key_path(path), table.adding.key): words[told] for told in words})
    return Go(_address(asked), f"Added: {key_path(path)}.")


def _new_key(table: Group, typed_key: str) -> str | int:
    if table.holds is Holds.LIST:
        return len(table.groups)
    return as_key(typed_key) if table.holds is Holds.TABLES else typed_key.strip()


def remove(asked: Asked) -> Go | Stay:
    """Take the thing, or an entry in it, out of the job file; what speaks of it is told first, and then goes along."""
    where = asked.form.get("do", "").partition(":")[2]
    version = asked.draft.now
    now = _asked_of(asked, version)
    group = next((group for group in (now, *_groups(now)) if group.name == where and (group.removable or group is now)), None)
    if group is None or len(group.path) < 2:
        return Stay(None, "There is no such thing to take away.")
    edits = along(version, str(group.path[0]), str(group.path[1])) if group is now else ()
    if edits and not asked.form.get("do", "").startswith("along:"):
        places = "one other place speaks" if len(edits) == 1 else f"{len(edits)} other places speak"
        words = f"Nothing was taken away yet: {places} of it."
        return Stay(replace(_sheet(asked, {}, {}), leaving=told(version, edits)), words, 200)
    try:
        asked.draft.replace(taken_out(version, group.path, edits, str(asked.draft.file)), over=version)
    except JobError as error:
        return _refused(asked, {}, errors_by_key(error))
    return Go("/" if group is now else _address(asked), f"Taken away: {group.key}. Undo brings it back.")


def rename(asked: Asked) -> Go | Stay:
    """Give the thing another key; what speaks of it is told first, and then follows."""
    version, section, key = asked.draft.now, asked.place["section"], asked.place.get("key", "")
    _asked_of(asked, version)
    action, _, agreed = asked.form.get("do", "").partition(":")
    new = agreed or asked.form.get("called", "").strip()
    if section not in RENAMED:
        return Stay(None, "There is no such thing to rename.")
    try:
        wanted = naming(version, section, key, new)
        following = named_along(version, wanted)
        if following and action == "rename":
            words = f"Nothing was renamed yet: {len(following)} other place{'' if len(following) == 1 else 's'} would follow."
            return Stay(replace(_sheet(asked, {}, {}), called=new, following=following), words, 200)
        asked.draft.replace(named(version, wanted, str(asked.draft.file)), over=version)
    except (JobError, UseError) as error:
        return Stay(replace(_sheet(asked, {}, {}), called=new[:60]), str(error))
    return Go(things.address_of((section, new)), f"Renamed: {section}.{key} is {section}.{new} now. Undo takes it back.")


ACTIONS = {"write": write, "add": add, "remove": remove, "along": remove, "rename": rename, "renamed": rename}


def choices_of(design: Design) -> dict[str, tuple[str, ...]]:
    """Return the words that keys naming something else take in this job."""
    job = design.job
    relays = ("auto", *(part.designation for part in design.results["parts"].of("relay")))
    return {"feed": tuple(job.feed), "fan": tuple(job.fan), "wall": tuple(job.wall), "relay": relays, "type": tuple(design.results["boards"]),
            "setup_switch": tuple(job.switch), **dict.fromkeys(get_args(Press), _actions(job))}


def _actions(job: Job) -> tuple[str, ...]:
    """Return what a switch or button can do in this job, a line for each."""
    loads = [f"{verb} {key}" for key in job.load for verb in ("toggle", "on", "off")]
    fans = [f"{verb} {key}" for key in job.fan for verb in ("toggle", "up", "down", "off")]
    steps = [f"set {key} {step}" for key, fan in job.fan.items() for step in range(fan.steps + 1)]
    return (*loads, *fans, *steps, f"off {EVERYTHING}")


def with_costs(group: Group, design: Design) -> Group:
    """Return a group whose unknown values say what was taken instead, and what would settle them."""
    costs = {assumption.key: f"Taken instead: {assumption.taken} ({assumption.why}). To settle it: {assumption.measure}"
             for finding in design.findings for assumption in finding.assumptions}
    return replace(
        group, fields=tuple(replace(field, note=costs.get(field.key, "")) for field in group.fields),
        groups=tuple(with_costs(inner, design) for inner in group.groups),
    )


def _sheet(asked: Asked, form: Mapping[str, str], errors: Mapping[str, str]) -> ThingSheet:
    section, key, version = asked.place["section"], asked.place.get("key", ""), asked.draft.now
    design = version.design
    group = with_typed(with_costs(_asked_of(asked, version), design), form, errors)
    what = things.SINGLE.get(section) or things.NAMED[section]
    thing = getattr(design.job, section)[key] if key else None
    about = tuple(shown(finding, design.accepted) for finding in things.findings_of(design, section, key))
    known = {field.key for field in group.all_fields()} | {inner.key for inner in _groups(group)}
    return ThingSheet(
        room=room_of(design, f"{section}/{key}" if key else section), path=f"{section}/{key}" if key else section,
        name=getattr(thing, "name", key.replace("_", " ")) or what, what=what if key else "", asked=group,
        strays=tuple(words for found, words in errors.items() if found not in known), removable=bool(key),
        wanting=tuple(one for one in about if one.verdict != Verdict.HOLDS), findings=tuple(one for one in about if one.verdict == Verdict.HOLDS),
        touched=tuple(shown(finding, design.accepted) for finding in things.touched_by(design, section, key)), ways=things.ways(section, key),
        called=key if section in RENAMED else "",
    )


def _refused(asked: Asked, form: Mapping[str, str], errors: Mapping[str, str]) -> Stay:
    return Stay(_sheet(asked, form, errors), "Nothing was written; the file is as it was.")


def _asked_of(asked: Asked, version: Version) -> Group:
    section, key = asked.place["section"], asked.place.get("key", "")
    if not things.is_there(version.design.job, section, key):
        raise NoSuchSheet(f"This job has no {section} {key}".rstrip() + ".")
    return form_of(section, key, version.table, version.design)


def _base(asked: Asked) -> Group | None:
    """Return the thing as it was when the form was filled, None when that text is not known any more."""
    text = asked.draft.text_of(asked.form.get("version", ""))
    return None if text is None else form_of(asked.place["section"], asked.place.get("key", ""), table_of(text), asked.draft.now.design)


def form_of(section: str, key: str, table: Mapping[str, Any], design: Design) -> Group:
    """Return the form of a thing as a document has it."""
    found = table.get(section, {})
    if key:
        found = _entry(found, key)
    return group_of(record_of(section), (section, key) if key else (section,), found, choices_of(design))


def _entry(table: Any, key: str) -> Any:
    """Return an entry whose key may be joined by dots in the file or written apart."""
    if not isinstance(table, Mapping) or key in table or "." not in key:
        return table.get(key, {}) if isinstance(table, Mapping) else {}
    first, _, rest = key.partition(".")
    return _entry(table.get(first, {}), rest)


def _with_unknown(form: Mapping[str, str]) -> Mapping[str, str]:
    """Return a form in which the button "not known" of a field has filled it."""
    name = form.get("do", "").partition(":")[2]
    return {**form, name: UNKNOWN} if name in form else form


def _groups(group: Group) -> tuple[Group, ...]:
    return tuple(found for inner in group.groups for found in (inner, *_groups(inner), *((inner.adding,) if inner.adding else ())))


def moved_words(before: Design, after: Design) -> str:
    """Return in words which verdicts an edit has changed, the worst first."""
    moves = [(move.question, move.before, move.after) for move in compare(before, after).moves if move.direction in (Direction.WORSE, Direction.BETTER)]
    told = [f"{question} {now.verdict}, {then.verdict} before." for question, then, now in moves[:MOVES_TOLD] if then and now]
    more = [f"{counted(len(moves) - MOVES_TOLD, 'more verdict has', 'more verdicts have')} changed."] if len(moves) > MOVES_TOLD else []
    return " ".join(told + more) or "No verdict has changed."


def _moved(key: str, typed_key: str, shown_key: str) -> str:
    return shown_key + key[len(typed_key):] if key.startswith(typed_key) else key


def _address(asked: Asked) -> str:
    return things.address_of(tuple(filter(None, (asked.place["section"], asked.place.get("key", "")))))
