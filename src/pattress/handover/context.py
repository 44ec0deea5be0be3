"""From a design, its proof and its rehearsal to the words of the hand-over page."""

from markupsafe import Markup

from pattress.design import Design
from pattress.design.tally import tally_of
from pattress.designators import relay_designators
from pattress.drawing import Medium
from pattress.finding import unknowns
from pattress.handover.findings_page import Page, Table, groups, program_version
from pattress.handover.imprint import stopped_by
from pattress.handover.schedules import WAITS, parts
from pattress.handover.wiring import wiring_of
from pattress.job.model import PRESSED, UNKNOWN, Channel, Job
from pattress.pins.best import Assignment
from pattress.pins.pinout_drawing import pinout
from pattress.plural import counted
from pattress.proof import Proof
from pattress.quantity import show
from pattress.rehearsal.rehearse import Rehearsal
from pattress.rehearsal.timeline import timeline

FOOTER = (
    "Figures marked \"from memory\" were not read in their source while the record was written; confirm them before "
    "they decide anything. What was not checked is named under \"Left out\" in each finding and in the proof."
)


def page_of(design: Design, proof: Proof, rehearsal: Rehearsal, *, cautions: tuple[str, ...]) -> Page:
    """Return everything the hand-over page prints."""
    job, day, counted_all = design.job, rehearsal.days[0], tally_of(design, proof.properties)
    return Page(
        title=job.job.title,
        note=job.job.note.strip(),
        version=program_version(),
        digest=proof.digest,
        design=design.identity,
        stopped=stopped_by(design, proof),
        cautions=cautions,
        tally=counted_all.counts,
        names=tuple(f"{clash.verdict}: {clash.told}" for clash in counted_all.names),
        acceptances=tuple(
            f"{key}: {job.accept[key].reason} ({job.accept[key].by}, {job.accept[key].date})" for key in sorted(design.accepted)
        ),
        unknowns=unknowns(design.findings),
        asked=(_mains(job), _channels(job), _touched(job)),
        groups=groups(design.findings, names_of(job)),
        pins=_pins(design),
        board=Markup(pinout(design.board, design.pins.pins).svg(Medium.PAPER)) if isinstance(design.pins, Assignment) else Markup(""),
        parts=(parts(design, wiring_of(design)).table, _relays(design)),
        proof_line=f"{proof.outcome[0].upper()}{proof.outcome[1:]}; program and plan {proof.digest[:12]}.",
        properties=Table("", ("Property", "Verdict", "Judged in"), tuple(
            (prop.sentence, prop.verdict, counted(prop.transitions, "step")) for prop in proof.properties
        )),
        stories=tuple(str(prop.story) for prop in proof.failed if prop.story),
        rehearsal_line=f"{rehearsal.summary}.",
        timeline=Markup(timeline(day, design.plan).svg(Medium.PAPER)),
        timeline_caption=f"{day.title}. {' '.join(day.notes)}".strip(),
        wear=rehearsed_days(rehearsal),
        footer=FOOTER,
    )


def names_of(job: Job) -> dict[str, str]:
    """Return what people call things, by the keys that finding ids use for them."""
    names = {key: thing.name for things in (job.load, job.fan, job.sensor) for key, thing in things.items()}
    return names | {f"{section}_{key}": thing.name for section, key, thing in job.contacts()}


def _mains(job: Job) -> Table:
    supply = job.supply
    rows = [("Mains", f"{show(supply.system.voltage, 'V')} {show(supply.system.frequency, 'Hz')}, "
                      f"{show(supply.tolerance, '%')} up and down, {supply.earthing}"),
            ("Faults, where the devices sit", f"largest current {_stated(supply.fault_current, 'A')}, largest loop {_stated(supply.loop_impedance, 'ohm')}"
                                              + (f"; earth electrode {_stated(supply.earth_electrode, 'ohm')}" if supply.may_be_tt else ""))]
    for key, feed in job.feed.items():
        device = feed.device
        residual = feed.residual_current_device
        guard = residual if isinstance(residual, str) else f"{show(residual.rating, 'A')}, type {residual.type}"
        rows.append((f"Feed {key}", f"{device.kind}, {device.curve} {show(device.rating, 'A')}; residual-current device {guard}; "
                                    f"{show(feed.cable.length, 'm')} of {show(feed.cable.section, 'm2')}"))
    return Table("Mains and feeds", ("What", "As the job file says"), tuple(rows))


def _stated(value: float | str, unit: str) -> str:
    return value if isinstance(value, str) else show(value, unit)


def _channels(job: Job) -> Table:
    rows = []
    for key, load in job.load.items():
        amount = f"{load.count} x {show(load.power, 'W')}" if load.count > 1 else show(load.power, "W")
        rows.append((load.name, f"{load.kind}, {amount}", load.feed, *_habits(load)))
    for key, fan in job.fan.items():
        rows.append((fan.name, f"fan, {show(fan.power, 'W')}, {counted(fan.steps, 'step')}", fan.feed, *_habits(fan)))
    return Table("Loads and fans", ("Name", "What", "Feed", "After a power cut", "Operations a day"), tuple(rows))


def _habits(channel: Channel) -> tuple[str, str]:
    operations = channel.operations_per_day
    return channel.restore, operations if isinstance(operations, str) else f"{operations:g}"


def _touched(job: Job) -> Table:
    rows = [(switch.name, f"{switch.kind} wall switch", "; ".join(f"{PRESSED[how]}{act}" for how, does in switch.presses.items() for act in does))
            for switch in job.switch.values()]
    rows += [(regulator.name, f"wall regulator, {counted(regulator.positions, 'position')}", f"steps of {regulator.fan}")
             for regulator in job.regulator.values()]
    for remote in job.remote.values():
        for key, button in remote.button.items():
            code = "code not known yet" if button.code == UNKNOWN else str(button.code)
            rows.append((f"{remote.name}: {key}", f"remote button, {code}", "; ".join(map(str, button.does))))
    return Table("What people touch", ("Name", "What", "What it does"), tuple(rows))


def _pins(design: Design) -> tuple[Table, ...]:
    board = design.board
    if isinstance(design.pins, Assignment):
        rows = tuple((placement.demand.name, placement.pin.label, placement.reason) for placement in design.pins.pins)
        return (Table(board.title, ("Wire", "Pin", "Why there"), rows),)
    ways = tuple((f"{number}", way.words) for number, way in enumerate(design.pins.relaxations, 1))
    return (
        Table(f"{board.title}: not every wire finds a pin", ("What", "Why"), (("Conflict", design.pins.words),)),
        Table("What would make it fit, each solved anew", ("Way", "What to do"), ways),
    )


def _relays(design: Design) -> Table:
    rows = []
    for channel in design.plan["channels"]:
        if channel["key"] in design.job.mode:
            continue
        patterns = "; ".join(f"{level}: {' + '.join(relay_designators(mask)) or 'none'}" for level, mask in enumerate(channel["masks"]))
        waits = [words.format(show(channel[key] / 1000, "s")) for _, words, key in WAITS if channel[key]]
        rows.append((channel["name"], patterns, "; ".join(waits) or "-"))
    return Table("Which relays close at each level", ("Channel", "Level: relays closed", "Waits"), tuple(rows))


def rehearsed_days(rehearsal: Rehearsal) -> Table:
    """Return the figures of each rehearsed day."""
    rows = tuple(
        (day.title, str(day.facts.events), _milliseconds(day.facts.response(0.5)), _milliseconds(day.facts.response(1.0)),
         str(sum(day.facts.closings)), str(day.facts.saves))
        for day in rehearsal.days
    )
    head = ("Day", "Events", "Switch to relay, median", "slowest", "Relay closings", "Snapshots written")
    return Table("The rehearsed days in figures", head, rows)


def _milliseconds(time: int | None) -> str:
    return "-" if time is None else f"{time} ms"

