"""Writes a bundle: beside its place first, then renamed into it, so that it is whole or not there."""

import os
import shutil
import zlib
from collections.abc import Iterable, Mapping
from pathlib import Path
from tempfile import TemporaryDirectory
from time import time
from typing import Any

from pattress.atomic_write import writing
from pattress.bundle.compiler import compile_modules, compiler_version
from pattress.bundle.contents import CONTROLLER, READERS, ROOT, ROOT_MAIN, modules, names_on_board, resources
from pattress.bundle.errors import BundleError
from pattress.bundle.manifest import NAME, Manifest, file_digests
from pattress.bundle.refusal import refuse
from pattress.bundle.settings import broker_of, name_of
from pattress.bundle.thing import Broker, thing_description, thing_text
from pattress.bundle.wiring import NAME as BOARD
from pattress.bundle.wiring import board_table
from pattress.controller.digest import canonical, core_files, digest, source_digest
from pattress.controller.network.packed import ENDING
from pattress.controller.request_queue import readings
from pattress.finding import Finding
from pattress.job.model import Acceptance

WINDOW = 11         # 2 KiB, which a board holds while it unpacks; a narrower one packs the Thing Description half as well
AN_HOUR = 3600.0    # s
THING = "thing.json"        # as in controller/network/service.py


def write_bundle(
    folder: Path,
    table: Mapping[str, Any],
    facts: Mapping[str, Any],
    *,
    findings: Iterable[Finding],
    accepted: Mapping[str, Acceptance],
    core: Iterable[Path] | None = None,
) -> Manifest:
    """Write the bundle of a plan to `folder` and return its manifest.

    `facts` are what the sheet on site needs beside the plan (title, board, ...), plain values
    only. With `pins` among them the bundle carries the board's table too, and can start a board;
    without, it can only be asked; with `network` (`broker` as in the job) it describes itself as a
    Thing, too; what only one `port` of the interpreter runs goes to boards of it. `core` is the control program's source, this package's own
    when not given. The same input gives the same bytes in any folder at any time. A bundle that
    lies there already is replaced; anything else is left alone.

    Raises Refused when a safety check fails without acceptance, BundleError when `folder` is
    something else than a bundle or a wire of the plan has no pin, UseError when `folder` cannot
    be written, CompilerError when a module does not compile.
    """
    findings = tuple(findings)
    refuse(findings, accepted)
    folder = Path(folder).absolute()
    aside = folder.with_name(f".{folder.name}.before")
    _mend(folder, aside)
    if folder.is_symlink():
        raise BundleError(f"{folder} is a link; choose another folder, or take the link away")
    if folder.exists() and not (folder / NAME).is_file():
        raise BundleError(f"{folder} exists and is no bundle: it holds no {NAME}; choose another folder")
    wired = board_table(table, facts) if facts.get("pins") else None
    sources = core_files() if core is None else tuple(core)
    stopping = {finding.id for finding in findings if finding.stops}
    with writing(folder):
        folder.parent.mkdir(parents=True, exist_ok=True)
        _clear(folder)
    with writing(folder), TemporaryDirectory(prefix=f"{_beside(folder)}{os.getpid()}.", dir=folder.parent) as beside:
        new = Path(beside, "bundle")
        carried = modules(
            sources, [button["protocol"] for button in table["buttons"]], facts.get("port", ""), has_setup=bool(facts.get("setup_switch")), tables=table.keys())
        compile_modules(carried, new, [CONTROLLER / f"{name}.py" for name in READERS], names_on_board(sources))
        for name, path in resources().items():
            (new / f"{name}{ENDING}").write_bytes(packed(path.read_bytes()))
        (new / ROOT / "main.py").write_bytes(ROOT_MAIN.encode())
        (new / "plan.json").write_bytes(canonical(table))
        if wired is not None:
            (new / BOARD).write_bytes(canonical(wired))
        if wired is not None and facts.get("network"):
            (new / f"{THING}{ENDING}").write_bytes(packed(thing_text(_thing(table, wired, facts))))
        manifest = Manifest(
            files=file_digests(new),
            program=digest(table, sources),
            source=source_digest(sources),
            compiler=compiler_version(),
            facts=dict(facts),
            accepted={id: {"reason": one.reason, "by": one.by, "date": str(one.date)}
                      for id, one in accepted.items() if id in stopping},
        )
        (new / NAME).write_bytes(manifest.text().encode())
        _put_in_place(new, folder, aside)
    return manifest


def packed(content: bytes) -> bytes:
    """Return a file as it lies packed in a bundle, for `controller/network/packed.py`."""
    packer = zlib.compressobj(9, wbits=WINDOW)
    return packer.compress(content) + packer.flush()


def _thing(table: Mapping[str, Any], wired: Mapping[str, Any], facts: Mapping[str, Any]) -> dict[str, Any]:
    """Return the Thing Description of the controller. Whether the broker asks for a password only the home knows."""
    over_tls = facts["network"].get("over_tls", False)
    reached = broker_of(facts["network"]["broker"], over_tls=over_tls)
    return thing_description(
        table, name=name_of(facts["title"], facts["network"].get("name")), sensors=readings(wired["sensors"]),
        broker=None if reached is None else Broker(**reached, tls=over_tls, login=None))


def _beside(folder: Path) -> str:
    """Return how the hidden folder begins in which a bundle is made; the number of the process that makes it follows."""
    return f".{folder.name}.new."


def _clear(folder: Path) -> None:
    """Throw away what a process left beside a bundle that was killed while it made one."""
    for left in folder.parent.iterdir():
        number = left.name.removeprefix(_beside(folder)).partition(".")[0]
        if left.name.startswith(_beside(folder)) and number.isdecimal() and not _is_running(int(number), left):
            shutil.rmtree(left, ignore_errors=True)


def _is_running(process: int, left: Path) -> bool:
    """Return whether a process still runs; where it cannot be asked, whether what it left is less than an hour old."""
    if os.name != "posix":
        return time() - left.stat().st_mtime < AN_HOUR
    try:
        os.kill(process, 0)
    except (ProcessLookupError, OverflowError):
        return False
    except PermissionError:
        pass
    return True


def _put_in_place(new: Path, folder: Path, aside: Path) -> None:
    """Exchange the bundle in `folder` for the new one; interrupted at any point, one of them is there."""
    try:
        if folder.exists():
            folder.rename(aside)
        new.rename(folder)
    finally:
        _mend(folder, aside)


def _mend(folder: Path, aside: Path) -> None:
    """Put back the former bundle when no other took its place; else throw it away."""
    if aside.exists():
        if folder.exists():
            shutil.rmtree(aside)
        else:
            aside.rename(folder)
