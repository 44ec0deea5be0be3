"""The command line. No engineering in here."""

from pattress.cli.commands import main

__all__ = ["main"]
