"""Drawings: no words over words, no wire through a symbol, whatever the job; and every figure is the design's."""

import re

import pytest

from pattress.cautions import CAUTIONS
from pattress.circuit.model import NetKind
from pattress.circuit.test_points import marks_of
from pattress.drawing.box import Box
from pattress.drawing.clashes import clashes
from pattress.drawing.sheet import Drawing, width_of, wrapped
from pattress.handover.imprint import STOP, imprint_of
from pattress.handover.legible import is_legible
from pattress.handover.schematics import diagrams
from pattress.handover.single_line import single_line
from pattress.handover.wiring import channels, finding_of, wiring_of
from pattress.pins.best import Assignment
from pattress.quantity import show

from .crossing_wires import crossings
from .designs import outcome


def words(drawing):
    return " ".join(label.words for label in drawing.labels)


def test_two_hundred_random_single_line_diagrams_have_no_clash_no_crossing_and_no_small_letter(random_designs):
    for design in random_designs:
        for drawing in single_line(design, wiring_of(design), CAUTIONS):
            assert (list(clashes(drawing)), crossings(drawing), is_legible(drawing)) == ([], 0, True), drawing.title


def test_the_single_line_diagram_says_ratings_sections_lengths_and_currents(design):
    text = " ".join(words(sheet) for sheet in single_line(design, wiring_of(design), CAUTIONS))
    for feed in design.job.feed.values():
        assert show(feed.device.rating, "A") in text and show(feed.cable.section, "m2") in text and show(feed.cable.length, "m") in text
    for key, channel in channels(design).items():
        assert f"{show(channel.run.section, 'm2')} {show(channel.run.length, 'm')}" in text
        assert channel.name in text and show(finding_of(design, f"contacts.{key}").value.value, "A") in re.sub(r"\s+", " ", text)
    for caution in CAUTIONS:
        assert caution in text


def test_a_region_has_its_own_symbols_and_letters(design):
    svg = single_line(design, wiring_of(design), CAUTIONS)[0].svg()
    north_america = design.job.supply.system.frequency == 60
    assert ("BK WH GN" in svg, "BN BU GNYE" in svg) == (north_america, not north_america)
    assert ("M17 -9V9M27 -9V9" in svg, "M33 0L13 -12" in svg) == (north_america, not north_america)


def test_the_circuit_diagrams_show_every_terminal_pin_relay_and_value(design):
    """Of the drawing itself tests/circuit asks; here, that the pack prints all of them with what the design says."""
    proof = outcome(design.job.job.title.lower().replace(" ", "-"))[0]
    sheets = diagrams(design, imprint_of(design, proof))
    text = " ".join(" ".join(re.findall(r"<(?:text|tspan)[^>]*>([^<]*)<", sheet.svg())) for sheet in sheets)
    for component in design.circuit.components:
        assert component.designator in text, component
    for relay in wiring_of(design).relays:
        assert relay.capacitor is None or show(relay.capacitor, "F") in text
    if isinstance(design.pins, Assignment):
        assert all(wire.pin in text for wire in wiring_of(design).pins)
    assert {mark for net, mark in marks_of(design.circuit).items() if design.circuit.net_by_name[net].kind is not NetKind.SUPPLY} <= set(text.split())
    assert design.identity in text and proof.digest[:12] in text
    assert (STOP in text) is bool(design.unanswered)


def small():
    drawing = Drawing("trial", 200)
    drawing.block("box", Box(50, 50, 90, 70))
    drawing.text(100, 40, "words")
    drawing.wire("a", (0, 60), (50, 60))
    return drawing


def test_a_sound_sheet_has_no_clash():
    assert list(clashes(small())) == []


@pytest.mark.parametrize("spoil, found", [
    (lambda d: d.text(110, 42, "more"), "'words' is written over 'more'"),
    (lambda d: d.wire("b", (0, 65), (120, 65)), "a wire of b runs through box"),
    (lambda d: d.wire("b", (110, 0), (110, 100)), "a wire of b runs through 'words'"),
    (lambda d: d.wire("b", (20, 60), (40, 60)), "wires of a and b lie on each other"),
    (lambda d: d.wire("b", (20, 20), (20, 60)), "wires of a and b lie on each other"),
    (lambda d: d.text(190, 90, "far"), "'far' leaves the sheet"),
    (lambda d: d.text(55, 65, "name"), "'name' is written over box"),
    (lambda d: d.text(60, 65, "too long a name", inside="box"), "'too long a name' leaves box"),
    (lambda d: d.block("other", Box(80, 60, 120, 80)), "box lies on other"),
    (lambda d: d.zone(Box(115, 10, 180, 100)), "'words' lies on the border of a zone"),
])
def test_every_kind_of_clash_is_seen(spoil, found):
    drawing = small()
    spoil(drawing)
    assert found in list(clashes(drawing))


def test_wires_that_cross_are_counted_and_no_clash():
    drawing = small()
    drawing.wire("b", (20, 20), (20, 100))
    assert (crossings(drawing), list(clashes(drawing))) == (1, [])


def test_a_wire_aslant_is_refused():
    with pytest.raises(ValueError, match=r"^a wire of a runs aslant, from \(0, 0\) to \(5, 5\)$"):
        small().wire("a", (0, 0), (5, 5))


@pytest.mark.parametrize("text", ["one two three", "灯台電気灯台電気 x", "W" * 60, ""])
def test_wrapped_words_fit_their_room_and_none_is_lost(text):
    lines = wrapped(text, 80)
    assert all(width_of(line) <= 80 for line in lines)
    assert "".join("".join(lines).split()) == "".join(text.split())
