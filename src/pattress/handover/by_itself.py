"""What each load and fan does by itself, and who may put it on: in plain words for the household, as tests for the electrician."""

from collections.abc import Iterator

from pattress.design import Design
from pattress.handover.wiring import channels
from pattress.job.by_rule import rules_on
from pattress.job.model import Job
from pattress.job.rule import Rule, with_input, with_sensor, with_thing
from pattress.quantity import show


def by_itself(design: Design) -> dict[str, str]:
    """Return what each load and fan with rules does, by its key, in plain words."""
    told: dict[str, list[str]] = {}
    for thing, rule in _rules(design):
        told.setdefault(thing, []).append(_plainly(rule, design.job))
    return {thing: "; ".join(words) for thing, words in told.items()}


def tests_of_rules(design: Design) -> Iterator[tuple[str, str, str]]:
    """Yield (way of acting, name, what must happen) for each rule of the job."""
    things = channels(design)
    for thing, rule in _rules(design):
        yield from _tests(rule, thing, things[thing].name, design.job)


def _tests(rule: Rule, thing: str, name: str, job: Job) -> Iterator[tuple[str, str, str]]:
    time = show(rule.time, "s") if rule.time else ""
    if rule.kind in ("wall", "kept"):
        if job.network.wifi:
            yield "phone, hub or voice: on, while off", name, "stays off; whoever asked is told why"
            yield "phone, hub or voice: off, while on", name, "off at once" if rule.kind == "wall" else "stays on; whoever asked is told why"
    elif rule.kind in ("rested", "often"):
        yield "off, then on again at once", name, f"comes on {time} after it went off"
    elif rule.kind in ("limit", "stay"):
        yield f"on, then left alone for {time}", name, f"off by itself after {time}"
        if rule.kind == "limit":
            yield "asked for on again meanwhile", name, f"off by itself at the same moment, {time} after it came on"
        if rule.warning:
            yield f"on, then left alone for {show(rule.time - rule.warning, 's')}", name, f"dark for a moment, then off {show(rule.warning, 's')} later"
        if rule.renews:
            yield "asked for on again meanwhile", name, f"off by itself {time} after the last asking"
    elif rule.kind == "top":
        yield "every position of its regulator, every button, phone and voice", name, f"never above step {rule.step}"
    elif rule.kind == "start":
        yield "off, then asked for a step above it", name, f"comes on at step {rule.step}; asked again, at that step"
    elif rule.kind == "apart":
        for other in (job.named()[key].name for key in rule.several if key != thing):
            yield f"on, while {other} is on", name, "stays off; whoever asked is told why"
            yield f"{other} off, then this on at once", name, f"comes on {time} after {other} went off"
    else:
        yield f"bring about: {in_names(rule.says, job)}", name, _must(rule)


def _must(rule: Rule) -> str:
    """Return what must happen once that is so which a rule waits for."""
    condition = rule.condition
    since = f" after {show(condition.since, 's')}" if condition and condition.since else ""
    after = f" {show(condition.after, 's')} after it is over" if condition and condition.after else " when it is over"
    if rule.kind == "hold":
        return f"on{since}; off{after}; a hand in between has its way"
    if rule.kind == "latch":
        return f"off{since}; stays off, whoever asks and through a power cut, until it is reset"
    if rule.kind == "only":
        return "off as soon as that is over, and stays off, whoever asks"
    if rule.kind == "lock":
        return f"off{since} and stays off, whoever asks; free{after}"
    return f"as it says{since}" if rule.kind == "when" else "a rule puts nothing on; a hand does"


def in_names(says: str, job: Job) -> str:
    """Return the sentence of a rule with the names of things in place of their keys."""
    names: list[str] = []
    for renamed, things in ((with_thing, job.named()), (with_input, job.input), (with_sensor, job.sensor)):
        for key, one in things.items():
            says = renamed(says, key, f"\0{len(names)}\0")       # a mark first: a name may have the words of a sentence in it
            names.append(one.name)
    for number, name in enumerate(names):
        says = says.replace(f"\0{number}\0", name)
    return says


def _rules(design: Design) -> list[tuple[str, Rule]]:
    """Return each load and fan with each of its rules, in the order of the plan: that of the rules in the file means nothing."""
    return [(thing, rule) for thing in channels(design)
            for rule in sorted((rule for _, rule in rules_on(design.job, thing)), key=lambda rule: (rule.kind, rule.says))]


def _plainly(rule: Rule, job: Job) -> str:
    time = show(rule.time, "s") if rule.time else ""
    if rule.kind == "limit":
        return f"off after at most {time}"
    if rule.kind == "stay":
        warned = f", dark for a moment {show(rule.warning, 's')} before" if rule.warning else ""
        return f"off {time} after it " + ("was last asked to be on" if rule.renews else "came on") + warned
    if rule.kind in ("rested", "often"):
        return f"off for {time} at least before it comes on again"
    if rule.kind == "wall":
        return "phone and voice can only put it off"
    return "phone and voice cannot switch it" if rule.kind == "kept" else in_names(rule.says, job)
