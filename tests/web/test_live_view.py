"""The drawing of the room at one moment: every state by word, nothing over anything else."""

import re
from itertools import combinations
from xml.etree import ElementTree

import pytest

from pattress.design import design_of
from pattress.drawing import dark_rules
from pattress.drawing.box import Box, around
from pattress.drawing.lettering import SANS
from pattress.drawing.pieces import text_box
from pattress.rehearsal.live_run import LiveRun
from pattress.web.program.live_view import WIDTH, drawn, live_view_of

from .served_page import EXAMPLES

SVG = "{http://www.w3.org/2000/svg}"


def scene_of(job, *lines):
    design = design_of(EXAMPLES / job / "job.toml")
    room = LiveRun(design.plan)
    for line in ("wait 3000", *lines):
        room.do(line)
    scene = room.scene()
    moment = live_view_of(design, scene.lamps, scene.controls)
    return design, moment, ElementTree.fromstring(drawn(design, moment))


def label_of(link):
    """Return the room of a thing's label."""
    return around(text_box(float(text.get("x")), float(text.get("y")), text.text, float(text.get("font-size")), "middle", SANS, bold=text.get("font-weight") == "bold")
                  for text in link.findall(f"{SVG}text"))


def spots(root):
    """Return where each thing's touching area lies, by its words."""
    found = {}
    for link in root.iter(f"{SVG}a"):
        area = next(one for one in link.iter(f"{SVG}rect") if one.get("width") == "44")
        found[link.get("aria-label")] = (float(area.get("x")), float(area.get("y")))
    return found


@pytest.mark.parametrize("job", ["sewing-room", "landing", "garden-workshop"])
def test_nothing_lies_over_anything_else_and_all_is_within(job):
    design, moment, root = scene_of(job)
    width, height = map(float, root.get("viewBox").split()[2:])
    places = list(spots(root).values())
    assert len(places) == len(moment.things) == len(design.plan["channels"]) + len(design.plan["switches"]) + len(design.plan["regulators"])
    for number, (x, y) in enumerate(places):
        assert 0 <= x <= WIDTH - 44 and 0 <= y <= height - 44
        for other, below in places[number + 1:]:
            assert abs(x - other) >= 44 or abs(y - below) >= 44
    labels = [label_of(link) for link in root.iter(f"{SVG}a")]
    assert all(Box(0, 0, width, height).holds(label) for label in labels)
    assert not [(one, other) for one, other in combinations(labels, 2) if one.meets(other)]


def test_a_thing_keeps_its_place_whatever_it_does():
    _, _, still = scene_of("sewing-room")
    _, _, moved = scene_of("sewing-room", "throw door", "turn wall 3", "wait 5000")
    assert list(spots(still).values()) == list(spots(moved).values()) and list(spots(still)) != list(spots(moved))


def test_every_state_is_a_word_and_a_shape():
    _, moment, root = scene_of("sewing-room", "throw door", "turn wall 2", "wait 900", "turn wall 1", "wait 400")
    words = "\n".join(moment.words)
    assert "Pendant lamps: on; relay K1 closed" in words and "By the door, left: closed" in words and "At the bench: at rest" in words
    assert re.search(r"Ceiling fan: off, shall be step 1, dead time \d+ ms; K6 to K8 open", words)
    rays = {link.get("aria-label"): any(path.get("class") == "rays" for path in link.iter(f"{SVG}path")) for link in root.iter(f"{SVG}a")}
    assert rays["Pendant lamps: on; relay K1 closed"] and not rays["Bench light: off; relay K2 open"]


def test_the_page_shows_its_drawings_in_the_dark(unchanged):
    _, client = unchanged
    style = client.get("/static/page.css")
    assert style.text.endswith(dark_rules()) and style.headers["content-type"].startswith("text/css")
