"""The table of everything that is taken for an unknown, in docs/credible.md, made from the stock itself.

Write it anew with ``python -m tests.stock.credible_table > docs/credible.md``.
"""

from pattress.quantity import show
from pattress.stock.boards import load_boards
from pattress.stock.credible import BOARD, ranges
from pattress.stock.loads import behaviour, capacitor_inputs
from pattress.stock.parts import load_parts
from tests.stock.inrush_rows import inrush_rows

KIND = "sheets of parts of the kind (from memory)"
HEAD = f"""# Values taken for unknowns

Made from the stock by `tests/stock/credible_table.py`; a test compares. Where a sheet or the job gives no figure,
each question takes the worse end of these ranges, names it, and says what would settle it. An end is no
limit of nature: it covers the published rows named here, and a figure that you read in a sheet always wins.
"(from memory)" marks what was not read in a source while it was written.

## Figures of parts and boards

"Rows" are the figures of the stock's own records, and those named; "covered" is how many of them lie within. Where no
source stands, it is {KIND}.

| Figure | Least | Most | Rows | Covered | Why, and source |
|---|---|---|---|---|---|
"""
INRUSH = """
## Inrush of one lamp, driver or supply

At 230 V; other mains in proportion to their voltage. Multiples of the steady current P / U are no measure: the {rows} rows
lie between {least:.0f} and {most:.0f} times, and 100 times would cover {covered} of them.

| Power of one | Peak taken | Least credible | Width at half height | Rows | Covered |
|---|---|---|---|---|---|
"""
ROWS = """
| Published row | Power | Mains | Peak | Printed duration | Read in |
|---|---|---|---|---|---|
"""
MULTIPLES = """
## Inrush of other loads, over their steady current

Source: {source}.

| Kind | Least | Most | For |
|---|---|---|---|
"""
KINDS = ("resistive heater", "tungsten lamp", "fluorescent ballast", "motor", "compressor", "solenoid", "permanent split capacitor", "shaded pole")


def table() -> str:
    """Return the document."""
    return HEAD + "".join(_figure(*one) for one in ranges()) + INRUSH.format(**_over_steady()) + "".join(_steps()) + ROWS + "".join(
        _row(row) for row in inrush_rows()) + _multiples()


def rows_of(kind, name):
    """Return the published values of a figure: those of the stock's records, then those named beside the range."""
    if kind == BOARD:
        return [(board.type, board.figure(name)) for board in load_boards().values() if board.figure(name) is not None]
    return [(part.designation, part.known(name)) for part in load_parts().of(kind) if part.known(name) is not None]


def _figure(kind, name, span):
    rows = [*rows_of(kind, name), *span.rows]
    covered = sum(span.covers(value) for _, value in rows)
    few = f"{len(rows) - len(span.rows)} of the stock" + "".join(f"; {title}: {show(value, span.unit)}" for title, value in span.rows)
    return f"| {kind}, {name.replace('_', ' ')} | {show(span.least, span.unit)} | {show(span.most, span.unit)} | {few} | {covered} of {len(rows)} | {span.why}{'' if str(span.source) == KIND else f'; {span.source}'} |\n"


def _over_steady():
    """Return how many rows there are, the least and most of their peaks over the steady current at power factor 1, and how many 100 times covers."""
    times = [row.peak * row.voltage / row.power for row in inrush_rows()]
    return {"rows": len(times), "least": min(times), "most": max(times), "covered": sum(one <= 100.0 for one in times)}


def _steps():
    low = 0.0
    for step in capacitor_inputs():
        rows = [row for row in inrush_rows() if low < row.power <= step.up_to]
        covered = sum(row.peak <= step.peak * row.voltage / 230.0 for row in rows)
        above = f"above {show(low, 'W')} " if low else ""
        yield (f"| {above}up to {show(step.up_to, 'W')} | {show(step.peak, 'A')} | {show(step.least, 'A')} | {show(step.duration, 's')} "
               f"| {len(rows)} | {covered} of {len(rows)} |\n")
        low = step.up_to
    yield f"| larger ones, each {show(low, 'W')} begun | as so many of the last | | | | |\n| a socket | as one of {show(low, 'W')} | | | | |\n"


def _row(row):
    return f"| {row.product} | {show(row.power, 'W')} | {show(row.voltage, 'V')} | {show(row.peak, 'A')} | {show(row.duration, 's') if row.duration else '-'} | {row.source} |\n"


def _multiples():
    (source,) = {str(behaviour(kind).making_source) for kind in KINDS}
    return MULTIPLES.format(source=source) + "".join(_multiple(kind, behaviour(kind).multiples) for kind in KINDS)


def _multiple(kind, times):
    return f"| {kind} | {times.least:g} | {times.most:g} | {show(times.duration, 's') if times.duration else '-'} |\n"


if __name__ == "__main__":
    print(table(), end="")
