"""Coverage: which paths of the control program did a proof never take, and does the job explain that?

An explanation is found by trying, not looked up: a small plan is given one thing that the job
lacks. What the program then does that it does not do under the barest plan is explained by it.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from types import ModuleType
from typing import Any

from pattress.controller import core as shipped
from pattress.controller.core import DOWN, OFF, ON, SET, TOGGLE, UP
from pattress.controller.core.conditions import HOLDS, LOCKS, OF_CHANNEL, OF_INPUT, OF_READING, RELEASE, RESTS, WHEN
from pattress.controller.digest import core_files, source_digest

from ..exploration import Exploration
from ..parts import parts_of
from ..power_up import RUNS
from ..proof import Proof, prove
from ..subject import Subject, folder_of
from .loading import Condition, Notes, instrumented


@dataclass(frozen=True, slots=True)
class NeverGone:
    """A way through a condition that no transition went; `because` names what the job lacks, "" when nothing explains it."""

    condition: Condition
    truth: bool
    because: str

    def __str__(self) -> str:
        if self.condition.is_loop:
            never = "never goes round" if self.truth else "never comes to its end"
        else:
            never = f"is never {'true' if self.truth else 'false'}"
        return f"{self.condition.file}:{self.condition.line}  {self.condition.text}  {never}"


@dataclass(frozen=True, slots=True)
class Coverage:
    """How much of the control program a proof went through. `ways` counts each condition twice: true and false."""

    proof: Proof
    ways: int
    never: tuple[NeverGone, ...]

    @property
    def unexplained(self) -> tuple[NeverGone, ...]:
        """Return the ways never gone that nothing the job lacks explains."""
        return tuple(one for one in self.never if not one.because)

    @property
    def summary(self) -> str:
        """Return the outcome in one line."""
        explained = len(self.never) - len(self.unexplained)
        return (f"{self.ways - len(self.never)} of {self.ways} ways through the conditions of the control program gone; "
                f"{explained} not, for want of what the job does not have; {len(self.unexplained)} not explained")

    def to_json(self) -> dict[str, Any]:
        """Return everything as plain values."""
        return {
            "ways": self.ways, "unexplained": len(self.unexplained),
            "never": [{"file": one.condition.file, "line": one.condition.line, "condition": one.condition.text,
                       "way": one.truth, "because": one.because} for one in self.never],
            "proof": self.proof.to_json(),
        }


def cover(table: Mapping[str, Any], core: ModuleType | None = None, progress: Callable[[str], None] | None = None, **given: Any) -> Coverage:
    """Prove a plan's table with an instrumented copy of the core and return the paths never taken.

    `core` is the package whose source is instrumented, the shipped one when not given; `progress`
    and whatever else is given goes to `prove`. The proof is the one of the source: same digest.
    """
    folder = folder_of(core or shipped)
    proof, ways = _ways(folder, table, progress=progress, **given)
    never = [way for way, met in ways.items() if not met]
    reasons = _reasons(folder, table, never, progress) if never else {}
    return Coverage(proof, len(ways), tuple(NeverGone(*way, reasons.get(way, "")) for way in never))


def _ways(folder: Path, table: Mapping[str, Any], **given: Any) -> tuple[Proof, dict[tuple[Condition, bool], bool]]:
    notes = Notes()
    with instrumented(folder, notes) as core:
        proof = prove(table, core, **given)
    return proof, notes.ways()


def _reasons(folder: Path, table: Mapping[str, Any], never: Sequence[tuple[Condition, bool]], progress: Callable[[str], None] | None) -> dict[tuple[Condition, bool], str]:
    """Return {way: what the job lacks} for the ways that a small plan with just that goes through."""
    reasons: dict[tuple[Condition, bool], str] = {}
    source = source_digest(core_files(folder))
    for words, lacks, give in THINGS:
        if len(reasons) == len(never):
            break
        if not lacks(table):
            continue
        if progress:
            progress(f"trying: {words}")
        without = next((restore for restore in (0, 2) if lacks(_barest(restore))), None)
        if without is None:         # the barest plan has it: what is given takes it away
            with_it, without_it = _gone(folder, source, 0), _gone(folder, source, 0, give)
        else:
            with_it, without_it = _gone(folder, source, without, give), _gone(folder, source, without)
        for way in never:
            if with_it[way] and not without_it[way]:
                reasons.setdefault(way, words)
    return reasons


@lru_cache(maxsize=64)
def _gone(folder: Path, source: str, restore: int, give: Callable[..., Any] | None = None) -> dict[tuple[Condition, bool], bool]:
    """Return the ways gone through in the proof of the barest plan, given one thing more. `source` names what is in the folder."""
    table, notes = _barest(restore), Notes()
    if give:
        give(table)
    with instrumented(folder, notes) as core:
        subject = Subject(table, core)
        for run in RUNS.values():
            run(subject)
        for part in parts_of(subject):
            Exploration(part).run()
    return notes.ways()


def _barest(restore: int) -> dict[str, Any]:
    """Return the plan of one lamp that only the network can reach."""
    return dict(format=1, title="one lamp", switches=[], regulators=[], buttons=[], held_ms=250, save_ms=5000, channels=[dict(
        name="lamp", masks=[0, 1], on_level=1, dead_ms=0, minimum_off_ms=0, restore=restore, restore_delay_ms=0,
        kick_level=0, kick_top=0, kick_ms=0)])


def _set(**changes: int | Sequence[int]) -> Callable[..., Any]:
    return lambda table: table["channels"][0].update(changes)


def _add_switch(latching: int, verb: int = TOGGLE) -> Callable[..., Any]:
    return lambda table: table["switches"].append(dict(name="switch", latching=latching, settle_ms=20, acts=[[0, verb, 0]]))


def _add_presses(*names: str) -> Callable[..., Any]:
    """Return what gives a lamp two switches, one of which tells these presses apart: "held", "twice"."""
    def give(table: dict[str, Any]) -> None:
        table["switches"] += [dict(name=name, latching=0, settle_ms=20, acts=[[0, TOGGLE, 0]]) for name in ("switch", "other switch")]
        table["presses"] = [dict(switch=0, held=[], held_ms=0, twice=[], again_ms=0)
                            | {name: [[0, OFF, 0]] for name in names} | {_PRESS_MS[name]: 500 for name in names}]
    return give


def _tells(table: Mapping[str, Any], *names: str) -> bool:
    """Return whether some switch of a table tells these presses apart, and no other."""
    return any({name for name in _PRESS_MS if row[name]} == set(names) for row in table.get("presses", ()))


def _acts_late(table: Mapping[str, Any]) -> bool:
    """Return whether every retractive switch of a table tells presses apart."""
    apart = {row["switch"] for row in table.get("presses", ())}
    return all(row["latching"] or number in apart for number, row in enumerate(table["switches"]))


def _add_regulator(off_is_open: int) -> Callable[..., Any]:
    return lambda table: table["regulators"].append(
        dict(name="regulator", contacts=2, off_is_open=off_is_open, channel=0, levels=[0, 1, 0][:2 + off_is_open], settle_ms=150))


def _add_buttons(table: dict[str, Any]) -> None:
    table["channels"].append(dict(table["channels"][0], name="other lamp", masks=[0, 2]))
    for command, (verb, level) in enumerate([(TOGGLE, 0), (ON, 0), (OFF, 0), (SET, 1), (UP, 0), (DOWN, 0)]):
        table["buttons"].append(dict(name=f"button {command}", protocol=1, address=command % 3, command=command, acts=[[0, verb, level]]))
    table["buttons"] += [dict(table["buttons"][0], address=9), dict(table["buttons"][0], protocol=2)]


def _let_go_at_once(table: dict[str, Any]) -> None:
    _add_buttons(table)
    table["held_ms"] = 0


def _add_feedback(*masks: int) -> Callable[..., Any]:
    def give(table: dict[str, Any]) -> None:
        table["channels"].append(dict(table["channels"][0], name="other lamp", masks=[0, 4]))
        table["channels"][0].update(masks=list(masks), on_level=1)
        table["feedback"] = [dict(channel=0, settle_ms=500)]
    return give


def _add_rule(**said: int) -> Callable[..., Any]:
    def give(table: dict[str, Any]) -> None:
        _add_switch(1)(table)
        table["channels"].append(dict(table["channels"][0], name="other lamp", masks=[0, 4]))
        table["rules"] = [dict(channel=0, limit_ms=0, stay_ms=0, renews=0, wall_only=0, limit_rule=0, stay_rule=0) | said]
    return give


def _add_condition(kind: int, source: int, *, sense: int = 1, ends: int = 1, beside: int | None = None) -> Callable[..., Any]:
    """Return what gives a lamp two conditions of this kind, beside another that has none; and one of another kind that goes with them."""
    def give(table: dict[str, Any]) -> None:
        _add_switch(1)(table)
        table["channels"].append(dict(table["channels"][0], name="other lamp", masks=[0, 4], restore=2))
        row = dict(kind=kind, source=source, number=1 if source == OF_CHANNEL else 0, sense=sense, from_ms=1, after_ms=ends, rule=0,
                   acts=[[0, OFF if kind == LOCKS else ON, 0]])
        table["inputs"], table["readings"] = [dict(settle_ms=50)] * 2, [dict(stale_ms=9000)] * 2
        table["conditions"] = [row, dict(row, source=OF_INPUT, number=1)]
        if beside == RELEASE:
            table["conditions"] = [dict(row, released_by=1), dict(row, kind=RELEASE, number=1, acts=[])]
        elif beside is not None:
            table["conditions"].append(dict(row, kind=beside, number=1, acts=[[0, OFF, 0]]))
    return give


def _keep_apart(table: dict[str, Any]) -> None:
    """Keep two lamps apart, beside a third one."""
    _add_switch(1)(table)
    table["channels"] += [dict(table["channels"][0], name=name, masks=[0, mask]) for name, mask in (("other lamp", 2), ("third lamp", 4))]
    table["apart"] = [dict(channels=[0, 1], between_ms=1000, rule=0)]


def _has_condition(table: Mapping[str, Any], **wanted: int) -> bool:
    return any(all(row[key] == value for key, value in wanted.items()) for row in table.get("conditions", ()))


def _holds_without(kind: int) -> Callable[[Mapping[str, Any]], bool]:
    """Return whether nothing in a table has a condition that holds it on and one of this kind, as a function."""
    def channels(table: Mapping[str, Any], kind: int) -> set[int]:
        return {row["acts"][0][0] for row in table.get("conditions", ()) if row["kind"] == kind}
    return lambda table: not channels(table, HOLDS) & channels(table, kind)


def _start_low(table: dict[str, Any]) -> None:
    """Let a fan of two steps start at its first, and come back as it was."""
    _set(masks=[0, 1, 2], on_level=2, restore=2)(table)
    table["rules"] = [dict(channel=0, limit_ms=0, stay_ms=0, renews=0, wall_only=0, limit_rule=0, stay_rule=0, start_most=1)]


def _starts_low(table: Mapping[str, Any]) -> bool:
    return any(row.get("start_most") for row in table.get("rules", ()))


def _has_rule(table: Mapping[str, Any], *keys: str) -> bool:
    return any(row[key] for row in table.get("rules", ()) for key in keys)


def _any(table: Mapping[str, Any], key: str, truth: type[bool] | Callable[..., Any]) -> bool:
    return any(truth(channel[key]) for channel in table["channels"])


_PRESS_MS = {"held": "held_ms", "twice": "again_ms"}

# What a job may lack: words, whether a table lacks it, and what gives it to a table.
THINGS = (
    ("no wall switch", lambda table: not table["switches"], _add_switch(1)),
    ("no retractive wall switch that acts at once", _acts_late, _add_switch(0)),
    ("no latching wall switch", lambda table: not any(row["latching"] for row in table["switches"]), _add_switch(1)),
    ("no wall switch that is held", lambda table: not any(row["held"] for row in table.get("presses", ())), _add_presses("held")),
    ("no wall switch that is pressed twice", lambda table: not any(row["twice"] for row in table.get("presses", ())), _add_presses("twice")),
    ("no wall switch that is held and not pressed twice", lambda table: not _tells(table, "held"), _add_presses("held")),
    ("no wall switch that is pressed twice and not held", lambda table: not _tells(table, "twice"), _add_presses("twice")),
    ("no plan without presses told apart", lambda table: bool(table.get("presses")), _add_presses("held", "twice")),
    ("no regulator", lambda table: not table["regulators"], _add_regulator(1)),
    ("no regulator that is off with no contact", lambda table: not any(row["off_is_open"] for row in table["regulators"]),
     _add_regulator(1)),
    ("no regulator with a contact for each position", lambda table: all(row["off_is_open"] for row in table["regulators"]),
     _add_regulator(0)),
    ("no remote button", lambda table: not table["buttons"], _add_buttons),
    ("no channel with steps", lambda table: not _any(table, "masks", lambda masks: len(masks) > 2),
     _set(masks=[0, 1, 2], on_level=1, dead_ms=60)),
    ("no start kick", lambda table: not _any(table, "kick_top", bool),
     _set(masks=[0, 1, 2], on_level=1, dead_ms=60, kick_level=2, kick_top=1, kick_ms=1500)),
    ("no dead time", lambda table: not _any(table, "dead_ms", bool), _set(dead_ms=60)),
    ("no minimum off time", lambda table: not _any(table, "minimum_off_ms", bool), _set(minimum_off_ms=500)),
    ("no turn after a power cut", lambda table: not _any(table, "restore_delay_ms", bool), _set(restore_delay_ms=200)),
    ("no channel that stays off after a power cut", lambda table: not _any(table, "restore", lambda policy: policy == 0), _set(restore=0)),
    ("no channel that comes on after a power cut", lambda table: not _any(table, "restore", lambda policy: policy == 1), _set(restore=1)),
    ("no channel that comes back as it was", lambda table: not _any(table, "restore", lambda policy: policy == 2), _set(restore=2)),
    ("no feedback", lambda table: not table.get("feedback"), _add_feedback(0, 1)),
    ("no feedback of a channel with steps", lambda table: all(len(table["channels"][row["channel"]]["masks"]) < 3 for row in table.get("feedback", ())),
     _add_feedback(0, 1, 2)),
    ("no plan without feedback", lambda table: bool(table.get("feedback")), _add_feedback(0, 1)),
    ("no limit", lambda table: not _has_rule(table, "limit_ms"), _add_rule(limit_ms=60_000)),
    ("no stay", lambda table: not _has_rule(table, "stay_ms"), _add_rule(stay_ms=60_000)),
    ("no stay that is warned of", lambda table: not any(row.get("warn_ms") for row in table.get("rules", ())), _add_rule(stay_ms=60_000, warn_ms=30_000)),
    ("no stay that an asking renews", lambda table: not _has_rule(table, "renews"), _add_rule(stay_ms=60_000, renews=1)),
    ("nothing that is put on at the wall only", lambda table: not _has_rule(table, "wall_only"), _add_rule(wall_only=1)),
    ("nothing that the network leaves alone", lambda table: not any(row["wall_only"] > 1 for row in table.get("rules", ())), _add_rule(wall_only=2)),
    ("no plan without rules", lambda table: bool(table.get("rules")), _add_rule(limit_ms=60_000)),
    ("no rule that holds something on", lambda table: not _has_condition(table, kind=HOLDS), _add_condition(HOLDS, OF_INPUT)),
    ("no rule that keeps something off", lambda table: not _has_condition(table, kind=LOCKS), _add_condition(LOCKS, OF_INPUT)),
    ("no rule that keeps something off for longer", lambda table: not _has_condition(table, kind=LOCKS), _add_condition(LOCKS, OF_INPUT, ends=900)),
    ("no rule that lets others rest", lambda table: not _has_condition(table, kind=RESTS), _add_condition(RESTS, OF_INPUT)),
    ("nothing that one rule holds on and another keeps off", _holds_without(LOCKS), _add_condition(HOLDS, OF_INPUT, beside=LOCKS)),
    ("nothing that one rule holds on and another lets rest", _holds_without(RESTS), _add_condition(HOLDS, OF_INPUT, beside=RESTS)),
    ("no rule of a moment", lambda table: not _has_condition(table, kind=WHEN), _add_condition(WHEN, OF_INPUT)),
    ("no rule that is latched", lambda table: not _has_condition(table, kind=RELEASE), _add_condition(LOCKS, OF_INPUT, beside=RELEASE)),
    ("no rule by an input", lambda table: not _has_condition(table, source=OF_INPUT), _add_condition(LOCKS, OF_INPUT, sense=0)),
    ("no rule by a reading", lambda table: not _has_condition(table, source=OF_READING), _add_condition(HOLDS, OF_READING)),
    ("no rule that keeps something off by a reading", lambda table: not _has_condition(table, kind=LOCKS, source=OF_READING), _add_condition(LOCKS, OF_READING)),
    ("no rule by a channel that is on", lambda table: not _has_condition(table, source=OF_CHANNEL, sense=1), _add_condition(HOLDS, OF_CHANNEL)),
    ("no rule by a channel that is off", lambda table: not _has_condition(table, source=OF_CHANNEL, sense=0), _add_condition(LOCKS, OF_CHANNEL, sense=0)),
    ("no fan that starts at a low step", lambda table: not _starts_low(table), _start_low),
    ("nothing that is never on together", lambda table: not table.get("apart"), _keep_apart),
    ("no plan without conditions", lambda table: bool(table.get("conditions")), _add_condition(HOLDS, OF_INPUT)),
    ("no remote button that counts as let go at once", lambda table: table["held_ms"] > 0, _let_go_at_once),
)
