"""The proof of a job: every part explored, every property judged, one digest over what was proven.

What it covers: the very files of `controller/core` under the whole plan; every order of
events, with every running wait running out at any moment and together with any others, from
every state that a power-up with any snapshot leads to; power cuts between any two steps.

How a job is split: a channel is explored with everything that may ask it; each switch, each
regulator and all remote buttons with their contacts and codes; each channel again with the
save delay and the flash, and with the network that fetches news. The rest of the state is
hidden in each part. That it does not matter is known in two ways. The program is instrumented: no
cell may be written after one was read that the plan does not let it depend on
(`instrumented.influence`), whatever the values. And every transition is run again with the hidden
cells at random (seeded, legal), true-sized durations and true elapsed times. Channels that do
influence each other are explored together (`product`), in every combination.

What it does not cover: contacts of relays that stick (see `stuck`) or move at different speed
within one pattern; how a snapshot reaches the flash whole; drivers, radio and the interpreter; a
caller that does not step TIME before each event with what has passed. When more than three switches
and regulators ask one channel, of those that settle in the very same step only pairs may be
explored (see `moves.TOO_MANY`), and of the channels toggled by one action only none,
each, or all are taken to be on.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from time import perf_counter
from types import ModuleType
from typing import Any

from pattress.controller.digest import core_files, digest
from pattress.job.wish import Wish
from pattress.plural import counted

from .exploration import Exploration
from .instrumented.influence import influences, joined
from .owner import judge_wishes
from .parts import ChannelPart, GroupPart, parts_of
from .power_up import RUNS
from .product.search import Effort, search
from .properties import CLAIMS, pointless
from .rings import QUIET, rings_run
from .subject import Subject, folder_of
from .tally import PartCount, Property, Tally


@dataclass(frozen=True, slots=True)
class Proof:
    """The outcome. Properties about things the job does not have are left out. `quiet_steps` bounds the steps until all is quiet; None when that fails or was not reached.

    `complete` is False when the exploration stopped at the first failing property. `notes` says
    which channels were explored together, why, and how far.
    """

    title: str
    properties: tuple[Property, ...]
    parts: tuple[PartCount, ...]
    seconds: float
    digest: str
    quiet_steps: int | None
    complete: bool = True
    notes: tuple[str, ...] = ()

    @property
    def holds(self) -> bool:
        """Return whether every property holds and all was explored."""
        return self.complete and all(prop.holds for prop in self.properties)

    @property
    def failed(self) -> tuple[Property, ...]:
        """Return the properties that fail."""
        return tuple(prop for prop in self.properties if prop.verdict == "fails")

    @property
    def undecided(self) -> tuple[Property, ...]:
        """Return the properties that neither hold nor fail, for want of memory or time."""
        return tuple(prop for prop in self.properties if prop.verdict == "unknown")

    @property
    def states(self) -> int:
        """Return the number of different states, summed over the parts."""
        return sum(part.states for part in self.parts)

    @property
    def transitions(self) -> int:
        """Return the number of transitions, summed over the parts; each ran at least twice."""
        return sum(part.transitions for part in self.parts)

    @property
    def outcome(self) -> str:
        """Return how it ended and how much there was to explore: the same for the same job and program."""
        judged = len(self.properties)
        ends = [f"{len(some)} of {judged} properties {one if len(some) == 1 else many}"
                for some, one, many in ((self.failed, "fails", "fail"), (self.undecided, "is not decided", "are not decided")) if some]
        ended = ", ".join(ends) or (f"all {judged} properties hold" if self.holds else "not explored to the end")
        return f"{ended}: {counted(self.states, 'state')}, {counted(self.transitions, 'transition')}, {counted(len(self.parts), 'part')}"

    @property
    def summary(self) -> str:
        """Return the outcome in one line, with the time it took."""
        return f"{self.outcome}, {self.seconds:.1f} s, program and plan {self.digest[:12]}"

    def to_json(self) -> dict[str, Any]:
        """Return everything as plain values."""
        return {
            "title": self.title, "holds": self.holds, "complete": self.complete, "digest": self.digest,
            "states": self.states, "transitions": self.transitions, "seconds": self.seconds, "quiet_steps": self.quiet_steps,
            "notes": list(self.notes),
            "properties": [
                {"id": prop.id, "kind": str(prop.kind), "sentence": prop.sentence, "holds": prop.holds, "verdict": prop.verdict,
                 "transitions": prop.transitions, "detail": prop.detail,
                 "story": prop.story.to_json() if prop.story else None}
                for prop in self.properties
            ],
            "parts": [{"name": part.name, "states": part.states, "transitions": part.transitions} for part in self.parts],
        }


def prove(table: Mapping[str, Any], core: ModuleType | None = None, progress: Callable[[str], None] | None = None, *,
          until_first_failure: bool = False, wishes: Mapping[str, Wish] | None = None, has_network: bool = True,
          together: Iterable[Iterable[int]] = (), effort: Effort = Effort()) -> Proof:
    """Explore the control program under a plan's table and return how every property stands.

    `core` is another copy of the core package, the shipped one when not given. `progress` is
    called with a few words before each part. `wishes` are the owner's own, by name; without
    `has_network` nobody asks over the network in what is explored for them, and a level that only
    the network could ask for is not reached. `together` holds
    groups of channels to explore as one, beside those that turn out to influence each other;
    `effort` says what that may cost. Raises KeyError when the table lacks an entry and
    ValueError when the core's cells are laid out differently.
    """
    began = perf_counter()
    subject, tally = Subject(table, core, has_network=has_network), Tally()
    # A program broken on purpose is wanted to fail where it is broken, so there the coupling is looked for last.
    influences_met = None if until_first_failure else influences(table, core)
    coupled = influences_met.groups if influences_met else ()
    parts = parts_of(subject, coupled) + [GroupPart(subject, group) for group in joined(map(frozenset, together)) if group not in coupled]
    longest = dict.fromkeys(subject.channels, 0)
    for claim, run in (RUNS | {QUIET: rings_run}).items():
        story, tally.judged[claim] = run(subject)
        if story:
            tally.failures.setdefault(story.property_id, (story.found, story))
    for number, part in enumerate(parts, 1):
        if tally.failures and until_first_failure:
            break
        if progress:
            progress(f"{number}/{len(parts)} {part.name}")
        if isinstance(part, GroupPart):
            tally.take_group(part, search(part, until_first_failure=until_first_failure, progress=progress, **effort.settings),
                             influences_met)
            continue
        explored = Exploration(part, until_first_failure).run()
        tally.take(part, explored, explored.states, explored.transitions, part.seen, until_first_failure)
        if explored.longest is not None and isinstance(part, ChannelPart):
            longest[part.channel] = explored.longest
    if not (tally.failures and until_first_failure):
        tally.take_influences(influences_met or influences(table, core))
    failures, absent = tally.failures, pointless(table)
    properties = tuple(tally.property_of(claim) for claim in CLAIMS.values() if claim.id in failures or claim.id not in absent)
    if wishes and not (failures and until_first_failure):
        if progress:
            progress("the owner's wishes")
        properties += tuple(judge_wishes(subject, wishes, has_network, set(failures)))
    files = core_files(folder_of(subject.core))
    complete = len(tally.counts) == len(parts) and not (failures and until_first_failure)
    quiet = None if coupled or "becomes-quiet" in failures or len(tally.counts) < len(parts) else _quiet_steps(subject, longest)
    return Proof(table.get("title", ""), properties, tuple(tally.counts), perf_counter() - began, digest(table, files), quiet,
                 complete, tuple(tally.notes))


def _quiet_steps(subject: Subject, longest: Mapping[int, int]) -> int:
    """Return a bound on the steps in which waits run out, from the last event until none runs.

    Each switch and regulator may still settle once and ask its channels, which may then go
    their longest way again, and a press that is told apart may be decided after that; the held button runs out once and the snapshot falls due twice.
    """
    settling = [subject.trigger_channels("switch", switch) for switch in subject.switches]
    settling += [subject.trigger_channels("regulator", regulator) for regulator in subject.regulators]
    ways = sum(longest[channel] * (1 + sum(channel in asked for asked in settling)) for channel in subject.channels)
    return ways + len(settling) + len(subject.presses) + 3
