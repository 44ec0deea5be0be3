"""The published folder: written for others, and read with a look at whether it is still what was published."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

from pattress.atomic_write import write_atomically
from pattress.errors import UseError
from pattress.job import load
from pattress.repeat.publishing import FORMAT, JOB, POINTS, Publication


@dataclass(frozen=True, slots=True)
class Folder:
    """A published job as it lies in a folder: its document, and what "unknown" costs by the key of the point."""

    path: Path
    document: Mapping[str, Any]
    costs: Mapping[str, tuple[str, ...]]


def write_folder(folder: Path, publication: Publication) -> None:
    """Write a publication, the list of points last, so that a folder that was not finished is not taken for one.

    Raises UseError when the folder holds anything that a publication did not put there.
    """
    if folder.is_dir() and any(folder.iterdir()):
        added = sorted(set(_files(folder)) - set(_digests(folder)) - {POINTS})
        if added:
            raise UseError(f"{folder} holds {added[0]}, which no publication put there\n  allowed: a new folder, or one that --publish wrote")
        for name in _files(folder):
            (folder / name).unlink()
    for name, content in publication.files.items():
        write_atomically(folder / name, content)


def read_folder(folder: Path) -> Folder:
    """Return a published job.

    Raises UseError when the folder is none or a file of it is not what was published, JobError
    when its job cannot be used. Whoever changed a file could change its digest, too: this finds
    damage and mix-ups, no malice.
    """
    if not (folder / POINTS).is_file():
        raise UseError(f"{folder} is no published job: it holds no {POINTS}\n  `pattress bundle JOB --publish FOLDER` writes one")
    digests = _digests(folder)
    wrong = [f"{name} {'differs' if (folder / name).is_file() else 'is missing'}" for name, one in digests.items()
             if not (folder / name).is_file() or sha256((folder / name).read_bytes()).hexdigest() != one]
    if wrong or JOB not in digests:
        raise UseError(f"{folder} is not what was published: {'; '.join(wrong) or f'{JOB} is not in the list'}\n"
                       "  get it again, or let its publisher write it anew")
    load(folder / JOB)
    listed = _listed(folder)
    return Folder(folder, tomllib.loads((folder / JOB).read_text("utf-8")),
                  {point["key"]: tuple(point.get("unknown_costs", ())) for point in listed["point"]})


def _files(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())


def _digests(folder: Path) -> dict[str, str]:
    return dict(_listed(folder)["files"]) if (folder / POINTS).is_file() else {}


def _listed(folder: Path) -> dict[str, Any]:
    """Return the list of points. Raises UseError when it cannot be read."""
    file = folder / POINTS
    try:
        listed = tomllib.loads(file.read_text("utf-8"))
        if listed["format"] != FORMAT:
            raise UseError(f"{file} has format {listed['format']!r}, this version reads {FORMAT}")
        well_formed = all(isinstance(name, str) and isinstance(one, str) for name, one in listed["files"].items()) and all(
            isinstance(point["key"], str) for point in listed["point"])
    except (ValueError, KeyError, TypeError, AttributeError, OSError) as error:
        raise UseError(f"{file} cannot be read: {type(error).__name__}: {error}") from None
    if not well_formed or any(Path(name).is_absolute() or ".." in Path(name).parts for name in listed["files"]):
        raise UseError(f"{file} is no list of points as `pattress bundle --publish` writes it")
    return listed
