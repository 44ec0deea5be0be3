"""What presses of wall switches that tell them apart come to: by the clock, from the moments at which a contact is believed.

A second account beside the program's cells, which count down: here the moments are kept and compared.
"""

from __future__ import annotations

from array import array
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pattress.controller import core
from pattress.controller.core.cells import LEVEL

SHORT, HELD, TWICE = "", "held", "pressed twice"


@dataclass(frozen=True, slots=True)
class Told:
    """What a switch does, by how it is pressed, and the times that tell these apart [ms]; 0 where it does not."""

    acts: Mapping[str, array[int]]
    held_ms: int
    again_ms: int


def told_apart(table: Mapping[str, Any]) -> dict[int, Told]:
    """Return the switches of a plan's table that tell presses apart, by their place."""
    return {row["switch"]: Told(
        {how: _packed(acts) for how, acts in ((SHORT, table["switches"][row["switch"]]["acts"]), (HELD, row["held"]), (TWICE, row["twice"])) if acts},
        row["held_ms"], row["again_ms"]) for row in table.get("presses", ())}


def _packed(acts: Sequence[Sequence[int]]) -> array[int]:
    return array("i", [number for act in acts for number in act])


class PressOracle:
    """Says at each step which presses are decided in it."""

    def __init__(self, plan: core.Plan, told: Mapping[int, Told]) -> None:
        self._plan, self._told = plan, told
        self.begin()

    def begin(self) -> None:
        """The program has started: whatever stands closed now was no press."""
        self._since: dict[int, int] = {}        # when the last contact was believed of a press that is not decided

    def see(self, at: int, before: array[int], after: array[int]) -> Iterator[tuple[int, array[int]]]:
        """Yield the switches whose press is decided in a step in which time passes, with what they must do."""
        for switch, one in self._told.items():
            cell = self._plan.switch_at[switch] + LEVEL
            how = self._decided(at, switch, one, was=before[cell], now=after[cell])
            if how is not None:
                yield switch, one.acts[how]

    def _decided(self, at: int, switch: int, one: Told, *, was: int, now: int) -> str | None:
        passed = at - self._since.get(switch, at)
        if switch not in self._since:
            if now and not was:
                self._since[switch] = at
            return None
        how = None
        if was and one.held_ms and passed >= one.held_ms:
            how = HELD
        elif was and not now:
            if one.again_ms:
                self._since[switch] = at
                return None
            how = SHORT
        elif now and not was:
            how = TWICE
        elif not was and passed >= one.again_ms:
            how = SHORT
        if how is not None:
            del self._since[switch]
        return how
