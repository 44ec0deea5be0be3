"""Published inrush of capacitor inputs (`inrush_rows.toml`): the evidence for the steps of `src/pattress/stock/loads.toml`."""

import tomllib
from dataclasses import dataclass
from pathlib import Path

from pattress.quantity import parse


@dataclass(frozen=True, slots=True)
class InrushRow:
    """A published inrush: power [W] and mains [V r.m.s.] of one, its peak [A], how long [s] where printed, and where it was read."""

    product: str
    power: float
    voltage: float
    peak: float
    duration: float | None
    source: str


def inrush_rows() -> tuple[InrushRow, ...]:
    """Return every published row."""
    rows = tomllib.loads(Path(__file__).with_suffix(".toml").read_text("utf-8"))["row"]
    return tuple(InrushRow(row["product"], parse(row["power"], "W"), parse(row["mains"], "V"), parse(row["peak"], "A"),
                           parse(row["duration"], "s") if "duration" in row else None, row["source"])
                 for row in rows)
