"""Where the results of a job go, and whose are those that lie there."""

import os
from pathlib import Path

from pattress.atomic_write import write_atomically
from pattress.errors import UseError
from pattress.incoming import FileRefusal, text_of

MARK = "results-of.txt"        # in every results folder: the path of its job file, from there


def folder_for(job: Path, out: Path | None) -> Path:
    """Return where results of a job lie: named after the job's folder when the file is called job.toml."""
    name = job.resolve().parent.name if job.name == "job.toml" else job.stem
    return out or Path("out") / name


def results_folder(job: Path, out: Path | None) -> Path:
    """Return the folder for the results of a job, marked as this job's from now on.

    Raises UseError when it holds the results of another job, which is still there.
    """
    folder = folder_for(job, out)
    other, own = job_of(folder), job.resolve()
    if other is not None and other != own and other.is_file():
        raise UseError(f"{folder} holds the results of another job, {other}\n  allowed: --out with a folder of its own for {job}; or take {folder} away first")
    if other != own and own.is_file():
        write_atomically(folder / MARK, f"{_way(folder, own)}\n")
    return folder


def job_of(folder: Path) -> Path | None:
    """Return the job file whose results lie in a folder, None where nothing says so."""
    try:
        return (folder / text_of(folder / MARK, "a mark").strip()).resolve()
    except FileRefusal:
        return None


def _way(folder: Path, job: Path) -> str:
    try:
        return os.path.relpath(job, folder.resolve())
    except ValueError:          # on another drive
        return str(job)
