"""The reference of the job file in docs/job-file.md, made from its models and the words of its fields.

Write it anew with ``python -m tests.job.job_file_table > docs/job-file.md``.
"""

from collections.abc import Iterator, Mapping
from typing import Any, get_args

from pattress.design.defaults import settle_ms
from pattress.job.model import Input
from pattress.job.schema import job_schema
from pattress.job.translation import allowed_at, record_at
from pattress.quantity import show
from pattress.web.job.form_fields import group_of, words_of

HEAD = """# Every key of the job file

Made from the models of the job file by `tests/job/job_file_table.py`; a test compares. `pattress new`
writes a file to start from; `pattress schema` prints the same as a JSON Schema, for editors that check as
you type.

The file is TOML. A quantity is text with a unit, `"75 W"`, `"2.2 uF"`, `"0.75 mm2"`, `"3 min"`; the unit
may have a prefix. A name is {name}. Where `"unknown"` is allowed it means the worst credible case;
`pattress check` says which, and what measurement would settle it. NAME is a key of your own in small
letters, digits and `_`; other tables, rules and wishes refer to the thing by it.

The action of a switch or a button is one line, or a list of lines:

    on THING    off THING    toggle THING    up THING    down THING    set THING STEP    off everything

THING is the NAME of a load or a fan, or several with commas; STEP is one of a fan, 0 for off.

An input is open or closed. A wire to it that breaks reads as open, so take a contact that is closed when all is well
wherever a break must not pass unnoticed. It is believed once it has kept still for a time that depends on its kind:
{settle}.

"""
ONE, MANY = "one table", "one table each"
MANY_ROWS = 5           # rows that two tables share, from which on the second refers to the first
A_NAME = "text in quotes, 1 to 60 characters on one line"
FREE = "NAME"


def document() -> str:
    """Return the document."""
    return HEAD.replace("{name}", A_NAME).replace("{settle}", _settle_times()) + "\n".join(_chapters())


def _settle_times() -> str:
    """Return how long inputs must keep still, the kinds of one time together."""
    kinds: dict[int, list[str]] = {}
    for kind in get_args(Input.model_fields["kind"].annotation):
        kinds.setdefault(settle_ms(kind), []).append(kind)
    return "; ".join(f"{', '.join(some)} {show(settle / 1000, 's')}" for settle, some in kinds.items())


def _chapters() -> Iterator[str]:
    schema = job_schema()
    records, told, rows_of = schema["$defs"], set(), {}
    for section, field in schema["properties"].items():
        name = _reference(field.get("additionalProperties", field))
        if name is None:
            raise ValueError(f"section {section} holds no record")
        needed = ", required" if section in schema["required"] else ""
        many = "additionalProperties" in field
        key = f"[{section}.{FREE}]" if many else f"[{section}]"
        yield from _chapter(f"## `{key}`", records, name, (section, FREE) if many else (section,), (MANY if many else ONE) + needed, told, rows_of)


def _chapter(heading: str, records: Mapping[str, Any], name: str, path: tuple[str, ...], how_many: str, told: set[str],
             rows_of: dict[str, list[str]]) -> Iterator[str]:
    """Yield the table of a record, then those of the records within that have not been told yet. `rows_of` has the rows by heading so far."""
    told.add(name)
    about = records[name]["description"].split("]: ", 1)[-1].replace("\n", " ")
    group = group_of(record_at(path), path, {}, {})
    fields = {field.path[-1]: field for field in group.fields}
    rows, within = [], []
    for key, field in records[name]["properties"].items():
        label, help_line = words_of(record_at(path), key)
        inner = _reference(field)
        allowed = _allowed(field, allowed_at((*path, key)))
        if inner is not None and inner not in told | {other for other, _ in within}:
            within.append((inner, (*path, key, *((FREE,) if "additionalProperties" in field else ()))))
        default = fields[key].default if key in fields else ""
        left_out = "required" if key in records[name].get("required", ()) else f"`{default}`" if default else "nothing"
        rows.append(f"| `{key}` | {label}{f': {help_line}' if help_line else ''} | {allowed} | {left_out} |\n")
    same, rest = _as_before(rows, rows_of)
    rows_of[heading] = rows
    yield (f"{heading}\n\n{about[:1].upper()}{about[1:]} ({how_many}){same}\n\n| Key | What it is | Allowed | If left out |\n|---|---|---|---|\n"
           f"{''.join(rest)}")
    for inner, inner_path in within:
        if inner not in told:
            yield from _chapter(f"### {_title(inner)}", records, inner, inner_path, f"first used as `{'.'.join(inner_path)}`", told, rows_of)


def _as_before(rows: list[str], rows_of: Mapping[str, list[str]]) -> tuple[str, list[str]]:
    """Return a sentence about the rows that an earlier table has, if it has at least MANY_ROWS of them, and the rows that are left."""
    heading, shared = max(((heading, [row for row in rows if row in before]) for heading, before in rows_of.items()), key=lambda found: len(found[1]), default=("", []))
    if len(shared) < MANY_ROWS:
        return "", rows
    title = heading.lstrip("# ")
    anchor = title.lower().replace(" ", "-").translate(str.maketrans("", "", "`[]."))
    keys = ", ".join(row.split(" ")[1] for row in shared)
    return f" Also {keys} as in [{title}](#{anchor}).", [row for row in rows if row not in shared]


def _reference(field: Any) -> str | None:
    """Return the record that a field of the schema holds, in whatever wrapping."""
    if isinstance(field, dict):
        if "$ref" in field:
            return str(field["$ref"]).rsplit("/", 1)[-1]
        found = (_reference(inner) for key, inner in field.items() if key in ("anyOf", "oneOf", "items", "additionalProperties"))
    else:
        found = (_reference(inner) for inner in field) if isinstance(field, list) else iter(())
    return next((name for name in found if name is not None), None)


def _allowed(field: Any, words: str) -> str:
    name = _reference(field)
    if name is None:
        return "a name" if words == A_NAME else words.replace("|", "/")
    table = f"[{_title(name).lower()}](#{_title(name).lower().replace(' ', '-')})"
    several = {"additionalProperties": "tables", "items": "a list of tables"}
    kind = next((several[key] for key in several if key in field), "a table")
    others = [word for part in field.get("oneOf", ()) for word in part.get("enum", [part["const"]] if "const" in part else [])]
    return f"{kind}: {table}" + "".join(f', or "{word}"' for word in others)


def _title(name: str) -> str:
    """Return `ProtectiveDevice` as "Protective device"."""
    words = "".join(f" {letter.lower()}" if letter.isupper() else letter for letter in name).strip()
    return words[:1].upper() + words[1:]


if __name__ == "__main__":
    print(document(), end="")
