"""What every command does with a terminal: JSON on stdout, progress on stderr, results in a folder."""

import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

ALL_HOLDS, A_CHECK_FAILS, BAD_INPUT = 0, 1, 2       # exit codes


def print_json(value: Any) -> None:
    """Print a plain value as JSON."""
    click.echo(json.dumps(value, indent=2, ensure_ascii=False))


def progress_line(as_json: bool) -> Callable[[str], None]:
    """Return what shows progress: on stderr, one line that replaces itself on a terminal; nothing beside JSON."""
    if as_json:
        return lambda words: None
    if sys.stderr.isatty():
        return lambda words: click.echo(f"\r\033[K{words}", nl=False, err=True)
    return lambda words: click.echo(words, err=True)


def results_folder(job: Path, out: Path | None) -> Path:
    """Return where results go: named after the job's folder when the file is called job.toml."""
    name = job.resolve().parent.name if job.name == "job.toml" else job.stem
    return out or Path("out") / name
