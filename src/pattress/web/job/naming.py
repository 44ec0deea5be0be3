"""Another key for a thing: what follows is told first, and then written in one step."""

from dataclasses import dataclass
from typing import Any

from pattress.design.rewriting import edited
from pattress.design.tables import with_keys
from pattress.errors import UseError
from pattress.job.agreement import as_key
from pattress.job.problem import Path, key_path
from pattress.refusal import advice
from pattress.repeat import renaming
from pattress.repeat.references import CHANNELS
from pattress.web.draft import Version
from pattress.web.job import things
from pattress.web.job.deletion import at, shown

RENAMED = tuple(section for section in things.NAMED if section != "accept")     # the key of an acceptance is the id of a finding


@dataclass(frozen=True, slots=True)
class Naming:
    """What changes with a key: keys by their path, each with its new last part, and values by theirs."""

    keys: dict[Path, str]
    values: dict[Path, Any]


def naming(version: Version, section: str, key: str, new: str) -> Naming:
    """Return what another key for a thing changes. Raises UseError when it cannot have that key."""
    job = version.design.job
    taken = [other for other in (CHANNELS if section in CHANNELS else (section,)) if new in getattr(job, other)]
    if new == key:
        raise UseError(f"{section}.{key} is called so already{advice('another key', '')}")
    if taken:
        raise UseError(f"{taken[0]}.{new} is there already{advice('a key of its own', '')}")
    if not new or as_key(new) != new:
        raise UseError(f"{new or 'nothing'} is no key{advice('small letters, digits and _, a letter first, at most 32', as_key(new))}")
    accepted = {finding.id for finding in things.findings_of(version.design, section, key)} & set(job.accept)
    return Naming(renaming.keys(version.table, section, key, new, accepted), renaming.values(version.table, section, key, new))


def told(version: Version, asked: Naming) -> tuple[str, ...]:
    """Return in words what changes beside the thing's own key."""
    _, *others = asked.keys.items()
    return tuple(f"{key_path(path)} becomes {key_path((*path[:-1], new))}" for path, new in others) + tuple(
        f"{key_path(path)}: {shown(at(version.table, path))} becomes {shown(value)}" for path, value in asked.values.items())


def named(version: Version, asked: Naming, file: str) -> str:
    """Return the job file's text with it. Raises UseError when it is written there in a way that cannot be renamed."""
    text = edited(version.text, asked.values.items(), file) if asked.values else version.text
    return with_keys(text, asked.keys, file)
