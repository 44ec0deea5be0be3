"""One schedule in two forms: as it is printed, figures with their units, and as rows for a spreadsheet, the unit in the head."""

from dataclasses import dataclass
from decimal import Decimal

from pattress.handover.findings_page import Table
from pattress.quantity import in_unit, show
from pattress.spreadsheet import Cell, Leaf

NOTHING = "-"


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a schedule.

    Its floats are in SI; a spreadsheet gets them in `unit`. `printed` names the column in which it
    stands on paper, together with its neighbours of that name; `words` is how it stands there.
    """

    head: str
    unit: str = ""
    printed: str = ""
    words: str = "{}"


@dataclass(frozen=True, slots=True)
class Schedule:
    """Columns and rows. A cell is a text, a number in SI, or None where there is nothing."""

    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]

    @property
    def table(self) -> Table:
        """Return it as printed."""
        groups: dict[str, list[int]] = {}
        for place, column in enumerate(self.columns):
            groups.setdefault(column.printed or column.head, []).append(place)
        return Table(self.caption, tuple(groups), tuple(tuple(self._printed(row, places) for places in groups.values()) for row in self.rows))

    def leaf(self, name: str) -> Leaf:
        """Return it as rows for a spreadsheet."""
        head = tuple(f"{column.head} [{column.unit}]" if column.unit else column.head for column in self.columns)
        return Leaf(name, head, tuple(tuple(map(_in_unit, self.columns, row)) for row in self.rows))

    def _printed(self, row: tuple[Cell, ...], places: list[int]) -> str:
        return "; ".join(self.columns[place].words.format(_shown(self.columns[place], cell)) for place in places if (cell := row[place]) is not None) or NOTHING


def _shown(column: Column, cell: Cell) -> str:
    if isinstance(cell, Decimal):
        return f"{cell:.2f}"
    return show(cell, column.unit) if isinstance(cell, float) else str(cell)


def _in_unit(column: Column, cell: Cell) -> Cell:
    return in_unit(cell, column.unit) if isinstance(cell, float) and column.unit else cell
