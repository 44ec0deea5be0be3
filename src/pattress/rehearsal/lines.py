"""The lines behind the relays: live as the contacts are, which may stick, and sensed a little later where there is feedback.

A stick is judged from outside: one that shows is believed and told in time, and nothing is believed of a contact that works.
"""

from __future__ import annotations

from array import array
from dataclasses import dataclass, field

from pattress.controller import core
from pattress.controller.core.cells import APPLIED, STUCK, STUCK_CLOSED, STUCK_OPEN
from pattress.rehearsal.day import Names, Outcome, Problem, UserAction

SENSING_MS = (15, 250)      # from a relay's pin to its line being sensed otherwise: contact, and the capacitor at the input (see `sizing.feedback`)
SLACK_MS = 10               # the loop wakes a little late
WORDS = {1: "closed", 0: "open"}
CONTACT = "contact"         # what sticks, as a user action


@dataclass(slots=True)
class Lines:
    """The lines of a plan's channels that have feedback, and the contacts of all that stick.

    `stuck` by channel: 1 closed, 0 open. `noticed` are those of them that the program has believed meanwhile.
    """

    plan: core.Plan
    names: Names
    sensed: tuple[int, ...] = ()
    stuck: dict[int, int] = field(default_factory=dict)
    noticed: set[int] = field(default_factory=set)
    _seen: dict[int, int] = field(default_factory=dict)         # as the line was when its sensing last began to change
    _ever: set[int] = field(default_factory=set)                # stuck at some time since power-up
    _accused: set[int] = field(default_factory=set)
    _disagrees: dict[int, int] = field(default_factory=dict)    # since when a line is not as its relays

    def __post_init__(self) -> None:
        self.sensed = tuple(channel for channel in range(self.plan.channels) if self.plan.watch and _feedback(self.plan)[0][channel])

    def begin(self) -> None:
        """The program starts: it takes every line for dead."""
        self._seen, self._disagrees = dict.fromkeys(self.sensed, 0), {}
        self._ever = set(self.stuck)

    def stick(self, channel: int, closed: int) -> None:
        """Let the contact of a channel stick, closed (1) or open (0)."""
        self.stuck[channel] = closed
        self.noticed.discard(channel)
        self._ever.add(channel)

    def free(self, at: int, channel: int) -> UserAction:
        """Let a contact work again; return what became of its sticking."""
        words = WORDS[self.stuck.pop(channel)]
        outcome = Outcome.NOTICED if channel in self.noticed else Outcome.UNNOTICED
        return UserAction(at, CONTACT, f"{self.names.channels[channel]}: contact stuck {words}", (channel,), outcome)

    def is_live(self, channel: int, state: array[int]) -> int:
        """Return whether a line is live while there is power."""
        return self.stuck.get(channel, int(state[self.plan.channel_at[channel] + APPLIED] > 0))

    def follow(self, at: int, state: array[int]) -> list[int]:
        """Look at the lines after something happened; return the channels whose sensing begins to change."""
        changed = []
        for channel in self.sensed:
            believed, live = state[_feedback(self.plan)[0][channel] + STUCK], self.is_live(channel, state)
            if believed and believed == (STUCK_CLOSED if self.stuck.get(channel) else STUCK_OPEN):
                self.noticed.add(channel)
            if live == int(state[self.plan.channel_at[channel] + APPLIED] > 0):
                self._disagrees.pop(channel, None)
            else:
                self._disagrees.setdefault(channel, at)
            if live != self._seen[channel]:
                self._seen[channel] = live
                changed.append(channel)
        return changed

    def due(self, channel: int) -> int | None:
        """Return when a channel that disagrees now must be believed stuck; None when it agrees."""
        since = self._disagrees.get(channel)
        return None if since is None else since + SENSING_MS[1] + _feedback(self.plan)[1][channel] + SLACK_MS

    def judge(self, at: int, state: array[int]) -> list[Problem]:
        """Return what is believed and must not be, or must be and is not."""
        found = []
        for channel in self.sensed:
            name, believed = self.names.channels[channel], state[_feedback(self.plan)[0][channel] + STUCK]
            due = self.due(channel)
            if due is not None and at > due and not believed:
                found.append(Problem(at, f"{name}: its line has not been as its relays are for {at - self._disagrees[channel]} ms, and that is not believed"))
                self._disagrees[channel] = at       # told once, and again when it lasts as long again
            if believed and channel not in self._ever | self._accused:
                found.append(Problem(at, f"{name}: believed {core.CAUSES[believed]}, and its contact works"))
                self._accused.add(channel)
        return found


def _feedback(plan: core.Plan) -> tuple[array[int], array[int]]:
    """Return by channel where its feedback stands in the state, and how long it takes to settle [ms]; only for a plan that has some."""
    return plan.feedback_at, plan.feedback_ms     # type: ignore[attr-defined]     # given to such a plan by core/feedback.py
