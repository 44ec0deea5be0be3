"""Rows as files that a spreadsheet opens as they are: CSV, and a workbook of several tables.

No cell of text can act as a formula: whoever names a lamp "=2+3" finds that name in the cell.
"""

import re
from collections.abc import Iterable, Sequence
from csv import writer
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from io import BytesIO, StringIO

Cell = str | int | float | Decimal | None

BYTE_ORDER_MARK = "\ufeff"       # tells a spreadsheet that the letters are UTF-8
ACTS = ("=", "+", "-", "@", "\t", "\r")     # what begins a formula in some spreadsheet (common practice, no source)
POTENTIAL = re.compile(r"[+-]\d+(\.\d+)? [A-Za-z]+")      # "+5 V": begins like a formula and is none
FIGURES = 9                      # kept of a number: more than any figure here is good for
WIDEST, NARROWEST = 60, 6        # letters of a workbook's column
MADE = datetime(2000, 1, 1)      # in every workbook, so that the same rows give the same bytes


@dataclass(frozen=True, slots=True)
class Leaf:
    """One table of a workbook."""

    name: str
    head: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]


def as_csv(head: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    """Return rows as CSV (RFC 4180) in UTF-8 with its mark; a number has a point and no unit, what is not there is empty."""
    text = StringIO()
    text.write(BYTE_ORDER_MARK)
    lines = writer(text)
    lines.writerow(map(_harmless, head))
    lines.writerows([_written(cell) for cell in row] for row in rows)
    return text.getvalue()


def as_workbook(title: str, leaves: Iterable[Leaf]) -> bytes:
    """Return tables as one workbook (Office Open XML), each with its head held in place; same tables, same bytes."""
    from xlsxwriter import Workbook

    made = BytesIO()
    book = Workbook(made, {"in_memory": True, "strings_to_formulas": False, "strings_to_numbers": False, "strings_to_urls": False})
    book.set_properties({"title": title, "created": MADE})
    bold, wrapped = book.add_format({"bold": True, "text_wrap": True, "valign": "top"}), book.add_format({"text_wrap": True, "valign": "top"})
    for leaf in leaves:
        sheet = book.add_worksheet(leaf.name)
        sheet.write_row(0, 0, leaf.head, bold)
        sheet.freeze_panes(1, 0)
        sheet.set_landscape()
        sheet.set_paper(9)       # A4
        sheet.fit_to_pages(1, 0)
        sheet.repeat_rows(0)
        for number, row in enumerate(leaf.rows, 1):
            for place, cell in enumerate(row):
                if isinstance(cell, str):
                    sheet.write_string(number, place, cell, wrapped)
                elif cell is not None:
                    sheet.write_number(number, place, float(_rounded(cell)), wrapped)
        for place, head in enumerate(leaf.head):
            letters = max((len(str(_written(row[place]))) for row in leaf.rows), default=0)
            sheet.set_column(place, place, min(max(letters, len(head), NARROWEST) + 1, WIDEST))
    book.close()
    return made.getvalue()


def _written(cell: Cell) -> str:
    return "" if cell is None else _harmless(cell) if isinstance(cell, str) else _rounded(cell)


def _rounded(number: int | float | Decimal) -> str:
    """Return a number in digits, without the last ones that only binary arithmetic has put there."""
    return f"{number:.{FIGURES}g}" if isinstance(number, float) else str(number)


def _harmless(text: str) -> str:
    """Return a text that no spreadsheet reads as a formula: one that would begin it stands behind an apostrophe."""
    return f"'{text}" if text.startswith(ACTS) and not POTENTIAL.fullmatch(text) else text
