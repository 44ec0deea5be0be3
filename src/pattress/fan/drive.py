"""How a fan is driven, as far as the control program and the parts list need to know."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class FanDrive:
    """The relays of one fan.

    `capacitors` [F], one relay each; the last relay is straight through. `masks` says which
    relays close at each level, off first, bit 0 = first relay. `dead` [s] all relays stay open
    between two patterns. Levels 1 to `kick_top` start with `kick_level` for `kick` [s].
    """

    key: str
    capacitors: tuple[float, ...]
    masks: tuple[int, ...]
    dead: float
    kick_level: int
    kick_top: int
    kick: float

    @property
    def relays(self) -> int:
        """Return how many relays it takes."""
        return max(self.masks).bit_length()
