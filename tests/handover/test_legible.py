"""Letters of drawings: large enough on every paper, and as large in the PDF as reckoned."""

import re
import subprocess

import pytest

from pattress.cautions import CAUTIONS
from pattress.drawing.sheet import Drawing
from pattress.handover.elevation import elevation_drawings
from pattress.handover.imprint import Imprint
from pattress.handover.legible import LEAST, PAPERS, is_legible, letters, numbered, over_sheets
from pattress.handover.sheet import Section, Sheet, as_pdf
from pattress.handover.single_line import single_line
from pattress.handover.wiring import channels, wiring_of


def drawings(design):
    wiring = wiring_of(design)
    return (*single_line(design, wiring, CAUTIONS), *elevation_drawings(design, cautions=CAUTIONS))


@pytest.mark.parametrize("paper", PAPERS)
def test_no_letter_of_an_example_is_printed_under_seven_points(design, paper):
    for drawing in drawings(design):
        assert letters(drawing, paper) >= LEAST, drawing.title


def test_every_load_is_on_one_sheet_of_the_single_line_diagram_and_a_feed_goes_on(design):
    sheets = single_line(design, wiring_of(design), CAUTIONS)
    shown = [symbol.name for sheet in sheets for symbol in sheet.symbols if symbol.name.startswith("load ")]
    assert sorted(shown) == sorted(f"load {key}" for key in (*channels(design), "supply"))
    feeds = [[symbol.name for symbol in sheet.symbols if re.fullmatch(r"F\d+", symbol.name)] for sheet in sheets]
    goes_on = sum("continued" in label.words for sheet in sheets for label in sheet.labels)
    assert sum(map(len, feeds)) - len(design.job.feed) == goes_on
    assert [sheet.title.rpartition(", ")[2] for sheet in sheets] == (
        [f"{number} of {len(sheets)}" for number in range(1, len(sheets) + 1)] if len(sheets) > 1 else [sheets[0].title.rpartition(", ")[2]])


def tall(height, width=1180.0):
    drawing = Drawing("trial", width)
    drawing.text(20, 40, "LETTERS")
    drawing.height = height
    return drawing


# Worked on paper: 11 units on A4 laid level, 283 mm for 1180 units: 11 x 283 / 1180 x 72 / 25.4 = 7.48 pt; the same over
# 1000 units of height, 184 mm: 11 x 184 / 1000 x 72 / 25.4 = 5.74 pt. Letter, 265.4 mm wide: 7.01 pt.
@pytest.mark.parametrize("height, paper, points", [(500, "a4", 7.48), (1000, "a4", 5.74), (500, "letter", 7.01)])
def test_worked_on_paper(height, paper, points):
    assert letters(tall(height), paper) == pytest.approx(points, abs=0.005)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("height", [400, 830, 1100])
def test_the_pdf_prints_letters_as_large_as_reckoned(tmp_path, paper, height):
    drawing = tall(height)
    file = tmp_path / "sheet.pdf"
    file.write_bytes(as_pdf(Sheet("trial", "trial", "", (), (Section("Drawing", (), (), (drawing,)),), Imprint("Trial", "0", "", "", "")), paper))
    boxes = subprocess.run(["pdftotext", "-bbox", file, "-"], capture_output=True, text=True, check=True).stdout
    left, right = map(float, re.search(r'xMin="([\d.]+)" yMin="[\d.]+" xMax="([\d.]+)" yMax="[\d.]+">LETTERS<', boxes).groups())
    assert right - left == pytest.approx(7 * 0.602 * letters(drawing, paper), rel=0.03)      # DejaVu Sans Mono: 0.602 em a letter


def test_pieces_go_on_to_the_next_sheet_and_none_is_lost():
    asked = []

    def draw(some, number, of):
        asked.append((tuple(some), number, of))
        return tall(250 * len(some))

    sheets = over_sheets(range(8), draw)
    assert [round(sheet.height / 250) for sheet in sheets] == [3, 3, 2]
    assert asked[-3:] == [((0, 1, 2), 1, 3), ((3, 4, 5), 2, 3), ((6, 7), 3, 3)]


def test_a_piece_that_no_sheet_can_hold_stands_alone():
    assert len(over_sheets("abc", lambda some, number, of: tall(5000))) == 3
    assert over_sheets((), lambda some, number, of: tall(1)) == ()


def test_a_title_is_numbered_only_where_there_are_several():
    assert (numbered("x", 1, 1), numbered("x", 2, 3)) == ("x", "x, 2 of 3")


def test_a_sheet_grown_too_tall_is_seen():
    """The fault seeded: what was printed before sheets were parted, twelve rows on one."""
    assert not is_legible(tall(1100)) and is_legible(tall(809))
