"""Nets are read back from lines alone: each rule on a drawing of its own, and each fault put into a drawn sheet is found."""

import random
import re

import pytest

from pattress.circuit.schematic.extraction import differences, extracted

from .drawn import circuit, drawn


def sheet(*, wires=(), dots=(), pins=(), nets=(), flags=(), terminals=(), barrier=None):
    """Return a small sheet; points in grid units, pins as (designator, number, x, y), names as (name, x, y)."""
    mm = lambda *point: ",".join(f"{2.5 * one:g}" for one in point)
    marks = [f'<polyline class="wire" points="{" ".join(mm(*point) for point in wire)}"/>' for wire in wires]
    marks += [f'<circle class="dot" cx="{2.5 * x}" cy="{2.5 * y}" r="0.75"/>' for x, y in dots]
    marks += [f'<g class="part"><g class="pin"><polyline class="lead" points="{mm(x, y)} {mm(x + 1, y)}"/><text>{number}</text></g><text class="ref">{reference}</text></g>'
              for reference, number, x, y in pins]
    marks += [f'<g class="part"><circle class="terminal" cx="{2.5 * x}" cy="{2.5 * y}" r="1"/><text class="ref">{mark}</text></g>' for mark, x, y in terminals]
    marks += [f'<g class="net" transform="translate({2.5 * x} {2.5 * y})"><text>{name}</text></g>' for name, x, y in nets]
    marks += [f'<g class="flag" transform="translate({2.5 * x} {2.5 * y})"><text class="name">{name}</text><text class="place">{place}</text></g>' for name, place, x, y in flags]
    marks += [f'<polyline class="barrier" points="{mm(barrier, 0)} {mm(barrier, 60)}"/>'] if barrier else []
    return f'<svg xmlns="http://www.w3.org/2000/svg">{"".join(marks)}</svg>'


LINE = {"wires": [((0, 4), (8, 4))], "pins": [("R1", "1", 8, 4), ("R2", "2", 0, 4)], "nets": [("a", 2, 4)]}
BRANCH = {"wires": [((0, 4), (8, 4)), ((4, 4), (4, 8))], "pins": [*LINE["pins"], ("R3", "1", 4, 8)], "nets": [("a", 2, 4)]}


def test_a_wire_joins_its_ends_under_its_name():
    found = extracted([sheet(**LINE)])
    assert found.nets == {"a": (("R1", "1"), ("R2", "2"))} and found.slips == ()


def test_a_dot_joins_what_meets_at_it():
    found = extracted([sheet(**BRANCH, dots=[(4, 4)])])
    assert found.nets == {"a": (("R1", "1"), ("R2", "2"), ("R3", "1"))} and found.slips == ()


def test_a_crossing_joins_nothing():
    wires = [((0, 4), (8, 4)), ((4, 0), (4, 8))]
    found = extracted([sheet(wires=wires, pins=[*LINE["pins"], ("R3", "1", 4, 8), ("R4", "1", 4, 0)], nets=[("a", 2, 4), ("b", 4, 2)])])
    assert found.nets == {"a": (("R1", "1"), ("R2", "2")), "b": (("R3", "1"), ("R4", "1"))} and found.slips == ()


def test_a_terminal_joins_like_a_dot():
    found = extracted([sheet(**LINE, terminals=[("X1:1", 4, 4)])])
    assert found.nets == {"a": (("R1", "1"), ("R2", "2"), ("X1:1", "1"))} and found.slips == ()


def test_flags_of_one_name_join_sheets():
    first = sheet(wires=[((0, 4), (8, 4))], pins=[("R1", "1", 8, 4)], flags=[("a", "2/A1", 0, 4)])
    second = sheet(wires=[((0, 4), (8, 4))], pins=[("R2", "1", 8, 4)], flags=[("a", "1/A1", 0, 4)])
    found = extracted([first, second])
    assert found.nets == {"a": (("R1", "1"), ("R2", "1"))} and found.slips == ()
    assert extracted([first, second.replace("1/A1", "3/A1")]).slips == (
        "the flag a at sheet 1, 0 4 has no partner at 2/A1", "the flag a at sheet 2, 0 4 has no partner at 3/A1")


@pytest.mark.parametrize("marks, slip", [
    (BRANCH, "three meet without a dot: sheet 1, 4 4"),
    ({**LINE, "dots": [(4, 4)]}, "a dot where no three meet: sheet 1, 4 4"),
    ({**BRANCH, "wires": [*BRANCH["wires"], ((4, 0), (4, 4))], "pins": [*BRANCH["pins"], ("R4", "1", 4, 0)], "dots": [(4, 4)]}, "four meet in one point: sheet 1, 4 4"),
    ({**LINE, "wires": [((0, 4), (7, 4))]}, "loose: sheet 1, 7 4"),
    ({**LINE, "barrier": 5}, "wire at the barrier: sheet 1, 0 4"),
    ({**LINE, "wires": [((0, 4), (8, 4)), ((2, 4), (6, 4))]}, "two wires on each other: sheet 1, 2 4"),
    ({**LINE, "wires": [((0, 4), (8, 5))], "pins": [("R2", "2", 0, 4), ("R1", "1", 8, 5)]}, "slanted wire at sheet 1, 0 4"),
    ({**LINE, "wires": [((0, 4.5), (8, 4.5))], "pins": [("R1", "1", 8, 4.5), ("R2", "2", 0, 4.5)], "nets": [("a", 2, 4.5)]}, "off the grid: sheet 1, 0 4.5"),
    ({**LINE, "nets": [("a", 2, 4), ("b", 3, 4)]}, "one net has the names a, b"),
    ({**LINE, "nets": [("a", 2, 4), ("b", 3, 5)]}, "the name b lies on no wire"),
    ({"wires": [*LINE["wires"], ((0, 8), (8, 8))], "pins": [*LINE["pins"], ("R3", "1", 0, 8), ("R4", "1", 8, 8)], "nets": [("a", 2, 4), ("a", 2, 8)]}, "a is on 2 nets"),
])
def test_each_slip_of_a_drawing_is_told(marks, slip):
    assert slip in extracted([sheet(**marks)]).slips


def test_a_net_without_a_name_is_a_difference():
    found = extracted([re.sub('<g class="net".*?</g>', "", one) for one in drawn("feedback")])
    assert any(one.startswith("(no name at sheet ") for one in differences(circuit("feedback"), found))


def test_differences_name_net_and_pins():
    svgs = [svg.replace(">R12<", ">R99<") for svg in drawn("feedback")]
    assert differences(circuit("feedback"), extracted(svgs)) == (
        "0 V: not drawn: R12.2; drawn only: R99.2", "gate.pendant: not drawn: R12.1; drawn only: R99.1")


# ---- Faults put into drawn sheets, one at a time --------------------------------------------------------------------------------------------
def _moved(found, step):
    """Return a wire whose first end lies a unit further along it, or less far."""
    first, *rest = found[2].split()
    (x, y), (towards, _) = (tuple(map(float, point.split(","))) for point in (first, rest[0]))
    moved = f"{x + step:g},{y:g}" if x != towards else f"{x:g},{y + step:g}"
    return f"{found[1]}{' '.join((moved, *rest))}"


FAULTS = {
    "a wire removed": (r'<polyline class="wire[^>]*>', lambda found, chance: ""),
    "a wire's end moved by a unit": (r'(<polyline class="wire[^"]*" points=")([^"]*)', lambda found, chance: _moved(found, chance.choice((-2.5, 2.5)))),
    "a dot removed": (r'<circle class="dot"[^>]*>', lambda found, chance: ""),
    "a pin's number changed": (r'(<g class="pin">.*?<text[^>]*>)([^<]*)', lambda found, chance: f"{found[1]}{found[2]}7"),
    "a net renamed": (r'(<g class="net"[^>]*><text[^>]*>)([^<]*)', lambda found, chance: f"{found[1]}{found[2]}x"),
    "a rail or flag renamed": (r'(<text class="name"[^>]*>)([^<]*)', lambda found, chance: f"{found[1]}{found[2]}x"),
    "a flag's partner changed": (r'(<text class="place"[^>]*>)(\d)/', lambda found, chance: f"{found[1]}{1 + int(found[2]) % 7}/"),
}


def unseen(fault, most, seed):
    """Return where a fault is put into the sheets, at most so often, and not found; and how often it was put."""
    chance, svgs = random.Random(seed), drawn("feedback")
    pattern, change = FAULTS[fault]
    places = [(sheet, found) for sheet, svg in enumerate(svgs) for found in re.finditer(pattern, svg)]
    chosen = places if len(places) <= most else chance.sample(places, most)
    left = []
    for sheet, found in chosen:
        changed = svgs[sheet][:found.start()] + change(found, chance) + svgs[sheet][found.end():]
        read = extracted([*svgs[:sheet], changed, *svgs[sheet + 1:]])
        if not (read.slips or differences(circuit("feedback"), read)):
            left.append(found[0])
    return left, len(chosen)


@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_in_a_sheet_is_found(fault):
    left, tried = unseen(fault, 6, seed=1)
    assert left == [] and tried == 6


@pytest.mark.soak
@pytest.mark.parametrize("fault", FAULTS)
def test_every_fault_in_a_sheet_is_found(fault):
    left, tried = unseen(fault, 10000, seed=2)
    assert left == [] and tried > 10
