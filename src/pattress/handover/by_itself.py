"""What each load and fan does by itself, and who may put it on: in plain words for the household, as tests for the electrician."""

from collections.abc import Iterator

from pattress.design import Design
from pattress.handover.wiring import channels
from pattress.job.rule import Rule
from pattress.quantity import show


def by_itself(design: Design) -> dict[str, str]:
    """Return what each load and fan with rules does, by its key, in plain words."""
    told: dict[str, list[str]] = {}
    for rule in _rules(design):
        told.setdefault(rule.thing, []).append(_plainly(rule))
    return {thing: "; ".join(words) for thing, words in told.items()}


def tests_of_rules(design: Design) -> Iterator[tuple[str, str, str]]:
    """Yield (way of acting, name, what must happen) for each rule of the job."""
    things = channels(design)
    for rule in _rules(design):
        name = things[rule.thing].name
        if rule.kind == "wall":
            if design.job.network.wifi:
                yield "phone, hub or voice: on, while off", name, "stays off; whoever asked is told why"
                yield "phone, hub or voice: off, while on", name, "off at once"
            continue
        time = show(rule.time, "s")
        yield f"on, then left alone for {time}", name, f"off by itself after {time}"
        if rule.kind == "limit":
            yield "asked for on again meanwhile", name, f"off by itself at the same moment, {time} after it came on"
        elif rule.renews:
            yield "asked for on again meanwhile", name, f"off by itself {time} after the last asking"


def _rules(design: Design) -> list[Rule]:
    """Return the rules in the order of what they are about: their own in the file means nothing."""
    places = list(channels(design))
    return sorted((ruled.says for ruled in design.job.rule.values()), key=lambda rule: (places.index(rule.thing), rule.kind))


def _plainly(rule: Rule) -> str:
    time = show(rule.time, "s") if rule.time else ""
    if rule.kind == "limit":
        return f"off after at most {time}"
    if rule.kind == "stay":
        return f"off {time} after it " + ("was last asked to be on" if rule.renews else "came on")
    return "phone and voice can only put it off"
