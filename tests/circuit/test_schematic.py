"""The schematics show the whole circuit and nothing else, legibly, whatever the job: compared with the netlist by their own lines."""

import random
import re
from collections import Counter
from xml.etree import ElementTree

import pytest

from pattress.circuit.designators import SCHEME
from pattress.circuit.model import Kind
from pattress.circuit.parts import EARTH
from pattress.circuit.schematic import Identity, Practice, sheets
from pattress.circuit.schematic.captions import LONGEST, told_apart
from pattress.circuit.schematic.extraction import differences, extracted
from pattress.circuit.schematic.frame import CAUTION, zone
from pattress.drawing.lettering import MONO

from .drawn import NAMES, VARIANTS, circuit, drawn, stock
from .layout import clashes, words_and_lines
from .random_jobs import circuit_of, circuits

SVG = "{http://www.w3.org/2000/svg}"
ALL = (*NAMES, *VARIANTS)
CAPITAL = 0.729                          # of the size, of capitals in DejaVu Sans Mono (read from the font)


def faults(circuit, svgs):
    """Return everything that is wrong with the sheets of a circuit."""
    found = extracted(svgs)
    return [*found.slips, *differences(circuit, found), *(f"sheet {number}: {clash}" for number, svg in enumerate(svgs, 1) for clash in clashes(svg))]


def parts(svg):
    """Yield the designator, the words and the leads of every part on a sheet: {pin: connection point in mm}."""
    for group in ElementTree.fromstring(svg).iter(f"{SVG}g"):
        if group.get("class") == "part":
            leads = {pin.findtext(f"{SVG}text"): tuple(map(float, pin.find(f"{SVG}polyline").get("points").split()[0].split(","))) for pin in group.findall(f"{SVG}g")}
            yield group.findtext(f"{SVG}text[@class='ref']"), [text.text for text in group.findall(f"{SVG}text")], leads


@pytest.mark.parametrize("name", ALL)
def test_the_lines_say_what_the_circuit_says_and_nothing_lies_on_anything(name):
    assert faults(circuit(name), drawn(name)) == []


def random_faults(number, seed):
    """Return what is wrong with the schematics of random circuits, by their place in the row."""
    practices = (Practice.IEC, Practice.NORTH_AMERICAN)
    return {place: found for place, one in enumerate(circuits(number, *stock(), seed))
            if (found := faults(one, [sheet.svg() for sheet in sheets(one, title="x" * (place % 80), practice=practices[place % 2])]))}


def test_random_circuits_are_drawn_whole_and_legible():
    assert random_faults(40, seed=1) == {}


@pytest.mark.soak
def test_many_random_circuits_are_drawn_whole_and_legible():
    assert random_faults(300, seed=2) == {}


@pytest.mark.parametrize("name", ALL)
def test_every_part_shows_its_value(name):
    said = {}
    for svg in drawn(name):
        for reference, words, _ in parts(svg):
            said.setdefault(reference, []).extend(words)
    figures = {one.designator: one.value for one in circuit(name).components if one.figure}
    assert len(figures) > 20
    assert {reference: value for reference, value in figures.items() if not any(words.startswith(value) for words in said[reference])} == {}


@pytest.mark.parametrize("name", ALL)
def test_coil_and_contact_name_each_other_s_place(name):
    coils, contacts, where = {}, {}, {}
    for number, svg in enumerate(drawn(name), 1):
        for reference, words, leads in parts(svg):
            place = next((f"{number}/{zone(x / 2.5, y / 2.5)}" for x, y in leads.values()), "")
            if "A1" in leads:
                coils[reference] = next(one[3:] for one in words if one.startswith("to "))
                where[reference, "coil"] = number
            elif "11" in leads and reference.startswith("K"):
                contacts[reference] = next(one[5:] for one in words if one.startswith("coil "))
                where[reference, "contact"] = place
    assert set(coils) == {one.designator for one in circuit(name).of(Kind.RELAY)}
    assert coils == {reference: where[reference, "contact"] for reference in coils}
    assert {reference: int(place.partition("/")[0]) for reference, place in contacts.items()} == {reference: where[reference, "coil"] for reference in coils}


def bodies(name, practice):
    """Return how many points the body of each resistor has on the sheets of a circuit."""
    found = Counter()
    for sheet in sheets(circuit(name), title="x", practice=practice):
        for group in ElementTree.fromstring(sheet.svg()).iter(f"{SVG}g"):
            if group.get("class") == "part" and group.findtext(f"{SVG}text[@class='ref']").startswith("R"):
                found[len(group.find(f"{SVG}polyline").get("points").split())] += 1
    return found


def test_the_symbols_of_the_two_customs_are_never_mixed():
    count = sum(1 for _ in circuit("120 V").of(Kind.RESISTOR))
    assert bodies("120 V", Practice.IEC) == {5: count}                    # a box
    assert bodies("120 V", Practice.NORTH_AMERICAN) == {8: count}         # a zig-zag


@pytest.mark.parametrize("name", ALL)
def test_capitals_are_high_enough_and_all_is_black_on_white(name):
    for svg in drawn(name):
        sizes = {float(size) for size in re.findall(r'font-size="([^"]+)"', svg)}
        assert min(sizes) * CAPITAL >= 1.8
        assert set(re.findall(r'(?:fill|stroke)="(#\w+)"', svg)) == {"#000000", "#ffffff"}


def test_a_sheet_is_a4_in_millimetres_with_a_title_and_words_for_those_who_do_not_see_it():
    for number, svg in enumerate(drawn("landing"), 1):
        root = ElementTree.fromstring(svg)
        assert (root.get("width"), root.get("viewBox")) == ("297mm", "0 0 297 210")
        assert root.findtext(f"{SVG}title").startswith(f"Landing: circuit diagram {number} of {len(drawn('landing'))}, ")
        assert {reference for reference, _, _ in parts(svg)} <= set(re.findall(r"[\w:]+", root.findtext(f"{SVG}desc")))


def test_the_title_block_says_caution_letters_and_identity():
    identity = Identity(revision="B", date="2031-02-03", drawn="somebody", checked="another", job_digest="0123abcd", program_digest="4567ef89", status="for building")
    plain, signed = (sheets(circuit("landing"), title="Landing", practice=Practice.IEC, **more)[2].svg() for more in ({}, {"identity": identity}))
    added = Counter(words[0] for words in words_and_lines(signed)[0]) - Counter(words[0] for words in words_and_lines(plain)[0])
    assert added == {"B": 2, "2031-02-03": 2, "somebody": 1, "some…": 1, "another": 1, "0123abcd": 1, "4567ef89": 1, "for building": 1}
    assert clashes(signed) == []
    for words in (CAUTION, SCHEME):
        assert {*MONO.wrapped(words, 53.0, 2.5)} <= {one[0] for one in words_and_lines(plain)[0]}


def test_sheets_are_numbered_and_named_by_what_stands_on_them():
    found = sheets(circuit("landing"), title="Landing", practice=Practice.IEC)
    assert [(sheet.number, sheet.of) for sheet in found] == [(number, 9) for number in range(1, 10)]
    assert [sheet.title for sheet in found][3:5] == ["Relays K5 to K7, K10; feed upstairs", "Relays K11 to K13; feed upstairs"]


def test_long_names_of_nets_are_cut_andtold_apart():
    alike = [f"relay.{'a' * 30}{number}" for number in range(12)] + [f"relay.{'a' * 30}.{number}" for number in range(12)]
    found = told_apart([*alike, "relay.short"])
    assert found["relay.short"] == "relay.short" and found[alike[0]] == "relay.aaaaaaaaaaa…" and found[alike[-1]] == "relay.aaaaaaaa….11"
    assert len(set(found.values())) == len(found) and max(map(len, found.values())) == LONGEST


def test_protective_conductors_are_symbols_at_every_load_and_terminal():
    pins = sum(pin.net == EARTH for one in circuit("landing").components for pin in one.pins)
    assert len(extracted(drawn("landing")).nets[EARTH]) == pins > 20


@pytest.mark.parametrize("mark, word", [
    ('<text x="40" y="70">E1</text><text x="41" y="70.5">E2</text>', "'E1' is written over 'E2'"),
    ('<text x="40" y="70">E1</text><polyline class="wire" points="41,60 41,80"/>', "a wire runs through 'E1'"),
    ('<text x="40" y="70">E1</text><polyline class="body" points="39,70.5 44,67"/>', "a body runs through 'E1'"),
    ('<g transform="translate(280 0)"><text x="12" y="70">E1</text></g>', "'E1' leaves the sheet"),
])
def test_words_that_lie_on_something_would_be_found(mark, word):
    assert clashes(drawn("feedback")[0].replace("</svg>", f"{mark}</svg>")) == [word]


def test_a_job_as_large_as_one_controller_takes_is_drawn():
    """Thirty relays of one feed, half of them sensed, and twenty switches: flags and places with sheets of two digits."""
    lines = ["[job]", 'title = "Large"', "[supply]", 'system = "230 V 50 Hz"', 'earthing = "TN-S"', "[feed.a_long_name_for_one_feed_of_all]",
             'device = { kind = "fuse", curve = "gG", rating = "16 A" }', 'cable = { section = "1.5 mm2", length = "12 m" }']
    for number in range(30):
        lines += [f"[load.a_long_name_for_load_{number}]", f'name = "Lamp {number}"', 'kind = "LED driver"', 'power = "9 W"', 'feed = "a_long_name_for_one_feed_of_all"',
                  'run = { section = "1.5 mm2", length = "9 m" }', f'feedback = "{("none", "mains")[number % 2]}"']
    for number in range(20):
        lines += [f"[switch.a_long_name_for_switch_{number}]", f'name = "Switch {number}"', 'kind = "latching"', 'does = "toggle a_long_name_for_load_0"']
    large = circuit_of("\n".join([*lines, "[board]", 'type = "esp32-s3"']), *stock(), random.Random(1))
    svgs = [sheet.svg() for sheet in sheets(large, title="Large", practice=Practice.IEC)]
    assert len(svgs) > 15 and faults(large, svgs) == []
    assert f"{len(svgs) - 3}/A4" in "".join(svgs)
