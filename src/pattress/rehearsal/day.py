"""A rehearsed day as plain values: what was done, what the program was told and answered.

All moments are whole milliseconds since the day began at midnight.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from pattress.controller.core.cells import CAUSES, RULED
from pattress.controller.replay import answer_line, begin_line, step_line

SECOND, MINUTE, HOUR = 1_000, 60_000, 3_600_000
DAY = 24 * HOUR


def clock(at: int) -> str:
    """Return a moment as hours, minutes, seconds and milliseconds: "06:40:00.120"."""
    hours, rest = divmod(at, HOUR)
    minutes, rest = divmod(rest, MINUTE)
    seconds, milliseconds = divmod(rest, SECOND)
    return f"{hours:02d}:{minutes:02d}:{seconds:02d}.{milliseconds:03d}"


def standing(level: int, top: int) -> str:
    """Return a level of a channel in words; `top` is its highest."""
    return "off" if not level else f"step {level}" if top > 1 else "on"


@dataclass(frozen=True, slots=True)
class Names:
    """What people call the things of a plan, in plan order."""

    channels: tuple[str, ...]
    switches: tuple[str, ...]
    regulators: tuple[str, ...]
    buttons: tuple[str, ...]
    rules: tuple[str, ...] = ()
    inputs: tuple[str, ...] = ()
    readings: tuple[str, ...] = ()

    @classmethod
    def of(cls, table: Mapping[str, Any]) -> "Names":
        """Return the names that the table itself carries."""
        kinds = ("channels", "switches", "regulators", "buttons", "inputs", "readings")
        return cls(**{kind: tuple(row["name"] for row in table.get(kind, ())) for kind in kinds}, rules=tuple(table.get("rule_keys", ())))

    def cause(self, cause: int) -> str:
        """Return who asked, or why it is not so, as a word."""
        return str(CAUSES[cause] if cause < RULED else f"rule {self.rules[cause - RULED]}")


class Kind(StrEnum):
    """What a line of the log is about."""

    BEGIN = "begin"     # power is there and the program starts
    STEP = "step"       # an event was fed to the program
    CUT = "cut"         # power is gone: every relay drops, the program is asked nothing


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the log: what the program was told, and all it answered.

    For a step `event` is the row of five numbers. For a beginning `snapshot` is what was found
    in the flash, `closed` how switches and then inputs stood, `contacts` the regulators. `told` is None
    while the network does not listen, else the news it was given as (channel, level, cause).
    """

    at: int
    kind: Kind
    event: tuple[int, ...] = ()
    snapshot: bytes | None = None
    closed: tuple[int, ...] = ()
    contacts: tuple[int, ...] = ()
    bits: int = 0
    due: int = -1
    relays: int = 0
    checksum: int = 0
    told: tuple[tuple[int, int, int], ...] | None = None
    saved: bytes | None = None

    def question(self) -> str:
        """Return this entry as a line for `replay`; a power cut asks nothing."""
        if self.kind is Kind.BEGIN:
            return str(begin_line(self.snapshot, self.closed, self.contacts))
        return str(step_line(self.event, self.told is not None, True))

    def answer(self) -> str:
        """Return what the program answered, as `replay` writes it."""
        return str(answer_line(self.bits, self.due, self.relays, self.checksum, self.told or (), self.saved))


class Outcome(StrEnum):
    """What became of something that a person, a remote or the network did."""

    ACTED = "acted"
    WAITS = "waits"             # noted; a dead time, minimum off time or turn is still running
    UNCHANGED = "unchanged"     # what was asked for was so already
    TOO_SHORT = "too short"     # the contact did not keep still for the settling time
    OVERTAKEN = "overtaken"     # the same control was moved again before it had settled
    REFUSED = "refused"         # means nothing to this plan, or a rule does not allow it
    NOT_HEARD = "not heard"     # every frame of the remote was lost
    NO_POWER = "no power"
    NO_NETWORK = "no network"
    WITHOUT_EFFECT = "without effect"   # should have acted and did not: a fault
    NOTICED = "noticed"         # a contact that stuck: the program told it
    UNNOTICED = "not noticed"   # and one that it did not: no feedback, or its line was as its relays all the while

    @property
    def is_effect(self) -> bool:
        """Return whether the program took it in and did, or will do, something."""
        return self in (Outcome.ACTED, Outcome.WAITS, Outcome.NOTICED)


@dataclass(frozen=True, slots=True)
class UserAction:
    """Something done to the controller from outside and what became of it.

    `what` is a switch, regulator, remote, other remote or network; `channels` those it is
    about; `response` the time from the first edge or frame to the first relay it moved [ms].
    """

    at: int
    what: str
    name: str
    channels: tuple[int, ...]
    outcome: Outcome
    response: int | None = None


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of the day without `what`: "power" or "network"."""

    what: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Restore:
    """What the program did with its loads after a power cut.

    `snapshot` is what it found; `lost` whether a later change had not reached the flash;
    `level` what each channel had to come to by its policy; `closings` the moment each channel
    that had to come on first closed a relay.
    """

    at: int
    snapshot: bytes | None
    lost: bool
    level: tuple[int, ...]
    closings: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Problem:
    """Something the program did, or left undone, that it must not."""

    at: int
    words: str

    def __str__(self) -> str:
        return f"{clock(self.at)}  {self.words}"


@dataclass(frozen=True, slots=True)
class Facts:
    """Figures of one day. Lists are by relay or by channel, in plan order.

    `responses` are the response times of all wall switch operations that moved a relay at once
    [ms], sorted; `late` the longest time from the last edge of a bounce to the relay beyond the
    settling time [ms]. `shortest_off` and `shortest_dead` are the shortest that was seen [ms],
    None where there was none.
    """

    closings: tuple[int, ...]
    time_on: tuple[int, ...]
    saves: int
    responses: tuple[int, ...]
    late: int
    shortest_off: tuple[int | None, ...]
    shortest_dead: tuple[int | None, ...]
    news: int
    restores: tuple[Restore, ...]
    acted_twice: int
    events: int

    def response(self, share: float) -> int | None:
        """Return the response time that this share of the operations kept [ms]; nearest rank."""
        if not self.responses:
            return None
        rank = max(1, -int(-share * len(self.responses) // 1))
        return self.responses[rank - 1]


@dataclass(frozen=True, slots=True)
class Day:
    """A rehearsed day. `notes` say what it could not show because the plan lacks it."""

    title: str
    seed: str
    length: int
    log: tuple[Entry, ...]
    user_actions: tuple[UserAction, ...]
    spans: tuple[Span, ...]
    facts: Facts
    problems: tuple[Problem, ...]
    notes: tuple[str, ...] = ()

    def fed(self) -> Iterator[Entry]:
        """Yield the entries that asked the program something."""
        return (entry for entry in self.log if entry.kind is not Kind.CUT)
