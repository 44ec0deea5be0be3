"""The published folder: written for others, and read with a look at whether it is still what was published."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

from pattress.atomic_write import write_inside
from pattress.errors import UseError
from pattress.incoming import LONGEST_LINE, FileRefusal, content_of, text_of, toml_of
from pattress.job import load
from pattress.refusal import as_found
from pattress.repeat.publishing import FORMAT, JOB, POINTS, Publication
from pattress.visible import is_seen

MOST_FILES, LARGEST = 200, 4 * 1024 * 1024         # of a publication; bytes of one: a drawing is the largest
_PLACE = re.compile(r"(?=.{1,200}$)[A-Za-z0-9_-][A-Za-z0-9_.-]*(?:/[A-Za-z0-9_-][A-Za-z0-9_.-]*)*")


@dataclass(frozen=True, slots=True)
class Folder:
    """A published job as it lies in a folder: its document, and what "unknown" costs by the key of the point."""

    path: Path
    document: Mapping[str, Any]
    costs: Mapping[str, tuple[str, ...]]


def write_folder(folder: Path, publication: Publication) -> None:
    """Write a publication, the list of points last, so that a folder that was not finished is not taken for one.

    Raises UseError when the folder holds anything that a publication did not put there, or that is not as it did.
    """
    if folder.is_dir() and any(folder.iterdir()):
        digests = _digests(folder)
        added = next((name for name in _files(folder) if name != POINTS and _digest(folder / name) != digests.get(name)), None)
        if added is not None:
            raise UseError(f"{folder} holds {added}, which no publication put there as it is\n  allowed: a new folder, or one that --publish wrote")
        for name in _files(folder):
            (folder / name).unlink()
    for name, content in publication.files.items():
        write_inside(folder, name, content)


def read_folder(folder: Path) -> Folder:
    """Return a published job.

    Raises UseError when the folder is none or a file of it is not what was published, JobError
    when its job cannot be used. Whoever changed a file could change its digest, too: this finds
    damage and mix-ups, no malice.
    """
    if not (folder / POINTS).is_file():
        raise UseError(f"{folder} is no published job: it holds no {POINTS}\n  `pattress bundle JOB --publish FOLDER` writes one")
    listed = _listed(folder)
    digests: dict[str, str] = listed["files"]
    wrong = [f"{name} {'differs' if (folder / name).is_file() else 'is missing'}" for name, one in digests.items() if _digest(folder / name) != one]
    if wrong or JOB not in digests:
        raise UseError(f"{folder} is not what was published: {'; '.join(wrong) or f'{JOB} is not in the list'}\n"
                       "  get it again, or let its publisher write it anew")
    load(folder / JOB)
    return Folder(folder, toml_of(text_of(folder / JOB, "a job file")),
                  {point["key"]: tuple(point.get("unknown_costs", ())) for point in listed["point"]})


def _files(folder: Path) -> list[str]:
    """Return what lies in a folder and in the folders in it, links among them, which are not followed."""
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_symlink() or not path.is_dir())


def _digest(file: Path) -> str:
    """Return the SHA-256 of an ordinary file, "" for anything else."""
    try:
        return "" if file.is_symlink() else sha256(content_of(file, "a published file", LARGEST)).hexdigest()
    except FileRefusal:
        return ""


def _digests(folder: Path) -> dict[str, str]:
    return dict(_listed(folder)["files"]) if (folder / POINTS).is_file() else {}


def _listed(folder: Path) -> dict[str, Any]:
    """Return the list of points. Raises UseError when it cannot be read."""
    file = folder / POINTS
    try:
        listed = toml_of(text_of(file, "a list of points"))
    except FileRefusal as refusal:
        raise UseError(refusal.at(file)) from None
    try:
        if listed["format"] != FORMAT:
            raise UseError(f"{file} has format {as_found(listed['format'])}, this version reads {FORMAT}")
        well_formed = all(isinstance(name, str) and isinstance(one, str) for name, one in listed["files"].items()) and all(
            isinstance(point["key"], str) and all(map(_is_cost, point.get("unknown_costs", ()))) for point in listed["point"])
    except (KeyError, TypeError, AttributeError) as error:
        raise UseError(f"{file} cannot be read: {type(error).__name__}: {error}") from None
    if not well_formed or len(listed["files"]) > MOST_FILES or not all(map(_PLACE.fullmatch, listed["files"])):
        raise UseError(f"{file} is no list of points as `pattress bundle --publish` writes it")
    return listed


def _is_cost(found: object) -> bool:
    """Return whether this is one line of words, as `publish` writes them."""
    return isinstance(found, str) and len(found) <= LONGEST_LINE and is_seen(found)
