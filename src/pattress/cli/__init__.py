"""The command line. No engineering in here."""

from os import environ

environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")     # else every installed distribution is looked through for some, at each start

from pattress.cli.commands import main

__all__ = ["main"]
