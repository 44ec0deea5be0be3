"""A relay that stays closed though it was let go: what then still holds, and what does not?

The control program has no feedback from its contacts, so it neither sees this nor tells it:
what it tells the network is what it asked of the relays. Every level of a channel can be
reached (`can-reach`), so the levels of the plan say all that can then be closed together; no
other channel is touched (`undisturbed`). Contacts that stay open, and contacts that open late,
are not looked at here.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from pattress.marks import relay_mark, together


@dataclass(frozen=True, slots=True)
class Stuck:
    """One relay of one channel stays closed.

    `becomes` holds, for each level from 0, the level whose relays are then closed instead, None
    when they are those of no level: two sets meet. `closed` holds the relays themselves.
    `kick` is the level of the start kick when one is given, 0 when none is.
    Relays are bits of the plan's masks here; in words they are called by their marks.
    """

    channel: str
    relay: int
    becomes: tuple[int | None, ...]
    closed: tuple[tuple[int, ...], ...]
    kick: int

    @property
    def sets_meet(self) -> bool:
        """Return whether at some level two sets of relays are closed together."""
        return None in self.becomes

    def __str__(self) -> str:
        head = f"{self.channel}, relay {relay_mark(self.relay)} stays closed: "
        if len(self.becomes) == 2:
            return head + "off leaves it on"
        words = []
        for level, (instead, closed) in enumerate(zip(self.becomes, self.closed, strict=True)):
            name = f"step {level}" if level else "off"
            if instead is None:
                starts = ", and at each start kick" if level == self.kick else ""
                words.append(f"{name} closes {together(sum(1 << relay for relay in closed))} together{starts}, which is no step: two sets meet")
            elif instead != level:
                words.append(f"{name} runs at step {instead}")
        return head + "; ".join(words)


def stuck_relays(table: Mapping) -> tuple[Stuck, ...]:
    """Return what each relay of a plan's table does when it stays closed."""
    found = []
    for row in table["channels"]:
        masks, own = list(row["masks"]), 0
        for mask in masks:
            own |= mask
        for relay in _numbers(own):
            then = [mask | 1 << relay for mask in masks]
            becomes = tuple(masks.index(mask) if mask in masks else None for mask in then)
            found.append(Stuck(row["name"], relay, becomes, tuple(map(_numbers, then)), row["kick_level"] if row["kick_top"] else 0))
    return tuple(found)


def _numbers(mask):
    return tuple(place for place in range(mask.bit_length()) if mask >> place & 1)
