"""The single-line diagram: from the incoming supply through devices and controller to every load.

One row for each load, grouped by feed, so that no two lines cross. A row is as high as its words;
what cannot be read on one sheet goes on to the next, each beginning at the supply.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from pattress.design import Design
from pattress.designators import device_designator
from pattress.drawing.box import Box
from pattress.drawing.lettering import LEADING
from pattress.drawing.sheet import MARGIN, SIZE, Drawing, wrapped
from pattress.handover.colours import Practice
from pattress.handover.legible import numbered, over_sheets
from pattress.handover.schedules import UNKNOWN, value_of
from pattress.handover.symbols import OF_LOAD, draw
from pattress.handover.wiring import Cable, Relay, Wiring, channels, finding_of, used_feeds
from pattress.job.model import Fan, Load
from pattress.quantity import show

WIDTH = 1180.0
BAR, DEVICE, FEED_CABLE, BOX_LEFT, BUS, CONTACT, BOX_RIGHT, RUN, LOAD, NAME = 150, 170, 330, 470, 490, 510, 730, 750, 880, 935
TOP, GAP = 96.0, 16.0
STEP = LEADING * SIZE


@dataclass(frozen=True, slots=True)
class Row:
    """What one row draws in the controller and behind it; words above and below its line."""

    key: str
    symbol: str
    relays: str
    contact_above: tuple[str, ...]
    contact_below: tuple[str, ...]
    cable: Cable | None
    name: tuple[str, ...]

    @property
    def over(self) -> float:
        """Return the room above the line."""
        return max(20.0, 8 + STEP * max(len(self.contact_above), 2, (len(self.name) + 1) // 2))

    @property
    def under(self) -> float:
        """Return the room below the line."""
        return max(18.0, 8 + STEP * max(len(self.contact_below), 1, len(self.name) // 2 + 1))


Line = tuple[str, Row | None]            # a feed's key with one of its rows, None for a feed that feeds nothing


def single_line(design: Design, wiring: Wiring, cautions: Sequence[str]) -> tuple[Drawing, ...]:
    """Return the single-line diagram of a design, on as many sheets as it takes to be read."""
    feeds = [key for key in design.job.feed if key in used_feeds(design)] or list(design.job.feed)
    lines: list[Line] = []
    for key in design.job.feed:
        rows = _rows(design, wiring, key) if key in feeds else []
        lines += [(key, row) for row in rows] or [(key, None)]
    return over_sheets(lines, lambda some, number, of: _sheet(design, wiring, lines, some, numbered("single-line diagram", number, of), cautions))


def _sheet(design: Design, wiring: Wiring, lines: Sequence[Line], some: Sequence[Line], words: str, cautions: Sequence[str]) -> Drawing:
    """Draw some of all lines; a feed whose first row is on another sheet is said to go on."""
    sheet = Drawing(f"{design.job.job.title}: {words}", WIDTH)
    y = sheet.head() + 4
    top, y = y, y + TOP - 40
    taps = []
    for key in dict.fromkeys(key for key, _ in some):
        rows = [row for other, row in some if other == key and row]
        goes_on = next(row for other, row in lines if other == key) not in (*rows, None)
        before = [*wrapped(_device_words(design, key), FEED_CABLE - DEVICE - 14)]
        y += max([rows[0].over if rows else 20.0, 12 + STEP * len(before)])
        taps.append(y)
        y = _feed(sheet, design, wiring, key, rows, y, before, goes_on) + GAP
    sheet.zone(Box(BOX_LEFT, top, BOX_RIGHT, y - GAP + 8))
    sheet.text(BOX_LEFT + 8, top + 16, "controller", bold=True)
    sheet.wire("supply", (BAR, taps[0]), (BAR, taps[-1] + 30), thick=True)
    _supply(sheet, design, taps[0])
    notes = [f"Symbols and colours: {wiring.colours.practice}. {wiring.colours.note}",
             "Sections and lengths are those of the job file, currents the worst the design reckons with. "
             "The devices in the controller switch; they do not isolate.", *cautions]
    return sheet.finish(notes)


def _supply(sheet: Drawing, design: Design, y: float) -> None:
    supply = design.job.supply
    fault = UNKNOWN if isinstance(supply.fault_current, str) else show(supply.fault_current, "A")
    loop = UNKNOWN if isinstance(supply.loop_impedance, str) else show(supply.loop_impedance, "ohm")
    words: tuple[str, ...] = ("supply", str(supply.system), f"+/- {show(supply.tolerance, '%')}", supply.earthing, "fault current, largest", fault,
             "loop, largest", loop)
    if supply.may_be_tt:
        words += ("electrode", UNKNOWN if isinstance(supply.earth_electrode, str) else show(supply.earth_electrode, "ohm"))
    sheet.wire("supply", (MARGIN, y), (BAR, y), thick=True)
    sheet.joint(BAR, y)
    room = BAR - MARGIN - 10
    lines = [line for text in words for line in wrapped(text, room)]
    sheet.above(MARGIN, y, lines[:1], bold=True)
    sheet.below(MARGIN, y + 2, lines[1:])


def _device_words(design: Design, key: str) -> str:
    device = design.job.feed[key].device
    capacity = "" if isinstance(device.breaking_capacity, str) else f" {show(device.breaking_capacity, 'A')}"
    curve = "curve ?" if device.curve == "unknown" else device.curve
    return f"{device_designator(design.job.feed, key)} {curve} {show(device.rating, 'A')}{capacity}"


def _residual_words(design: Design, key: str) -> str:
    residual = design.job.feed[key].residual_current_device
    if isinstance(residual, str):
        return f"RCD {'none' if residual == 'none' else UNKNOWN}"
    return f"RCD {show(residual.rating, 'A')} type {residual.type}"


def _feed(sheet: Drawing, design: Design, wiring: Wiring, key: str, rows: list[Row], y: float,
          before: list[str], goes_on: bool) -> float:
    """Draw a feed at y and its rows from there on; return where it ends."""
    feed, net, practice = design.job.feed[key], f"feed {key}", wiring.colours.practice
    sheet.wire("supply", (BAR, y), (DEVICE, y))
    combined = feed.device.kind.startswith("combined")
    kind = "breaker and residual" if combined else "fuse" if feed.device.kind == "fuse" else "breaker"
    end = draw(sheet, kind, device_designator(design.job.feed, key), DEVICE, y, practice)
    if not combined and not isinstance(feed.residual_current_device, str):
        sheet.wire(net, (end, y), (end + 8, y))
        end = draw(sheet, "residual", f"RCD {key}", end + 8, y, practice)
    sheet.above(DEVICE, y - 14, before)
    below = [*wrapped(_residual_words(design, key), FEED_CABLE - DEVICE - 14), *wrapped(f"feed {key}{', continued' if goes_on else ''}", FEED_CABLE - DEVICE - 14)]
    sheet.below(DEVICE, y + 12, below)
    cable = wiring.cable(f"feed.{key}")
    cable_below = [cable.colours]
    if feed.other_current:
        cable_below += wrapped(f"also on it: {show(feed.other_current, 'A')}", BOX_LEFT - FEED_CABLE - 10)
    sheet.above(FEED_CABLE, y, _cable_words(cable))
    sheet.below(FEED_CABLE, y, cable_below)
    own = 24 + STEP * max(len(below), len(cable_below))
    if not rows:
        sheet.wire(net, (end, y), (BOX_LEFT - 8, y))
        return y + own
    sheet.wire(net, (end, y), (BUS, y))
    at, lines = y, []
    for place, row in enumerate(rows):
        at += row.over if place else 0.0
        lines.append(at)
        _row(sheet, design, row, at, net, practice)
        at += row.under
    sheet.wire(net, (BUS, y), (BUS, lines[-1]))
    for line in lines[:-1]:
        sheet.joint(BUS, line)
    return max(at, y + own)


def _row(sheet: Drawing, design: Design, row: Row, y: float, net: str, practice: Practice) -> None:
    sheet.wire(net, (BUS, y), (CONTACT, y))
    end = draw(sheet, "contact" if row.cable else "fuse", f"{row.relays} at {row.key}", CONTACT, y, practice)
    sheet.lines(end + 8, y - 5 - (len(row.contact_above) - 1) * STEP, row.contact_above)
    sheet.below(end + 8, y, row.contact_below)
    load = f"load {row.key}"
    if row.cable is None:
        sheet.wire(load, (end, y), (LOAD, y))
    else:
        sheet.wire(load, (end, y), (LOAD, y))
        sheet.above(RUN, y, _cable_words(row.cable))
        sheet.below(RUN, y, [row.cable.colours])
    draw(sheet, row.symbol, load, LOAD, y, practice)
    sheet.lines(NAME, y - (len(row.name) - 1) * STEP / 2 + 4, row.name)


def _rows(design: Design, wiring: Wiring, feed: str) -> list[Row]:
    rows = []
    room, name_room = BOX_RIGHT - CONTACT - 44 - 16, WIDTH - NAME - MARGIN
    if feed == wiring.supplied_by:
        supply, fuse = design.chosen.supply.part, finding_of(design, "fuse.controller")
        rows.append(Row("supply", "supply", "fuse", wrapped("fuse of the 5 V supply", room), wrapped(fuse.detail if fuse else "", room), None,
                        wrapped(f"T1 {supply.designation}: 5 V for board and coils", name_room)))
    for key, channel in channels(design).items():
        if channel.feed == feed:
            relays = wiring.relays_of(key)
            part = design.chosen.relays[key].part
            marks = " ".join(relay.mark for relay in relays)
            rated = part.known("rated_current")
            above = wrapped(f"{marks} {part.designation}", room)
            below = wrapped(f"{show(rated, 'A') if rated else ''}{_network(relays)}", room)
            rows.append(Row(key, "motor" if isinstance(channel, Fan) else OF_LOAD[channel.kind], marks, above, below, wiring.cable(key),
                            (*wrapped(channel.name, name_room), *wrapped(_load_words(design, key, channel), name_room))))
    return rows


def _cable_words(cable: Cable) -> list[str]:
    length = [] if cable.length is None else [show(cable.length, "m")]
    return [f"{cable.mark} {show(cable.section, 'm2')}", *length]


def _network(relays: Iterable[Relay]) -> str:
    values = [show(relay.capacitor, "F") for relay in relays if relay.capacitor is not None]
    return f"; through {', '.join(values)} or straight" if values else ""


def _load_words(design: Design, key: str, channel: Load | Fan) -> str:
    current = value_of(design, f"contacts.{key}")
    if isinstance(channel, Fan):
        return f"fan {show(channel.power, 'W')}, {current} at most"
    count = f"{channel.count} x " if channel.count > 1 else ""
    return f"{channel.kind}, {count}{show(channel.power, 'W')}, {current} at most"
