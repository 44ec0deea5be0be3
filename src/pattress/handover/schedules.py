"""The schedules: terminals, cables, wires, test points, pins, relays, parts and rules for a board."""

from collections.abc import Mapping
from decimal import Decimal

from pattress.design import Design
from pattress.design.prices import Prices
from pattress.finding import Figure
from pattress.handover.parts import parts_list
from pattress.handover.schedule import Column, Schedule
from pattress.handover.schematics import places_of
from pattress.handover.test_points import points_of
from pattress.handover.wire_list import wires
from pattress.handover.wiring import Wiring, channels, finding_of
from pattress.plural import counted
from pattress.quantity import show
from pattress.spreadsheet import Cell

UNKNOWN = "not known"
NO_PRICE = "no price"
DRAWN = Column("Diagram")        # number of the circuit diagram and zone
# What a channel waits for: head in a file, words on paper, key of the plan.
WAITS = (("Open between steps", "all open between steps {}", "dead_ms"), ("Off at least", "off at least {}", "minimum_off_ms"),
         ("Wait after a power cut", "waits after a power cut {}", "restore_delay_ms"), ("Start kick", "start kick {}", "kick_ms"))


def schedules(design: Design, wiring: Wiring, prices: Prices | None = None) -> dict[str, Schedule]:
    """Return all schedules by the name of their file; the parts list with prices where a person gave some."""
    drawn = places_of(design)
    return {
        "cables": cables(wiring), "terminals": terminals(wiring, drawn), "wires": wires_in_box(design), "test-points": test_points(design, drawn, is_live=False), "test-points-live": test_points(design, drawn, is_live=True),
        "pins": pins(wiring), "relays": relays(design, wiring, drawn), "parts": parts(design, wiring, prices), "board-rules": board_rules(design),
    }


def cables(wiring: Wiring) -> Schedule:
    """Return every cable with section, length and colours."""
    columns = (Column("Cable"), Column("From"), Column("To"), Column("Section", "mm2"), Column("Length", "m"), Column("Cores: what, colour"), Column("Voltage"))
    return Schedule("Cables", columns, tuple(
        (cable.mark, cable.start, cable.end, cable.section, UNKNOWN if cable.length is None else cable.length,
         ", ".join(f"{core.role} {core.colour}" for core in cable.cores), "mains" if cable.mains else "extra-low")
        for cable in wiring.cables
    ))


def terminals(wiring: Wiring, drawn: Mapping[str, str]) -> Schedule:
    """Return every terminal with what is on it, the core that comes to it, and where it is drawn: `drawn` is of `places_of`."""
    columns = (Column("Terminal"), Column("On it"), Column("Cable"), Column("Colour"), Column("Section", "mm2"), DRAWN)
    return Schedule("Terminals", columns, tuple(
        (terminal.mark, terminal.potential, terminal.cable, terminal.colour, terminal.section, drawn.get(terminal.mark))
        for terminal in wiring.terminals
    ))


def wires_in_box(design: Design) -> Schedule:
    """Return every wire in the box with its section, colour, ferrule and torque."""
    columns = (Column("Net"), Column("From"), Column("To"), Column("How"), Column("Section", "mm2"), Column("Colour"), Column("About", "m"), Column("Ferrule", "mm"), Column("Torque", "N m"))
    return Schedule("Wires in the box", columns, tuple(
        (wire.net, wire.start, wire.end, wire.way, wire.section, wire.colour, wire.length, wire.sleeve, wire.torque) for wire in wires(design)))


def test_points(design: Design, drawn: Mapping[str, str], *, is_live: bool) -> Schedule:
    """Return what a meter reads where, at extra-low voltage or at mains: a row for each reading."""
    columns = (Column("Point"), Column("Net"), Column("Probe at"), DRAWN, Column("Against"), Column("When"), Column("Healthy", "V"), Column("At least", "V"), Column("At most", "V"))
    return Schedule("Test points at mains, live" if is_live else "Test points at extra-low voltage", columns, tuple(
        (point.mark, point.net, point.at, drawn.get(point.at) or drawn.get(point.at.rpartition(":")[0]), point.reference, reading.state or "always", *((reading.healthy, reading.least, reading.most) if reading.most else (None,) * 3))
        for point in points_of(design) if point.is_live is is_live for reading in point.readings))


def pins(wiring: Wiring) -> Schedule:
    """Return every wire at the board."""
    return Schedule("Pins", tuple(map(Column, ("Pin", "GPIO", "Wire", "Goes to"))), tuple(
        (wire.pin, wire.gpio, wire.name, wire.goes_to) for wire in wiring.pins
    ))


def relays(design: Design, wiring: Wiring, drawn: Mapping[str, str]) -> Schedule:
    """Return every relay with what it switches and the settings of its channel."""
    plan = {channel["key"]: channel for channel in design.plan["channels"]}
    columns = (Column("Relay"), DRAWN, Column("Part"), Column("Channel"), Column("Feed"), Column("Pin"), Column("Capacitor in series", "uF"), Column("Closed"), Column("After a power cut"),
               *(Column(head, "s", "Waits", words) for head, words, _ in WAITS))
    rows = []
    for place, relay in enumerate(wiring.relays):
        channel = plan[relay.channel]
        levels = [str(level) for level, mask in enumerate(channel["masks"]) if mask >> place & 1]
        rows.append((relay.mark, drawn.get(relay.mark), relay.part, relay.name, relay.feed, relay.pin, relay.capacitor, "at step " + ", ".join(levels) if len(channel["masks"]) > 2 else "on",
                     channels(design)[relay.channel].restore, *(channel[key] / 1000 or None for _, _, key in WAITS)))
    return Schedule("Relays and their settings", columns, tuple(rows))


def parts(design: Design, wiring: Wiring, prices: Prices | None = None) -> Schedule:
    """Return the parts list, with a price for each and their sum where a person's price file knows some."""
    columns = (Column("Part"), Column("What"), Column("Designators"), Column("Pieces", printed="How many"), Column("Length", "m", "How many"), Column("Spare"), Column("Ratings"), Column("Why this one"), Column("Second choice"))
    lines = parts_list(design, wiring)
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (line.part, line.what, line.marks or None, *((None, float(line.count)) if line.unit else (line.count, None)), line.spare or None, line.ratings or None, _reason(design, line.why), line.second or None)
        for line in lines)
    if prices is None or not prices.parts:
        return Schedule("Parts list", columns, rows)
    known = [line for line in lines if line.part in prices.parts]
    money = tuple((prices.parts[line.part], line.count * prices.parts[line.part]) if line in known else (NO_PRICE, NO_PRICE) for line in lines)
    total = sum((line.count * prices.parts[line.part] for line in known), Decimal(0))
    last = ("Sum", f"of {counted(len(known), 'line')}; {counted(len(lines) - len(known), 'has', 'have')} no price", *(None,) * 8, total)
    return Schedule("Parts list", (*columns, Column(f"Each, {prices.currency}"), Column(f"Sum, {prices.currency}")),
                    (*(row + two for row, two in zip(rows, money, strict=True)), last))


def _reason(design: Design, why: str) -> str:
    """Return why a part was chosen, in words: what is the name of a check, or of its kind, says so."""
    names = {finding.id for finding in design.findings}
    kinds = {name.partition(".")[0] for name in names}
    return f"check {why}" if why in names else f"checks {why}" if why in kinds else why


def idle_prices(design: Design, wiring: Wiring, prices: Prices | None) -> tuple[str, ...]:
    """Return the names in a price file that no line of the parts list has: other parts, or slips of the pen."""
    used = {line.part for line in parts_list(design, wiring)}
    return tuple(name for name in prices.parts if name not in used) if prices else ()


def board_rules(design: Design) -> Schedule:
    """Return what a board layout has to keep: distances, slots, track widths."""
    columns = (Column("Where"), Column("Through air", "mm", "Keep", "{} through air"), Column("Over surface", "mm", "Keep", "{} over surface"), Column("Width", "mm", "Keep", "at least {} wide"),
               Column("Condition"), Column("Also"))
    rows: list[tuple[Cell, ...]] = []
    for finding in design.findings:
        question, _, thing = finding.id.partition(".")
        if question == "board_distance":
            creepage = next(given.figure for given in finding.inputs if given.name == "creepage needed")
            rows.append((f"between {finding.question.partition('keep ')[2].rstrip('?')}", _number(finding.limit), _number(creepage), None, finding.corner, finding.change[-1]))
        elif question == "track":
            rows.append((f"tracks of {channels(design)[thing].name}", None, None, _number(finding.value), finding.corner, finding.detail))
        elif question == "track_fault" and finding.value is not None:
            rows.append((f"tracks of feed {thing} up to the contacts", None, None, _number(finding.value), finding.corner, finding.detail))
    return Schedule("Rules for a board layout", columns, tuple(rows))


def _number(figure: Figure | str | None) -> Cell:
    return figure.value if isinstance(figure, Figure) else figure or UNKNOWN


def value_of(design: Design, wanted: str) -> str:
    """Return the value of a finding as people write it, "not known" where there is none."""
    finding = finding_of(design, wanted)
    return _shown(finding.value if finding else None)


def limit_of(design: Design, wanted: str) -> str:
    """Return the limit of a finding as people write it."""
    finding = finding_of(design, wanted)
    return _shown(finding.limit if finding else None)


def _shown(figure: Figure | str | None) -> str:
    if figure is None or isinstance(figure, str):
        return figure or UNKNOWN
    return show(figure.value, figure.unit)
