"""`pattress handover --delete-personal-data`: what is told before, and what then goes, when a home is handed over."""

import shutil
from collections.abc import Sequence
from pathlib import Path

import click

from pattress.bench.link import Link, refuse_absent
from pattress.bench.putting import wipe
from pattress.bundle import secrets
from pattress.cli.results import MARK, folder_for, job_of
from pattress.cli.terminal import ALL_HOLDS, print_json, say
from pattress.errors import UseError
from pattress.handover.issues import FOLDER as ISSUED
from pattress.plural import counted

RESULTS = {                # of a results folder, by pattern: what is in it
    ISSUED: "every issued copy, with the job as it was then", "sheets": "sheets, and the label with the passphrase where it was written",
    "drawings": "drawings", "schedules": "schedules", "bundle": "the bundle", ".bundle.*": "what a bundle left that was never finished",
    "handover.html": "the hand-over page", "day-*.svg": "a rehearsed day", "fan-*.svg": "a drawing of a fan", MARK: "of which job the results are",
}
BOARD = "everything on its flash: the program, its keys, the Wi-Fi and the states; it is stopped, its relays open"
STAYS = (
    "It does not delete what lies elsewhere: in a controller without --port, in backups, in version control, on paper, in published folders.",
    "A disk may keep the bytes until it needs the place. The controller takes no update over the network from here afterwards: only over USB.",
)


def delete(job: Path, out: Path | None, answers: Sequence[Path], *, port: str = "", sure: bool, as_json: bool) -> int:
    """Say what is there of a job's owner, on the board at `port` too, and delete it once the person says so."""
    if as_json and not sure:
        raise UseError("--json was given without --yes\n  allowed: pattress handover JOB --delete-personal-data --yes --json")
    rows = personal(job, out, answers)
    if port:
        refuse_absent(port)
    if not rows and not port:
        raise UseError(f"there is nothing of {job} to delete: no {secrets.place(job)}, no results in {folder_for(job, out)}\n  allowed: --out FOLDER, --answers FILE")
    if not as_json:
        say("This deletes for good:\n" + "\n".join(f"  {path}: {words}" for path, words in (*([(f"the board at {port}", BOARD)] if port else []), *rows)) + f"\nIt leaves {job} as it is, which says what the home has.\n" + "\n".join(STAYS))
    if not sure and not _agreed():
        raise UseError("nothing was deleted")
    files = _wiped(port) if port else 0
    for path, _ in rows:
        _gone(path)
    folder = folder_for(job, out)
    if folder.is_dir() and not any(folder.iterdir()):
        folder.rmdir()
    if as_json:
        print_json({"job": str(job), "deleted": [str(path) for path, _ in rows], "board_files": files})
    else:
        on_board = [counted(files, "file") + f" on the board at {port}"] if port else []
        say(f"Deleted: {', '.join((*on_board, *(str(path) for path, _ in rows)))}")
    return ALL_HOLDS


def _wiped(port: str) -> int:
    with Link(port) as link:
        return wipe(link)


def personal(job: Path, out: Path | None, answers: Sequence[Path]) -> list[tuple[Path, str]]:
    """Return what is there of a job's owner, keys and answers first, with what is in it.

    Raises UseError when a file of answers is not there, or the results folder is another job's.
    """
    store, folder = secrets.place(job), folder_for(job, out)
    rows = [(path, "the passphrase, the key that signs updates, the home's Wi-Fi and its key, user and password at the broker")
            for path in (store, *sorted(store.parent.glob(f".{_plain(store.name)}.*"))) if path.is_file() or path.is_symlink()]
    for file in answers:
        if not file.is_file():
            raise UseError(f"{file} is no file of answers\n  allowed: --answers with a file that was given to `pattress adopt`")
        rows.append((file, "answers that were given to `pattress adopt`"))
    other = job_of(folder)
    if other is not None and other != job.resolve():
        raise UseError(f"{folder} holds the results of another job, {other}\n  allowed: --out with the folder that holds those of {job}")
    return rows + [(path, words) for pattern, words in RESULTS.items() for path in sorted(folder.glob(pattern))]


def _plain(name: str) -> str:
    """Return a name as a pattern that only means itself."""
    return "".join(f"[{one}]" if one in "*?[" else one for one in name)


def _agreed() -> bool:
    try:
        return click.confirm("Delete all of this?", default=False)
    except click.Abort:
        return False


def _gone(path: Path) -> None:
    try:
        if path.is_dir() and not path.is_symlink():
            shutil.rmtree(path)
        else:
            path.unlink()
    except OSError as error:
        raise UseError(f"{path} cannot be deleted: {error.strerror}\n  what was named before it is gone; what was named after it is still there") from None
