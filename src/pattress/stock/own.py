"""A person's own files of parts and boards, which win over the stock."""

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Own:
    """The files given beside a job: one of parts, any number of boards. A job may name a board file of its own besides."""

    parts: Path | None = None
    boards: tuple[Path, ...] = ()


NOTHING = Own()
