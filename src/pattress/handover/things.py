"""What stands on the walls of a home: everything that is touched, seen or switched, in words, by its path in the job."""

from collections.abc import Iterator
from dataclasses import dataclass

from pattress.design import Design
from pattress.finding import Finding, Verdict
from pattress.handover.household import what_it_sets, what_presses_do
from pattress.handover.symbols import OF_LOAD
from pattress.job.model import Place
from pattress.plural import counted
from pattress.quantity import show

CONTROLLER, RECEIVER = "board", "receiver"
GANGED = ("latching", "retractive", "regulator")      # what shares one back box where it has one place


@dataclass(frozen=True, slots=True, kw_only=True)
class Thing:
    """One thing: what it is drawn as, its name, what it does, and where it is. Size in m, None for the usual."""

    path: str
    kind: str
    name: str
    words: str
    at: Place | None
    size: tuple[float, float] | None = None

    @property
    def place(self) -> Place:
        """Return where it is. Raises ValueError for a thing without a place."""
        if self.at is None:
            raise ValueError(f"{self.path} has no place")
        return self.at


def things_of(design: Design) -> tuple[Thing, ...]:
    """Return every thing of a design that has, or could have, a place on a wall, in the order of the job file."""
    return tuple(_things(design))


def _things(design: Design) -> Iterator[Thing]:
    job, named = design.job, design.job.named()
    box = job.site.enclosure
    size = None if isinstance(box, str) else (box.width, box.height)
    words = "size of its box not known" if size is None else f"box {show(size[0], 'm')} wide, {show(size[1], 'm')} high"
    yield Thing(path=CONTROLLER, kind="controller", name="Controller", words=words, at=job.site.at, size=size)
    for key, switch in job.switch.items():
        yield Thing(path=f"switch.{key}", kind=switch.kind, name=switch.name, words=what_presses_do(switch, named), at=switch.at)
    for key, contact in job.input.items():
        yield Thing(path=f"input.{key}", kind="contact", name=contact.name, words=contact.what, at=contact.at)
    for key, regulator in job.regulator.items():
        yield Thing(path=f"regulator.{key}", kind="regulator", name=regulator.name, words=what_it_sets(regulator, job), at=regulator.at)
    if job.remote:
        yield Thing(path=RECEIVER, kind="receiver", name="Infra-red receiver", words="point the remote here", at=job.receiver.at)
    for key, sensor in job.sensor.items():
        yield Thing(path=f"sensor.{key}", kind="sensor", name=f"Sensor {sensor.name}", words="temperature and humidity", at=sensor.at)
    for key, load in job.load.items():
        count = f"{load.count} x " if load.count > 1 else ""
        yield Thing(path=f"load.{key}", kind=OF_LOAD[load.kind], name=load.name, words=f"{load.kind}, {count}{show(load.power, 'W')}", at=load.at)
    for key, fan in job.fan.items():
        yield Thing(path=f"fan.{key}", kind="fan", name=fan.name, words=f"fan point, {show(fan.power, 'W')}, {counted(fan.steps, 'step')}", at=fan.at)


def failing(design: Design) -> dict[str, str]:
    """Return "fails" by the path of each thing that a failing finding is about."""
    return {thing_of(finding, design): str(finding.verdict) for finding in design.findings if finding.verdict is Verdict.FAILS}


def thing_of(finding: Finding, design: Design) -> str:
    """Return the path of the thing that a finding is about; what is about no other thing is about the controller."""
    section, _, rest = finding.subject.removeprefix("board.pins.").partition(".")
    key = rest.partition(".")[0]
    if section == "relay":
        section = "fan" if key in design.job.fan else "load"
    if section in ("infrared", "remote", RECEIVER):
        return RECEIVER
    known = {thing.path for thing in _things(design)}
    return f"{section}.{key}" if f"{section}.{key}" in known else CONTROLLER
