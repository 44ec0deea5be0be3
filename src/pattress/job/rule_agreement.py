"""Whether the rules of a job agree with the rest of it and with one another.

What a rule names must exist. What a set of rules can go wrong in is refused by name here where it shows in the sentences:
rules that set each other off, that ask opposite things in one moment, that fight through the room, that chatter, that never act.
That a rule does what it says, whatever happens in any order, is proven with the control program.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import combinations

from pattress.controller.drivers.humidity import RANGES
from pattress.job.action import EVERYTHING, Action
from pattress.job.by_rule import acts_on
from pattress.job.condition import Condition
from pattress.job.model import Job
from pattress.job.naming import Disagreement, Names, no_such_thing, not_among, unfit
from pattress.job.overlap import contradict, covers, is_same, kept_off, leave_no_moment, opposite
from pattress.job.problem import Path
from pattress.job.rule import MOST_RULES, Kind, Rule
from pattress.plural import counted
from pattress.quantity import show
from pattress.refusal import Refusal, as_found

ONE_OF_A_KIND = ("limit", "stay", "wall", "kept", "top", "start", "rested", "often")
# Between begin and end of a reading, by the class of its sensor: temperature [K], relative humidity [share]. Half a kelvin to one is usual for
# a thermostat (common practice, no source); the 11 class tells whole degrees and per cents (from memory of its sheets).
LEAST_BAND = {"11 class": (1.0, 0.02), "22 class": (0.5, 0.01)}
# From the end of what warms or wets to the begin of what undoes it, so that neither's overshoot wakes the other: temperature as of heating and
# cooling in Quebec, E-1.1 r.1, s. 94 [K], as quoted with the proposal of these rules; relative humidity common practice, no source [share].
APART, APART_SHARE = 1.5, 0.05
LAMPS = ("tungsten lamp", "LED driver", "fluorescent ballast")         # what goes dark for a moment to say that it will go off
Told = Mapping[str, Rule]       # rules by key


def rule_disagreements(job: Job, names: Names) -> Iterator[Disagreement]:
    """Yield everything in which the rules of a job disagree with it and with one another."""
    if len(job.rule) > MOST_RULES:
        yield ("rule", list(job.rule)[MOST_RULES]), Refusal(f"one of {len(job.rule)} rules", f"at most {MOST_RULES} in one job"), True
        return
    sound: dict[str, Rule] = {}
    for key, ruled in job.rule.items():
        refusal = _unknown(ruled.says, job, names) or _within(ruled.says, job) or _against(key, ruled.says, sound, job)
        if refusal is not None:
            yield _path(key), refusal, False
        else:
            sound[key] = ruled.says
    rounds = list(_rounds(sound, job))
    yield from rounds
    yield from _restless(sound)
    yield from _at_once(sound, job)
    yield from _too_high(sound, job)
    if not rounds:
        yield from _momentless(sound, job)


def _path(key: str) -> Path:
    return ("rule", key, "says")


def _unknown(rule: Rule, job: Job, names: Names) -> Refusal | None:
    """Return why a rule is about something that the job does not have, or None."""
    for thing in rule.things:
        if thing not in names.things and not (rule.action and thing == EVERYTHING):
            return no_such_thing(rule.says, thing, names)
    for condition in rule.conditions:
        section, what = {"thing": ("", "load or fan"), "input": ("input", "input"), "sensor": ("sensor", "sensor")}[condition.source]
        known = names.of[section] if section else names.things
        for key in filter(None, (condition.key, condition.other_sensor)):
            if key not in known:
                refusal = not_among(key, known, what)
                return Refusal(f"{as_found(rule.says)}; there is no {what} {as_found(key)}", refusal.allowed, refusal.nearest)
    if rule.action:
        return next(filter(None, (unfit(rule.action, thing, job, names) for thing in rule.things)), None)
    if rule.step is not None and rule.thing not in names.of["fan"]:
        return Refusal(f"{as_found(rule.says)}; {rule.thing} has no steps", "a fan" if rule.kind in ("top", "start") else f'a fan, or "{rule.thing} is on while ..."')
    fan = job.fan.get(rule.thing)
    if rule.step is not None and fan is not None and rule.step > fan.steps:
        return Refusal(f"{as_found(rule.says)}; {rule.thing} has {counted(fan.steps, 'step')}", f"1 to {fan.steps}")
    if rule.kind in ("top", "start") and fan is not None and rule.step == fan.steps:
        return Refusal(f"{as_found(rule.says)}; that is its highest step, so this changes nothing", {1: "no such rule", 2: "1"}.get(fan.steps, f"1 to {fan.steps - 1}"))
    return None


def _within(rule: Rule, job: Job) -> Refusal | None:
    """Return why a rule cannot be kept as it stands, whatever the others say, or None."""
    said, condition = as_found(rule.says), rule.condition
    restore = {key: thing.restore for key, thing in (*job.load.items(), *job.fan.items())}
    if rule.kind == "wall" and restore.get(rule.thing, "off") != "off":
        back = "comes on" if restore[rule.thing] == "on" else "comes back as it was"
        return Refusal(f"{said}; after a power cut it {back}", f'restore = "off" at {rule.thing}, or no such rule')
    if rule.warning:
        return _not_warned(rule, job)
    if rule.kind in ("rested", "often") and rule.thing in {**job.fan, **job.mode}:
        return Refusal(f"{said}; {rule.thing} is no load: a fan would rest at each change of step, too", "a load: a pump, a compressor, a heater")
    if rule.kind == "apart":
        return _not_apart(rule, job)
    if condition is None:
        return None
    if condition.source == "thing" and condition.key in acts_on(rule, job):
        return Refusal(f"{said}; {condition.key} then waits for itself", "another load or fan, an input or a sensor to wait for")
    if rule.release and (rule.release.key, rule.release.state) == (condition.key, condition.state):
        return Refusal(f"{said}; what latches it would release it", "another input that a hand closes, or the other position of the same")
    if condition.state == "damper":
        return None if condition.key != condition.other_sensor else Refusal(f"{said}; a sensor is no damper than itself", "two sensors")
    if condition.source == "sensor" and condition.key in job.sensor:
        kind = job.sensor[condition.key].kind
        beyond = _beyond(condition, kind)
        if beyond is not None:
            return Refusal(f"{said}; {beyond[0]}", beyond[1])
        kelvin, share = LEAST_BAND[kind]
        least, unit = (share, "%") if condition.is_share else (kelvin, "K")
        if abs(condition.begin - condition.end) < least - 1e-9:
            return Refusal(f"{said}; a sensor of the {kind} cannot tell the two figures apart, and {_first(rule)} would go on and off without rest",
                           f"at least {show(least, unit)} between them")
    return None


def _not_warned(rule: Rule, job: Job) -> Refusal | None:
    """Return why nothing can be warned of as a rule says, or None."""
    said, load = as_found(rule.says), job.load.get(rule.thing)
    if rule.thing in {**job.fan, **job.mode} or load and load.kind not in LAMPS:
        return Refusal(f"{said}; {rule.thing} is no lamp, and a warning switches it off and on again", "a load that is " + " or ".join(LAMPS))
    if load and load.minimum_off:
        return Refusal(f"{said}; {rule.thing} has to stay off for {show(load.minimum_off, 's')}, and a warning is shorter", "no minimum_off, or no warning")
    if rule.warning >= rule.time:
        return Refusal(f"{said}; that is not before its end", f"less than {show(rule.time, 's')}")
    return None


def _not_apart(rule: Rule, job: Job) -> Refusal | None:
    """Return why things cannot be kept apart as a rule says, or None."""
    said = as_found(rule.says)
    for thing in rule.several:
        if thing in job.mode:
            return Refusal(f"{said}; {thing} is a mode, which has no relay", "loads and fans")
        sound = job.fan.get(thing) or job.load.get(thing)
        if sound and sound.restore != "off":
            return Refusal(f"{said}; {thing} comes back by itself after a power cut, whatever else does", f'restore = "off" at {thing}, or no such rule')
    wrong = next((f"{thing} is named twice" for thing in rule.several if rule.several.count(thing) > 1), f"{rule.several[0]} is named alone" if len(rule.several) < 2 else "")
    return Refusal(f"{said}; {wrong}", "two loads or fans, or more") if wrong else None


def _beyond(condition: Condition, kind: str) -> tuple[str, str] | None:
    """Return in words which of its two figures a sensor of a class never passes, and what is allowed; None where it can pass both."""
    tenths, scale, unit = (RANGES[kind][2:], 1000, "%") if condition.is_share else (RANGES[kind][:2], 10, "degC")
    low, high = (one / scale for one in tenths)
    begins, ends = ((condition.begin > low, condition.end <= high) if condition.state == "below" else (condition.begin < high, condition.end >= low))
    if begins and ends:
        return None
    reads = f"{show(low, unit)} to {show(high, unit)}"
    return f"a sensor of the {kind} reads {reads}, so this {'is never over' if begins else 'never begins'}", f"figures within {reads}"


def _first(rule: Rule) -> str:
    return rule.things[0]


def _against(key: str, rule: Rule, others: Told, job: Job) -> Refusal | None:
    """Return why a rule cannot stand beside those before it, or None."""
    for one, other in others.items():
        shared = [thing for thing in acts_on(rule, job) if thing in acts_on(other, job)]
        words = _clash(rule, other, one, shared[0], job) if shared else None
        words = words or _fight(rule, other, one)
        if words is not None:
            return Refusal(f"{as_found(rule.says)}; {words[0]}", words[1])
    return _idle(key, rule, others)


def _clash(rule: Rule, other: Rule, key: str, thing: str, job: Job) -> tuple[str, str] | None:
    """Return in words how two rules about one thing cannot both be kept, and what is allowed; None where they can."""
    kinds = {rule.kind, other.kind}
    if rule.kind == other.kind and rule.kind in ONE_OF_A_KIND:
        return f"rule.{key} says of {thing} what is of the same kind", "one of the two"
    if "wall" in kinds and (rule.puts_on or other.puts_on):
        return f"rule.{key} is about {thing} too, and nothing but a hand puts on what is put on at the wall only", "one of the two"
    if kinds == {"hold"} and rule.step != other.step:
        return f"rule.{key} asks another step of {thing}, and both may hold it at once", "one step for both, or one rule"
    if kinds == {"when"} and rule.action and other.action and (rule.action.verb, rule.action.step) != (other.action.verb, other.action.step):
        if _same_moment(rule, other) or "off" not in (rule.action.verb, other.action.verb):
            return f"rule.{key} asks {other.action} in a moment that may be the same", "one act for one moment"
        return None
    if kinds == {"top", "start"} and not _step_of("start", rule, other) < _step_of("top", rule, other):
        return f"by rule.{key} it is never at a higher step" if rule.kind == "start" else f"rule.{key} then changes nothing", "a lower step to start at; or one of the two"
    if kinds == {"apart"} and len(set(rule.several) & set(other.several)) > 1:
        return f"rule.{key} keeps two of these apart, too", "one rule for the two"
    words = _shadowed(rule, other, key, thing, job) or _never_by(rule, other, key, thing) or _always(rule, other, key, thing)
    return (words, "one of the two") if words else None


def _step_of(kind: Kind, *rules: Rule) -> int:
    """Return the step that the one of these rules names that is of a kind."""
    return next(one.step for one in rules if one.kind == kind and one.step is not None)


def _same_moment(rule: Rule, other: Rule) -> bool:
    return bool(rule.condition and other.condition and is_same(rule.condition, other.condition))


def _shadowed(rule: Rule, other: Rule, key: str, thing: str, job: Job) -> str:
    """Return in words that one of two rules changes nothing, as the other does the same whenever it would; "" where both count."""
    first, second = (kept_off(one) or one.condition for one in (rule, other))
    if first is None or second is None or not (rule.kind == other.kind or kept_off(rule) and kept_off(other)):
        return ""
    if rule.kind == "latch" == other.kind and rule.release != other.release:
        return ""
    these, those = (set(acts_on(one, job)) for one in (rule, other))
    within = these <= those and (_same_moment(rule, other) if rule.kind == "when" else covers(second, first))
    around = those <= these and (_same_moment(rule, other) if rule.kind == "when" else covers(first, second))
    if within and around:
        return f"rule.{key} waits for the same and asks the same of {thing}"
    if within:
        return f"rule.{key} does the same to {thing} whenever this would, so this changes nothing"
    return f"this does the same to {thing} whenever rule.{key} would, which then changes nothing" if around else ""


def _never_by(rule: Rule, other: Rule, key: str, thing: str) -> str:
    """Return in words that one of two rules never puts on, for what the other does whenever it would; "" where it can."""
    for puts_on, against, late in ((rule, other, False), (other, rule, True)):
        begins = puts_on.condition
        if begins is None or not puts_on.puts_on:
            continue
        shut = kept_off(against) or (against.condition if against.kind == "rest" and puts_on.kind == "hold" else None)
        if shut and covers(shut, begins):
            does = f"lets the rules of {thing} rest" if against.kind == "rest" else f"keeps {thing} off"
        elif puts_on.kind == "hold" and against.action and against.action.verb == "off" and _same_moment(rule, other):
            does = f"puts {thing} off"
        else:
            continue
        return f"this {does} just then, so it never comes on by rule.{key}" if late else f"rule.{key} {does} just then, so it never comes on by this"
    return ""


def _always(rule: Rule, other: Rule, key: str, thing: str) -> str:
    """Return in words that of two rules one always keeps a thing off, or always holds it; "" where there is a moment for it."""
    first, second = kept_off(rule), kept_off(other)
    if first and second and leave_no_moment(first, second):
        return f"one of this and rule.{key} always keeps {thing} off, so it never comes on"
    if rule.kind == "hold" == other.kind and rule.condition and other.condition and leave_no_moment(rule.condition, other.condition):
        return f"one of this and rule.{key} always holds {thing}, so neither is ever over"
    return ""


def _fight(rule: Rule, other: Rule, key: str) -> tuple[str, str] | None:
    """Return in words how two rules undo each other through one room, and what is allowed; None where they do not."""
    pair = {one.condition.state: one.condition for one in (rule, other) if one.kind == "hold" and one.condition and one.condition.source == "sensor"}
    below, above = pair.get("below"), pair.get("above")
    if not (below and above) or below.key != above.key or below.is_share != above.is_share or rule.things == other.things:
        return None
    least, unit, shown = (APART_SHARE, "%", "%") if below.is_share else (APART, "degC", "K")
    if above.begin - below.end >= least - 1e-9 and above.end > below.begin:
        return None
    return (f"{_first(rule)} and {_first(other)} would undo each other without rest, as rule.{key} begins too near to where this ends",
            f"at least {show(least, shown)} from {show(below.end, unit)} to {show(above.begin, unit)}, and {show(above.end, unit)} above {show(below.begin, unit)}")


def _idle(key: str, rule: Rule, others: Told) -> Refusal | None:
    """Return that of a limit and a stay of one thing the longer never acts; of a stay that is renewed, only one as long as the limit or longer."""
    if rule.kind not in ("limit", "stay"):
        return None
    for one, other in others.items():
        if other.thing == rule.thing and {rule.kind, other.kind} == {"limit", "stay"}:
            limit, stay = (rule, other) if rule.kind == "limit" else (other, rule)
            if stay.time < limit.time and stay.renews:
                return None
            longer = limit if stay.time < limit.time else stay
            late, soon = (key, one) if longer is rule else (one, key)
            return Refusal(f"{as_found(rule.says)}; rule.{late} then never acts, as rule.{soon} is over first",
                           "a stay that is renewed, and shorter than the limit; or one of the two")
    return None


def _rounds(rules: Told, job: Job) -> Iterator[Disagreement]:
    """Yield each rule that closes a ring: what it acts on sets off, over other rules, what it waits for."""
    leads: dict[str, dict[str, str]] = {}           # thing -> what waits for it -> the rule
    for key, rule in rules.items():
        if rule.condition and rule.condition.source == "thing" and rule.kind != "rest":
            source = rule.condition.key
            for thing in acts_on(rule, job):
                way = _way(leads, thing, source)
                if way is not None:
                    told = ", ".join(f"rule.{one}" for one in dict.fromkeys(way))
                    yield _path(key), Refusal(
                        f"{as_found(rule.says)}; {thing} then sets off {source} by {told}, and {source} {thing} again, without end", "rules that lead one way"), False
                    break
            else:
                for thing in acts_on(rule, job):
                    leads.setdefault(source, {}).setdefault(thing, key)


def _restless(rules: Told) -> Iterator[Disagreement]:
    """Yield each rule by which rules of a thing rest that has none which could: only what is on while something lasts does."""
    held = {rule.thing for rule in rules.values() if rule.kind == "hold"}
    for key, rule in rules.items():
        for thing in rule.several if rule.kind == "rest" else ():
            if thing not in held:
                yield _path(key), Refusal(f"{as_found(rule.says)}; {thing} has no rule that rests", f'a rule "{thing} is on while ..." beside it, or no such rule'), False
                break


def _at_once(rules: Told, job: Job) -> Iterator[Disagreement]:
    """Yield each control and rule that asks for two on in one moment, of which one then stays off."""
    asked: list[tuple[Path, str, list[str]]] = [(_path(key), as_found(rule.says), list(acts_on(rule, job))) for key, rule in rules.items() if rule.puts_on]
    asked += [(path, as_found(", ".join(map(str, acts))), [thing for act in acts if act.verb != "off" and act.step != 0 for thing in act.things])
              for path, acts in _acts_by_hand(job)]
    asked += [(_path(key), as_found(rule.says), [rule.thing, other.thing]) for (_, other), (key, rule) in combinations(rules.items(), 2)
              if rule.kind == "hold" == other.kind and rule.condition and other.condition and (covers(rule.condition, other.condition) or covers(other.condition, rule.condition))]
    for path, said, things in asked:
        for key, apart in rules.items():
            both = [thing for thing in things if thing in apart.several] if apart.kind == "apart" else []
            if len(set(both)) > 1:
                yield path, Refusal(f"{said}; {both[0]} and {both[1]} are then asked for at once, and by rule.{key} one of them stays off", "one of the two"), False
                break


def _too_high(rules: Told, job: Job) -> Iterator[Disagreement]:
    """Yield each control and rule that asks for a step above the highest that a rule allows."""
    asked = [(_path(key), as_found(rule.says), thing, step) for key, rule in rules.items() for thing in rule.things
             for step in (rule.step if rule.kind == "hold" else rule.action.step if rule.action else None,)]
    asked += [(path, as_found(str(act)), thing, act.step) for path, acts in _acts_by_hand(job) for act in acts for thing in act.things]
    for key, top in rules.items():
        if top.kind == "top":
            for path, said, thing, step in asked:
                if thing == top.thing and step is not None and top.step is not None and step > top.step:
                    yield path, Refusal(f"{said}; by rule.{key} {thing} is at step {top.step} at most", f"0 to {top.step}"), False


def _acts_by_hand(job: Job) -> Iterator[tuple[Path, tuple[Action, ...]]]:
    """Yield where acts of a hand stand in the job file, and what they are."""
    for key, switch in job.switch.items():
        for does, acts in (("does", switch.does), ("held", switch.held), ("twice", switch.twice)):
            yield ("switch", key, does), acts
    for name, remote in job.remote.items():
        for key, button in remote.button.items():
            yield ("remote", name, "button", key, "does"), button.does


def _momentless(rules: Told, job: Job) -> Iterator[Disagreement]:
    """Yield each rule that would act only where others, over one another, never let its thing be on. A lock that waits first leaves a moment."""
    needed: dict[str, list[tuple[str, Condition]]] = {}         # what must be so for a thing to be on, and by which rule
    for key, rule in rules.items():
        shut = kept_off(rule)
        if shut and not shut.since:
            needed.setdefault(rule.thing, []).append((f"rule.{key}", opposite(shut)))
        for thing in rule.several if rule.kind == "apart" else ():
            needed.setdefault(thing, []).extend((f"rule.{key}", Condition(other, "off")) for other in rule.several if other != thing)
    never_on: set[str] = set()
    for key, rule in rules.items():
        if not (rule.puts_on or kept_off(rule)) or rule.thing in never_on:
            continue
        for thing in acts_on(rule, job):
            start = [("", Condition(thing, "on"))]
            if rule.puts_on and rule.condition and not rule.condition.after:
                start.append(("", rule.condition))
            told = " and ".join(sorted(_contradiction(start, needed) - {f"rule.{key}"}))
            if told:
                then = "then " if rule.puts_on else ""
                never_on |= {thing} if kept_off(rule) else set()
                yield _path(key), Refusal(f"{as_found(rule.says)}; by {told} there is never a moment in which {thing} may {then}be on", "rules that leave it one"), False
                break


def _contradiction(start: list[tuple[str, Condition]], needed: Mapping[str, list[tuple[str, Condition]]]) -> set[str]:
    """Return the rules by which what must be so, with all that follows, cannot be so at once; none where it can."""
    found, todo = list(start), list(start)
    while todo:
        _, condition = todo.pop()
        if condition.state == "on":
            more = [one for one in needed.get(condition.key, ()) if one not in found]
            found += more
            todo += more
    for (key, one), (other_key, other) in combinations(found, 2):
        if contradict(one, other):
            return {key, other_key} - {""}
    return set()


def _way(leads: Mapping[str, Mapping[str, str]], start: str, end: str) -> list[str] | None:
    """Return the rules that lead from one thing to another, None where none do."""
    ways: dict[str, list[str]] = {start: []}
    todo = [start]
    while todo:
        thing = todo.pop()
        if thing == end:
            return ways[thing]
        for other, key in leads.get(thing, {}).items():
            if other not in ways:
                ways[other] = [*ways[thing], key]
                todo.append(other)
    return None
