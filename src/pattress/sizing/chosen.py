"""The parts that were chosen for a job, each with the reason: what every later question reckons with."""

from collections.abc import Mapping
from dataclasses import dataclass

from pattress.fan.drive import FanDrive
from pattress.stock.boards import Board
from pattress.stock.parts import Part


@dataclass(frozen=True, slots=True)
class Choice:
    """A part and why it: named by the person, or the first in order of preference that holds."""

    part: Part
    reason: str
    named: bool = False


@dataclass(frozen=True, slots=True)
class Chosen:
    """Everything chosen. Mappings are by channel key; `fans` holds the relay patterns of each fan."""

    board: Board
    relays: Mapping[str, Choice]
    terminals: Mapping[str, Choice]
    fans: Mapping[str, FanDrive]
    driver: Choice
    supply: Choice

    def relay_count(self, key: str) -> int:
        """Return how many relays a channel has."""
        return self.fans[key].relays if key in self.fans else 1

    def closed_at_once(self, key: str) -> int:
        """Return how many relays of a channel can be closed together."""
        return max(mask.bit_count() for mask in self.fans[key].masks) if key in self.fans else 1
