"""The label for the box, with its passphrase in words and as a QR code (ISO/IEC 18004, drawn by segno).

The one sheet that bears a secret. It is asked for by itself, takes the passphrase from the secrets
of the job, and nothing else of the pack knows it.
"""

from pattress.design import Design
from pattress.drawing.box import Box
from pattress.drawing.look import IDENTITY
from pattress.drawing.sheet import MARGIN, SIZE, Drawing, wrapped
from pattress.handover.household import ratings_of_the_box
from pattress.handover.imprint import imprint_of
from pattress.handover.sheet import Section, Sheet

WIDTH = 440.0
MODULE = 6.0                     # units of one square of the code
QUIET = 4                        # squares that stay white around the code (ISO/IEC 18004, from memory)
LEAD = "Print, cut out and stick inside the lid of the box. Whoever reads this label can switch what the controller switches: keep no copy where others look."


def passphrase_label(design: Design, passphrase: str, *, cautions: tuple[str, ...]) -> Sheet:
    """Return the sheet with the label of the box, passphrase and all."""
    return Sheet("label-with-passphrase", "label with passphrase", LEAD, cautions, (Section("Label for the box", (), (), (_label(design, passphrase),)),), imprint_of(design, None))


def _label(design: Design, passphrase: str) -> Drawing:
    sheet = Drawing(f"{design.job.job.title}: label of the box", WIDTH)
    y = MARGIN + 2 * SIZE
    for what, words in ratings_of_the_box(design):
        y = sheet.lines(MARGIN, y, wrapped(f"{what}: {words}", WIDTH - 2 * MARGIN)) + 3
    y = sheet.lines(MARGIN, y + SIZE, ["Passphrase, for set-up and for its page:"])
    y = sheet.lines(MARGIN, y + 4, wrapped(passphrase, WIDTH - 2 * MARGIN, IDENTITY), size=IDENTITY, bold=True)
    side = _draw_code(sheet, passphrase, y - SIZE)
    sheet.height = y + side
    sheet.zone(Box(MARGIN / 2, MARGIN / 2, WIDTH - MARGIN / 2, sheet.height))
    sheet.height += MARGIN / 2
    return sheet


def _draw_code(sheet: Drawing, words: str, top: float) -> float:
    """Draw words as a QR code in the middle of the sheet; return how high it is with its white border."""
    from segno import make

    rows = [bytes(row) for row in make(words, error="m", micro=False, boost_error=False, encoding="utf-8").matrix]
    side = (len(rows) + 2 * QUIET) * MODULE
    left = (sheet.width - side) / 2
    squares = "".join(f"M{(QUIET + x) * MODULE:g} {(QUIET + y) * MODULE:g}h{MODULE:g}v{MODULE:g}h-{MODULE:g}z"
                      for y, row in enumerate(rows) for x, dark in enumerate(row) if dark)
    sheet.symbol("code", Box(left, top, left + side, top + side), squares, x=left, y=top, filled=True)
    return side
