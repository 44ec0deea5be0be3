"""What is taken for an unknown: every range covers the rows it names, and the document says what the stock says."""

from pathlib import Path

import pytest

from pattress.stock.board_reading import FIGURES
from pattress.stock.boards import load_boards
from pattress.stock.credible import BOARD, SHARE, End, ranges
from pattress.stock.kinds import KINDS
from pattress.stock.parts import load_parts, read_parts
from pattress.stock.record import StockError

from .credible_table import rows_of, table

DOCUMENT = Path(__file__).parents[2] / "docs" / "credible.md"
OWN = """
[sources.sheet]
title = "EXR-10 series datasheet"
read = true

[[part]]
designation = "EXR-10-05"
kind = "relay"
[part.figures]
rated_current = { value = "10 A", source = "sheet" }
coil_voltage = { value = "5 V", source = "sheet" }
coil_resistance = { value = "70 ohm", source = "sheet" }
operate_voltage = { value = "3.5 V", source = "sheet" }
bounce_time = { value = "0 ms", source = "sheet" }
"""


@pytest.mark.parametrize(("kind", "name", "span"), list(ranges()), ids=lambda one: one if isinstance(one, str) else "")
def test_every_range_covers_every_row_that_it_names(kind, name, span):
    assert span.least < span.most
    rows = [*rows_of(kind, name), *span.rows]
    assert rows and all(span.covers(value) for _, value in rows), [row for row in rows if not span.covers(row[1])]


def test_every_range_is_of_a_figure_that_may_be_unknown_in_its_unit():
    for kind, name, span in ranges():
        allowed = FIGURES if kind == BOARD else {figure: unit for figure, unit in KINDS[kind].figures.items() if figure not in KINDS[kind].needs}
        assert span.unit == (allowed[name] or SHARE), (kind, name)


def test_the_document_says_what_the_stock_says():
    assert DOCUMENT.read_text("utf-8") == table()


# Drawn for this test: a sheet that prints no release time, and a bounce of nothing, which is a value.
def test_an_unknown_figure_is_taken_at_its_worse_end_and_told():
    relay = read_parts(OWN, "own.toml")["EXR-10-05"]
    worst, best = relay.taken("release_time", End.MOST), relay.taken("release_time", End.MOST, best=True)
    assert (worst.value, best.value) == (20e-3, 1e-3)
    assert (worst.assumed.key, worst.assumed.taken) == ("part.EXR-10-05.release_time", "20 ms")
    assert worst.assumed.measure == "the release time in the data sheet of EXR-10-05, or a measurement of it"
    assert worst.input.origin == "EXR-10-05: worst credible of relays"


def test_nothing_is_assumed_for_a_figure_of_the_sheet_and_zero_is_one():
    relay = read_parts(OWN, "own.toml")["EXR-10-05"]
    assert (relay.taken("bounce_time", End.MOST).value, relay.taken("bounce_time", End.MOST).assumed) == (0.0, None)


def test_a_figure_without_a_credible_range_is_refused():
    with pytest.raises(StockError, match=r"^EXR-10-05 has no clearance: the record gives none$"):
        read_parts(OWN, "own.toml")["EXR-10-05"].taken("clearance", End.LEAST)


def test_a_board_takes_its_figures_in_the_same_way():
    board = load_boards()["esp32-c3"]
    taken = board.taken("radio_average_current", End.MOST)
    assert (taken.value, taken.assumed.key) == (0.24, "board.esp32-c3.radio_average_current")
    assert board.taken("pin_current", End.LEAST).assumed is None


def test_the_other_end_of_an_end_is_the_other():
    assert End.LEAST.other is End.MOST and End.MOST.other is End.LEAST
    assert len(load_parts()) > 40
