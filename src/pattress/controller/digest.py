"""The one digest that names what was proven, what is on the board and what was handed over.

SHA-256 over the source of the control program and the plan it runs. Proof, rehearsal, bundle
and hand-over all take it from here, so equal digests mean the same program under the same
plan. Runs on the workbench only; the board compares, it does not compute.
"""

import json
from collections.abc import Iterable, Mapping
from hashlib import sha256
from pathlib import Path

CORE = Path(__file__).parent / "core"


def core_files(folder: Path = CORE) -> tuple[Path, ...]:
    """Return the source files of the control program, ordered by name."""
    return tuple(sorted(folder.glob("*.py"), key=lambda path: path.name))


def canonical(table: Mapping) -> bytes:
    """Return a plan's table as the one JSON text that stands for it, in UTF-8.

    Keys are sorted and nothing is spaced, so tables that are equal are equal byte for byte.
    Raises ValueError when the table holds a number that is not whole: the board would cut it.
    """
    _refuse_fractions(table, "plan")
    return json.dumps(table, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()


def source_digest(files: Iterable[Path] | None = None) -> str:
    """Return the SHA-256 of the control program's source, in hexadecimal."""
    return sha256(_pack(core_files() if files is None else files)).hexdigest()


def digest(table: Mapping, files: Iterable[Path] | None = None) -> str:
    """Return the SHA-256 of the control program together with its plan, in hexadecimal.

    `files` is the program's source in a fixed order, `core_files()` when not given. Only the
    name of a file counts, not the folder it lies in. Raises ValueError as `canonical` does.
    """
    packed = _pack(core_files() if files is None else files)
    return sha256(packed + _framed("plan.json", canonical(table))).hexdigest()


def _pack(files: Iterable[Path]) -> bytes:
    return b"".join(_framed(path.name, path.read_bytes()) for path in files)


def _framed(name: str, content: bytes) -> bytes:
    """Return name and content so that no two lists of files pack to the same bytes."""
    return b"%s\0%d\0%s" % (name.encode(), len(content), content)


def _refuse_fractions(value, where: str) -> None:
    if isinstance(value, float):
        raise ValueError(f"{where} must be a whole number, found {value!r}")
    if isinstance(value, Mapping):
        for key, inner in value.items():
            _refuse_fractions(inner, f"{where}.{key}")
    elif isinstance(value, (list, tuple)):
        for place, inner in enumerate(value):
            _refuse_fractions(inner, f"{where}[{place}]")
