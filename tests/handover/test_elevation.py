"""Wall elevations: true to scale, nothing hidden, nothing over anything, each thing found by its path."""

import re
from collections import Counter
from xml.etree import ElementTree

import pytest

from pattress.cautions import CAUTIONS
from pattress.design import build
from pattress.drawing.box import are_crossing
from pattress.drawing.clashes import clashes
from pattress.handover.callouts import LEVEL, stairs
from pattress.handover.commissioning import functions
from pattress.handover.elevation import HOME, PAPER, SCREEN, elevation_drawings, metres
from pattress.handover.household import household
from pattress.handover.things import CONTROLLER, RECEIVER, failing, thing_of, things_of
from pattress.job import read

from .designs import example

SVG = "{http://www.w3.org/2000/svg}"
MARKED = {"switch.s0": "fails", "load.load_0": "tight", CONTROLLER: "unknown", RECEIVER: "fails"}


def text_of(drawings):
    return " ".join(label.words for drawing in drawings for label in drawing.labels)


def design_from(old="", new="", name="sewing-room"):
    like = example(name)
    text = open(f"examples/{name}/job.toml", encoding="utf-8").read()
    assert old in text
    return build(read(text.replace(old, new, 1), "job.toml")[0], like.results["parts"], like.results["boards"])


@pytest.mark.parametrize("medium, most_crowded", [(PAPER, 0.2), (SCREEN, 0.3), (HOME, 0.2)], ids=["paper", "screen", "home"])
def test_two_hundred_random_jobs_have_no_clash_and_lines_cross_only_levels(random_designs, medium, most_crowded):
    seen, crowded = Counter(), 0
    for design in random_designs:
        drawings = elevation_drawings(design, marks=MARKED, cautions=CAUTIONS, medium=medium)
        for drawing in drawings:
            assert list(clashes(drawing)) == [], drawing.title
            firm = [wire.box for wire in drawing.wires if not wire.net.startswith(LEVEL)]
            assert not any(are_crossing(one, other) for place, one in enumerate(firm) for other in firm[:place])
            crowded += sum(label.words.startswith("For want of room") for label in drawing.labels)
            seen[bool(design.job.wall)] += 1
        shown = {thing.about for drawing in drawings for thing in drawing.things}
        assert shown == {thing.path for thing in things_of(design)}
    assert min(seen.values()) > 20 and crowded < most_crowded * sum(seen.values()), crowded / sum(seen.values())


def test_every_thing_is_shown_once_and_says_what_it_does(design):
    drawings = elevation_drawings(design)
    faces = Counter(thing.about for drawing in drawings for thing in drawing.things)
    assert faces == {thing.path: 2 for thing in things_of(design)}         # its face, and its words
    text = text_of(drawings)
    for thing in things_of(design):
        assert all(word in text for word in (*thing.name.split(), *thing.words.split()))
    assert "Pendant lamps: on or off, in turn" in {thing.words for thing in things_of(example("sewing-room"))}


def test_places_are_true_to_scale(design):
    for (key, wall), drawing in zip(design.job.wall.items(), elevation_drawings(design)):
        face = drawing.zones[0]
        scale = (face.right - face.left) / wall.width
        assert (face.bottom - face.top) / wall.height == pytest.approx(scale)
        boxes = {path: symbol.box for symbol in drawing.symbols for path in symbol.name.split()}
        for thing in things_of(design):
            if thing.at and thing.at.wall == key:
                box = boxes[thing.path]
                assert (box.left + box.right) / 2 == pytest.approx(face.left + thing.at.along * scale)
                if thing.at.height != "ceiling":
                    assert (box.top + box.bottom) / 2 == pytest.approx(face.bottom - thing.at.height * scale)
                    assert metres(thing.at.height) in text_of([drawing])
                assert f"{metres(thing.at.along)} along" in text_of([drawing])
                if thing.path == CONTROLLER:
                    assert (box.right - box.left, box.bottom - box.top) == pytest.approx(
                        (design.job.site.enclosure.width * scale, design.job.site.enclosure.height * scale))


def test_switches_at_one_place_share_a_box_left_to_right():
    drawing = elevation_drawings(example("sewing-room"))[0]
    box = next(symbol for symbol in drawing.symbols if "switch.door" in symbol.name.split())
    assert box.name == "switch.door switch.door_right switch.leaving"
    gangs = [next(thing.boxes[0] for thing in drawing.things if thing.about == path) for path in box.name.split()]
    assert gangs[0].left == box.box.left and gangs[-1].right == pytest.approx(box.box.right)
    assert [gang.right for gang in gangs[:-1]] == pytest.approx([gang.left for gang in gangs[1:]])
    words = text_of([drawing])
    assert words.index("(gang 1 of 3)") < words.index("(gang 2 of 3)") < words.index("(gang 3 of 3)")


def test_what_has_no_place_is_shown_by_itself():
    *walls, without = elevation_drawings(example("landing"))
    assert without.title == "Landing: place not given" and len(walls) == 2
    assert "load.attic" in {thing.about for thing in without.things}
    assert "load.attic" not in {thing.about for wall in walls for thing in wall.things}


def test_a_job_without_walls_gets_one_that_says_it_has_no_scale():
    text = re.sub(r"(?m)^at = .*\n", "", open("examples/sewing-room/job.toml", encoding="utf-8").read())
    text = re.sub(r"(?m)^\[wall\.\w+\]\n(?:.+\n)+", "", text)
    like = example("sewing-room")
    (drawing,) = elevation_drawings(build(read(text, "job.toml")[0], like.results["parts"], like.results["boards"]))
    assert drawing.title == "Sewing room: wall, drawn to no scale"
    assert "has no scale" in text_of([drawing]) and list(clashes(drawing)) == []
    assert {thing.about for thing in drawing.things} == {thing.path for thing in things_of(like)}


def test_two_things_at_one_spot_are_drawn_beside_each_other_and_told():
    design = design_from('at = { wall = "door", along = "2.6 m", height = "1.5 m" }', 'at = { wall = "door", along = "1.7 m", height = "1.12 m" }')
    drawing = elevation_drawings(design)[0]
    assert list(clashes(drawing)) == []
    assert "Sensor Room is drawn beside its place, 1.12 m high, 1.70 m along: something else is drawn there." in text_of([drawing])


def test_each_thing_is_a_link_with_a_title_that_answers_where_it_lies():
    drawing = elevation_drawings(example("sewing-room"))[0]
    page = ElementTree.fromstring(drawing.picture(lambda path: f"#{path}&", current="switch.door").svg())
    links = page.findall(f"{SVG}a")
    assert {(link.get("data-about"), link.get("href")) for link in links} == {(thing.about, f"#{thing.about}&") for thing in drawing.things}
    for link in links:
        assert link.find(f"{SVG}title").text and link.findall(f"{SVG}rect")
    assert page.get("role") == "group" and {link.get("data-about") for link in links if link.get("aria-current")} == {"switch.door"}
    plain = ElementTree.fromstring(drawing.svg())
    assert not plain.findall(f"{SVG}a") and {group.get("data-about") for group in plain.findall(f"{SVG}g")} - {None}


def test_a_mark_is_a_shape_and_a_word():
    plain, marked = (elevation_drawings(example("sewing-room"), marks=marks)[0] for marks in ({}, {"switch.door": "fails"}))
    said = [label.words for label in marked.labels]
    assert said.count("fails") == 1 and "fails" not in {label.words for label in plain.labels}
    def pieces(drawing):
        return sum(len(thing.under) for thing in drawing.things if thing.about == "switch.door")

    assert pieces(marked) == pieces(plain) + 1


def test_a_failing_finding_is_marked_at_its_thing(design):
    marks = failing(design)
    assert {thing_of(finding, design) for finding in design.findings if str(finding.verdict) == "fails"} == set(marks)
    assert set(marks) <= {thing.path for thing in things_of(design)}
    assert text_of(elevation_drawings(design, marks=marks)).split().count("fails") == len(marks)


def test_findings_about_feeds_and_pins_find_their_thing():
    design = example("sewing-room")
    found = {finding.id: thing_of(finding, design) for finding in design.findings}
    assert found["contacts.pendant"] == "load.pendant" and found["protection.lights"] == CONTROLLER
    workshop = example("garden-workshop")
    assert {thing_of(finding, workshop) for finding in workshop.findings if finding.id.endswith(".input_bin")} == {"input.bin"}
    assert found["sensing.switch_door"] == "switch.door" and found["fan_start.ceiling"] == "fan.ceiling"


@pytest.mark.parametrize("places, steps", [((0, 50, 100), [0, 0, 0]), ((0, 10, 100), [1, 0, 0]), ((0, 10, 20), [2, 1, 0]), ((0, 10, 45), [1, 0, 0]), ((), [])])
def test_words_of_a_scale_step_back_where_they_would_meet(places, steps):
    assert stairs(places, [30] * len(places)) == steps


def test_metres_keep_the_millimetre_where_there_is_one():
    assert [metres(length) for length in (0.0, 1.1, 1.25, 3.048, 12.0)] == ["0.00 m", "1.10 m", "1.25 m", "3.048 m", "12.00 m"]


# Two positions of four steps: 4 x 1/2 = 2 and 4; three: 4/3 and 8/3 up to whole steps, 2, 3 and 4.
@pytest.mark.parametrize("positions, off, words", [
    (4, "own contact", "Ceiling fan: off, and steps 1 to 4"), (4, "none", "Ceiling fan: steps 1 to 4"), (3, "no contact", "Ceiling fan: off, and steps 2, 3, 4"),
    (2, "none", "Ceiling fan: steps 2, 4"), (1, "no contact", "Ceiling fan: off, and step 4")])
def test_a_regulator_says_the_steps_that_it_has(positions, off, words):
    design = design_from('positions = 4\noff = "no contact"', f'positions = {positions}\noff = "{off}"')
    assert [thing.words for thing in things_of(design) if thing.path == "regulator.wall"] == [words]
    assert words in {row[2] for row in household(design)[0].tables[0].rows}
    ways = [way for table in functions(design).tables for way, *_ in table.rows if way.startswith("Fan regulator to")]
    assert ways == [f"Fan regulator to {name}" for name in ["off"] * (off != "none") + list(range(1, positions + 1))]


def test_for_the_household_a_wall_says_what_things_are_called_and_what_a_touch_does_and_no_ratings():
    design = example("sewing-room")
    drawings = elevation_drawings(design, medium=HOME)
    said = text_of(drawings)
    assert all(thing.name in said for thing in things_of(design)) and "Ceiling fan: off, and steps 1 to 4" in said and "(1 of 3)" in said
    assert not re.search(r"\d W\b|LED driver|resistive|gang|\bbox \d|along\b(?!,)", said)
    assert [drawing.title for drawing in drawings] == ["Sewing room: Wall with the door", "Sewing room: Wall at the bench"]
    assert elevation_drawings(example("landing"), medium=HOME)[1].title == "Landing: Hall, Wall at the foot of the stairs"
