"""The parts list: what to buy for a design, how many, with ratings and second choices.

A second choice is another part of the stock that answers the choosing questions as well. Parts
the stock does not hold (resistors, diodes, low-voltage terminals) are told by their ratings.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from pattress.design import Design
from pattress.finding import Finding, Verdict
from pattress.handover.sensed_lines import components
from pattress.handover.wiring import LOW, MAINS_IN, Wiring, finding_of, put_in
from pattress.quantity import show
from pattress.sizing.choice import relay_verdict
from pattress.sizing.demand import demands
from pattress.sizing.drive import GATE_SERIES, base_resistor, coil_current_most, driver_verdict, pull_down, rail_high
from pattress.sizing.mains import mains_of
from pattress.sizing.sensing import SERIES
from pattress.sizing.sensor import PULL_UP
from pattress.sizing.supply import supply_verdict
from pattress.stock.parts import Part

# What is worth printing of a part, by its kind.
RATINGS = {
    "relay": ("rated_current", "rated_voltage", "coil_voltage", "coil_resistance"),
    "driver": ("current_most", "voltage_most"),
    "supply": ("output_voltage", "output_current"),
    "terminal": ("section_most", "rated_current"),
    "fuse": ("rated_current", "rated_voltage", "breaking_current"),
    "varistor": ("rated_voltage", "varistor_voltage"),
    "capacitor": ("capacitance", "voltage", "tolerance"),
}
GOOD = (Verdict.HOLDS, Verdict.TIGHT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of the parts list."""

    part: str
    what: str
    count: int
    ratings: str
    why: str
    second: str = ""


def parts_list(design: Design, wiring: Wiring) -> tuple[Line, ...]:
    """Return everything to buy, named parts first."""
    return (*_relays(design), *_drive(design), *_supply(design), *_terminals(design, wiring), *_inputs(design),
            *_mains_components(design, wiring))


def coil_current(design: Design) -> float:
    """Return what the hungriest coil draws at the highest rail [A]."""
    rail = rail_high(design.chosen.supply.part)
    return max((coil_current_most(choice.part, rail) for choice in design.chosen.relays.values()), default=0.0)


def input_resistor(design: Design) -> tuple[str, float]:
    """Return what stands between a pin and its driver, and how much [ohm]."""
    driver = design.chosen.driver.part
    if driver.word("arrangement") == "NPN":
        return "base resistor", base_resistor(driver, design.board, coil_current(design))
    return "resistor in series with the input", GATE_SERIES


def ratings(part: Part) -> str:
    """Return the ratings of a part that one checks in a shop."""
    known = [(name, part.rating(name)) for name in RATINGS.get(part.kind, ())]
    return ", ".join(f"{name.replace('_', ' ')} {show(rating.value, rating.unit or '%')}" for name, rating in known
                     if isinstance(rating.value, float | int))


def _line(part: Part, what: str, count: int, why: str, second: list[str] | None = None) -> Line:
    return Line(part=part.designation, what=what, count=count, ratings=ratings(part), why=why, second=", ".join(second or ()))


def _relays(design: Design) -> Iterator[Line]:
    chosen, asked, mains = design.chosen, demands(design.job), mains_of(design.job)
    numbers: Counter[str] = Counter()
    members: dict[str, list[str]] = {}
    for key, choice in chosen.relays.items():
        numbers[choice.part.designation] += chosen.relay_count(key)
        members.setdefault(choice.part.designation, []).append(key)
    for name, keys in members.items():
        second = [part.designation for part in design.results["parts"].of("relay") if part.designation != name and all(
            relay_verdict(part, asked[key], mains, design.job.site.altitude) in GOOD for key in keys)]
        yield _line(chosen.relays[keys[0]].part, "relay", numbers[name],
                    f"{chosen.relays[keys[0]].reason}; for {', '.join(asked[key].name for key in keys)}", second)


def _drive(design: Design) -> Iterator[Line]:
    chosen, driver = design.chosen, design.chosen.driver
    number = sum(chosen.relay_count(key) for key in chosen.relays)
    parts = design.results["parts"]
    second = [part.designation for part in parts.of("driver") if part is not driver.part and driver_verdict(
        part, [choice.part for choice in chosen.relays.values()], design.board, design.chosen.supply.part, design.job.site.ambient) in GOOD]
    yield _line(driver.part, "coil driver, one channel for each relay", number, driver.reason, second)
    what, resistance = input_resistor(design)
    down = pull_down(driver.part, design.board)
    yield Line(part=f"resistor {show(resistance, 'ohm')}", what=what, count=number, ratings="0.125 W", why="drive_pin.controller")
    yield Line(part=f"resistor {show(down, 'ohm')}", what="pull-down at every driver input", count=number, ratings="0.125 W",
               why="drive_reset.controller")
    if driver.part.word("arrangement") != "Darlington array":
        yield Line(part="diode, fast", what="across every coil", count=number,
                   ratings=f"at least {show(coil_current(design), 'A')}, 50 V", why="drive_pin.controller")


def _supply(design: Design) -> Iterator[Line]:
    chosen, parts = design.chosen, design.results["parts"]
    second = [part.designation for part in parts.of("supply")
              if part is not chosen.supply.part and supply_verdict(part, design.job, chosen) in GOOD]
    yield Line(part=design.board.title, what="controller board", count=1, ratings=f"board {design.board.type}", why="named in the job")
    yield _line(chosen.supply.part, "5 V supply", 1, chosen.supply.reason, second)
    fuse, varistor = finding_of(design, "fuse.controller"), finding_of(design, "varistor.controller")
    for finding, kind, what in ((fuse, "fuse", "fuse before the 5 V supply"), (varistor, "varistor", "across line and neutral, behind the fuse")):
        part = named_part(design, finding, kind)
        if part:
            yield _line(part, what, 1, f"{kind}.controller")
    bulk = finding_of(design, "bulk.controller")
    if bulk and bulk.value:
        yield Line(part=f"capacitor {show(bulk.value.value, 'F')}", what="bulk capacitor at the 5 V input of the board", count=1,
                   ratings="10 V or more, low impedance", why=bulk.id)


def named_part(design: Design, finding: Finding | None, kind: str) -> Part | None:
    """Return the part of a kind that a finding speaks of, by what it put in or says."""
    words = [given.figure for given in finding.inputs if isinstance(given.figure, str)] + [finding.detail] if finding else []
    return next((part for part in design.results["parts"].of(kind)
                 for text in words if text == part.designation or text.startswith(f"{part.designation},")), None)


def _terminals(design: Design, wiring: Wiring) -> Iterator[Line]:
    numbers: Counter[str] = Counter()
    whys: dict[str, str] = {}
    for key, choice in design.chosen.terminals.items():
        numbers[choice.part.designation] += len(wiring.terminals_of(key))
        whys.setdefault(choice.part.designation, choice.reason)
    for key in design.job.feed:
        part = _feed_terminal(design, key)
        name = part.designation if part else "terminal, none of the stock takes this feed"
        numbers[name] += len(wiring.terminals_of(f"feed.{key}"))
        whys.setdefault(name, f"takes {show(design.job.feed[key].cable.section, 'm2')} and {show(design.job.feed[key].device.rating, 'A')}")
    parts = design.results["parts"]
    for name, number in numbers.items():
        yield _line(parts[name], "terminal at mains", number, whys[name]) if name in parts else Line(
            part=name, what=f"terminal at mains, strip {MAINS_IN}", count=number, ratings="", why=whys[name])
    low = sum(terminal.strip == LOW for terminal in wiring.terminals)
    if low:
        yield Line(part="terminal, extra-low voltage", what=f"strip {LOW}", count=low, ratings="for 0.5 mm²; not the type of the mains side",
                   why="cannot be mistaken for a mains terminal")


def _feed_terminal(design: Design, key: str) -> Part | None:
    feed = design.job.feed[key]
    return next((part for part in design.results["parts"].of("terminal")
                 if feed.cable.section <= part.value("section_most") * (1 + 1e-9) and feed.device.rating <= part.value("rated_current")), None)


def _inputs(design: Design) -> Iterator[Line]:
    job = design.job
    pulls = Counter(wire.pull_up for wire in design.results["wires"] if wire.name.startswith(("switch.", "regulator.")))
    for pull, number in sorted(pulls.items()):
        yield Line(part=f"resistor {show(pull, 'ohm')}", what="pull-up of switch inputs, to 3.3 V", count=number, ratings="0.125 W", why="sensing")
    if pulls:
        yield Line(part=f"resistor {show(SERIES, 'ohm')}", what="in series with switch inputs", count=sum(pulls.values()), ratings="0.125 W", why="sensing")
    for part, what, number, rated in components(design):
        yield Line(part=part, what=what, count=number, ratings=rated, why="feedback")
    if job.sensor:
        yield Line(part=f"resistor {show(PULL_UP, 'ohm')}", what="pull-up of a sensor's data line", count=len(job.sensor), ratings="0.125 W", why="sensor_line")
        for kind in sorted({sensor.kind for sensor in job.sensor.values()}):
            yield Line(part=f"sensor, {kind}", what="temperature and humidity", count=sum(s.kind == kind for s in job.sensor.values()),
                       ratings="3.3 V", why="named in the job")
    if job.remote:
        yield Line(part="infra-red receiver module", what="with its own pull-up, 3.3 V", count=1, ratings="38 kHz usual; see the remotes", why="named in the job")


def _mains_components(design: Design, wiring: Wiring) -> Iterator[Line]:
    lines: Counter[tuple[str, str, str, str]] = Counter()
    for relay in wiring.relays:
        if relay.capacitor is not None:
            part = next((p for p in design.results["parts"].of("capacitor") if p.word("class") == "motor run"
                         and abs(p.value("capacitance") - relay.capacitor) < 1e-12), None)
            name = part.designation if part else f"motor capacitor {show(relay.capacitor, 'F')}"
            lines[name, f"motor capacitor, fan regulator of {relay.name}", ratings(part) if part else "", "fan"] += 1
        if relay.damping is not None:
            lines[f"resistor {show(relay.damping, 'ohm')}", f"damping, fan regulator of {relay.name}", damping_ratings(design, relay.channel), "fan_switching"] += 1
        if relay.bleed is not None:
            piece, pieces = relay.bleed
            lines[f"resistor {show(piece, 'ohm')}", f"bleed, {pieces} in series across a capacitor, {relay.name}",
                  bleed_ratings(design, relay.channel, piece), "fan_switching"] += pieces
        if relay.snubber is not None:
            capacitance, resistance = relay.snubber
            voltage = put_in(design, f"suppression.{relay.channel}", "voltage")
            lines[f"X2 capacitor {show(capacitance, 'F')}", "snubber across a contact", f"{show(voltage, 'V')} AC" if voltage else "", "suppression"] += 1
            lines[f"resistor {show(resistance, 'ohm')}", "snubber, in series with its capacitor", "0.5 W, pulse-proof", "suppression"] += 1
    for (part, what, rated, why), number in lines.items():
        yield Line(part=part, what=what, count=number, ratings=rated, why=why)


def bleed_ratings(design: Design, key: str, piece: float) -> str:
    """Return what a piece of a fan's bleed resistors must bear."""
    bleed = next(bleed for bleed in design.results["fan_designs"][key].bleeds if bleed.piece == piece)
    return f"loses {show(bleed.piece_loss, 'W')} with {show(bleed.piece_voltage, 'V')} across it: twice both at least"


def damping_ratings(design: Design, key: str) -> str:
    """Return what a damping resistor of a fan must bear."""
    damping = design.results["fan_designs"][key].damping
    return f"loses {show(damping.running_loss, 'W')}, takes pulses of {show(damping.pulse_energy, 'J')}: wire-wound"
