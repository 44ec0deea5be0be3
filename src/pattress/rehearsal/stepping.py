"""A rehearsed day event by event: what happened, and how everything stands after it.

A step is what came from outside - the edges of one throw are one step - and each moment at which
a relay moved, a problem was seen or the power changed. How far the relays are is read from the
log; what was wanted is found by feeding the core the same events again.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from pattress.controller import core
from pattress.controller.core.cells import INPUT_MOVED, POSITION, READ, WANTED
from pattress.controller.core.conditions import BEFORE, BETWEEN, PAST, UNKNOWN
from pattress.rehearsal.day import Day, Entry, Kind, Names, standing
from pattress.rehearsal.monitor import level_of

BOUNCES_MS = 60             # edges of one control nearer than this are one throw
PLACES = {UNKNOWN: "is not known", BEFORE: "is past where it ends", BETWEEN: "is between where it begins and ends", PAST: "is past where it begins"}
STRANGE = {core.CODE: "a remote", core.COMMAND: "a message of the network"}


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a day, from the moment `at` to `end` [ms], and how everything stands at its end.

    In plan order: `levels` of channels by their relays, None for relays of no level; the level `wanted`;
    `contacts` of switches; `positions` believed of regulators, NOWHERE between two. `problems` were seen in it.
    """

    at: int
    end: int
    words: str
    outcome: str
    control: tuple[int, ...]            # the one that was moved, as kind of event and number; () for all else
    levels: tuple[int | None, ...]
    wanted: tuple[int, ...]
    contacts: tuple[int, ...]
    positions: tuple[int, ...]
    problems: tuple[str, ...] = ()


def steps_of(day: Day, table: Mapping[str, Any], names: Names | None = None) -> tuple[Step, ...]:
    """Return the steps of a day that was rehearsed under a plan's table."""
    found: list[Step] = []
    for step in _steps(day, core.Plan(table), table, names or Names.of(table)):
        if found and _is_same_throw(found[-1], step):
            step = replace(step, at=found[-1].at)
            found.pop()
        found.append(step)
    return tuple(_with_problems(day, found))


def _is_same_throw(one: Step, other: Step) -> bool:
    return bool(one.control) and one.control == other.control and other.at - one.end <= BOUNCES_MS and not (one.outcome or other.outcome)


def _steps(day: Day, plan: core.Plan, table: Mapping[str, Any], names: Names) -> Iterator[Step]:
    state, contacts = core.new_state(plan), [0] * plan.switches
    seen, last = {problem.at for problem in day.problems}, 0
    stood: dict[int, int] = {}          # where each reading was last told to stand
    levels: tuple[int | None, ...] = (0,) * plan.channels
    for entry in day.log:
        _feed(plan, state, entry)
        if entry.kind is Kind.BEGIN:
            contacts = list(entry.closed[:plan.switches])
            stood.clear()
        elif entry.kind is Kind.STEP and entry.event[0] == core.CONTACT:
            contacts[entry.event[1]] = entry.event[2]
        before, levels = levels, tuple(level_of(plan, channel, entry.relays) for channel in range(plan.channels))
        is_own = entry.kind is Kind.STEP and (entry.event[0] == core.TIME or _is_old(entry, stood))
        if is_own and levels == before and entry.at not in seen:
            continue
        moved = "; ".join(f"{names.channels[channel]}: {_standing(plan, channel, level)}"
                          for channel, (was, level) in enumerate(zip(before, levels, strict=True)) if was != level)
        yield Step(entry.at, entry.at, _later(entry.at - last) if is_own else _words(entry, table, names), moved, _control(entry),
                   levels, tuple(state[at + WANTED] for at in plan.channel_at), tuple(contacts), _positions(plan, state))
        last = entry.at


def _is_old(entry: Entry, stood: dict[int, int]) -> bool:
    """Return whether an entry tells of a reading what counts already: the same again, or that it is between its two figures."""
    kind, reading, place, *_ = entry.event
    if kind != READ:
        return False
    was = stood.get(reading, UNKNOWN)
    if place == BETWEEN and was != UNKNOWN:
        return True
    stood[reading] = place
    return was == place


def _feed(plan: core.Plan, state: Any, entry: Entry) -> None:
    """Let the core take in an entry again."""
    if entry.kind is Kind.BEGIN:
        core.begin(plan, state, None if entry.snapshot is None else bytearray(entry.snapshot), list(entry.closed), list(entry.contacts))
    elif entry.kind is Kind.STEP:
        core.step(plan, state, entry.event)
        for _ in entry.told or ():
            core.next_news(plan, state)
    else:
        state[:] = core.new_state(plan)


def _positions(plan: core.Plan, state: Any) -> tuple[int, ...]:
    return tuple(state[at + POSITION] for at in plan.regulator_at)


def _words(entry: Entry, table: Mapping[str, Any], names: Names) -> str:
    """Return what came from outside, in words."""
    if entry.kind is not Kind.STEP:
        return "the power goes: every relay drops" if entry.kind is Kind.CUT else "the power is there: the control program runs"
    kind, first, second, third, _ = entry.event
    if entry.bits & core.REFUSED:
        return f"{STRANGE.get(kind, 'something')} that means nothing here"
    if kind == core.CONTACT:
        return f"{names.switches[first]}: contact {'closes' if second else 'opens'}"
    if kind == core.ROTOR:
        return f"{names.regulators[first]} is turned"
    if kind == core.COMMAND:
        level = f" {third}" if second == core.SET else ""
        return f"the network asks {names.channels[first]}: {core.VERBS[second]}{level}"
    if kind == core.CODE:
        codes = [(row["protocol"], row["address"], row["command"]) for row in table["buttons"]]
        return f"remote: {names.buttons[codes.index((first, second, third))]}"
    if kind == INPUT_MOVED:
        return f"{names.inputs[first]}: contact {'closes' if second else 'opens'}"
    if kind == READ:
        return f"{names.readings[first]}: {PLACES[second]}"
    return f"the line of {names.channels[first]} is sensed {'live' if second else 'dead'}"


def _control(entry: Entry) -> tuple[int, ...]:
    if entry.kind is not Kind.STEP or entry.event[0] not in (core.CONTACT, core.ROTOR, core.CODE, INPUT_MOVED):
        return ()
    return entry.event[:4] if entry.event[0] == core.CODE else entry.event[:2]


def _standing(plan: core.Plan, channel: int, level: int | None) -> str:
    return "relays of no level of it" if level is None else standing(level, plan.top(channel))


def _later(span: int) -> str:
    if not span:
        return "at once"
    return f"{span} ms later" if span < 1000 else f"{span / 1000:.1f} s later" if span < 60_000 else f"{span / 60_000:.0f} min later"


def _with_problems(day: Day, steps: list[Step]) -> Iterator[Step]:
    """Yield the steps with the problems that were seen in each, or after the one before it."""
    left = sorted(day.problems, key=lambda problem: problem.at)
    for number, step in enumerate(steps, 1):
        here = [problem for problem in left if problem.at <= step.end or number == len(steps)]
        left = left[len(here):]
        yield replace(step, problems=tuple(problem.words for problem in here)) if here else step
