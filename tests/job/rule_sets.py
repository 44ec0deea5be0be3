"""A home with whatever rules may be about, and sets of rules for it that do no harm, drawn at random."""

from random import Random

from pattress.job import read

LOADS = ("bath", "lamp", "heater", "cooler", "extract", "pump")
FAN, STEPS = "study", 3
INPUTS = {"window": "window", "door": "door", "motion": "presence", "well": "float", "leak": "leak", "reset": "switch", "spare": "other"}
SENSORS = {"room": "22 class", "outside": "22 class", "cellar": "11 class", "attic": "22 class"}


def home_text(title, loads, fans, inputs, sensors):
    """Return the text of a job: loads of 20 W, fans by their steps, inputs and sensors by their kind, all on one feed."""
    return f"""\
[job]
title = "{title}"

[supply]
system = "230 V 50 Hz"
earthing = "TN-S"

[feed.all]
device = {{ kind = "miniature circuit-breaker", curve = "B", rating = "16 A" }}
cable = {{ section = "2.5 mm2", length = "15 m" }}

[board]
type = "rp2040-wifi"
""" + "".join(f"""
[load.{key}]
name = "{key.title()}"
kind = "LED driver"
power = "20 W"
feed = "all"
run = {{ section = "1.5 mm2", length = "6 m" }}
""" for key in loads) + "".join(f"""
[fan.{key}]
name = "{key.title()} fan"
motor = "unknown"
power = "60 W"
steps = {steps}
feed = "all"
run = {{ section = "1.5 mm2", length = "6 m" }}
""" for key, steps in fans.items()) + "".join(
        f'\n[{table}.{key}]\nname = "{key.title()}"\nkind = "{kind}"\n' for table, kinds in (("input", inputs), ("sensor", sensors)) for key, kind in kinds.items())


HOME = home_text("Home", LOADS, {FAN: STEPS}, INPUTS, SENSORS) + """
[remote.sofa]
name = "Sofa"

[remote.sofa.button]
""" + "".join(f'b{number} = {{ code = "nec 0x04:0x{number:02x}", does = "{act}" }}\n' for number, act in enumerate((
    *(f"on {key}" for key in LOADS), *(f"off {key}" for key in LOADS), *(f"set {FAN} {step}" for step in range(STEPS + 1)), f"on {FAN}"), 1))
BAND = {"below": ("19 degC", "20 degC"), "above": ("26 degC", "24.5 degC"), "wetter": ("70 %", "60 %"), "drier": ("35 %", "45 %")}


def with_rules(rules, text=HOME):
    """Return the text of the job with these sentences, by the key of their rule or in order."""
    named = rules.items() if isinstance(rules, dict) else ((f"r{number}", says) for number, says in enumerate(rules))
    return text + "".join(f'\n[rule.{key}]\nsays = "{says}"\n' for key, says in named)


def home_with(rules):
    """Return the job with these rules."""
    return read(with_rules(rules), "home.toml")[0]


def harmless(seed):
    """Return a set of rules by their keys that leads one way, asks one thing of each thing, and leaves each rule a moment to act in.

    A rule waits only for things further up the list of loads, no two of one thing for the same; what shuts looks at something that no
    other rule that shuts looks at, so none makes the moment of another impossible.
    """
    draw = Random(seed)
    things = [*LOADS, FAN]
    free_to_shut = [*INPUTS, *SENSORS]
    draw.shuffle(free_to_shut)
    waited = {thing: set() for thing in things}
    kinds = {thing: set() for thing in things}
    rules = []
    for _ in range(60):
        if len(rules) >= 2 + seed % 7:
            break
        thing = draw.choice(things[1:])
        says, kind, source = _drawn(draw, thing, things[: things.index(thing)], free_to_shut)
        if not says or source in waited[thing] or not _fits(kind, kinds[thing]):
            continue
        if kind in ("lock", "only", "latch"):
            free_to_shut.remove(source)
        waited[thing].add(source)
        kinds[thing].add(kind)
        rules.append(says)
    draw.shuffle(rules)
    return {f"r{number}": says for number, says in enumerate(rules)}


def _fits(kind, kinds):
    """Return whether a rule of that kind goes with those there are about one thing."""
    against = {"wall": {"hold", "stepped", "on"}, "hold": {"wall", "stepped"}, "stepped": {"wall", "hold", "stepped"}, "on": {"wall"}}.get(kind, set())
    once = kind in ("limit", "stay", "wall", "rest") and kind in kinds
    return not once and not against & kinds and not (kind == "rest" and not {"hold", "stepped"} & kinds)


def _drawn(draw, thing, earlier, free_to_shut):
    """Return a sentence, its kind, and what it looks at; "" where none of this kind is to be had."""
    kind = draw.choice(("limit", "stay", "wall", "hold", "hold", "hold", "stepped", "lock", "only", "latch", "rest", "on", "off"))
    if kind == "limit":
        return f"{thing} is on for at most {draw.choice((1, 2, 4))} h", kind, "its limit"
    if kind == "stay":
        return f"{thing} is on for {draw.randrange(2, 20)} min, anew at each asking", kind, "its stay"
    if kind == "wall":
        return f"{thing} is put on at the wall only", kind, "who asks"
    since = draw.choice(("", "", ", from 2 min"))
    after = draw.choice(("", "", ", and for 15 min after"))
    if kind in ("lock", "only", "latch"):
        contacts = [source for source in free_to_shut if source in INPUTS and source != "reset"]
        source = draw.choice(free_to_shut if kind != "latch" else contacts) if contacts else ""
        if not source or source == "reset":
            return "", kind, source
        if kind == "latch":
            return f"{thing} stays off once {source} was closed for 1 s, until reset is closed for 2 s", kind, source
        look = _look(draw, source)
        return (f"{thing} stays off while {look}{after}" if kind == "lock" else f"{thing} is on only while {look}"), kind, source
    source = draw.choice((*earlier, *INPUTS, *SENSORS))
    if kind in ("on", "off"):
        if source in SENSORS:
            return "", kind, source
        moment = draw.choice(("comes on", "goes off")) if source in earlier else draw.choice(("opens", "closes", "has been open for 10 min"))
        return f"when {source} {moment}, {kind} {thing}", kind, source
    look = _look(draw, source)
    if kind == "rest":
        return f"while {look}{after}, the rules of {thing} rest", kind, source
    if kind == "stepped":
        return (f"{thing} is at step {draw.randrange(1, STEPS + 1)} while {look}{since}{after}" if thing == FAN else ""), kind, source
    return f"{thing} is on while {look}{since}{after}", kind, source


def _look(draw, source):
    if source in INPUTS:
        return f"{source} is {draw.choice(('open', 'closed'))}"
    if source not in SENSORS:
        return f"{source} is {draw.choice(('on', 'off'))}"
    if source == "attic":           # damper: by what two sensors of the 22 class can tell
        return "attic is damper than outside by 3 g/m3, until 1.5 g/m3"
    side = draw.choice(tuple(BAND))
    begin, end = BAND[side]
    return f"{source} is {'below' if side in ('below', 'drier') else 'above'} {begin}, until {end}"
