"""Details at mains: nothing over anything, and every value is the design's."""

import pytest

from pattress.cautions import CAUTIONS
from pattress.drawing.clashes import clashes
from pattress.handover.legible import is_legible
from pattress.handover.mains_details import mains_details
from pattress.handover.wiring import finding_of, wiring_of
from pattress.quantity import show

from .crossing_wires import crossings
from .designs import example


def sheets_of(design):
    return mains_details(design, wiring_of(design), CAUTIONS)


def words(drawing):
    return " ".join(label.words for label in drawing.labels)


def test_no_detail_at_mains_has_a_clash_or_a_crossing_and_all_can_be_read(random_designs, design):
    for one in (*random_designs, design):
        for drawing in sheets_of(one):
            assert (list(clashes(drawing)), crossings(drawing)) == ([], 0), drawing.title
    assert all(is_legible(drawing) for drawing in sheets_of(design))


def test_the_varistor_and_the_fuse_are_those_of_the_findings(design):
    first = sheets_of(design)[0]
    varistor = next(given.figure for given in finding_of(design, "varistor.controller").inputs if given.name == "varistor")
    assert varistor in words(first) and {"varistor", "fuse", "T1"} <= {symbol.name for symbol in first.symbols}
    assert design.chosen.supply.part.designation in words(first)


def test_every_snubber_of_the_design_is_drawn_with_its_relays(design):
    text = words(sheets_of(design)[0])
    for relay in wiring_of(design).relays:
        if relay.snubber:
            assert f"Snubber {show(relay.snubber[1], 'ohm')} and {show(relay.snubber[0], 'F')}" in text
            assert f"{relay.mark}: {relay.name}" in text
    assert ("No contact" in text) == all(relay.snubber is None for relay in wiring_of(design).relays)


@pytest.mark.parametrize("name", ["sewing-room", "landing"])
def test_a_regulator_shows_values_steps_and_waits(name):
    design = example(name)
    wiring, sheets = wiring_of(design), sheets_of(design)[1:]
    assert len(sheets) == len(design.results["fan_designs"])
    for (key, fan), sheet in zip(design.results["fan_designs"].items(), sheets):
        text, shown = words(sheet), {symbol.name for symbol in sheet.symbols}
        relays = wiring.relays_of(key)
        for relay in relays:
            assert f"contact {relay.mark}" in shown
            for value, unit in ((relay.capacitor, "F"), (relay.damping, "ohm"), (relay.bleed and relay.bleed[0], "ohm")):
                assert value is None or show(value, unit) in text
        first = wiring.relays.index(relays[0])
        for level, mask in enumerate(fan.drive.masks):
            closed = [wiring.relays[first + place].mark for place in range(len(relays)) if mask >> place & 1]
            assert f"Step {level}: {' + '.join(closed) or 'all open'}" in text
        channel = next(channel for channel in design.plan["channels"] if channel["key"] == key)
        assert f"all are open for {show(channel['dead_ms'] / 1000, 's')}" in text
