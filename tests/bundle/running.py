"""A bundle run on this machine, from its folder alone, under the board's interpreter."""

from collections.abc import Iterable
from pathlib import Path

from pattress.bundle.manifest import verify
from pattress.interpreter import ask, run


def run_bundle(folder: Path, events: Iterable[str]) -> tuple[str, ...]:
    """Return the answers of a bundle's program to questions as `pattress.controller.replay` writes them.

    The digests are checked first. The interpreter sees the bundle's folder and nothing of this
    package. Raises Damaged as `verify` does, InterpreterError when the program stops.
    """
    verify(folder)
    return ask(events, folder=folder)


def self_check(folder: Path) -> tuple[str, ...]:
    """Let a bundle check itself as it does on the board; return what it printed.

    Raises InterpreterError with what it found when it does not pass.
    """
    return run("import sys, main\nif not main.check():\n    sys.exit(1)", folder=folder)
