"""`pattress handover --issue`: the pack as the next revision, and a copy of it that stays."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from pattress.atomic_write import write_inside
from pattress.design import Design, design_of
from pattress.errors import UseError
from pattress.handover.issues import FOLDER, LONGEST_REASON, RECORD, Issue, moved_words, next_revision, read_issues, record_of, revision_of
from pattress.stock.own import Own

JOB = "job.toml"


def refuse_reason(reason: str | None) -> None:
    """Raise UseError when an issue is asked for without a reason that a sheet can print."""
    if reason is not None and not 1 <= len(" ".join(reason.split())) <= LONGEST_REASON:
        raise UseError(f"--issue has a reason of {len(' '.join(reason.split()))} letters\n  allowed: 1 to {LONGEST_REASON}, such as --issue \"wall lights moved to feed sockets\"")


def issues_with(reason: str | None, design: Design, program: str, folder: Path, own: Own) -> tuple[Issue, ...]:
    """Return the issues of a pack, with the one that is asked for by its reason.

    Raises UseError when the record cannot be read, or the last issue is of this design already.
    """
    issues = read_issues(folder)
    if reason is None:
        return issues
    last = issues[-1] if issues else None
    if last and revision_of(issues, design.identity, program) == last.revision:
        raise UseError(f"revision {last.revision} of {last.date} is of this job and design already: nothing was issued\n  allowed: --issue after a change; without it the pack is written as it is")
    moved = moved_words(design_of(folder / FOLDER / last.revision / JOB, own), design) if last else ""
    return *issues, Issue(next_revision(issues), date.today().isoformat(), " ".join(reason.split()), design.identity, program, moved)


def kept(files: Sequence[Path], job: Path, board: str | None, folder: Path, issues: Sequence[Issue]) -> list[Path]:
    """Copy the files of an issue, its job file and the `board` file beside it into a folder of their own; record the issue last. Return what was written."""
    place = Path(FOLDER, issues[-1].revision)
    copied = {file.relative_to(folder): file for file in files} | {Path(JOB): job} | ({Path(board): job.parent / board} if board else {})
    written = [write_inside(folder, place / name, source.read_bytes()) for name, source in copied.items()]
    return [*written, write_inside(folder, Path(FOLDER, RECORD), record_of(issues))]
