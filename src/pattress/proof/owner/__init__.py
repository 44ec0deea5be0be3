"""The owner's own wishes, proven like every other property: does the shipped program keep them under this plan?

"Never while", "only while", "stays off", "comes on", "at the wall", "step at most" and "leaves nothing" are explored
like any part, every wait running out in any order.
"Follows", "at most" and "never longer" are about durations: an upper bound that is proven from all reachable
states, and a story with true durations where the bound is too long. Where neither settles it,
the wish is not said to hold, and the detail says between which figures the truth lies.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from ..exploration import Exploration
from ..parts.channel import ChannelPart
from ..properties import Kind
from ..story import tell
from ..tally import Property
from .afterwards import StaysOffPart
from .at_the_wall import AtTheWallPart
from .comes_on import ComesOnPart
from .contradiction import follow_against_times
from .leaves_nothing import LeavesNothingPart, clearing
from .longest import judge_longest
from .often import judge_times
from .only_while import OnlyWhilePart
from .response import judge_response
from .step_at_most import StepAtMostPart
from .together import TogetherPart

if TYPE_CHECKING:
    from pattress.job.wish import Wish
    from pattress.proof.exploration import Part
    from pattress.proof.subject import Subject


def judge_wishes(subject: Subject, wishes: Mapping[str, Wish], has_network: bool, failed: set[str]) -> Iterator[Property]:
    """Yield a Property for each wish and for each two that contradict each other.

    `wishes` maps names to `pattress.job.wish.Wish`; `failed` holds the ids of properties that do
    not hold: what rests on them is then not said to hold either. Raises KeyError when the plan
    has no channel of the key that a wish names.
    """
    channels = {row.get("key", row["name"]): number for number, row in enumerate(subject.table["channels"])}
    for name, wish in wishes.items():
        yield from _JUDGES[wish.form](subject, f"wish.{name}", wish, channels, wishes, has_network, failed)


def _explored(part: Part, sentences: Mapping[str, str], wanted: Sequence[str], allowed: str = "") -> Iterator[Property]:
    """Explore a part; yield a Property for each of the ids `wanted`, and for any other claim that failed in it.

    `allowed` says of what holds what it leaves aside. Where another claim ended a way, what lies beyond is not known to hold.
    """
    explored = Exploration(part).run()
    broken = set(explored.failures) - set(sentences)
    for key in dict.fromkeys([*wanted, *explored.failures]):
        found = explored.failures.get(key)
        if found is None:
            yield from _resting_on([Property(key, Kind.ALWAYS, sentences[key], True, explored.transitions, allowed)], broken)
        elif key in sentences:
            yield Property(key, Kind.ALWAYS, sentences[key], False, explored.transitions, found[0].detail,
                           tell(explored, *found, sentences[key]))


def _stays_off(subject: Subject, key: str, wish: Wish, channels: Mapping[str, int], wishes: Mapping[str, Wish], has_network: bool, failed: set[str]) -> Iterator[Property]:
    part = StaysOffPart(subject, channels[wish.thing], key)
    yield from _explored(part, {key: wish.says}, [key])


def _never_while(subject: Subject, key: str, wish: Wish, channels: Mapping[str, int], wishes: Mapping[str, Wish], has_network: bool, failed: set[Any]) -> Iterator[Property]:
    thing, other = channels[wish.thing], channels[wish.other]
    sentences, followers = {}, {}
    for name, follow in wishes.items():
        if follow.form == "follows" and follow.thing in wish.things:
            pair = f"{key}+wish.{name}"
            followers[pair] = (channels[follow.thing], follow.control)
            sentences[pair] = f"\"{wish.says}\" and \"{follow.says}\" can both be kept."
    yield from _explored(TogetherPart(subject, thing, other, key, {}, has_network), {key: wish.says}, [key])
    if followers:       # a failing pair ends a way, so the wish itself is explored without
        yield from _explored(TogetherPart(subject, thing, other, key, followers, has_network), sentences, [])


def _only_while(subject: Subject, key: str, wish: Wish, channels: Mapping[str, int], wishes: Mapping[str, Wish], has_network: bool, failed: set[str]) -> Iterator[Property]:
    part = OnlyWhilePart(subject, channels[wish.thing], channels[wish.other], key, has_network)
    found = _explored(part, {key: wish.says}, [key], part.allowed_words)
    yield from _resting_on(found, failed & ({"met-in-time", "kept-off", "held", "rule-acts"} if part.enders else set()))


def _comes_on(subject: Subject, key: str, wish: Wish, channels: Mapping[str, int], wishes: Mapping[str, Wish], has_network: bool, failed: set[str]) -> Iterator[Property]:
    part = ComesOnPart(subject, channels[wish.thing], key)
    allowed = "a step closes only onto a dead line, and here no contact sticks" if part.is_sensed else ""
    found = _explored(part, {key: wish.says}, [key], allowed)
    yield from _resting_on(found, failed & {"turn", "dead-time", "minimum-off", "start-kick", "becomes-quiet"})


def _step_at_most(subject: Subject, key: str, wish: Wish, channels: Mapping[str, int], wishes: Mapping[str, Wish], has_network: bool, failed: set[str]) -> Iterator[Property]:
    part = StepAtMostPart(subject, channels[wish.thing], key, wish.step, has_network)
    yield from _resting_on(_explored(part, {key: wish.says}, [key], part.kick_told), failed & {"start-kick"})


def _leaves_nothing(subject: Subject, key: str, wish: Wish, channels: Mapping[str, int], wishes: Mapping[str, Wish], has_network: bool, failed: set[str]) -> Iterator[Property]:
    names = [what.name_in(subject) for what in clearing(subject)]
    if not names:
        yield Property(key, Kind.ALWAYS, wish.says, False, 0, "nothing in the plan does it: no switch, no learnt remote button, no rule")
        return
    found = [one for channel, row in enumerate(subject.table["channels"]) if not row.get("is_mode")
             for one in _explored(LeavesNothingPart(subject, channel, key), {key: wish.says}, [key])]
    failing = [one for one in found if not one.holds]
    detail = "; ".join(one.detail for one in failing) or f"done by {', '.join(names)}"
    shortest = min((one.story for one in failing if one.story), key=lambda story: len(story.steps), default=None)
    yield Property(key, Kind.ALWAYS, wish.says, not failing, sum(one.transitions for one in found), detail, shortest)


def _follows(subject: Subject, key: str, wish: Wish, channels: Mapping[str, int], wishes: Mapping[str, Wish], has_network: bool, failed: set[str]) -> Iterator[Property]:
    channel = channels[wish.thing]
    explored = Exploration(ChannelPart(subject, channel)).run()
    holds, detail, story = judge_response(subject, explored, channel, key, wish, has_network)
    rests_on = failed & {"dead-time", "minimum-off", "start-kick", "turn", "switch-settles", "regulator-settles", "no-error"}
    if rests_on:
        holds, detail = False, f"{detail}; but {', '.join(sorted(rests_on))} fails, on which this rests"
    yield Property(key, Kind.ALWAYS, wish.says, holds, explored.transitions, detail, story)
    for name, most in wishes.items():
        if most.form == "at most" and most.thing == wish.thing and wish.control == "switch":
            sentence = f"\"{wish.says}\" and \"{most.says}\" can both be kept."
            story, detail = follow_against_times(subject, channel, f"{key}+wish.{name}", sentence, wish, most)
            if story:
                yield Property(f"{key}+wish.{name}", Kind.ALWAYS, sentence, False, len(story.steps), detail, story)


def _resting_on(found: Iterable[Property], broken: set[str]) -> Iterator[Property]:
    """Yield what was found; what rests on claims that are broken is not said to hold."""
    for one in found:
        words = f"{', '.join(sorted(broken))} fails, on which this rests"
        yield replace(one, holds=False, detail=f"{one.detail}; but {words}" if one.detail else words) if broken and one.holds else one


def _at_most(subject: Subject, key: str, wish: Wish, channels: Mapping[str, int], wishes: Mapping[str, Wish], has_network: bool, failed: set[str]) -> Iterator[Property]:
    holds, detail, story, steps = judge_times(subject, channels[wish.thing], key, wish, has_network)
    rests_on = failed & {"minimum-off", "dead-time", "no-error"}
    if rests_on:
        holds, detail = False, f"{detail}; but {', '.join(sorted(rests_on))} fails, on which this rests"
    yield Property(key, Kind.ALWAYS, wish.says, holds, steps, detail, story)


def _at_the_wall(subject: Subject, key: str, wish: Wish, channels: Mapping[str, int], wishes: Mapping[str, Wish], has_network: bool, failed: set[str]) -> Iterator[Property]:
    part = AtTheWallPart(subject, channels[wish.thing], key, has_network)
    yield from _explored(part, {key: wish.says}, [key])


def _never_longer(subject: Subject, key: str, wish: Wish, channels: Mapping[str, int], wishes: Mapping[str, Wish], has_network: bool, failed: set[str]) -> Iterator[Property]:
    holds, detail, story, steps = judge_longest(subject, channels[wish.thing], key, wish, has_network)
    rests_on = failed & {"limit-kept", "stay-kept", "runs-out", "off-at-once", "no-error"}
    if rests_on:
        holds, detail = False, f"{detail}; but {', '.join(sorted(rests_on))} fails, on which this rests"
    yield Property(key, Kind.ALWAYS, wish.says, holds, steps, detail, story)


_JUDGES = {"stays off": _stays_off, "comes on": _comes_on, "never while": _never_while, "only while": _only_while,
           "step at most": _step_at_most, "leaves nothing": _leaves_nothing, "follows": _follows, "at most": _at_most,
           "at the wall": _at_the_wall, "never longer": _never_longer}
