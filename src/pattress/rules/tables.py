"""From the rules of a job to the tables of the plan: times and permissions by channel, conditions, inputs and readings.

What the rows mean is said in `pattress.controller.core.plan` and `.conditions`; what board code makes of a reading's
figures, in `pattress.controller.readings`.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any

from pattress.controller.core.cells import OFF, ON, SET, VERBS
from pattress.controller.core.conditions import HOLDS, LOCKS, OF_CHANNEL, OF_INPUT, OF_READING, RELEASE, RESTS, WHEN
from pattress.controller.readings import DAMPER, HUMIDITY, TEMPERATURE
from pattress.job.action import EVERYTHING, Action, is_off_everything
from pattress.job.by_rule import rules_on
from pattress.job.condition import Condition
from pattress.job.model import Job
from pattress.job.rule import Rule

WALL_ONLY = {"wall": 1, "kept": 2}          # what the network may do: switch off; nothing
SOON_MS = 1             # what a condition waits where its rule says no time; what counts as met never changes in the step that changed it
GRAMS, TENTHS = 100, 10         # a figure of the plan in a gram of water a cubic metre; in a degree or a per cent
Row = dict[str, Any]


def rule_tables(job: Job, place: Mapping[str, int], settle_ms: Callable[[str], int], stale_ms: int) -> dict[str, Any]:
    """Return what the rules and inputs of a job bring to the plan's table; nothing where there are none.

    `place` is the number of each load, fan and mode, `settle_ms` how long an input of a kind must keep still, `stale_ms` after
    which a reading that was not renewed is not known.
    """
    said = dict(sorted((key, ruled.says) for key, ruled in job.rule.items()))        # the order in the file means nothing
    inputs = [{"key": key, "name": one.name, "settle_ms": settle_ms(one.kind)} for key, one in job.input.items()]
    rules = _by_channel(said, place)
    readings: list[Row] = []
    conditions = list(_conditions(said, job, place, readings, stale_ms))
    # Of what begins in one moment, off comes last: nothing that a rule puts on outlasts another that puts it off.
    conditions.sort(key=lambda row: row["kind"] == WHEN and row["acts"][0][1] == OFF)
    for row in conditions:
        if "released_by" in row:
            row["released_by"] = conditions.index(row["released_by"])
    apart = [{"channels": [place[thing] for thing in rule.several], "between_ms": milliseconds(rule.time), "rule": number}
             for number, rule in enumerate(said.values()) if rule.kind == "apart"]
    tables = {"inputs": inputs, "rules": rules, "apart": apart, "readings": readings, "conditions": conditions, "rule_keys": list(said)}
    return {name: rows for name, rows in tables.items() if rows}


def marked_acts(actions: Sequence[Action], place: Mapping[str, int], everything: Iterable[str]) -> Row:
    """Return the acts of a control or a moment, marked where they are "off everything": the proof then knows what they mean."""
    return {"acts": acts_of(actions, place, everything), **({"everything": 1} if any(map(is_off_everything, actions)) else {})}


def acts_of(actions: Iterable[Action], place: Mapping[str, int], everything: Iterable[str]) -> list[list[int]]:
    """Return acts as the plan has them: channel, verb and level of each."""
    return [[place[thing], VERBS.index(action.verb), 0 if action.step is None else action.step]
            for action in actions for thing in (everything if action.things == (EVERYTHING,) else action.things)]


def rest_of(job: Job, key: str) -> float:
    """Return how long the rules want a load or fan to be off before it comes on again [s], 0 where none says so."""
    return max((rule.time for _, rule in rules_on(job, key) if rule.kind in ("rested", "often")), default=0.0)


def _by_channel(said: Mapping[str, Rule], place: Mapping[str, int]) -> list[dict[str, int]]:
    """Return what the rules say of the times of each channel, and who may put it on: times in ms, 0 where there is none."""
    rows: dict[int, dict[str, int]] = {}
    for number, rule in enumerate(said.values()):
        if rule.kind not in ("limit", "stay", "wall", "kept", "start"):
            continue
        channel = place[rule.thing]
        row = rows.setdefault(channel, {"channel": channel, "limit_ms": 0, "stay_ms": 0, "renews": 0, "wall_only": 0, "limit_rule": 0, "stay_rule": 0})
        if rule.kind in ("wall", "kept"):
            row["wall_only"] = max(row["wall_only"], WALL_ONLY[rule.kind])
        elif rule.kind == "start":
            row |= {"start_most": rule.step} if rule.step is not None else {}
        else:
            row[f"{rule.kind}_ms"], row[f"{rule.kind}_rule"] = milliseconds(rule.time), number
            row["renews"] |= int(rule.renews)
            if rule.warning:
                row["warn_ms"] = milliseconds(rule.warning)
    return [rows[channel] for channel in sorted(rows)]


def _conditions(said: Mapping[str, Rule], job: Job, place: Mapping[str, int], readings: list[Row], stale_ms: int) -> Iterator[Row]:
    for number, (key, rule) in enumerate(said.items()):
        if rule.condition is None:
            continue
        row: Row = {"rule": number, "name": f"rule {key}", **_looks(rule.condition, job, place, readings, stale_ms, opposite=rule.kind == "only")}
        if rule.kind == "rest":
            for thing in rule.several:
                yield row | {"kind": RESTS, "acts": [[place[thing], OFF, 0]]}
        elif rule.kind == "when":
            yield row | {"kind": WHEN, **marked_acts(tuple(filter(None, (rule.action,))), place, (*job.load, *job.fan))}
        elif rule.kind == "hold":
            yield row | {"kind": HOLDS, "acts": [[place[rule.thing], SET, rule.step] if rule.step else [place[rule.thing], ON, 0]]}
        elif rule.release:
            release: Row = {"rule": number, "name": f"rule {key}, released", "kind": RELEASE, "acts": [],
                            **_looks(rule.release, job, place, readings, stale_ms)}
            yield row | {"kind": LOCKS, "acts": [[place[rule.thing], OFF, 0]], "released_by": release}
            yield release
        else:
            yield row | {"kind": LOCKS, "acts": [[place[rule.thing], OFF, 0]]}


def _looks(condition: Condition, job: Job, place: Mapping[str, int], readings: list[Row], stale_ms: int, opposite: bool = False) -> Row:
    """Return what a condition looks at and its times; with `opposite`, what it says the other way round."""
    times = {"from_ms": milliseconds(condition.since) or SOON_MS, "after_ms": milliseconds(condition.after) or SOON_MS}
    if condition.source == "thing":
        return {"source": OF_CHANNEL, "number": place[condition.key], "sense": int((condition.state == "on") != opposite)} | times
    if condition.source == "input":
        return {"source": OF_INPUT, "number": list(job.input).index(condition.key), "sense": int((condition.state == "closed") != opposite)} | times
    row = _reading(condition, sorted(job.sensor), opposite) | {"stale_ms": stale_ms}
    if row not in readings:
        readings.append(row)
    return {"source": OF_READING, "number": readings.index(row), "sense": 1} | times


def _reading(condition: Condition, sensors: list[str], opposite: bool) -> Row:
    """Return where a reading begins and ends, in whole numbers as the board has them."""
    is_below, begin, end = condition.state == "below", condition.begin, condition.end
    if opposite:
        is_below, begin, end = not is_below, end, begin
    if condition.state == "damper":
        quantity, factor = DAMPER, GRAMS
    else:
        quantity, factor = (HUMIDITY, 100 * TENTHS) if condition.is_share else (TEMPERATURE, TENTHS)
    return {
        "name": f"{condition.key} {condition.state}", "quantity": quantity, "sensor": sensors.index(condition.key),
        "outside": sensors.index(condition.other_sensor) if condition.other_sensor else -1,
        "is_below": int(is_below), "begin": round(begin * factor), "end": round(end * factor),
    }


def milliseconds(seconds: float) -> int:
    """Return whole milliseconds, never fewer than asked for."""
    return int(-(-seconds * 1000 // 1))
