"""Puts a bundle on a board over the link, so that whatever interrupts it the former program still starts.

The order makes it so. What starts the board is replaced first, each file by one rename of a whole
one; then the idle slot is filled, which counts for nothing without its manifest; the board adds
the digests up and so does the workbench; the bundle checks itself; one more rename and the
record make it the one that starts, on trial. Only what the board does not hold already is sent.
"""

import json
from base64 import b64encode
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

from pattress.bench.errors import NotTaken, WrongBoard
from pattress.bench.link import Link
from pattress.bundle.contents import ROOT
from pattress.bundle.manifest import NAME, Manifest, verify
from pattress.bundle.settings import AUTHORITY

PART = 1024             # bytes of a file in one line
OLDEST = (1, 23)        # the first interpreter whose bytecode is that of the compiler's version 6.3 (from memory)
AT_ONCE = {"RP2040": (1, 26), "RP2350": (1, 26)}        # since when a timer's interrupt runs at once (sources of MicroPython 1.25.0, 1.26.1)
ROOM = 16_384           # bytes of flash left over for snapshots, records and the file system's own
BLOCK = 4096            # what a file takes at least
SETTINGS = "network.json"

Progress = Callable[[str], None]


@dataclass(frozen=True)
class Step:
    """What is done for one file: `how` is "send", "copy" (from the running program) or "keep"."""

    how: str
    path: str
    size: int
    source: str = ""


@dataclass(frozen=True)
class Putting:
    """What was, or would be, done. `slot` is None when the board runs this bundle already."""

    board: Mapping[str, Any]
    bundle: str
    slot: str | None
    steps: tuple[Step, ...]
    check: tuple[str, ...] = ()
    is_done: bool = False

    @property
    def sent(self) -> int:
        """Return how many bytes go over the link."""
        return sum(step.size for step in self.steps if step.how == "send")

    @property
    def advice(self) -> tuple[str, ...]:
        """Return what the person should know of the board's interpreter, a sentence each."""
        wanted = AT_ONCE.get(_chip(self.board["machine"]), OLDEST)
        if tuple(self.board["version"]) >= wanted:
            return ()
        return (f"this interpreter has no interrupt that takes a switch's turn at once, {'.'.join(map(str, wanted))} has: "
                "until then a switch may wait while the network starts or agrees on keys",)


def put(
    link: Link, folder: Path, *, chip: str, settings: bytes | None = None, authority: bytes | None = None, sequence: int | None = None,
    dry: bool = False, progress: Progress = lambda words: None,
) -> Putting:
    """Put the bundle in `folder` on the board at the end of a link and let it start there, on trial.

    `chip` is the board's as the stock names it. `settings` become the network's settings on the
    board's flash, `authority` the certificate beside them, `sequence` the number up to which no signed bundle is taken any more, unless
    a higher one is there; None leaves what is there. With `dry` nothing is changed. The board is not restarted, see `Link.restart`.

    Raises Damaged when the bundle is not whole, WrongBoard before anything is changed, NotTaken
    when a digest read back from the board is another, LinkError when the link is cut.
    """
    manifest = verify(folder)
    board = about(link)
    fitting(board, chip=chip, mpy=_mpy_version(folder, manifest))
    root = _root_steps(link, folder, manifest)
    there = _asked(link, "state()")[0]
    slot = None if there["bundle"] == manifest.digest else there["idle"]
    steps = root if slot is None else root + _slot_steps(link, folder, manifest, slot, there["stays"])
    loose = _loose(link, settings, authority)
    steps += tuple(_content_step(link, f"/{name}", content) for name, content in loose.items())
    if dry:
        return Putting(board, manifest.digest, slot, steps)
    _room(board, steps)
    _do(link, [step for step in steps if step.path in {f"/{name}" for name in _root_files(manifest)}], folder, progress)
    link.run("forget()")            # what starts the board may be a new one
    if sequence is not None and _asked(link, f"number({sequence})")[0] < sequence:
        raise NotTaken("the board did not keep the sequence of this bundle; the former program still starts")
    for name, content in loose.items():
        _replace(link, f"/{name}", content, progress)
    if slot is None:
        return Putting(board, manifest.digest, None, steps, is_done=True)
    if _asked(link, "ready()") != [slot]:
        raise NotTaken("the board has another idle slot than a moment ago: is somebody else at work on it?")
    _do(link, [step for step in steps if step.path.startswith(f"/{slot}/")], folder, progress)
    _send(link, f"/{slot}/manifest.new", (folder / NAME).read_bytes(), progress)
    progress("digests read back from the board")
    found = dict(_asked(link, f"digests('/{slot}')"))
    wrong = sorted(name for name in manifest.files if found.get(name) != manifest.files[name])
    if wrong:
        raise NotTaken(f"not on the board as sent: {', '.join(wrong)}; the former program still starts")
    progress("the bundle checks itself")
    said = tuple(link.run(f"check({slot!r})").splitlines())
    link.run(f"admit({slot!r})")
    return Putting(board, manifest.digest, slot, steps, said, is_done=True)


def wipe(link: Link) -> int:
    """Delete everything on a board's flash, program, keys and states, and return how many files went.

    Raises NotTaken when something is left, LinkError when the link is cut: then the keys are gone first.
    """
    gone, left = _asked(link, "wipe()")[0]
    if left:
        raise NotTaken(f"still on the board at {link.port}: {', '.join(left)}")
    return int(gone)


def about(link: Link) -> Mapping[str, Any]:
    """Return what a board says of itself."""
    said: Mapping[str, Any] = _asked(link, "about()")[0]
    return said


def fitting(board: Mapping[str, Any], *, chip: str, mpy: int) -> None:
    """Raise WrongBoard, with what was found and what is allowed, when a bundle is not for this board."""
    if _chip(board["machine"]) != _chip(chip):
        raise WrongBoard(f"the board says it is {board['machine']!r}\n  allowed: one with {chip}, as the job's board has")
    version = tuple(board["version"])
    if board["interpreter"] != "micropython" or version < OLDEST:
        raise WrongBoard(f"the board runs {board['interpreter']} {'.'.join(map(str, version))}\n"
                         f"  allowed: micropython {'.'.join(map(str, OLDEST))} or newer")
    if board["mpy"] & 0xFF != mpy:
        raise WrongBoard(f"the board loads modules of version {board['mpy'] & 0xFF}\n  allowed: {mpy}, as the bundle is compiled")
    if "Fat" in board["file_system"]:
        raise WrongBoard(f"the board's file system is {board['file_system']}\n"
                         "  allowed: VfsLfs2: only there a file takes the place of another in one operation")


def _chip(name: str) -> str:
    """Return a chip's type designation in one way of writing, from it or from what a board calls itself."""
    return name.rpartition(" with ")[2].replace("-", "").upper()


def _asked(link: Link, line: str) -> list[Any]:
    return [json.loads(answer) for answer in link.run(line).splitlines()]


def _mpy_version(folder: Path, manifest: Manifest) -> int:
    """Return the version in the second byte of the bundle's modules (MicroPython documentation, ".mpy files")."""
    return (folder / next(name for name in manifest.files if name.endswith(".mpy"))).read_bytes()[1]


def _root_files(manifest: Manifest) -> dict[str, str]:
    """Return the files on the root of the flash, by name, the one that the interpreter runs last."""
    names = [name for name in manifest.files if name.startswith(f"{ROOT}/")]
    return {name.partition("/")[2]: name for name in sorted(names, key=lambda name: (name.endswith("/main.py"), name))}


def _root_steps(link: Link, folder: Path, manifest: Manifest) -> tuple[Step, ...]:
    return tuple(_content_step(link, f"/{name}", (folder / inside).read_bytes()) for name, inside in _root_files(manifest).items())


def _content_step(link: Link, path: str, content: bytes) -> Step:
    is_there = link.run(f"print(digest({path!r}))").strip() == sha256(content).hexdigest()
    return Step("keep" if is_there else "send", path, len(content))


def _loose(link: Link, settings: bytes | None, authority: bytes | None) -> dict[str, bytes]:
    """Return what lies on the root of the flash apart from every bundle; settings without a Wi-Fi keep the one there."""
    if settings is not None and json.loads(settings)["wifi"] is None:
        known = json.loads(settings) | {"wifi": _asked(link, "known_wifi()")[0]}
        settings = json.dumps(known, ensure_ascii=False, separators=(",", ":")).encode()
    contents = {AUTHORITY: authority, SETTINGS: settings}
    return {name: content for name, content in contents.items() if content is not None}


def _slot_steps(link: Link, folder: Path, manifest: Manifest, slot: str, stays: str | None) -> tuple[Step, ...]:
    lying = dict(_asked(link, f"digests('/{slot}')"))
    near = {digest: name for name, digest in _asked(link, f"digests('/{stays}')")} if stays else {}
    steps = []
    for name, digest in manifest.files.items():
        size, path = (folder / name).stat().st_size, f"/{slot}/{name}"
        if lying.get(name) == digest:
            steps.append(Step("keep", path, size))
        elif digest in near:
            steps.append(Step("copy", path, size, f"/{stays}/{near[digest]}"))
        else:
            steps.append(Step("send", path, size))
    return tuple(steps)


def _room(board: Mapping[str, Any], steps: tuple[Step, ...]) -> None:
    needed = ROOM + sum(-(-step.size // BLOCK) * BLOCK for step in steps if step.how != "keep")
    if board["free"] < needed:
        raise NotTaken(f"the board has {board['free']} bytes of flash free\n  allowed: {needed} or more\n"
                       "  change: remove files that are not Pattress's from the board")


def _do(link: Link, steps: list[Step], folder: Path, progress: Progress) -> None:
    for number, step in enumerate(steps, start=1):
        if step.how == "keep":
            continue
        _, _, inside = step.path[1:].partition("/")
        if not inside:
            _replace(link, step.path, (folder / ROOT / step.path[1:]).read_bytes(), progress)
        elif step.how == "copy":
            progress(f"{number}/{len(steps)} {step.path}: copied on the board")
            link.run(f"copy({step.source!r}, {step.path!r})")
        else:
            _send(link, step.path, (folder / inside).read_bytes(), lambda words: progress(f"{number}/{len(steps)} {words}"))


def _replace(link: Link, path: str, content: bytes, progress: Progress) -> None:
    """Let new content take the place of a file on the root: it is whole beside it before it is renamed."""
    if _content_step(link, path, content).how == "keep":
        return
    _send(link, f"{path}.new", content, progress)
    link.run(f"replace({path + '.new'!r}, {path!r})")


def _send(link: Link, path: str, content: bytes, progress: Progress) -> None:
    link.run(f"begin({path!r})")
    for at in range(0, len(content), PART):
        link.run(f"part({b64encode(content[at:at + PART]).decode()!r})")
        progress(f"{path}: {min(at + PART, len(content))}/{len(content)}")
    if _asked(link, f"end({path!r})") != [sha256(content).hexdigest()]:
        raise NotTaken(f"{path} did not arrive as sent; the former program still starts")
