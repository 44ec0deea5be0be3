"""CSV and workbooks: numbers stay numbers, text never becomes a formula, and the same rows give the same bytes."""

import csv
from decimal import Decimal
from io import BytesIO, StringIO

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import load_workbook

from pattress.spreadsheet import BYTE_ORDER_MARK, Leaf, as_csv, as_workbook

HOSTILE = ("=2+3", "+2+3", "-2+3", "@SUM(A1)", "\t=1", "=HYPERLINK(\"http://x\")", "-", "+cmd|' /C calc'!A0")


def read(text):
    return list(csv.reader(StringIO(text.removeprefix(BYTE_ORDER_MARK), newline="")))


@pytest.mark.parametrize("name", HOSTILE)
def test_a_name_that_begins_like_a_formula_stands_behind_an_apostrophe(name):
    assert read(as_csv(("Name",), ((name,),)))[1] == [f"'{name}"]


def test_a_potential_is_no_formula():
    assert read(as_csv(("Net",), (("+3.3 V",), ("-12 V",))))[1:] == [["+3.3 V"], ["-12 V"]]


def test_numbers_have_a_point_no_unit_and_no_digits_of_binary_arithmetic():
    rows = read(as_csv(("a", "b", "c", "d"), ((1.5e-6 * 1e6, 12, Decimal("3.20"), None), (0.1 + 0.2, -4.0, 1e3, "x"))))
    assert rows[1:] == [["1.5", "12", "3.20", ""], ["0.3", "-4", "1000", "x"]]


def test_a_workbook_has_text_as_text_and_numbers_as_numbers():
    """Read back by openpyxl."""
    rows = (*((name, 1.5) for name in HOSTILE), ("porch", Decimal("2.50")), ("12", 7), ("http://x.example", None))
    sheet = load_workbook(BytesIO(as_workbook("Room", [Leaf("names", ("Name", "Section [mm2]"), rows)])))["names"]
    cells = list(sheet.iter_rows(min_row=2))
    assert [(name.value, figure.value) for name, figure in cells] == [(name, None if figure is None else float(figure)) for name, figure in rows]
    assert {name.data_type for name, _ in cells} == {"s"} and sheet.freeze_panes == "A2"


def test_the_same_tables_give_the_same_bytes():
    leaf = Leaf("a", ("Name",), (("x",), (1.0,)))
    assert as_workbook("Room", [leaf]) == as_workbook("Room", [leaf])


@given(st.lists(st.text(st.characters(codec="utf-8", exclude_characters="\r\x00"), max_size=30), min_size=1, max_size=4))
def test_any_text_comes_back(texts):
    (row,) = read(as_csv(["h"] * len(texts), [texts]))[1:] or [[""] * len(texts)]
    assert [cell.removeprefix("'") for cell in row] == [text.removeprefix("'") for text in texts]
