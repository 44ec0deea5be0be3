"""A relay that stays closed though it was let go: what then still holds, and what does not?

Without feedback the control program neither sees this nor tells it: what it tells the network is
what it asked of the relays. With it, the program tells that the channel is stuck (`feedback-settles`,
`stuck-told`), and closes no set onto it (`stuck-barred`). Every level of a channel can be reached
(`can-reach`), so the levels of the plan say all that can then be closed together; no other channel
is touched (`undisturbed`). Contacts that close late are not looked at here.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pattress.designators import relay_designator, together


@dataclass(frozen=True, slots=True)
class Stuck:
    """One relay of one channel stays closed.

    `becomes` holds, for each level from 0, the level whose relays are then closed instead, None
    when they are those of no level: two sets meet. `closed` holds the relays themselves.
    `kick` is the level of the start kick when one is given, 0 when none is. `told_after` is the time
    [ms] within which it is detected and reported once the relay was let go, None without feedback;
    with feedback nothing closes while it sticks, so each level becomes what the one relay gives.
    Relays are bits of the plan's masks here; in words they are called by their marks.
    """

    channel: str
    relay: int
    becomes: tuple[int | None, ...]
    closed: tuple[tuple[int, ...], ...]
    kick: int
    told_after: int | None = None

    @property
    def sets_meet(self) -> bool:
        """Return whether at some level two sets of relays are closed together."""
        return None in self.becomes

    def __str__(self) -> str:
        head = f"{self.channel}, relay {relay_designator(self.relay)} stays closed: "
        told = "" if self.told_after is None else f"; detected and reported within {self.told_after} ms of being sensed"
        if len(self.becomes) == 2:
            return f"{head}off leaves it on{told}"
        if told:
            runs = f"runs at step {self.becomes[0]}" if self.becomes[0] else f"leaves {together(1 << self.relay)} closed, which is no step"
            return f"{head}once let go, it {runs} whatever is asked{told}; no set closes onto it"
        words = []
        for level, (instead, closed) in enumerate(zip(self.becomes, self.closed, strict=True)):
            name = f"step {level}" if level else "off"
            if instead is None:
                starts = ", and at each start kick" if level == self.kick else ""
                words.append(f"{name} closes {together(sum(1 << relay for relay in closed))} together{starts}, which is no step: two sets meet")
            elif instead != level:
                words.append(f"{name} runs at step {instead}")
        return head + "; ".join(words)


def stuck_relays(table: Mapping[str, Any]) -> tuple[Stuck, ...]:
    """Return what each relay of a plan's table does when it stays closed."""
    found, sensed = [], {row["channel"]: row["settle_ms"] for row in table.get("feedback", ())}
    for channel, row in enumerate(table["channels"]):
        if row.get("is_mode"):
            continue
        masks, own = list(row["masks"]), 0
        for mask in masks:
            own |= mask
        for relay in _numbers(own):
            is_barred = channel in sensed and len(masks) > 2
            then = [1 << relay if is_barred else mask | 1 << relay for mask in masks]
            becomes = tuple(masks.index(mask) if mask in masks else None for mask in then)
            found.append(Stuck(row["name"], relay, becomes, tuple(map(_numbers, then)), row["kick_level"] if row["kick_top"] else 0, sensed.get(channel)))
    return tuple(found)


def _numbers(mask: int) -> tuple[int, ...]:
    return tuple(place for place in range(mask.bit_length()) if mask >> place & 1)
