"""What to test on the bench, and every way of operating the finished thing, with what to expect and blank boxes for what is found."""

from collections.abc import Iterator, Sequence

from pattress.design import Design
from pattress.design.defaults import default_ms, settle_ms
from pattress.handover.by_itself import tests_of_rules
from pattress.handover.findings_page import Table
from pattress.handover.household import effect_words
from pattress.handover.schedules import limit_of, value_of
from pattress.handover.sensed_lines import bench_rows
from pattress.handover.sheet import Section
from pattress.handover.wiring import Wiring, channels, finding_of
from pattress.job.levels import levels_of
from pattress.job.model import Fan, Regulator
from pattress.quantity import show
from pattress.sizing.controls import Controls, controls_of
from pattress.sizing.drive import rail_high, rail_low

FOUND = ("Found", "By, date")
_HOW = {"does": "", "held": f", held for {default_ms('press', 'held') / 1000:g} s", "twice": ", pressed twice"}
FELT_MS = 500                # from which on a person who tests must wait


def bench(design: Design, wiring: Wiring) -> Section:
    """Return the bench sequence at extra-low voltage, nothing connected to mains."""
    supply = design.chosen.supply.part
    rows = [
        ("Look", "compare every part and joint with the diagram; measure the distances at the barrier", _barrier(design)),
        ("Insulation, low-voltage side to L and N joined; board taken out", "insulation tester", _insulation(design, "low_voltage")),
        ("5 V from a bench supply, current limited", f"limit {value_of(design, 'supply.controller')}; T1 not connected to mains",
         f"{show(rail_low(supply), 'V')} to {show(rail_high(supply), 'V')} at the coils"),
        ("Start", "voltmeter at every driver input while the board starts", f"at most {limit_of(design, 'drive_reset.controller')}, no relay moves"),
    ]
    for relay in wiring.relays:
        rows.append((f"{relay.mark}, {relay.name}", f"switch it on through pin {relay.pin}; ohmmeter across its contact",
                     f"coil at least {limit_of(design, f'drive.{relay.channel}')}; contact closes, opens again"))
    for section, key, thing in design.job.contacts():
        count = thing.contacts if isinstance(thing, Regulator) else 1
        rows.append((thing.name, f"voltmeter at {'its input' if count == 1 else f'each of its {count} inputs'}, contact open, then closed",
                     f"open at least {limit_of(design, f'sensing.{section}_{key}')}. Closed: {_closed(design, f'wetting.{section}_{key}')}"))
    rows += bench_rows(design)
    for sensor in design.job.sensor.values():
        rows.append((f"sensor {sensor.name}", "compare with a thermometer in the same place", "within the sensor's own sheet"))
    return Section("Bench sequence at extra-low voltage", ("Nothing here needs mains, and nothing is connected to it.",),
                   (_boxed("", ("Step", "Do", "Expect"), rows),))


def functions(design: Design) -> Section:
    """Return every way of acting on every channel, what must happen, and a box for what did."""
    return Section("Functions: every way of acting", ("Whatever a row does not name must stay as it is.",),
                   (_boxed("", ("Way", "Channel", "Must happen"), list(_ways(design))),))


def _ways(design: Design) -> Iterator[tuple[str, str, str]]:
    job, all_channels = design.job, channels(design)
    acting = [(f"switch {switch.name}{_HOW[how]}", does) for switch in job.switch.values() for how, does in switch.presses.items()]
    acting += [(f"{remote.name}: {key}", button.does) for remote in job.remote.values() for key, button in remote.button.items()]
    for way, does in acting:
        for action in does:
            for key in all_channels if action.things == ("everything",) else action.things:
                yield way, job.named()[key].name, effect_words(action.verb, action.step)
    for regulator in job.regulator.values():
        levels = levels_of(job, regulator)
        for position, step in enumerate(levels, start=0 if 0 in levels else 1):
            yield f"{regulator.name} to {position or 'off'}", all_channels[regulator.fan].name, effect_words("set", step)
    for channel in design.plan["channels"]:
        if channel["key"] in job.mode:
            continue
        thing = all_channels[channel["key"]]
        wait = show(channel["restore_delay_ms"] / 1000, "s") if channel["restore_delay_ms"] else ""
        yield "power cut of 10 s, while on", thing.name, f"comes back: {thing.restore}{f', after {wait}' if wait else ''}"
        yield from _over_the_network(controls_of(job, channel["key"]), thing.name)
        if isinstance(thing, Fan):
            yield "from step to step", thing.name, f"all relays open for {show(channel['dead_ms'] / 1000, 's')} between" if channel["dead_ms"] else "at once"
    for contact in job.input.values():
        settle = settle_ms(contact.kind)
        held = f", held each way for {show(settle / 1000, 's')}" if settle >= FELT_MS else ""
        yield f"{contact.what} {contact.name}: operated both ways{held}", "-", "its test point reads closed, and open; then whatever rule waits for it acts"
    yield from tests_of_rules(design)


def _over_the_network(controls: Controls, name: str) -> Iterator[tuple[str, str, str]]:
    if controls.is_none:
        yield "nothing in this job", name, "cannot be switched on: give it a control, or say on this sheet why it has none"
    if not controls.network:
        return
    yield "phone, hub or voice: on, then off", name, f"on, then off{'' if controls.local else '; no other way switches it on'}"
    if controls.local:
        yield "network gone", name, f"as before: {'; '.join(one.name for one in controls.local)}"
    else:
        yield "network gone, while on", name, "stays as it is; nothing else switches it on: say so to the household"


def _closed(design: Design, wanted: str) -> str:
    finding = finding_of(design, wanted)
    return finding.detail[0].lower() + finding.detail[1:].rstrip(".") if finding and finding.detail else "low"


def _boxed(caption: str, head: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> Table:
    return Table(caption, (*head, *FOUND), tuple((*row, "", "") for row in rows))


def _barrier(design: Design) -> str:
    return f"at least {limit_of(design, 'board_distance.mains_to_touchable')} through air"


def _insulation(design: Design, thing: str) -> str:
    finding = finding_of(design, f"insulation_test.{thing}")
    return finding.formula if finding else ""
