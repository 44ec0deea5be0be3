"""The wiring diagrams of the controller: one of what comes in, one for each feed of what goes out.

Extra-low voltage is at the left, mains at the right, the barrier between them. A relay is drawn
apart: its coil left of the barrier, its contact right of it, both with its mark. A feed with many
relays takes several sheets, each beginning at the feed's own terminals. The board is
drawn by function; where its pins lie is in the picture of the board.
"""

from collections.abc import Sequence

from pattress.design import Design
from pattress.drawing import look
from pattress.drawing.box import Box
from pattress.drawing.lettering import LEADING
from pattress.drawing.sheet import MARGIN, SIZE, Drawing, wrapped
from pattress.handover.colours import Practice
from pattress.handover.legible import numbered, over_sheets
from pattress.handover.parts import input_resistor
from pattress.handover.schedules import limit_of, value_of
from pattress.handover.sensed_lines import draw_sensed, note, sensed
from pattress.handover.symbols import draw
from pattress.handover.wiring import LINE, MAINS_IN, NEUTRAL, NO_PIN, PROTECTIVE, SWITCHED, Cable, Relay, Terminal, Wiring, channels, device_of, used_feeds
from pattress.quantity import show
from pattress.sizing.drive import pull_down
from pattress.sizing.sensing import SERIES

WIDTH = 1180.0
STEP = LEADING * SIZE
BOARD, BOARD_END, GATE, DRIVER, COIL, RAIL = 20, 130, 160, 222, 300, 362     # outputs, extra-low voltage
BARRIER, BARRIER_END = 392, 408
BUS, CONTACT, SERIES_R, CAPACITOR, JOIN, TERMINAL, AFTER = 430, 450, 560, 660, 740, 800, 822
NAME, LOW_TERMINAL, RESISTOR, INPUTS, INPUTS_END = 20, 330, 430, 580, 700    # inputs


def controller_wiring(design: Design, wiring: Wiring, cautions: Sequence[str]) -> tuple[Drawing, ...]:
    """Return the diagrams of the inputs and the supply, then those of each feed with its relays."""
    cables = [cable for cable in wiring.cables if not cable.mains]
    inputs = over_sheets(cables, lambda some, number, of: _inputs(design, wiring, some, number, of, cautions)) or (
        _inputs(design, wiring, (), 1, 1, cautions),)
    return (*inputs, *(drawing for feed in used_feeds(design) for drawing in _feed(design, wiring, feed, cautions)))


def _feed(design: Design, wiring: Wiring, feed: str, cautions: Sequence[str]) -> tuple[Drawing, ...]:
    members = [key for key, channel in channels(design).items() if channel.feed == feed]
    return over_sheets(members, lambda some, number, of: _outputs(
        design, wiring, feed, some, numbered(f"controller, outputs on feed {feed}", number, of), cautions))


def _start(design: Design, what: str) -> tuple[Drawing, float]:
    sheet = Drawing(f"{design.job.job.title}: {what}", WIDTH)
    return sheet, sheet.head()


def _barrier_words(design: Design) -> str:
    return (f"The hatched barrier: at least {limit_of(design, 'board_distance.mains_to_touchable')} through air between everything left of it "
            "and everything right of it; no wire crosses it, no cable holds cores of both sides.")


def _outputs(design: Design, wiring: Wiring, feed: str, members: Sequence[str], words: str, cautions: Sequence[str]) -> Drawing:
    sheet, top = _start(design, words)
    sheet.text(BOARD, top + 4, "extra-low voltage", bold=True)
    sheet.text(BUS, top + 4, "mains", bold=True)
    line, net, practice = top + 40, f"L of {feed}", wiring.colours.practice
    incoming = {terminal.role: terminal for terminal in wiring.terminals_of(f"feed.{feed}")}
    _terminal(sheet, incoming[LINE], line, f"{incoming[LINE].cable} {incoming[LINE].colour} {show(incoming[LINE].section, 'm2')} from {device_of(design, feed)}", practice)
    sheet.wire(net, (BUS, line), (TERMINAL, line))
    y = line + 22
    rows: list[float] = []
    for key in members:
        y = _channel(sheet, design, wiring, key, y, rows, net)
    sheet.wire(net, (BUS, line), (BUS, rows[-1]))
    sheet.wire("5 V", (RAIL, rows[0]), (RAIL, rows[-1]))
    for row in rows[:-1]:
        sheet.joint(BUS, row)
        sheet.joint(RAIL, row)
    sheet.text(RAIL, rows[0] - 20, "5 V", anchor="middle")
    sheet.wire("5 V", (RAIL, rows[0] - 16), (RAIL, rows[0]))
    board = f"board {feed}"
    sheet.block(board, Box(BOARD, rows[0] - 36, BOARD_END, rows[-1] + 14 + (y - rows[-1] + 66 * len(sensed(design, members)) if sensed(design, members) else 0)))
    sheet.text(BOARD + 6, rows[0] - 22, "A1 board", bold=True, inside=board)
    pins = [relay.pin for key in members for relay in wiring.relays_of(key)]
    for row, pin in zip(rows, pins, strict=True):
        sheet.text(BOARD_END - 6, row + 4, wrapped(pin, BOARD_END - BOARD - 12)[0], anchor="end", inside=board)
    y, across = draw_sensed(sheet, design, wiring, members, y, board=BOARD_END, terminal=TERMINAL)
    for role in (NEUTRAL, PROTECTIVE):
        y = _joined(sheet, wiring, incoming[role], [t for key in members for t in wiring.terminals_of(key) if t.role == role], design, y)
    for above, below in zip([top - 8, *(box.bottom for box in across)], [*(box.top for box in across), y], strict=True):
        sheet.zone(Box(BARRIER, above, BARRIER_END, below), barrier=True)
    what, resistance = input_resistor(design)
    return sheet.finish([
        f"Driver: {design.chosen.driver.part.designation}, one channel for each relay; {what} {show(resistance, 'ohm')}, "
        f"pull-down {show(pull_down(design.chosen.driver.part, design.board), 'ohm')} from each input to 0 V; a diode across every coil, cathode at 5 V.",
        *note(design, members), "Terminals of one feed that are joined are drawn one under the other. Neutrals of different feeds stay apart.",
        _barrier_words(design), wiring.colours.note, *cautions])


def _channel(sheet: Drawing, design: Design, wiring: Wiring, key: str, y: float, rows: list[float], net: str) -> float:
    """Draw the relays of a channel from y on, note their lines in `rows`; return where they end."""
    relays, practice = wiring.relays_of(key), wiring.colours.practice
    out = next(terminal for terminal in wiring.terminals_of(key) if terminal.role == SWITCHED)
    lines = []
    for relay in relays:
        y += 22 + STEP
        lines.append(y)
        _low_side(sheet, design, relay, y, practice)
        _contact(sheet, relay, y, net, f"out {key}", practice)
        y += 56 if relay.bleed or relay.snubber else 16
    rows += lines
    words = f"{out.cable} {out.colour} {show(out.section, 'm2')} to {channels(design)[key].name}"
    if len(relays) > 1:
        sheet.wire(f"out {key}", (JOIN, lines[0]), (JOIN, lines[-1]))
        for line in lines[1:-1]:
            sheet.joint(JOIN, line)
        sheet.joint(JOIN, lines[0])
    sheet.wire(f"out {key}", (JOIN, lines[0]), (TERMINAL, lines[0]))
    return max(y, _terminal(sheet, out, lines[0], words, practice))


def _low_side(sheet: Drawing, design: Design, relay: Relay, y: float, practice: Practice) -> None:
    sheet.wire(f"pin {relay.mark}", (BOARD_END, y), (GATE, y))
    end = draw(sheet, "resistor", f"gate resistor of {relay.mark}", GATE, y, practice)
    sheet.wire(f"gate {relay.mark}", (end, y), (DRIVER, y))
    driver = f"driver of {relay.mark}"
    sheet.block(driver, Box(DRIVER, y - 12, DRIVER + 52, y + 12))
    sheet.text(DRIVER + 26, y + 4, f"Q{relay.mark[1:]}", anchor="middle", inside=driver)
    sheet.wire(f"drain {relay.mark}", (DRIVER + 52, y), (COIL, y))
    end = draw(sheet, "coil", f"coil {relay.mark}", COIL, y, practice)
    sheet.text(COIL + 22, y - 16, relay.mark, anchor="middle")
    sheet.wire("5 V", (end, y), (RAIL, y))


def _contact(sheet: Drawing, relay: Relay, y: float, net: str, out: str, practice: Practice) -> None:
    sheet.wire(net, (BUS, y), (CONTACT, y))
    end = draw(sheet, "contact", f"contact {relay.mark}", CONTACT, y, practice)
    sheet.text(CONTACT, y - 18, wrapped(f"{relay.mark} {relay.part}", JOIN - CONTACT)[0] if relay.capacitor is None else relay.mark)
    if relay.snubber:
        capacitance, resistance = relay.snubber
        below, right = y + 24, CONTACT + 104
        sheet.joint(CONTACT - 8, y)
        sheet.joint(right, y)
        sheet.wire(net, (CONTACT - 8, y), (CONTACT - 8, below), (CONTACT, below))
        middle = draw(sheet, "resistor", f"snubber resistor {relay.mark}", CONTACT, below, practice)
        after = draw(sheet, "capacitor", f"snubber capacitor {relay.mark}", middle, below, practice)
        sheet.wire(out, (after, below), (right, below), (right, y))
        sheet.text(CONTACT, below + 22, f"{show(resistance, 'ohm')}, {show(capacitance, 'F')} X2")
    if relay.capacitor is None:
        sheet.wire(out, (end, y), (JOIN, y))
        return
    at = f"after {relay.mark}"
    if relay.damping is not None:
        sheet.wire(at, (end, y), (SERIES_R, y))
        end = draw(sheet, "resistor", f"damping {relay.mark}", SERIES_R, y, practice)
        sheet.text(SERIES_R, y - 14, show(relay.damping, "ohm"))
        at = f"damped {relay.mark}"
    sheet.wire(at, (end, y), (CAPACITOR, y))
    end = draw(sheet, "capacitor", f"capacitor {relay.mark}", CAPACITOR, y, practice)
    sheet.text(CAPACITOR, y - 14, show(relay.capacitor, "F"))
    sheet.wire(out, (end, y), (JOIN, y))
    if relay.bleed:
        below = y + 24
        sheet.joint(CAPACITOR - 8, y)
        sheet.joint(end + 8, y)
        sheet.wire(at, (CAPACITOR - 8, y), (CAPACITOR - 8, below), (CAPACITOR, below))
        draw(sheet, "resistor", f"bleed {relay.mark}", CAPACITOR, below, practice)
        sheet.wire(out, (end, below), (end + 8, below), (end + 8, y))
        sheet.text(CAPACITOR - 40, below + 22, f"{relay.bleed[1]} x {show(relay.bleed[0], 'ohm')}")


def _terminal(sheet: Drawing, terminal: Terminal, y: float, words: str, practice: Practice) -> float:
    """Draw a terminal of the mains side with its words at the right; return where they end."""
    draw(sheet, "terminal", terminal.mark, TERMINAL, y, practice)
    lines = wrapped(f"{terminal.mark} {words}", WIDTH - AFTER - MARGIN)
    return sheet.lines(AFTER, y + 4, lines)


def _joined(sheet: Drawing, wiring: Wiring, first: Terminal, others: list[Terminal], design: Design, y: float) -> float:
    """Draw terminals that are joined, the incoming one first; return where they end."""
    y += 14
    for place, terminal in enumerate((first, *others)):
        way = f"from {device_of(design, terminal.thing.partition('.')[2])}" if terminal is first else f"to {channels(design)[terminal.thing].name}"
        end = _terminal(sheet, terminal, y, f"{terminal.role}: {terminal.cable} {terminal.colour} {way}", wiring.colours.practice)
        if place < len(others):
            following = max(y + 18, end + 2)
            sheet.wire(terminal.potential, (TERMINAL + 5, y + 5), (TERMINAL + 5, following - 5))
            y = following
    return end + 4


def _inputs(design: Design, wiring: Wiring, cables: Sequence[Cable], number: int, of: int, cautions: Sequence[str]) -> Drawing:
    """Draw some cables at extra-low voltage; the first sheet has the supply, too."""
    sheet, top = _start(design, numbered("controller, inputs and supply" if number == 1 else "controller, inputs", number, of))
    practice = wiring.colours.practice
    sheet.text(NAME, top + 4, "extra-low voltage: switches, regulators, receiver, sensors", bold=True)
    pins = {wire.name: wire.pin for wire in wiring.pins}
    y, edge = top + 30, []
    for cable in cables:
        y += 10
        start, names = y, wrapped(f"{cable.end} ({cable.mark})", LOW_TERMINAL - NAME - 120)
        for place, terminal in enumerate(wiring.terminals_of(cable.thing), 1):
            y += 32
            sheet.text(LOW_TERMINAL - 8, y + 4, f"{terminal.role} {terminal.colour}", anchor="end")
            draw(sheet, "terminal", terminal.mark, LOW_TERMINAL, y, practice)
            sheet.text(LOW_TERMINAL + 14, y - 8, terminal.mark)
            wire = {"regulator": f"{cable.thing}.{place}"}.get(cable.thing.partition(".")[0], cable.thing)
            if terminal.role in ("0 V", "3.3 V"):
                sheet.wire(f"{terminal.mark}", (LOW_TERMINAL + 10, y), (INPUTS, y))
                edge.append((y, terminal.role))
                continue
            pull = None if cable.thing.startswith("infrared") else design.results["pull_ups"].get(cable.thing)       # a receiver has its own inside
            sheet.wire(terminal.mark, (LOW_TERMINAL + 10, y), (RESISTOR, y))
            end: float = RESISTOR
            if cable.thing.startswith(("switch", "regulator")):
                end = draw(sheet, "resistor", f"series {terminal.mark}", RESISTOR, y, practice)
            sheet.wire(f"in {terminal.mark}" if end > RESISTOR else terminal.mark, (end, y), (INPUTS, y))
            sheet.text(RESISTOR + 2, y - 12, f"pull-up {show(pull, 'ohm')}" if pull else "")
            edge.append((y, pins.get(wire, "")))
        y = max(y, sheet.lines(NAME, start + 32, names) - STEP)
    y += 30
    has_supply = number == 1
    board, bottom = "board", max(y, top + (260 if has_supply else 60))
    sheet.block(board, Box(INPUTS, top + 22, INPUTS_END, bottom))
    sheet.text(INPUTS + 8, top + 38, "A1 board", bold=True, inside=board)
    for at, pin in edge:
        sheet.text(INPUTS + 8, at + 4, wrapped(pin, INPUTS_END - INPUTS - 60)[0] if pin else "", inside=board)
    if has_supply:
        _supply(sheet, design, wiring, top, bottom)
    lamp = f"Status lamp at pin {pins['status']}, with its resistor. " if pins.get("status", NO_PIN) != NO_PIN else ""
    return sheet.finish([
        f"Switch inputs: {show(SERIES, 'ohm')} in series, pull-up to 3.3 V as written; contacts go to 0 V. {lamp}".strip(),
        *([_barrier_words(design)] if has_supply else []), "Where the sheet of a receiver module or sensor tells another order of wires, that sheet is right.", *cautions])


def _supply(sheet: Drawing, design: Design, wiring: Wiring, top: float, bottom: float) -> None:
    """Draw the supply across the barrier, right of the board."""
    practice, left, right, middle = wiring.colours.practice, 800, 880, top + 120
    incoming = {terminal.role: terminal for terminal in wiring.terminals_of(f"feed.{wiring.supplied_by}")}
    sheet.block("T1", Box(left, middle - 30, right, middle + 50))
    sheet.text((left + right) / 2, middle + 14, "T1", anchor="middle", inside="T1", size=look.NAME)
    sheet.zone(Box(832, top - 8, 848, middle - 30), barrier=True)
    sheet.zone(Box(832, middle + 50, 848, bottom), barrier=True)
    for y, rail in ((middle - 10, "5 V"), (middle + 30, "0 V")):
        sheet.wire(rail, (INPUTS_END, y), (left, y))
        sheet.text(INPUTS_END - 8, y + 4, rail, anchor="end", inside="board")
    sheet.lines(INPUTS_END + 8, middle + 68, [f"bulk {value_of(design, 'bulk.controller')}", "from 5 V to 0 V,", "at the board"])
    sheet.text(right - 20, top + 4, "mains", bold=True)
    fused = right + 60
    sheet.wire("fused", (right, middle - 10), (fused, middle - 10))
    end = draw(sheet, "fuse", "fuse of T1", fused, middle - 10, practice)
    sheet.wire("line", (end, middle - 10), (1040, middle - 10))
    sheet.wire("neutral", (right, middle + 30), (1040, middle + 30))
    for y, role in ((middle - 10, LINE), (middle + 30, NEUTRAL)):
        draw(sheet, "terminal", f"{incoming[role].mark} supply", 1040, y, practice)
        sheet.text(1056, y + 4, f"{incoming[role].mark} {role}")
    words = [f"T1: {design.chosen.supply.part.designation}", f"fuse and varistor: see parts list; L and N of {MAINS_IN}, feed {wiring.supplied_by}"]
    sheet.lines(right - 20, middle + 68, [line for text in words for line in wrapped(text, WIDTH - right)])
