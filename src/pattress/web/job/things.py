"""What there is in a job to be touched on the page: each thing, what it is, and how its findings stand."""

from collections.abc import Iterator
from dataclasses import dataclass
from urllib.parse import quote

from pattress.design import Design
from pattress.finding import Finding, Verdict, worst
from pattress.handover.symbols import OF_LOAD
from pattress.job import Job
from pattress.job.model import UNKNOWN
from pattress.plural import counted
from pattress.quantity import show

# Sections of the job file with named things, and what one of them is called.
NAMED = {
    "feed": "feed", "load": "load", "fan": "ceiling fan", "switch": "wall switch", "input": "contact that is no wall switch",
    "regulator": "fan regulator", "remote": "remote", "sensor": "sensor", "wall": "wall", "rule": "rule", "wish": "wish", "accept": "acceptance",
}
# Sections that stand once, and what they are called.
SINGLE = {"job": "this job", "supply": "mains supply", "site": "place and box", "receiver": "infra-red receiver", "board": "controller", "network": "network"}


@dataclass(frozen=True, slots=True)
class Thing:
    """One thing. `path` is its place in the job file joined by slashes, "load/pendant"."""

    path: str
    name: str
    what: str
    symbol: str                   # of handover.symbols, "" where there is none
    verdict: Verdict | None       # the worst of its findings; None when no finding is about it

    @property
    def address(self) -> str:
        """Return the address of its sheet."""
        return address_of(self.path.split("/"))


def address_of(path: list[str] | tuple[str, ...]) -> str:
    """Return the address of the sheet of a thing."""
    return "/thing/" + "/".join(path[:2])


def findings_of(design: Design, section: str, key: str = "") -> tuple[Finding, ...]:
    """Return the findings about a thing, worst first."""
    return tuple(sorted((finding for finding in design.findings if _is_about(finding, section, key)),
                        key=lambda finding: -finding.verdict.severity))


def touched_by(design: Design, section: str, key: str = "") -> tuple[Finding, ...]:
    """Return the findings about other things that are reckoned with a value of this one, worst first."""
    own = f"{section}.{key}" if key else section
    return tuple(sorted(
        (finding for finding in design.findings if not _is_about(finding, section, key)
         and any(_is_within(put_in.origin, own) for put_in in finding.inputs)),
        key=lambda finding: -finding.verdict.severity))


def ways(section: str, key: str) -> tuple[tuple[str, str], ...]:
    """Return addresses and words of the other sheets that are about a thing."""
    try_it, pin = ("/try", "Try it"), "Its pin, and why that one"
    return {
        "board": (("/pins", "Every wire and its pin"),), "load": ((f"/pins/wire/relay.{quote(key)}", pin), try_it, ("/names", "How its names sound")),
        "fan": ((f"/fan/{quote(key)}", "What was measured at it, and its steps"), try_it), "switch": ((f"/pins/wire/switch.{quote(key)}", pin), try_it),
        "input": ((f"/pins/wire/input.{quote(key)}", pin),), "regulator": (try_it,), "remote": (("/infrared", "Read its buttons"), try_it), "receiver": (("/pins/wire/infrared", pin),),
        "rule": (("/rules", "All rules"), ("/proof", "Prove it"), try_it), "wish": (("/proof", "Prove it"),), "job": (("/documents", "Documents to hand over"),),
    }.get(section, ())


def feeds(design: Design) -> Iterator[tuple[Thing, tuple[Thing, ...]]]:
    """Yield every feed with what hangs on it."""
    job = design.job
    for key, feed in job.feed.items():
        rating = f"{'' if feed.device.curve == UNKNOWN else feed.device.curve} {show(feed.device.rating, 'A')}".strip()
        hanging = [_load(design, name) for name, load in job.load.items() if load.feed == key]
        hanging += [_fan(design, name) for name, fan in job.fan.items() if fan.feed == key]
        symbol = "fuse" if feed.device.kind == "fuse" else "breaker"
        yield Thing(f"feed/{key}", key.replace("_", " "), f"feed, {rating}", symbol, _verdict(design, "feed", key)), tuple(hanging)


def controls(design: Design) -> Iterator[Thing]:
    """Yield what people touch or what senses: switches, other contacts, regulators, remotes, sensors."""
    job = design.job
    for key, switch in job.switch.items():
        yield Thing(f"switch/{key}", switch.name, f"{switch.kind} switch", "retractive" if switch.kind == "retractive" else "contact",
                    _verdict(design, "switch", key))
    for key, contact in job.input.items():
        yield Thing(f"input/{key}", contact.name, contact.what, "contact", _verdict(design, "input", key))
    for key, regulator in job.regulator.items():
        yield Thing(f"regulator/{key}", regulator.name, "fan regulator", "", _verdict(design, "regulator", key))
    for key, remote in job.remote.items():
        yield Thing(f"remote/{key}", remote.name, f"remote, {counted(len(remote.button), 'button')}", "", _verdict(design, "remote", key))
    for key, sensor in job.sensor.items():
        yield Thing(f"sensor/{key}", sensor.name, "sensor", "", _verdict(design, "sensor", key))


def rest(design: Design) -> Iterator[Thing]:
    """Yield what stands once: controller, place, network, the job itself."""
    for section, what in SINGLE.items():
        if section != "supply":
            name = design.board.title if section == "board" else what
            yield Thing(section, name, "" if name == what else what, "", _verdict(design, section))
    for key, rule in design.job.rule.items():
        yield Thing(f"rule/{key}", str(rule.says), "rule", "", None)
    for key, wish in design.job.wish.items():
        yield Thing(f"wish/{key}", str(wish.says), "wish", "", None)


def supply(design: Design) -> Thing:
    """Return the mains as it arrives."""
    return Thing("supply", str(design.job.supply.system), "mains supply", "", _verdict(design, "supply"))


def is_there(job: Job, section: str, key: str) -> bool:
    """Return whether the job has such a thing."""
    return (section in SINGLE and not key) or (section in NAMED and key in getattr(job, section))


def _load(design: Design, key: str) -> Thing:
    load = design.job.load[key]
    amount = f"{load.count} x {show(load.power, 'W')}" if load.count > 1 else show(load.power, "W")
    return Thing(f"load/{key}", load.name, f"{load.kind}, {amount}", OF_LOAD[load.kind], _verdict(design, "load", key))


def _fan(design: Design, key: str) -> Thing:
    fan = design.job.fan[key]
    return Thing(f"fan/{key}", fan.name, f"ceiling fan, {show(fan.power, 'W')}, {counted(fan.steps, 'step')}", "motor", _verdict(design, "fan", key))


def _verdict(design: Design, section: str, key: str = "") -> Verdict | None:
    found = findings_of(design, section, key)
    return worst(found) if found else None


def _is_about(finding: Finding, section: str, key: str) -> bool:
    own = f"{section}.{key}" if key else section
    if _is_within(finding.subject, own):
        return True
    if section == "board":
        return finding.subject.startswith("relay.")          # the pins of relays
    return section in ("load", "fan") and _is_within(finding.subject, f"relay.{key}")


def _is_within(subject: str, own: str) -> bool:
    return subject == own or subject.startswith(own + ".")
