"""Lines that are sensed: the optocoupler between a switched line and its neutral, drawn, listed and tested."""

from collections.abc import Iterator, Sequence

from pattress.design import Design
from pattress.drawing.box import Box
from pattress.drawing.lettering import LEADING
from pattress.drawing.sheet import SIZE, Drawing, wrapped
from pattress.handover.symbols import draw
from pattress.handover.wiring import NEUTRAL, SWITCHED, Wiring, channels
from pattress.quantity import show
from pattress.sizing.feedback import BLEED, PULL_UP, SETTLE, Circuit, circuit, low_most
from pattress.sizing.mains import mains_of
from pattress.sizing.sensing import high_least

LEFT, RIGHT, RESISTOR, NEXT = 378, 422, 560, 640      # of the optocoupler, across the barrier; of the two resistors
ABOVE, BELOW, ROW, STEP = 12, 34, 24, 66


def sensed(design: Design, members: Sequence[str]) -> tuple[str, ...]:
    """Return those of some channels whose lines are sensed."""
    return tuple(key for key in members if channels(design)[key].feedback != "none")


def circuit_of(design: Design) -> Circuit | None:
    """Return the sensing circuit of a design."""
    return circuit(design.results["parts"], design.board, mains_of(design.job))


def mark_of(design: Design, key: str) -> str:
    """Return the mark of a line's optocoupler, counted in the order of the job."""
    return f"U{1 + sensed(design, tuple(channels(design))).index(key)}"


def draw_sensed(sheet: Drawing, design: Design, wiring: Wiring, members: Sequence[str], y: float, *, board: float, terminal: float) -> tuple[float, list[Box]]:
    """Draw the sensing of some channels from y on, between the right edge of the board and the terminals; return its end and the optocouplers' boxes."""
    found, boxes, practice, pins = circuit_of(design), [], wiring.colours.practice, {wire.name: wire.pin for wire in wiring.pins}
    for key in sensed(design, members):
        y += STEP
        mark, below, name = mark_of(design, key), y + ROW, channels(design)[key].name
        box = Box(LEFT, y - ABOVE, RIGHT, y + BELOW)
        boxes.append(box)
        sheet.block(mark, box)
        sheet.text((LEFT + RIGHT) / 2, y + ROW / 2 + 4, mark, anchor="middle", inside=mark)
        sheet.wire(f"sensed {key}", (board, y), (LEFT, y))
        sheet.text(board - 6, y + 4, wrapped(pins[f"feedback.{key}"], board - 32)[0], anchor="end", inside=sheet_board(sheet))
        line, neutral = (next(one for one in wiring.terminals_of(key) if one.role == role) for role in (SWITCHED, NEUTRAL))
        end = draw(sheet, "resistor", f"sensing 1 of {mark}", RESISTOR, y, practice)
        sheet.wire(f"led {mark}", (RIGHT, y), (RESISTOR, y))
        sheet.wire(f"half {mark}", (end, y), (NEXT, y))
        end = draw(sheet, "resistor", f"sensing 2 of {mark}", NEXT, y, practice)
        if found:
            sheet.text(RESISTOR, y - 14, f"2 x {show(found.resistor, 'ohm')}")
        sheet.wire(f"out {key}", (end, y), (terminal, y))
        sheet.wire(neutral.potential, (RIGHT, below), (terminal, below))
        for at, one, words in ((y, line, f"switched line of {name}"), (below, neutral, "its neutral")):
            draw(sheet, "terminal", f"{one.mark} sensed", terminal, at, practice)
            sheet.text(terminal + 22, at + 4, wrapped(f"{one.mark} {words}, as above", sheet.width - terminal - 46)[0])
        y = below
    return y + (LEADING * SIZE if boxes else 0), boxes


def sheet_board(sheet: Drawing) -> str:
    """Return the name of the board's block on a sheet."""
    return next(symbol.name for symbol in sheet.symbols if symbol.name.startswith("board"))


def note(design: Design, members: Sequence[str]) -> tuple[str, ...]:
    """Return the note on a diagram with sensed lines."""
    found = circuit_of(design)
    if not sensed(design, members) or found is None:
        return ()
    return (f"Sensed lines: {found.part.designation} with {show(BLEED, 'ohm')} and a {found.diode.designation} the other way across its input; its output pulls the pin to 0 V "
            f"while the line is live. At the pin {show(PULL_UP, 'ohm')} to 3.3 V and {show(found.capacitor, 'F')} to 0 V.",)


def bench_rows(design: Design) -> Iterator[tuple[str, str, str]]:
    """Yield the bench steps: nothing at mains, so every line is dead."""
    for key in sensed(design, tuple(channels(design))):
        yield (f"Feedback of {channels(design)[key].name}", f"voltmeter at its input, all relays open; then join both sides of the output of {mark_of(design, key)}",
               f"at least {show(high_least(design.board), 'V')}; joined at most {show(low_most(design.board), 'V')}")


def live_rows(design: Design) -> Iterator[tuple[str, str, str]]:
    """Yield the steps with the supply on."""
    for key in sensed(design, tuple(channels(design))):
        yield (f"Feedback of {channels(design)[key].name}", "voltmeter at its input, switched on, then off; then its feed off at the protective device, and on by a switch",
               f"at most {show(low_most(design.board), 'V')}, then at least {show(high_least(design.board), 'V')}; told as stuck open after {show(SETTLE, 's')}")
