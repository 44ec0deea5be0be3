"""Drawings: no words over words, no wire through a symbol, whatever the job; and every figure is the design's."""

import re

import pytest

from pattress.cautions import CAUTIONS
from pattress.drawing.box import Box
from pattress.drawing.clashes import clashes
from pattress.drawing.sheet import Drawing, width_of, wrapped
from pattress.handover.controller_wiring import BARRIER, BARRIER_END, controller_wiring
from pattress.handover.details import details
from pattress.handover.legible import is_legible
from pattress.handover.single_line import single_line
from pattress.handover.wiring import channels, finding_of, wiring_of
from pattress.pins.best import Assignment
from pattress.quantity import show

from .crossing_wires import crossings


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


def test_two_hundred_random_wiring_diagrams_have_no_clash_no_crossing_and_no_small_letter(random_designs):
    for design in random_designs:
        for drawing in controller_wiring(design, wiring_of(design), CAUTIONS):
            assert (list(clashes(drawing)), crossings(drawing), is_legible(drawing)) == ([], 0, True), drawing.title


def test_the_wiring_diagrams_show_every_terminal_pin_relay_and_value(design):
    wiring = wiring_of(design)
    sheets = controller_wiring(design, wiring, CAUTIONS)
    text = " ".join(words(sheet) for sheet in sheets)
    shown = {symbol.name for sheet in sheets for symbol in sheet.symbols}
    for terminal in wiring.terminals:
        assert terminal.mark in shown
    for relay in wiring.relays:
        assert {f"coil {relay.mark}", f"contact {relay.mark}"} <= shown
        for value, unit in ((relay.capacitor, "F"), (relay.damping, "ohm"), (relay.bleed and relay.bleed[0], "ohm")):
            assert value is None or show(value, unit) in text
    if isinstance(design.pins, Assignment):
        assert all(wire.pin in text.split() or f"{wire.pin}," in text.split() for wire in wiring.pins)
    assert f"{show(finding_of(design, 'board_distance.mains_to_touchable').limit.value, 'm')} through air" in text


def test_no_wire_crosses_the_barrier(design):
    outputs = [sheet for sheet in controller_wiring(design, wiring_of(design), CAUTIONS) if "outputs on feed" in sheet.title]
    assert outputs
    for sheet in outputs:
        for wire in sheet.wires:
            assert wire.box.right <= BARRIER or wire.box.left >= BARRIER_END
        coils = [symbol for symbol in sheet.symbols if symbol.name.startswith("coil")]
        assert coils and all(coil.box.right <= BARRIER for coil in coils)


def test_the_details_have_no_clash_and_the_values_of_the_design(random_designs, design):
    for one in (*random_designs, design):
        drawing = details(one, wiring_of(one), CAUTIONS)
        assert (list(clashes(drawing)), crossings(drawing)) == ([], 0)
    text = words(details(design, wiring_of(design), CAUTIONS))
    for wanted, name in (("sensing", "pull-up"), ("drive_pin", "coil current")):
        finding = next(finding for finding in design.findings if finding.id.startswith(f"{wanted}."))
        figure = next(given.figure for given in finding.inputs if given.name == name)
        assert show(figure.value, figure.unit) in text


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
