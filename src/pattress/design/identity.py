"""One short code for a whole job and what follows from it: what every sheet of it bears, so that no two designs are taken for one another.

Every field of the job counts, and every part, net, pin, figure and verdict that follows; the order of keys in the file and its
comments do not. Figures count to nine digits: the last ones differ from machine to machine.
"""

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from hashlib import sha256
from json import dumps
from typing import TYPE_CHECKING, Any

from pydantic import BaseModel

if TYPE_CHECKING:
    from pattress.design import Design

DIGITS = 12                  # of the SHA-256 in hexadecimal: one chance in 3e14 for two designs to share a code
FIGURES = 9
UNORDERED = ("pins", "rule", "accept")   # tables of the job whose order means nothing


def identity_of(design: "Design") -> str:
    """Return the code of a design."""
    pins = design.pins.by_name() if hasattr(design.pins, "by_name") else {}
    whole = [design.job, design.board.type, design.circuit, design.findings, design.plan, pins]
    return sha256(dumps(_plain(whole), separators=(",", ":"), ensure_ascii=False).encode()).hexdigest()[:DIGITS]


def _plain(value: Any) -> Any:
    """Return a value as JSON has it. The order of a mapping stays: that of feeds and channels numbers devices and relays."""
    if isinstance(value, float):
        return f"{value:.{FIGURES}g}"
    if value is None or isinstance(value, bool | int | str) and not isinstance(value, Enum):
        return value
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, BaseModel):
        return {name: _plain(dict(sorted(getattr(value, name).items())) if name in UNORDERED else getattr(value, name)) for name in type(value).model_fields}
    if is_dataclass(value):
        return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, Mapping):
        return {str(key): _plain(inner) for key, inner in value.items()}
    return [_plain(inner) for inner in value] if isinstance(value, list | tuple) else str(value)
