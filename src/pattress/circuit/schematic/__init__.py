"""The functional schematics of a job, drawn from its circuit by fixed places for each kind of block, and read back from their own lines.

`paging` decides what stands on which sheet, `feed_sheet`, `supply_sheet`, `relay_rows` and `input_sheet` place the parts,
`canvas` draws wires, parts and names, `symbols` holds the shapes, `frame` the sheet; `extraction` reads nets from geometry alone.
"""

from pattress.circuit.schematic.frame import Identity
from pattress.circuit.schematic.paging import Sheet, sheets
from pattress.circuit.schematic.symbols import Practice

__all__ = ["Identity", "Practice", "Sheet", "sheets"]
