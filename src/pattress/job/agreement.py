"""Whether the parts of a job agree with one another: what each table names must exist, and more.

Every check takes the job (or its sound part) and the names in the file, and yields
(path, refusal, whether the key itself is meant). The names come from the file, so that a load
with a fault of its own is still known to the switches that act on it.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any
from unicodedata import combining, normalize

from pattress.job.action import EVERYTHING, Action, is_off_everything
from pattress.job.code import Code, format_code
from pattress.job.field_types import CEILING, UNKNOWN
from pattress.job.model import NONE, SOCKET, Job, Receiver
from pattress.job.naming import CLOSEST, Disagreement, Names, no_such_thing, not_among, unfit
from pattress.job.press_agreement import press_disagreements
from pattress.job.problem import Path, key_path
from pattress.job.rule_agreement import rule_disagreements
from pattress.job.wish import Wish
from pattress.plural import counted
from pattress.quantity import show
from pattress.refusal import Refusal, as_found, nearest, word_list

NAMED_SECTIONS = ("wall", "feed", "load", "fan", "mode", "switch", "input", "regulator", "remote", "sensor", "rule", "wish")
NEVER_RESTS = ("resistive heater", "tungsten lamp", "solenoid")     # nothing in them needs time before closing again
BREAKER_CURVES, FUSE_CURVES = ("B", "C", "D", "unknown"), ("gG", "unknown")

_KEY = re.compile(r"[a-z][a-z0-9_]{0,31}")
_FINDING = re.compile(r"[a-z][a-z0-9_]*(?:\.[a-z0-9_]+){1,3}")
READING_SLACK = 1.1  # between two readings of one loop tester: common practice, no source
SLACK = 1e-6         # m: nobody measures it


def disagreements(job: Job, found: Mapping[str, Any]) -> Iterator[Disagreement]:
    """Yield everything in which the parts of a job disagree."""
    names = Names({section: _names(found, section) for section in NAMED_SECTIONS})
    for check in (_keys, _supply, _feeds, _devices, _sockets, _rests, _speeds, _regulators, _acts, press_disagreements, _codes, rule_disagreements, _wishes, _spoken, _places, _pins, _radio, _acceptances):
        yield from check(job, names)


def _names(found: Mapping[str, Any], section: str) -> tuple[str, ...]:
    """Return the names under a section, and under any misspelt header that comes near it."""
    sections = Job.model_fields
    return tuple(
        name
        for header, rows in found.items()
        if (header if header in sections else nearest(header, sections)) == section and isinstance(rows, dict)
        for name in rows
    )


def _keys(job: Job, names: Names) -> Iterator[Disagreement]:
    paths: list[Path] = [(section, name) for section in NAMED_SECTIONS for name in names.of[section]]
    paths += [("remote", key, "button", name) for key, remote in job.remote.items() for name in remote.button]
    for path in paths:
        name = str(path[-1])
        if not _KEY.fullmatch(name):
            allowed = "as a key, small letters, digits and _, a letter first, at most 32"
            yield path, Refusal("not a name for use in keys", allowed, as_key(name)), True
    for section, before in (("fan", ("load",)), ("mode", ("load", "fan"))):
        for name in names.of[section]:
            owner = next((one for one in before if name in names.of[one]), None)
            if owner:
                yield (section, name), Refusal(f"the key of a {owner} too", "a key of its own"), True
    for name in names.of["load"]:
        if name == EVERYTHING:
            yield ("load", name), Refusal("the word for all channels together", "a key of its own"), True
    for section in ("fan", "mode"):
        if EVERYTHING in names.of[section]:
            yield (section, EVERYTHING), Refusal("the word for all channels together", "a key of its own"), True
    if not (names.of["load"] or names.of["fan"]):
        yield (), Refusal("the job has neither a load nor a fan", "at least one [load.NAME] or [fan.NAME]"), True


def _supply(job: Job, names: Names) -> Iterator[Disagreement]:
    if not job.supply:
        return
    most, loop = job.supply.fault_current, job.supply.loop_impedance
    if most == UNKNOWN or loop == UNKNOWN:
        return
    through = job.supply.system.voltage / loop
    if through > READING_SLACK * most:
        found = f"{show(loop, 'ohm')}, which lets {show(through, 'A')} flow, more than fault_current"
        yield ("supply", "loop_impedance"), Refusal(found, f"at least {show(job.supply.system.voltage / most, 'ohm')}, or a larger fault_current"), False


def _feeds(job: Job, names: Names) -> Iterator[Disagreement]:
    for section in ("load", "fan"):
        for key, thing in getattr(job, section).items():
            if thing.feed not in names.of["feed"]:
                yield (section, key, "feed"), not_among(thing.feed, names.of["feed"], "feed"), False


def _devices(job: Job, names: Names) -> Iterator[Disagreement]:
    for key, feed in job.feed.items():
        allowed = FUSE_CURVES if feed.device.kind == "fuse" else BREAKER_CURVES
        if feed.device.curve not in allowed:
            found = f"{as_found(feed.device.curve)}, which a {feed.device.kind} has not"
            yield ("feed", key, "device", "curve"), Refusal(found, word_list(allowed)), False


def _sockets(job: Job, names: Names) -> Iterator[Disagreement]:
    for key, load in job.load.items():
        if load.kind != SOCKET and load.plug_fuse != NONE:
            yield ("load", key, "plug_fuse"), Refusal("given where nothing is plugged in", f"no plug_fuse for a {load.kind}; it is for the kind {SOCKET}"), False


def _rests(job: Job, names: Names) -> Iterator[Disagreement]:
    for key, load in job.load.items():
        if load.minimum_off and load.kind in NEVER_RESTS:
            allowed = f'no minimum_off for a {load.kind}; it is for what must rest before it starts again, such as a compressor'
            yield ("load", key, "minimum_off"), Refusal("given where nothing needs it", allowed), False


def _speeds(job: Job, names: Names) -> Iterator[Disagreement]:
    for key, fan in job.fan.items():
        if isinstance(fan.wanted, str):
            continue
        path: Path = ("fan", key, "wanted")
        if len(fan.wanted) != fan.steps:
            yield path, Refusal(f"a list of {len(fan.wanted)}", f"{counted(fan.steps, 'speed')}, one for each step"), False
        elif any(low >= high for low, high in zip(fan.wanted, fan.wanted[1:])):
            yield path, Refusal("a list that does not rise", "each speed higher than the one before"), False
        elif fan.wanted[-1] != 1.0:
            allowed = "1.0 as the last: the highest step is straight through"
            yield path, Refusal(f"a list that ends at {fan.wanted[-1]:g}", allowed), False


def _regulators(job: Job, names: Names) -> Iterator[Disagreement]:
    for key, regulator in job.regulator.items():
        if regulator.fan not in names.of["fan"]:
            yield ("regulator", key, "fan"), not_among(regulator.fan, names.of["fan"], "fan"), False
        elif regulator.fan in job.fan and regulator.positions > job.fan[regulator.fan].steps:
            steps = job.fan[regulator.fan].steps
            allowed = f"at most {steps}, the steps of {regulator.fan}"
            yield ("regulator", key, "positions"), Refusal(str(regulator.positions), allowed), False


def _acts(job: Job, names: Names) -> Iterator[Disagreement]:
    for key, switch in job.switch.items():
        for how, does in switch.presses.items():
            yield from _acts_of(does, ("switch", key, how), job, names)
    for key, remote in job.remote.items():
        for name, button in remote.button.items():
            yield from _acts_of(button.does, ("remote", key, "button", name, "does"), job, names)


def _acts_of(does: Iterable[Action], path: Path, job: Job, names: Names) -> Iterator[Disagreement]:
    taken: set[str] = set()
    for place, action in enumerate(does):
        for thing in action.things:
            refusal = unfit(action, thing, job, names)
            if refusal is None and (thing in taken or (taken and EVERYTHING in (thing, *taken))):
                refusal = Refusal(f"a list that acts on {thing} twice", "each load or fan once")
            if refusal is not None:
                yield (*path, place), refusal, False
            taken.add(thing)


def _codes(job: Job, names: Names) -> Iterator[Disagreement]:
    first: dict[Code, Path] = {}
    for key, remote in job.remote.items():
        for name, button in remote.button.items():
            if not isinstance(button.code, Code):
                continue
            path: Path = ("remote", key, "button", name)
            if button.code in first:
                found = f"{format_code(button.code)}, the code of {key_path(first[button.code])} too"
                yield (*path, "code"), Refusal(found, "a code of its own for each button"), False
            first.setdefault(button.code, path)


def _wishes(job: Job, names: Names) -> Iterator[Disagreement]:
    for key, wished in job.wish.items():
        wish, path = wished.says, ("wish", key, "says")
        unknown = [thing for thing in wish.things if thing not in names.things]
        if unknown:
            yield path, no_such_thing(wish.says, unknown[0], names), False
        elif wish.control and not _may_have_control(job, names, wish.thing, wish.control):
            allowed = f"a load or fan that a {wish.control} acts on"
            yield path, Refusal(f"{as_found(wish.says)}; no {wish.control} acts on {wish.thing}", allowed), False
        elif wish.form == "leaves nothing" and not _may_do_off_everything(job, names):
            yield path, Refusal(f'{as_found(wish.says)}; nothing does "off {EVERYTHING}"', f'a job with a switch, a remote button or a rule that does "off {EVERYTHING}"'), False
        elif wish.form == "step at most":
            refusal = _unreachable(wish, job, names)
            if refusal:
                yield path, refusal, False


def _unreachable(wish: Wish, job: Job, names: Names) -> Refusal | None:
    """Return why a wish about the highest step of a fan says nothing of that thing, or None."""
    if wish.thing not in names.of["fan"]:
        fans = word_list(names.of["fan"][:CLOSEST]) or "none in this job"
        return Refusal(f"{as_found(wish.says)}; {wish.thing} has no steps", f"a fan: {fans}")
    fan = job.fan.get(wish.thing)
    if fan is None or wish.step < fan.steps:
        return None
    allowed = f"a step from 1 to {fan.steps - 1}" if fan.steps > 1 else "a fan of 2 steps or more"
    return Refusal(f"{as_found(wish.says)}; {wish.thing} has {counted(fan.steps, 'step')}", allowed)


def _may_do_off_everything(job: Job, names: Names) -> bool:
    sections: tuple[Mapping[str, Any], ...] = (job.switch, job.remote, job.rule)
    if any(len(rows) < len(names.of[section]) for section, rows in zip(("switch", "remote", "rule"), sections, strict=True)):
        return True         # one of them has a fault of its own, so nothing can be said
    done = [*(one for switch in job.switch.values() for does in switch.presses.values() for one in does),
            *(one for remote in job.remote.values() for button in remote.button.values() for one in button.does),
            *(ruled.says.action for ruled in job.rule.values() if ruled.says.action)]
    return any(is_off_everything(one) for one in done)


def _may_have_control(job: Job, names: Names, thing: str, control: str) -> bool:
    if len(getattr(job, control)) < len(names.of[control]):
        return True         # one of them has a fault of its own, so nothing can be said
    if control == "regulator":
        return any(regulator.fan == thing for regulator in job.regulator.values())
    acted_on = {one for switch in job.switch.values() for does in switch.presses.values() for action in does for one in action.things}
    return bool({thing, EVERYTHING} & acted_on)


def _spoken(job: Job, names: Names) -> Iterator[Disagreement]:
    first: dict[str, str] = {}
    for section in ("load", "fan", "mode"):
        for key, thing in getattr(job, section).items():
            for field, said in [("name", thing.name), *(("spoken", word) for word in thing.spoken)]:
                owner = first.setdefault(" ".join(said.casefold().split()), key)
                if owner != key:
                    refusal = Refusal(f"{as_found(said)}, a name of {owner} too", "a name that only one load or fan has")
                    yield (section, key, field), refusal, False


def _places(job: Job, names: Names) -> Iterator[Disagreement]:
    if job.receiver and job.receiver != Receiver() and not names.of["remote"]:
        yield ("receiver",), Refusal("given though the job has no remote", "a receiver where there is a [remote.NAME]"), True
    for path, place in job.places():
        wall = job.wall.get(place.wall)
        if place.wall not in names.of["wall"]:
            yield (*path, "at", "wall"), not_among(place.wall, names.of["wall"], "wall"), False
        elif wall is not None:
            box = job.site.enclosure if path == ("site",) else UNKNOWN
            wide, high = (0.0, 0.0) if isinstance(box, str) else (box.width, box.height)
            for key, found, size, most in (("along", place.along, wide, wall.width), ("height", place.height, high, wall.height)):
                if found != CEILING and not size / 2 - SLACK <= found <= most - size / 2 + SLACK:
                    yield (*path, "at", key), _beyond(found, size, most, wall.name), False


def _beyond(found: float, size: float, most: float, wall: str) -> Refusal:
    """Return why the middle of something of a size cannot be so far along, or up, a wall."""
    if not size:
        return Refusal(f"{show(found, 'm')}, beyond the edge of the wall {as_found(wall)}", f"at most {show(most, 'm')}")
    reaching = f"{show(found, 'm')}: a box of {show(size, 'm')} there reaches beyond the edge of the wall {as_found(wall)}"
    fits = f"{show(size / 2, 'm')} to {show(most - size / 2, 'm')}" if size <= most else f"a wall of {show(size, 'm')} or more"
    return Refusal(reaching, fits)


def _pins(job: Job, names: Names) -> Iterator[Disagreement]:
    first: dict[int, str] = {}
    for demand, pin in job.board.pins.items() if job.board else ():
        owner = first.setdefault(pin, demand)
        if owner != demand:
            yield ("board", "pins", demand), Refusal(f"{pin}, the pin of {owner} too", "a pin of its own"), False


def _radio(job: Job, names: Names) -> Iterator[Disagreement]:
    if job.network and job.network.broker != "none" and not job.network.wifi:
        refusal = Refusal(f"{as_found(job.network.broker)} though wifi is false", '"none", or wifi = true')
        yield ("network", "broker"), refusal, False
    if job.network and job.network.broker_authority is not None and job.network.broker == "none":
        yield ("network", "broker_authority"), Refusal("given where nothing needs it", "none without a broker"), False
    yield from _setup_switch(job, names)


def _setup_switch(job: Job, names: Names) -> Iterator[Disagreement]:
    key, path = job.network.setup_switch if job.network else None, ("network", "setup_switch")
    if key is None:
        return
    if not job.network.wifi:
        yield path, Refusal(f"{as_found(key)} though wifi is false", "none without Wi-Fi, or wifi = true"), False
    elif key not in names.of["switch"]:
        yield path, not_among(key, names.of["switch"], "switch"), False
    elif key in job.switch and job.switch[key].kind != "retractive":
        allowed = "a retractive switch: a latching one may stand closed after any power cut"
        yield path, Refusal(f"{as_found(key)}, a latching switch", allowed), False


def _acceptances(job: Job, names: Names) -> Iterator[Disagreement]:
    for finding in job.accept:
        if not _FINDING.fullmatch(finding):
            allowed = 'the id of a finding as `pattress check` prints it, such as "contacts.pendant"'
            yield ("accept", finding), Refusal("not the id of a finding", allowed), True


def as_key(name: str) -> str:
    """Return the nearest that may be a key; a letter with a mark becomes the letter."""
    letters = "".join(sign for sign in normalize("NFKD", name.casefold()) if not combining(sign))
    plain = re.sub(r"[^a-z0-9]+", "_", letters).strip("_")[:32]
    return plain if _KEY.fullmatch(plain) else ""
