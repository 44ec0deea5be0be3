"""What measuring an unknown would settle: the design with it at each end of what is credible.

Answers, for every key of the job file that is not known: which checks hang on it, and between which
verdicts? The other unknowns stay as they are taken. An end is a value as the job file would have it, so that
what is said here is what writing it would give. Where the job file has no place for the answer, or no two ends
of it are known here, it has no ends, and only how to settle it is told.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from pattress.design import Design
from pattress.errors import PattressError
from pattress.finding import Assumption, Finding, Verdict, unknowns
from pattress.quantity import show
from pattress.sizing.demand import Demand, demands
from pattress.sizing.electrode import MOST_RATING, WORST_ELECTRODE, largest_electrode
from pattress.sizing.mains import mains_of
from pattress.sizing.protection import LEAST_CAPACITY, SUPPLY_LOOP, WORST_FAULT

Edit = tuple[tuple[str, ...], Any]
MEMORY = "from memory"
PRINTED_MOST = 10e3              # A: the most that is printed on a household breaker (IEC 60898-1, standard values, from memory)
POLES = (12, 18)                 # of ceiling fans (from memory)
OF_SHEETS = ("part", "board")     # what a data sheet says, not the job file
EARTHINGS = ("TN-S", "TN-C-S", "TT")
BOX = dict(width="200 mm", height="150 mm", depth="75 mm")       # one that a person finds in a shop (common practice, no source)


@dataclass(frozen=True, slots=True)
class End:
    """A credible value: as the job file would have it, in words, and where it is from."""

    value: Any
    words: str
    origin: str


@dataclass(frozen=True, slots=True)
class Swing:
    """A check that hangs on an unknown: its verdict as the job is, and at each end; None where it is not asked then.

    `reach` is how far its verdicts lie apart, from 0 to 3; one that is not asked lies with what holds.
    """

    id: str
    question: str
    now: Verdict | None
    then: tuple[Verdict | None, ...]
    reach: int


@dataclass(frozen=True, slots=True)
class Settled:
    """An unknown with its ends, and the checks whose verdict hangs on it, the furthest swing first.

    `refused` says why the job is none at an end, by place; "" elsewhere.
    """

    assumption: Assumption
    ends: tuple[End, ...]
    swings: tuple[Swing, ...]
    refused: tuple[str, ...]

    @property
    def key(self) -> str:
        """Return its key of the job file."""
        return self.assumption.key

    @property
    def path(self) -> tuple[str, ...]:
        """Return its key as a path."""
        return tuple(self.key.split("."))

    @property
    def decides(self) -> tuple[int, int]:
        """Return how decisive measuring it is: the sum of all swings, and how many checks swing."""
        return sum(swing.reach for swing in self.swings), len(self.swings)


def settle(design: Design, trial: Callable[[Sequence[Edit]], Design]) -> tuple[Settled, ...]:
    """Return every unknown of a design with what measuring it would settle, the most decisive first.

    `trial` returns the design with edits of its job file; where it raises a PattressError, that is told at the end.
    """
    asked = demands(design.job)
    found = [_settled(design, assumption, ends(design, assumption.key, asked), trial) for assumption in unknowns(design.findings)]
    return tuple(sorted(found, key=lambda one: (tuple(-number for number in one.decides), not one.ends)))


def ends(design: Design, key: str, asked: dict[str, Demand]) -> tuple[End, ...]:
    """Return the credible ends of a key that is not known, as taken first; nothing where none are known here."""
    job, (section, *rest) = design.job, key.split(".")
    if section in OF_SHEETS:
        return ()
    last = rest[-1] if rest else ""
    if key == "supply.fault_current":
        loop = SUPPLY_LOOP if job.supply.loop_impedance == "unknown" else job.supply.loop_impedance
        least = mains_of(job).voltage / loop
        return _quantities("A", (WORST_FAULT, "most that is usual in homes, " + MEMORY), (least, f"what a loop of {show(loop, 'ohm')} leaves"))
    if key == "supply.loop_impedance":
        fault = WORST_FAULT if job.supply.fault_current == "unknown" else job.supply.fault_current
        return _quantities("ohm", (SUPPLY_LOOP, "largest of a supply of 230 V in the UK"), (mains_of(job).voltage / fault, f"what a fault of {show(fault, 'A')} takes"))
    if key == "supply.earthing":
        return tuple(End(kind, kind, "one of the kinds") for kind in reversed(EARTHINGS))
    if key == "supply.earth_electrode":
        return _quantities("ohm", (WORST_ELECTRODE, "a rod of 1 m in dry sand or gravel"),
                           (largest_electrode(current=MOST_RATING), f"what a device of {show(MOST_RATING, 'A')} takes"))
    if key == "site.enclosure":
        return tuple(End(BOX | {"material": material}, f"{BOX['width']} x {BOX['height']} x {BOX['depth']} of {material}", "a usual box")
                     for material in ("painted steel", "plastic"))
    if last == "breaking_capacity":
        return _quantities("A", (LEAST_CAPACITY, "an old household breaker"), (PRINTED_MOST, "the most that is printed on one, " + MEMORY))
    if last == "curve" and job.feed[rest[0]].device.kind != "fuse":
        return tuple(End(curve, curve, words) for curve, words in (("D", "trips last"), ("B", "trips first")))
    if last == "residual_current_device":
        return (End("none", "none", "as taken"), End({"rating": "30 mA", "type": "A"}, "30 mA, type A", "the usual one for sockets and lamps, " + MEMORY))
    if last == "type" and section == "feed":
        return End("AC", "AC", "sees the least"), End("B", "B", "sees the most")
    if section == "fan" and last == "poles":
        return tuple(End(poles, str(poles), "of ceiling fans, " + MEMORY) for poles in POLES)
    if rest and rest[0] in asked:
        return _of_channel(design, asked[rest[0]], section, last)
    return ()


def _of_channel(design: Design, demand: Demand, section: str, last: str) -> tuple[End, ...]:
    acts = demand.behaviour
    if last == "power_factor":
        return End(acts.power_factor, f"{acts.power_factor:g}", f"the lowest of the kind {acts.kind}"), End(1.0, "1", "the most there is")
    if last == "inrush" and section == "load":
        load = design.job.load[demand.key]
        one = acts.surge(power=load.power, current=demand.nominal / load.count, voltage=mains_of(design.job).voltage)
        return tuple(End({"peak": show(peak, "A"), "duration": show(one.duration, "s")}, f"{show(peak, 'A')} of one", words)
                     for peak, words in ((one.most, one.rule), (one.least, "the least of its kind")))
    return ()


def _quantities(unit: str, *some: tuple[float, str]) -> tuple[End, ...]:
    return tuple(End(show(value, unit), show(value, unit), origin) for value, origin in some)


def _settled(design: Design, assumption: Assumption, found: tuple[End, ...], trial: Callable[[Sequence[Edit]], Design]) -> Settled:
    path = tuple(assumption.key.split("."))
    tried: list[dict[str, Finding] | None] = []         # the findings at each end, None where the job is none
    refused = []
    for end in found:
        try:
            tried.append({finding.id: finding for finding in trial([(path, end.value)]).findings})
            refused.append("")
        except PattressError as error:
            tried.append(None)
            refused.append(str(error))
    before = {finding.id: finding for finding in design.findings}
    known = [before, *(one for one in tried if one is not None)]
    swings = []
    for name in dict.fromkeys(name for one in known for name in one):
        verdicts = [one[name].verdict if name in one else None for one in known]
        if any(verdict is not verdicts[0] for verdict in verdicts):
            question = next(one[name].question for one in known if name in one)
            then = tuple(one[name].verdict if one and name in one else None for one in tried)
            places = [0 if verdict is None else verdict.severity for verdict in verdicts]
            swings.append(Swing(name, question, verdicts[0], then, max(places) - min(places)))
    return Settled(assumption, found, tuple(sorted(swings, key=lambda swing: -swing.reach)), tuple(refused))
