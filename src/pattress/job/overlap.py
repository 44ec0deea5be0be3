"""Which condition of the rules is met whenever another one is, and which two leave no moment between them.

A reading has two figures, so it counts as past its begin until it is past its end: one condition is met whenever another is only if
both its figures lie further out. Times count, too: what begins later or goes on for less is not met all the while.
"""

from dataclasses import dataclass, replace
from math import inf

from pattress.job.condition import Condition, State
from pattress.job.rule import Rule

_OTHER_WAY: dict[State, State] = {"on": "off", "off": "on", "open": "closed", "closed": "open", "below": "above", "above": "below"}


def opposite(condition: Condition) -> Condition:
    """Return a condition that is met just when this one is not."""
    if condition.state == "damper":
        return replace(condition, key=condition.other_sensor, other_sensor=condition.key, begin=-condition.end, end=-condition.begin)
    return replace(condition, state=_OTHER_WAY[condition.state], begin=condition.end, end=condition.begin)


def kept_off(rule: Rule) -> Condition | None:
    """Return when a rule keeps its thing off; a latch does without end. None of a rule that keeps nothing off."""
    if rule.condition is None or rule.kind not in ("lock", "only", "latch"):
        return None
    return opposite(rule.condition) if rule.kind == "only" else replace(rule.condition, after=inf) if rule.kind == "latch" else rule.condition


def covers(wide: Condition, narrow: Condition) -> bool:
    """Return whether one condition is met whenever the other is."""
    one, other = _look(wide), _look(narrow)
    return (one.at == other.at and one.is_rising == other.is_rising and one.begin <= other.begin and one.end <= other.end
            and wide.since <= narrow.since and wide.after >= narrow.after)


def is_same(one: Condition, other: Condition) -> bool:
    """Return whether two conditions begin in the same moment, always."""
    return _look(one) == _look(other) and one.since == other.since


def leave_no_moment(one: Condition, other: Condition) -> bool:
    """Return whether at any moment one of the two is met, however what they look at changes."""
    first, second = _look(one), _look(other)
    if first.at != second.at or first.is_rising == second.is_rising:
        return False
    return first.begin <= -second.begin and one.since <= other.after and other.since <= one.after


def contradict(one: Condition, other: Condition) -> bool:
    """Return whether two conditions are never met at once, but for how long they go on after."""
    first, second = _look(one), _look(other)
    if first.at != second.at or first.is_rising == second.is_rising:
        return False
    return one.source != "sensor" or first.end >= -second.end


@dataclass(frozen=True, slots=True)
class _Look:
    """What a condition looks at, as something that rises or falls past its begin and back past its end; one that falls has both negated."""

    at: tuple[str, ...]
    is_rising: bool
    begin: float = 0.0
    end: float = 0.0


def _look(condition: Condition) -> _Look:
    if condition.state == "damper":
        first, second = sorted((condition.key, condition.other_sensor))
        return _Look(("damper", first, second), condition.key == first, condition.begin, condition.end)
    if condition.source == "sensor":
        is_rising, at = condition.state == "above", (condition.source, condition.key, "share" if condition.is_share else "degC")
        return _Look(at, True, condition.begin, condition.end) if is_rising else _Look(at, False, -condition.begin, -condition.end)
    return _Look((condition.source, condition.key), condition.state in ("on", "closed"))
