"""Frozen values as plain ones, for --json."""

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from math import isfinite
from pathlib import Path
from typing import Any

from pattress.finding import Figure, Finding
from pattress.quantity.units import SPELLINGS


def plain(value: Any) -> Any:
    """Return a value made of dictionaries, lists, texts, numbers and None only.

    A number that is not finite becomes None: JSON has no word for it. The unit of a figure becomes that
    of its value, which is SI; a share of 5 %, shown so elsewhere, is 0.05 without a unit.
    """
    if isinstance(value, Figure):
        return {"value": plain(value.value), "unit": SPELLINGS[value.unit].base if value.unit in SPELLINGS else value.unit}
    if is_dataclass(value):
        found = {field.name: plain(getattr(value, field.name)) for field in fields(value)}
        return found | {"margin": value.margin} if isinstance(value, Finding) else found
    if isinstance(value, Enum):
        return str(value.value)
    if isinstance(value, Mapping):
        return {str(key): plain(inner) for key, inner in value.items()}
    if isinstance(value, (list, tuple, set, frozenset)):
        return [plain(inner) for inner in value]
    if isinstance(value, float) and not isfinite(value):
        return None
    return str(value) if isinstance(value, Path) else value
