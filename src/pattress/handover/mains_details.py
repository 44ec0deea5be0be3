"""Detail schematics at mains, with values: fuse and varistor of the supply, snubbers, and the regulator of each fan."""

from collections.abc import Iterator, Sequence

from pattress.design import Design
from pattress.drawing.box import Box
from pattress.drawing.lettering import LEADING
from pattress.drawing.look import NAME
from pattress.drawing.sheet import MARGIN, SIZE, Drawing, wrapped
from pattress.handover.colours import Practice
from pattress.handover.parts import named_part, ratings
from pattress.handover.symbols import draw
from pattress.handover.wiring import LINE, NEUTRAL, Relay, Wiring, channels, finding_of
from pattress.quantity import show
from pattress.stock.parts import Part

WIDTH = 940.0
STEP = LEADING * SIZE
LEFT, BRANCH, AFTER, WORDS = 150.0, 300.0, 420.0, 560.0       # supply and snubbers
BUS, CONTACT, DAMPING, CAPACITOR, JOIN, FAN = 60.0, 90.0, 210.0, 350.0, 470.0, 520.0     # a regulator
STEPS = 640.0                    # where the words of a regulator stand


def mains_details(design: Design, wiring: Wiring, cautions: Sequence[str]) -> tuple[Drawing, ...]:
    """Return the sheet of supply and snubbers, then one for each fan whose steps are capacitors."""
    fans = [key for key in design.job.fan if any(relay.capacitor is not None for relay in wiring.relays_of(key))]
    return (_protection(design, wiring, cautions), *(_regulator(design, wiring, key, cautions) for key in fans))


def _start(design: Design, words: str) -> tuple[Drawing, float]:
    sheet = Drawing(f"{design.job.job.title}: {words}", WIDTH)
    return sheet, sheet.head()


def _protection(design: Design, wiring: Wiring, cautions: Sequence[str]) -> Drawing:
    sheet, top = _start(design, "details at mains, supply and snubbers")
    y = _supply(sheet, design, wiring, top + 10)
    for place, (snubber, relays) in enumerate(_snubbers(wiring).items()):
        y = _snubber(sheet, wiring, snubber, relays, place, y + 20)
    if not _snubbers(wiring):
        sheet.text(MARGIN, y + 20, "No contact of this design wants a snubber.")
    return sheet.finish(["A varistor ages with every surge: it stands behind the fuse, and is taken out before an insulation test.", *cautions])


def _supply(sheet: Drawing, design: Design, wiring: Wiring, y: float) -> float:
    practice, line, branch, neutral = wiring.colours.practice, y + 60, y + 102, y + 144
    incoming = {terminal.role: terminal.mark for terminal in wiring.terminals_of(f"feed.{wiring.supplied_by}")}
    sheet.text(MARGIN, y + 10, "Supply of the controller", bold=True)
    for role, level in ((LINE, line), (NEUTRAL, neutral)):
        sheet.text(MARGIN, level + 4, f"{incoming[role]} {role}")
    sheet.wire("line", (120, line), (LEFT, line))
    end = draw(sheet, "fuse", "fuse", LEFT, line, practice)
    sheet.wire("fused", (end, line), (AFTER, line))
    sheet.wire("neutral", (120, neutral), (AFTER, neutral))
    sheet.block("T1", Box(AFTER, line - 20, AFTER + 80, neutral + 20))
    sheet.text(AFTER + 40, (line + neutral) / 2 + 4, "T1", anchor="middle", inside="T1", size=NAME)
    fuse, varistor = (named_part(design, finding_of(design, f"{kind}.controller"), kind) for kind in ("fuse", "varistor"))
    lines = [f"T1: {design.chosen.supply.part.designation}", f"Fuse: {_told(fuse)}"]
    if varistor:
        sheet.joint(BRANCH - 20, line)
        sheet.joint(BRANCH + 64, neutral)
        sheet.wire("fused", (BRANCH - 20, line), (BRANCH - 20, branch), (BRANCH, branch))
        sheet.symbol("varistor", Box(BRANCH, branch - 12, BRANCH + 44, branch + 12),
                     "M0 0H10M34 0H44M10 -6h24v12h-24zM6 12H14L30 -12", x=BRANCH, y=branch)
        sheet.wire("neutral", (BRANCH + 44, branch), (BRANCH + 64, branch), (BRANCH + 64, neutral))
    lines.append(f"Varistor, line to neutral behind the fuse: {_told(varistor)}")
    return max(neutral + 30, sheet.lines(WORDS, line - 10, [part for words in lines for part in wrapped(words, WIDTH - WORDS - MARGIN)]))


def _told(part: Part | None) -> str:
    return f"{part.designation}, {ratings(part)}" if part else "none in stock"


def _snubbers(wiring: Wiring) -> dict[tuple[float, float], list[Relay]]:
    """Return the relays by the snubber across their contact."""
    found: dict[tuple[float, float], list[Relay]] = {}
    for relay in wiring.relays:
        if relay.snubber:
            found.setdefault(relay.snubber, []).append(relay)
    return found


def _snubber(sheet: Drawing, wiring: Wiring, snubber: tuple[float, float], relays: list[Relay], place: int, y: float) -> float:
    practice, level, below = wiring.colours.practice, y + 60, y + 96
    capacitance, resistance = snubber
    sheet.text(MARGIN, y + 10, f"Snubber {show(resistance, 'ohm')} and {show(capacitance, 'F')} across a contact", bold=True)
    sheet.text(MARGIN, level + 4, LINE)
    sheet.wire(f"line {place}", (60, level), (LEFT, level))
    end = draw(sheet, "contact", f"contact {place}", LEFT, level, practice)
    sheet.wire(f"load {place}", (end, level), (360, level))
    sheet.text(368, level + 4, "to the load")
    sheet.joint(LEFT - 20, level)
    sheet.wire(f"line {place}", (LEFT - 20, level), (LEFT - 20, below), (LEFT, below))
    middle = draw(sheet, "resistor", f"snubber resistor {place}", LEFT, below, practice)
    sheet.wire(f"between {place}", (middle, below), (middle + 40, below))
    end = draw(sheet, "capacitor", f"snubber capacitor {place}", middle + 40, below, practice)
    sheet.wire(f"load {place}", (end, below), (end + 20, below), (end + 20, level))
    sheet.joint(end + 20, level)
    sheet.text(LEFT, below + 24, show(resistance, "ohm"))
    sheet.text(middle + 40, below + 24, f"{show(capacitance, 'F')} X2")
    words = [f"{relay.mark}: {relay.name}" for relay in relays]
    return max(below + 30, sheet.lines(WORDS, level - 10, [line for text in words for line in wrapped(text, WIDTH - WORDS - MARGIN)]))


def _regulator(design: Design, wiring: Wiring, key: str, cautions: Sequence[str]) -> Drawing:
    fan, relays, practice = channels(design)[key], wiring.relays_of(key), wiring.colours.practice
    sheet, top = _start(design, f"details at mains, regulator of {fan.name}")
    y, rows = top + 50, []
    for relay in relays:
        rows.append(y)
        _row(sheet, relay, y, practice)
        y += 96 if relay.bleed or relay.snubber else 60
    sheet.wire("line", (BUS, rows[0]), (BUS, rows[-1]))
    sheet.wire("fan", (JOIN, rows[0]), (JOIN, rows[-1]))
    for row in rows[1:-1]:
        sheet.joint(BUS, row)
        sheet.joint(JOIN, row)
    sheet.wire("line", (MARGIN + 12, rows[0]), (BUS, rows[0]))
    sheet.text(MARGIN, rows[0] + 4, LINE)
    sheet.wire("fan", (JOIN, rows[0]), (FAN, rows[0]))
    end = draw(sheet, "motor", "motor", FAN, rows[0], practice)
    sheet.wire("neutral", (end, rows[0]), (end + 20, rows[0]))
    sheet.text(end + 24, rows[0] + 4, NEUTRAL)
    for row in rows[:1] if len(rows) > 1 else ():
        sheet.joint(BUS, row)
        sheet.joint(JOIN, row)
    sheet.lines(STEPS, rows[0] - 4, [line for words in _steps(design, wiring, key) for line in wrapped(words, WIDTH - STEPS - MARGIN)])
    return sheet.finish([*_bearing(design, relays), "The run capacitor of the fan is in the fan and stays there. A change of step opens every contact first, so that no set of capacitors meets another.",
                         *cautions])


def _row(sheet: Drawing, relay: Relay, y: float, practice: Practice) -> None:
    """Draw one contact with what stands behind it, from the line at the left to the fan at the right."""
    sheet.wire("line", (BUS, y), (CONTACT, y))
    end = draw(sheet, "contact", f"contact {relay.mark}", CONTACT, y, practice)
    sheet.text(CONTACT, y - 20, relay.mark, bold=True)
    at = f"after {relay.mark}"
    if relay.capacitor is None:
        sheet.wire("fan", (end, y), (JOIN, y))
        if relay.snubber:
            _parallel(sheet, relay, relay.snubber, y, practice)
        return
    if relay.damping is not None:
        sheet.wire(at, (end, y), (DAMPING, y))
        end = draw(sheet, "resistor", f"damping {relay.mark}", DAMPING, y, practice)
        sheet.text(DAMPING, y - 16, show(relay.damping, "ohm"))
        at = f"damped {relay.mark}"
    sheet.wire(at, (end, y), (CAPACITOR, y))
    end = draw(sheet, "capacitor", f"capacitor {relay.mark}", CAPACITOR, y, practice)
    sheet.text(CAPACITOR, y - 16, show(relay.capacitor, "F"))
    sheet.wire("fan", (end, y), (JOIN, y))
    if relay.bleed:
        piece, pieces = relay.bleed
        below = y + 30
        sheet.joint(CAPACITOR - 20, y)
        sheet.joint(end + 20, y)
        sheet.wire(at, (CAPACITOR - 20, y), (CAPACITOR - 20, below), (CAPACITOR, below))
        draw(sheet, "resistor", f"bleed {relay.mark}", CAPACITOR, below, practice)
        sheet.wire("fan", (end, below), (end + 20, below), (end + 20, y))
        sheet.text(CAPACITOR - 40, below + 22, f"{pieces} x {show(piece, 'ohm')} in series")


def _parallel(sheet: Drawing, relay: Relay, snubber: tuple[float, float], y: float, practice: Practice) -> None:
    capacitance, resistance = snubber
    below = y + 30
    sheet.joint(CONTACT - 14, y)
    sheet.joint(CONTACT + 122, y)
    sheet.wire("line", (CONTACT - 14, y), (CONTACT - 14, below), (CONTACT, below))
    middle = draw(sheet, "resistor", f"snubber resistor {relay.mark}", CONTACT, below, practice)
    sheet.wire(f"snubber {relay.mark}", (middle, below), (middle + 20, below))
    end = draw(sheet, "capacitor", f"snubber capacitor {relay.mark}", middle + 20, below, practice)
    sheet.wire("fan", (end, below), (CONTACT + 122, below), (CONTACT + 122, y))
    sheet.text(CONTACT, below + 22, f"{show(resistance, 'ohm')}, {show(capacitance, 'F')} X2")


def _steps(design: Design, wiring: Wiring, key: str) -> Iterator[str]:
    """Yield which relays close at each step, and for how long all are open between."""
    channel = next(channel for channel in design.plan["channels"] if channel["key"] == key)
    for level, mask in enumerate(channel["masks"]):
        closed = [relay.mark for place, relay in enumerate(wiring.relays) if mask >> place & 1]
        yield f"Step {level}: {' + '.join(closed) or 'all open'}"
    if channel["dead_ms"]:
        yield f"Between steps all are open for {show(channel['dead_ms'] / 1000, 's')}."
    if channel["kick_ms"]:
        yield f"Starts straight through for {show(channel['kick_ms'] / 1000, 's')}."


def _bearing(design: Design, relays: Sequence[Relay]) -> Iterator[str]:
    """Yield what the parts of a regulator must bear."""
    branches = design.results["fitted"].branches[relays[0].channel]
    yield from dict.fromkeys(f"Each damping resistor {branch.damping_rating}." for branch in branches if branch.damping is not None)
    yield from dict.fromkeys(f"Each bleed resistor of {show(branch.bleed.piece, 'ohm')} {branch.bleed.rating}." for branch in branches if branch.bleed)
