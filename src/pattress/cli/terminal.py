"""What every command does with a terminal: JSON on stdout, progress on stderr, and nothing that acts on the terminal."""

import json
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import click

from pattress.visible import shown

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

        click.echo(CLEAR + folded(shown(words)), err=err)      # where progress stands, it gives way
    else:
        click.echo(shown(words), err=err)


def print_json(value: Any) -> None:
    """Print a plain value as JSON, what acts on a terminal as escapes."""
    click.echo(shown(json.dumps(value, indent=2, ensure_ascii=False), lambda one: json.dumps(one)[1:-1]))


def progress_line(as_json: bool) -> Callable[[str], None]:
    """Return what shows progress: on stderr, one line that replaces itself on a terminal; nothing beside JSON."""
    if as_json:
        return lambda words: None
    if sys.stderr.isatty():
        return lambda words: click.echo(f"{CLEAR}{shown(words)[:WIDEST]}\r", nl=False, err=True)
    return lambda words: say(words, err=True)
