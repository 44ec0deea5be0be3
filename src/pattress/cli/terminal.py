"""What every command does with a terminal: JSON on stdout, progress on stderr, results in a folder."""

import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from pattress.design import Design
    from pattress.design.tally import Tally

ALL_HOLDS, A_CHECK_FAILS, BAD_INPUT = 0, 1, 2       # exit codes
CLEAR, WIDEST = "\033[K", 79                        # empties a line from here on; what fits in one with the cursor


def exit_code(design: "Design", tally: "Tally") -> int:
    """Return how a command ends that judges a design: 1 where a check or a name fails, or an unknown stops the bundle, and nobody answers for it."""
    return A_CHECK_FAILS if tally.failing_names or design.unanswered else ALL_HOLDS


def say(words: str, *, err: bool = False) -> None:
    """Print words for a person; on a terminal no line is cut in the middle of a word."""
    if (sys.stderr if err else sys.stdout).isatty():
        from pattress.cli.text import folded

        words = CLEAR + folded(words)      # where progress stands, it gives way
    click.echo(words, err=err)


def print_json(value: Any) -> None:
    """Print a plain value as JSON."""
    click.echo(json.dumps(value, indent=2, ensure_ascii=False))


def progress_line(as_json: bool) -> Callable[[str], None]:
    """Return what shows progress: on stderr, one line that replaces itself on a terminal; nothing beside JSON."""
    if as_json:
        return lambda words: None
    if sys.stderr.isatty():
        return lambda words: click.echo(f"{CLEAR}{words[:WIDEST]}\r", nl=False, err=True)
    return lambda words: click.echo(words, err=True)


def results_folder(job: Path, out: Path | None) -> Path:
    """Return where results go: named after the job's folder when the file is called job.toml."""
    name = job.resolve().parent.name if job.name == "job.toml" else job.stem
    return out or Path("out") / name
