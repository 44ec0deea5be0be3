"""Who may do what to each load and fan: hands at the wall, the network, the rules.

Taken from the job alone. What a rule does to a thing is said in a few words with the names of the home, without the times
that its condition waits; the sentence itself says the rest. A button whose code is unknown is told as not learnt yet.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import assert_never

from pattress.job.action import EVERYTHING, Action
from pattress.job.by_rule import rules_on
from pattress.job.condition import Condition
from pattress.job.levels import levels_of
from pattress.job.model import PRESSED, UNKNOWN, Job
from pattress.job.rule import Rule
from pattress.quantity import show
from pattress.sizing.controls import controls_of

BY_HAND = {"on": "on", "off": "off", "toggle": "on and off", "up": "a step up", "down": "a step down"}
MOMENTS = {"on": "comes on", "off": "goes off", "open": "opens", "closed": "closes"}


class OverNetwork(StrEnum):
    """What the network may do: a phone, a hub, a voice."""

    ON_AND_OFF = "on and off"
    OFF_ONLY = "off only"
    LEFT_ALONE = "nothing: a rule says so"
    NOTHING = "nothing: there is no network"


class Effect(StrEnum):
    """What a rule does to a thing."""

    PUTS_ON = "puts on"
    PUTS_OFF = "puts off"
    LIMITS = "limits"
    KEEPS_OFF = "keeps off"
    WALL_ONLY = "leaves to the wall"
    RESTS = "lets its rules rest"


@dataclass(frozen=True, slots=True)
class Hand:
    """A switch, regulator or remote, by its section and key, and what it does to a thing, in words."""

    section: str
    key: str
    name: str
    does: str


@dataclass(frozen=True, slots=True)
class Part:
    """What the rule of that key does to a thing."""

    rule: str
    effect: Effect
    words: str


@dataclass(frozen=True, slots=True)
class Permissions:
    """Who may do what to one load or fan."""

    section: str
    key: str
    name: str
    hands: tuple[Hand, ...]
    network: OverNetwork
    rules: tuple[Part, ...]


def permissions_of(job: Job) -> tuple[Permissions, ...]:
    """Return who may do what, one row for each load, then for each fan; rules in the order of effect and key, as that in the file means nothing."""
    return tuple(
        Permissions(section, key, thing.name, tuple(_hands(job, key)), _over_network(job, key), tuple(sorted(_parts(job, key), key=_order)))
        for section, things in (("load", job.load), ("fan", job.fan)) for key, thing in things.items())


def _order(part: Part) -> tuple[int, str]:
    return list(Effect).index(part.effect), part.rule


def _over_network(job: Job, key: str) -> OverNetwork:
    if not job.network.wifi:
        return OverNetwork.NOTHING
    if any(rule.kind == "kept" for _, rule in rules_on(job, key)):
        return OverNetwork.LEFT_ALONE
    return OverNetwork.OFF_ONLY if controls_of(job, key).wall_only else OverNetwork.ON_AND_OFF


def _hands(job: Job, thing: str) -> Iterator[Hand]:
    for key, switch in job.switch.items():
        told = {how: _does(acts) for how, does in switch.presses.items() if (acts := _acting_on(does, thing))}
        if told:
            yield Hand("switch", key, switch.name, "; ".join(f"{PRESSED[how]}{words}" for how, words in told.items()))
    for key, regulator in job.regulator.items():
        if regulator.fan == thing:
            yield Hand("regulator", key, regulator.name, ", ".join(f"step {level}" if level else "off" for level in levels_of(job, regulator)))
    for key, remote in job.remote.items():
        learnt = [act for button in remote.button.values() if button.code != UNKNOWN for act in _acting_on(button.does, thing)]
        unlearnt = [act for button in remote.button.values() if button.code == UNKNOWN for act in _acting_on(button.does, thing)]
        words = (_does(learnt), f"not learnt yet: {_does(unlearnt)}" if unlearnt else "")
        if any(words):
            yield Hand("remote", key, remote.name, "; ".join(filter(None, words)))


def _acting_on(actions: tuple[Action, ...], thing: str) -> list[Action]:
    return [action for action in actions if thing in action.things or action.things == (EVERYTHING,)]


def _does(actions: list[Action]) -> str:
    return ", ".join(dict.fromkeys(BY_HAND.get(action.verb) or (f"step {action.step}" if action.step else "off") for action in actions))


def _parts(job: Job, thing: str) -> Iterator[Part]:
    for key, rule in rules_on(job, thing):
        yield Part(key, *_done(rule, thing, job))


def _done(rule: Rule, thing: str, job: Job) -> tuple[Effect, str]:
    """Return what a rule does to a thing that it acts on."""
    met = _met(rule.condition, job) if rule.condition else ""
    match rule.kind:
        case "limit":
            return Effect.LIMITS, f"off after {show(rule.time, 's')} at most"
        case "stay":
            warned = f", warned of {show(rule.warning, 's')} before" if rule.warning else ""
            return Effect.PUTS_OFF, f"off {show(rule.time, 's')} after it {'was last asked to be on' if rule.renews else 'came on'}{warned}"
        case "rested" | "often":
            return Effect.LIMITS, f"off for {show(rule.time, 's')} at least before it comes on again"
        case "kept":
            return Effect.WALL_ONLY, "not switched over the network"
        case "wall":
            return Effect.WALL_ONLY, "put on at the wall only"
        case "top":
            return Effect.LIMITS, f"at step {rule.step} at most"
        case "start":
            return Effect.LIMITS, f"comes on at step {rule.step} at most"
        case "apart":
            others = " or ".join(job.named()[key].name for key in rule.several if key != thing)
            return Effect.KEEPS_OFF, f"kept off while {others} is on, and until {show(rule.time, 's')} after"
        case "hold":
            return Effect.PUTS_ON, f"{'on' if rule.step is None else f'at step {rule.step}'} while {met}"
        case "lock":
            return Effect.KEEPS_OFF, f"kept off while {met}"
        case "only":
            return Effect.KEEPS_OFF, f"kept off unless {met}"
        case "latch":
            return Effect.KEEPS_OFF, f"kept off once {met}" + (f", until {_met(rule.release, job)}" if rule.release else "")
        case "rest":
            return Effect.RESTS, f"its rules rest while {met}"
        case "when":
            step = f"put at step {rule.action.step}" if rule.action and rule.action.step else "put on"
            moment = _moment(rule.condition, job) if rule.condition else ""
            return (Effect.PUTS_ON, f"{step} when {moment}") if rule.puts_on else (Effect.PUTS_OFF, f"put off when {moment}")
    assert_never(rule.kind)


def _met(condition: Condition, job: Job) -> str:
    """Return what a rule waits for, with the names of the home."""
    name = _name(condition, job)
    if condition.source != "sensor":
        return f"{name} is {condition.state}"
    if condition.state == "damper":
        return f"{name} is damper than {job.sensor[condition.other_sensor].name}"
    return f"{name} is {condition.state} {show(condition.begin, '%' if condition.is_share else 'degC')}"


def _moment(condition: Condition, job: Job) -> str:
    name = _name(condition, job)
    if condition.since:
        return f"{name} has been {condition.state} for {show(condition.since, 's')}"
    return f"{name} {MOMENTS[condition.state]}"


def _name(condition: Condition, job: Job) -> str:
    if condition.source == "input":
        return job.input[condition.key].name
    if condition.source == "sensor":
        return job.sensor[condition.key].name
    return job.named()[condition.key].name
