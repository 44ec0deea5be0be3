"""A job's document as the text of a job file: written anew, section by section, without comments."""

from collections.abc import Iterator, Mapping
from datetime import date
from json import dumps
from typing import Any

from pattress.job import Job
from pattress.job.problem import key_path
from pattress.visible import shown

TABLES_OF_THEIR_OWN = ("button",)          # written [remote.NAME.button], not on one line


def job_text(document: Mapping[str, Any], *opening: str) -> str:
    """Return a document of a job file as TOML, after a comment of the lines given."""
    lines = [f"# {line}".rstrip() for line in opening]
    for section in (*(name for name in Job.model_fields if name in document), *(name for name in document if name not in Job.model_fields)):
        lines += _table((section,), document[section])
    return "\n".join(lines).lstrip("\n") + "\n"


def _table(path: tuple[str, ...], table: Mapping[str, Any]) -> Iterator[str]:
    if len(path) == 1 and table and all(isinstance(value, Mapping) for value in table.values()):
        for key, value in table.items():
            yield from _table((*path, key), value)
        return
    own = [key for key in table if key in TABLES_OF_THEIR_OWN]
    yield f"\n[{key_path(path)}]"
    yield from (f"{key_path((key,))} = {as_toml(value)}" for key, value in table.items() if key not in own)
    for key in own:
        yield from _table((*path, key), table[key])


def as_toml(value: Any) -> str:
    """Return a value as TOML writes it, a table on one line."""
    match value:
        case bool():
            return "true" if value else "false"
        case str():
            return shown(dumps(value, ensure_ascii=False))
        case date():
            return value.isoformat()
        case Mapping():
            return "{ " + ", ".join(f"{key_path((key,))} = {as_toml(inner)}" for key, inner in value.items()) + " }" if value else "{}"
        case list() | tuple():
            return f"[{', '.join(map(as_toml, value))}]"
    return str(value)
