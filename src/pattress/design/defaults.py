"""What the plan takes where the job file says nothing: times that stand in `defaults.toml`, each with its reason."""

from functools import cache
from importlib.resources import files
from tomllib import loads
from typing import Any

from pattress.quantity import parse


def default_ms(table: str, key: str) -> int:
    """Return a time of a table [ms]. Raises KeyError where there is none."""
    return round(parse(_defaults()[table][key], "s") * 1000)


def settle_ms(kind: str) -> int:
    """Return how long an input of a kind must keep still before it is believed [ms]. Raises KeyError for a kind that no input has."""
    return round(parse(_defaults()["input"][kind]["settle"], "s") * 1000)


@cache
def _defaults() -> dict[str, Any]:
    return loads(files(__package__).joinpath("defaults.toml").read_text("utf-8"))
