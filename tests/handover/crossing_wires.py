"""How often the wires of a drawing cross: a measure of the layout."""

from itertools import combinations

from pattress.drawing.box import are_crossing
from pattress.drawing.sheet import Drawing


def crossings(drawing: Drawing) -> int:
    """Return how often wires of different nets cross."""
    return sum(one.net != other.net and are_crossing(one.box, other.box) for one, other in combinations(drawing.wires, 2))
