"""A way out of a conflict of pins, as a value: what to change, at which price, and the assignment that then holds."""

from collections.abc import Mapping
from dataclasses import dataclass

from pattress.pins.best import Assignment
from pattress.pins.demands import Demand
from pattress.stock.boards import Board


@dataclass(frozen=True, slots=True)
class Relaxation:
    """A way out: what to change in words, and the assignment that then holds (it was solved anew).

    `kinds` names the changes; `wanted`, `fixed`, `waived` and `board` are what was solved.
    """

    kinds: tuple[str, ...]
    words: str
    price: int
    wanted: tuple[Demand, ...]
    fixed: Mapping[str, int]
    waived: frozenset[str]
    board: Board
    assignment: Assignment
