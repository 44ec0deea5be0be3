"""How long an input must keep still before it is believed, by its kind; the times stand in `defaults.toml`, each with its reason."""

from functools import cache
from importlib.resources import files
from tomllib import loads

from pattress.quantity import parse


def settle_ms(kind: str) -> int:
    """Return how long an input of a kind must keep still before it is believed [ms]. Raises KeyError for a kind that no input has."""
    return _settle_times()[kind]


@cache
def _settle_times() -> dict[str, int]:
    inputs = loads(files(__package__).joinpath("defaults.toml").read_text("utf-8"))["input"]
    return {kind: round(parse(row["settle"], "s") * 1000) for kind, row in inputs.items()}
