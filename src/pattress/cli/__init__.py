"""The command line: one of the two doors. No engineering in here."""

from pattress.cli.commands import main

__all__ = ["main"]
