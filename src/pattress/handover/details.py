"""Detail schematics with values: how one coil is driven, how one switch is read.

What stands at mains is in `mains_details`.
"""

from collections.abc import Sequence

from pattress.design import Design
from pattress.drawing.box import Box
from pattress.drawing.sheet import MARGIN, Drawing
from pattress.handover.parts import coil_current, input_resistor
from pattress.handover.symbols import draw
from pattress.handover.wiring import Wiring
from pattress.quantity import show
from pattress.sizing.drive import pull_down
from pattress.sizing.sensing import SERIES

WIDTH = 1180.0


def details(design: Design, wiring: Wiring, cautions: Sequence[str]) -> Drawing:
    """Return the detail schematics of a design on one sheet."""
    sheet = Drawing(f"{design.job.job.title}: details at extra-low voltage", WIDTH)
    top = sheet.head()
    _coil(sheet, design, wiring, top + 10)
    pulls = sorted({pull for thing, pull in design.results["pull_ups"].items() if thing.startswith(("switch.", "regulator."))})
    for place, pull in enumerate(pulls):
        _switch(sheet, wiring, pull, top + 270 + 150 * place)
    return sheet.finish(["Values are those of the design; 0 V is the same everywhere on this sheet.", *cautions])


def _coil(sheet: Drawing, design: Design, wiring: Wiring, y: float) -> None:
    practice, driver = wiring.colours.practice, design.chosen.driver.part
    what, resistance = input_resistor(design)
    level, rail = y + 120, y + 56
    sheet.text(MARGIN, y + 10, f"Coil drive, one for each relay: {driver.designation}, {driver.word('arrangement')}", bold=True)
    sheet.text(MARGIN, level - 8, "pin of the board")
    sheet.wire("pin", (MARGIN, level), (170, level))
    end = draw(sheet, "resistor", "series", 170, level, practice)
    sheet.text(170, level - 14, show(resistance, "ohm"))
    sheet.wire("input", (end, level), (360, level))
    sheet.joint(260, level)
    sheet.wire("input", (260, level), (260, level + 54), (280, level + 54))
    end = draw(sheet, "resistor", "pull-down", 280, level + 54, practice)
    sheet.text(280, level + 42, show(pull_down(driver, design.board), "ohm"))
    sheet.wire("0 V", (end, level + 54), (400, level + 54), (400, level + 16))
    sheet.joint(400, level + 54)
    sheet.wire("0 V", (400, level + 54), (460, level + 54))
    sheet.text(466, level + 58, "0 V")
    sheet.block("driver", Box(360, level - 16, 440, level + 16))
    sheet.text(400, level + 4, "driver", anchor="middle", inside="driver")
    sheet.wire("drain", (440, level), (540, level))
    end = draw(sheet, "coil", "coil", 540, level, practice)
    sheet.text(540, level + 26, f"at most {show(coil_current(design), 'A')}")
    sheet.wire("5 V", (end, level), (660, level), (660, rail - 16))
    sheet.text(660, rail - 22, "5 V", anchor="middle")
    if driver.word("arrangement") == "Darlington array":
        sheet.text(680, level + 4, "the diode is in the array: join its common to 5 V")
        return
    sheet.joint(500, level)
    sheet.wire("drain", (500, level), (500, rail), (540, rail))
    sheet.symbol("diode", Box(540, rail - 9, 584, rail + 9), "M0 0H14M14 -8V8L28 0zM28 -8V8M28 0H44", x=540, y=rail)
    sheet.wire("5 V", (584, rail), (660, rail))
    sheet.joint(660, rail)
    sheet.text(680, rail + 4, "diode, its bar to 5 V")


def _switch(sheet: Drawing, wiring: Wiring, pull: float, y: float) -> None:
    practice, level = wiring.colours.practice, y + 76
    sheet.text(MARGIN, y + 10, f"Switch input with pull-up {show(pull, 'ohm')}", bold=True)
    sheet.text(MARGIN, level + 4, "0 V")
    sheet.wire("0 V of a switch", (60, level), (120, level))
    end = draw(sheet, "contact", f"switch {y:g}", 120, level, practice)
    sheet.wire(f"cable {y:g}", (end, level), (300, level))
    sheet.text(190, level - 8, "cable")
    end = draw(sheet, "resistor", f"series of input {y:g}", 300, level, practice)
    sheet.text(300, level + 22, show(SERIES, "ohm"))
    # The pull-up sits at the pin: a closed contact reads what the two resistors divide.
    sheet.wire(f"pin {y:g}", (end, level), (540, level))
    sheet.joint(380, level)
    sheet.wire(f"pin {y:g}", (380, level), (380, level - 36), (400, level - 36))
    up = draw(sheet, "resistor", f"pull-up {y:g}", 400, level - 36, practice)
    sheet.text(400, level - 48, show(pull, "ohm"))
    sheet.wire("3.3 V", (up, level - 36), (500, level - 36))
    sheet.text(508, level - 32, "3.3 V")
    sheet.text(548, level + 4, "pin of the board")
