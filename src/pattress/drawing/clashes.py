"""What is in each other's way on a sheet: words, wires and symbols."""

from collections.abc import Iterator
from itertools import combinations

from pattress.drawing.box import lies_along, runs_through
from pattress.drawing.sheet import Drawing


def clashes(drawing: Drawing) -> Iterator[str]:
    """Yield every place where words, wires or symbols are in each other's way."""
    sheet = drawing.extent
    symbols = {symbol.name: symbol.box for symbol in drawing.symbols}
    for label in drawing.labels:
        if not sheet.holds(label.box):
            yield f"{label.words!r} leaves the sheet"
        if label.inside and not symbols[label.inside].holds(label.box):
            yield f"{label.words!r} leaves {label.inside}"
        for symbol in drawing.symbols:
            if symbol.name != label.inside and symbol.box.meets(label.box):
                yield f"{label.words!r} is written over {symbol.name}"
        for wire in drawing.wires:
            if runs_through(wire.box, label.box):
                yield f"a wire of {wire.net} runs through {label.words!r}"
        for zone in drawing.zones:
            if zone.meets(label.box) and not zone.holds(label.box):
                yield f"{label.words!r} lies on the border of a zone"
    for first, second in combinations(drawing.labels, 2):
        if first.box.meets(second.box):
            yield f"{first.words!r} is written over {second.words!r}"
    for symbol, other in combinations(drawing.symbols, 2):
        if symbol.box.meets(other.box):
            yield f"{symbol.name} lies on {other.name}"
    for wire in drawing.wires:
        for symbol in drawing.symbols:
            if runs_through(wire.box, symbol.box):
                yield f"a wire of {wire.net} runs through {symbol.name}"
    for wire, along in combinations(drawing.wires, 2):
        if wire.net != along.net and lies_along(wire.box, along.box):
            yield f"wires of {wire.net} and {along.net} lie on each other"
