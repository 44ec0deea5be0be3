"""The schedules: terminals, cables, pins, relays, parts and rules for a board, as tables and as CSV."""

from csv import writer
from decimal import Decimal
from io import StringIO

from pattress.design import Design
from pattress.design.prices import Prices
from pattress.finding import Figure
from pattress.handover.findings_page import Table
from pattress.handover.parts import parts_list
from pattress.handover.test_points import points_of
from pattress.handover.wire_list import wires
from pattress.handover.wiring import Wiring, channels, finding_of
from pattress.plural import counted
from pattress.quantity import show

UNKNOWN = "not known"
NO_PRICE = "no price"


def schedules(design: Design, wiring: Wiring, prices: Prices | None = None) -> dict[str, Table]:
    """Return all schedules by the name of their file; the parts list with prices where a person gave some."""
    return {
        "cables": cables(wiring), "terminals": terminals(wiring), "wires": wires_table(design), "test-points": test_points(design, is_live=False), "test-points-live": test_points(design, is_live=True), "pins": pins(wiring), "relays": relays(design, wiring),
        "parts": parts(design, wiring, prices), "board-rules": board_rules(design),
    }


def as_csv(table: Table) -> str:
    """Return a table as CSV (RFC 4180), its head first."""
    text = StringIO()
    rows = writer(text)
    rows.writerow(table.head)
    rows.writerows(table.rows)
    return text.getvalue()


def cables(wiring: Wiring) -> Table:
    """Return every cable with section, length and colours."""
    return Table("Cables", ("Cable", "From", "To", "Section", "Length", "Cores: what, colour", "Voltage"), tuple(
        (cable.mark, cable.start, cable.end, show(cable.section, "m2"),
         UNKNOWN if cable.length is None else show(cable.length, "m"),
         ", ".join(f"{core.role} {core.colour}" for core in cable.cores), "mains" if cable.mains else "extra-low")
        for cable in wiring.cables
    ))


def terminals(wiring: Wiring) -> Table:
    """Return every terminal with what is on it and the core that comes to it."""
    return Table("Terminals", ("Terminal", "On it", "Cable", "Colour", "Section"), tuple(
        (terminal.mark, terminal.potential, terminal.cable, terminal.colour, show(terminal.section, "m2"))
        for terminal in wiring.terminals
    ))


def wires_table(design: Design) -> Table:
    """Return every wire in the box with its section, colour, ferrule and torque."""
    return Table("Wires in the box", ("Net", "From", "To", "How", "Section", "Colour", "About", "Ferrule", "Torque"), tuple(
        (wire.net, wire.start, wire.end, wire.way, show(wire.section, "m2"), wire.colour, "-" if wire.length is None else show(wire.length, "m"),
         "-" if wire.sleeve is None else f"{1e3 * wire.sleeve:.0f} mm", "-" if wire.torque is None else f"{wire.torque:g} N m")
        for wire in wires(design)))


def test_points(design: Design, *, is_live: bool) -> Table:
    """Return what a meter reads where, at extra-low voltage or at mains."""
    return Table("Test points at mains, live" if is_live else "Test points at extra-low voltage", ("Point", "Net", "Probe at", "Against", "Expect"), tuple(
        (point.mark, point.net, point.at, point.reference, "; ".join(reading.words for reading in point.readings))
        for point in points_of(design) if point.is_live is is_live))


def pins(wiring: Wiring) -> Table:
    """Return every wire at the board."""
    return Table("Pins", ("Pin", "GPIO", "Wire", "Goes to"), tuple(
        (wire.pin, "-" if wire.gpio is None else str(wire.gpio), wire.name, wire.goes_to) for wire in wiring.pins
    ))


def relays(design: Design, wiring: Wiring) -> Table:
    """Return every relay with what it switches and the settings of its channel."""
    plan = {channel["key"]: channel for channel in design.plan["channels"]}
    rows = []
    for place, relay in enumerate(wiring.relays):
        channel = plan[relay.channel]
        levels = [str(level) for level, mask in enumerate(channel["masks"]) if mask >> place & 1]
        waits = [f"{words} {show(channel[key] / 1000, 's')}" for key, words in (
            ("dead_ms", "all open between steps"), ("minimum_off_ms", "off at least"),
            ("restore_delay_ms", "waits after a power cut"), ("kick_ms", "start kick")) if channel[key]]
        way = "straight through" if relay.capacitor is None else f"through {show(relay.capacitor, 'F')}"
        rows.append((relay.mark, relay.part, relay.name, relay.feed, relay.pin, way, "at step " + ", ".join(levels) if len(channel["masks"]) > 2 else "on",
                     channels(design)[relay.channel].restore, "; ".join(waits) or "-"))
    return Table("Relays and their settings", ("Relay", "Part", "Channel", "Feed", "Pin", "Contact", "Closed", "After a power cut", "Waits"), tuple(rows))


def parts(design: Design, wiring: Wiring, prices: Prices | None = None) -> Table:
    """Return the parts list, with a price for each and their sum where a person's price file knows some."""
    head = ("Part", "What", "Designators", "How many", "Spare", "Ratings", "Why this one", "Second choice")
    lines = parts_list(design, wiring)
    rows = tuple((line.part, line.what, line.marks or "-", f"{line.count} {line.unit}".strip(), str(line.spare or "-"), line.ratings or "-", _reason(design, line.why), line.second or "-") for line in lines)
    if prices is None or not prices.parts:
        return Table("Parts list", head, rows)
    known = [line for line in lines if line.part in prices.parts]
    money = tuple((_money(prices.parts[line.part]), _money(line.count * prices.parts[line.part])) if line in known else (NO_PRICE, NO_PRICE)
                  for line in lines)
    total = _money(sum((line.count * prices.parts[line.part] for line in known), Decimal(0)))
    last = ("Sum", f"of {counted(len(known), 'line')}; {counted(len(lines) - len(known), 'has', 'have')} no price", *("-",) * 7, total)
    return Table("Parts list", (*head, f"Each, {prices.currency}", f"Sum, {prices.currency}"),
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


def _money(amount: Decimal) -> str:
    return f"{amount:.2f}"


def board_rules(design: Design) -> Table:
    """Return what a board layout has to keep: distances, slots, track widths."""
    rows = []
    for finding in design.findings:
        question, _, thing = finding.id.partition(".")
        if question == "board_distance":
            creepage = next(given.figure for given in finding.inputs if given.name == "creepage needed")
            rows.append((f"between {finding.question.partition('keep ')[2].rstrip('?')}",
                         f"{_shown(finding.limit)} through air, {_shown(creepage)} over surface", finding.corner, finding.change[-1]))
        elif question == "track":
            name = channels(design)[thing].name
            rows.append((f"tracks of {name}", f"at least {_shown(finding.value)} wide", finding.corner, finding.detail))
        elif question == "track_fault" and finding.value is not None:
            rows.append((f"tracks of feed {thing} up to the contacts", f"at least {_shown(finding.value)} wide", finding.corner, finding.detail))
    return Table("Rules for a board layout", ("Where", "Keep", "Condition", "Also"), tuple(rows))


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
