"""The manifest of a bundle: what lies in it, by digest, and what it was made from."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

from pattress.bundle.errors import BundleError, Damaged

FORMAT = 1
NAME = "manifest.json"


@dataclass(frozen=True, slots=True)
class Manifest:
    """What `manifest.json` holds.

    `files` maps each file but the manifest to its SHA-256. `program` is the digest of core and
    plan that the proof names too, `source` that of the core alone. `accepted` are the failed
    checks somebody answers for. `digest` is the SHA-256 of all the other entries together, and
    so of the whole bundle.
    """

    files: Mapping[str, str]
    program: str
    source: str
    compiler: str
    facts: Mapping[str, Any]
    accepted: Mapping[str, Mapping[str, str]]

    @property
    def digest(self) -> str:
        """Return the one digest over all."""
        return sha256(_text(self._entries()).encode()).hexdigest()

    def text(self) -> str:
        """Return the manifest as it is written: JSON with sorted keys."""
        return _text(self._entries() | {"digest": self.digest})

    def _entries(self) -> dict[str, Any]:
        return {
            "format": FORMAT, "files": dict(self.files), "program": self.program, "source": self.source,
            "compiler": self.compiler, "facts": dict(self.facts), "accepted": dict(self.accepted),
        }


def file_digests(folder: Path) -> dict[str, str]:
    """Return the SHA-256 of every file in a bundle's folder except the manifest, by its name there."""
    paths = sorted(path for path in folder.rglob("*") if path.is_file())
    names = {path.relative_to(folder).as_posix(): path for path in paths}
    return {name: sha256(path.read_bytes()).hexdigest() for name, path in sorted(names.items()) if name != NAME}


def read(folder: Path) -> Manifest:
    """Return the manifest of a bundle.

    Raises BundleError when the folder holds none, Damaged when it cannot be read or its own
    digest is not that of its entries.
    """
    path = folder / NAME
    if not path.is_file():
        raise BundleError(f"{folder} is no bundle: it holds no {NAME}")
    try:
        entries = json.loads(path.read_text("utf-8"))
        if entries["format"] != FORMAT:
            raise BundleError(f"{path} has format {entries['format']!r}, this version reads {FORMAT}")
        manifest = Manifest(**{name: entries[name] for name in Manifest.__slots__})
    except (ValueError, KeyError, TypeError) as error:
        raise Damaged(f"{path} cannot be read: {type(error).__name__}: {error}") from error
    if path.read_text("utf-8") != manifest.text():
        raise Damaged(f"{NAME} differs: its digest is not that of its entries")
    return manifest


def verify(folder: Path) -> Manifest:
    """Recompute every digest of a bundle and return its manifest.

    Raises Damaged naming each file that is missing, changed or too many; BundleError when the
    folder is no bundle. It finds damage and mix-ups; whoever can rewrite the manifest can
    also rewrite its digest, so compare that with the one in the proof and the hand-over.
    """
    manifest = read(folder)
    found = file_digests(folder)
    wrong = [f"{name} is missing" for name in manifest.files if name not in found]
    wrong += [f"{name} differs" for name in found if found[name] != manifest.files.get(name, found[name])]
    wrong += [f"{name} is not in the manifest" for name in found if name not in manifest.files]
    if wrong:
        raise Damaged(f"{folder} is not what its manifest says: {'; '.join(sorted(wrong))}")
    return manifest


def _text(entries: Mapping[str, Any]) -> str:
    return json.dumps(entries, sort_keys=True, indent=0, ensure_ascii=False, allow_nan=False) + "\n"
