"""Every kind of drawing that the program makes, measured in a browser: nothing outside its frame, words large enough, one look, title and alt text."""

import json
import re
import subprocess
from pathlib import Path
from xml.etree import ElementTree

import pytest

from pattress.controller.infrared.protocols import NEC
from pattress.design import design_of
from pattress.drawing import Medium
from pattress.drawing.look import COLOURS, HALO, SHEET_SIZES, SIZES, WEIGHTS
from pattress.fan.report import bands, drawings
from pattress.handover.bars import bar_of
from pattress.handover.elevation import elevation_drawings
from pattress.handover.single_line import single_line
from pattress.handover.wiring import wiring_of
from pattress.infrared.capture_drawing import histogram, timing_diagram
from pattress.infrared.decoding import decode
from pattress.infrared.encoding import signal
from pattress.infrared.learning import learn
from pattress.job.code import Code
from pattress.pins.pinout_drawing import NARROW, pinout
from pattress.proof.story import Step, Story
from pattress.rehearsal.live_run import LiveRun
from pattress.rehearsal.rehearse import rehearse
from pattress.rehearsal.storyline import story_picture
from pattress.rehearsal.timeline import timeline
from pattress.web.job.walls import walls_of
from pattress.web.program.live_view import drawn, live_view_of
from tests.rehearsal.plans import sewing_room

SVG = "{http://www.w3.org/2000/svg}"
EXAMPLE = Path(__file__).parents[2] / "examples" / "sewing-room" / "job.toml"
TELEPHONE = 420                  # units: a picture so wide or less is read on a telephone
MEASURE = """<script>
const out = [...document.querySelectorAll('svg.drawing')].map(svg => {
  const whole = svg.getBoundingClientRect(), scale = whole.width / svg.viewBox.baseVal.width;
  const seen = [...svg.querySelectorAll('text, rect, circle, polyline, path')].filter(one => !one.closest('defs'));
  return { scale: scale, sizes: [...svg.querySelectorAll('text')].map(one => parseFloat(getComputedStyle(one).fontSize) * scale),
    outside: seen.map(one => [one.getBoundingClientRect(), one.outerHTML]).filter(([box]) => box.left < whole.left - .6 || box.right > whole.right + .6
      || box.top < whole.top - 3 || box.bottom > whole.bottom + 3).map(([box, text]) => text), pieces: seen.length } });
document.body.innerHTML = '<pre id="out"></pre>'; document.getElementById('out').textContent = JSON.stringify(out);
</script>"""


@pytest.fixture(scope="module")
def all_drawings():
    """Return every kind of drawing as it stands on a page, by its name; those on sheets begin with "sheet"."""
    design = design_of(EXAMPLE)
    wiring, durations = wiring_of(design), signal(Code(NEC, 4, 8), held=1).durations
    run = LiveRun(design.plan)
    for words in ("wait 3000", "throw door", "wait 900"):
        run.do(words)
    scene = run.scene()
    table = sewing_room()
    story = Story("wish.cool", "ironing_socket is never on while ceiling_fan is on", "all", (
        Step("power comes on, snapshot lost or none", "", ()), Step("By the door is operated and settles", "Pendant lamps: all open -> relay K1 closed", (), relays=1)),
        "Pendant lamps are on")
    sheets = (*single_line(design, wiring, ()), *elevation_drawings(design))
    day = rehearse(table, seed=20, days=0).days[0]
    key = next(iter(design.job.fan))
    fan_design = design.results["fan_designs"][key]
    pictures = {f"fan {name}": picture for name, picture in {**drawings(fan_design, ("K6", "K7", "K8")), **{f"{name} band": one for name, one in bands(fan_design).items()}}.items()}
    pictures |= {"capture": timing_diagram(durations, decode(durations), width=360), "wide capture": timing_diagram(durations, decode(durations)),
                 "histogram": histogram(learn([durations] * 3)), "day": timeline(day, table), "story": story_picture(story, table),
                 "pins": pinout(design.board, design.pins.pins), "narrow pins": pinout(design.board, design.pins.pins, NARROW)}
    pictures |= {f"sheet {number} {sheet.title}": sheet.picture() for number, sheet in enumerate(sheets)}
    assert {name: found for name, picture in pictures.items() if (found := picture.outside())} == {}
    found = {name: picture.svg(Medium.PAGE) for name, picture in pictures.items()}
    found["room"] = drawn(design, live_view_of(design, scene.lamps, scene.controls))
    found |= {f"sheet on the page {wall.title}": wall.svg for wall in walls_of(design)}
    found["bar"] = re.search(r"<svg.*?</svg>", next(bar for finding in design.findings if (bar := bar_of(finding))).__html__(), re.S)[0]
    return found


@pytest.fixture(scope="module")
def measured(all_drawings, tmp_path_factory):
    """Return what a browser measures: pictures for a telephone 360 dots wide, others as wide as their frame."""
    folder = tmp_path_factory.mktemp("drawings")
    blocks = []
    for svg in all_drawings.values():
        across = float(re.search(r'viewBox="\S+ \S+ (\S+) ', svg)[1])
        blocks.append(f'<div style="width:{360 if across <= TELEPHONE else across}px">{re.sub(" width=.[0-9.]+rem.", "", svg, count=1)}</div>')
    (folder / "all.html").write_text(f'<!doctype html><meta charset="utf-8"><style>svg{{display:block;width:100%}}.bar{{height:14px}}</style>{"".join(blocks)}{MEASURE}', "utf-8")
    page = subprocess.run(["chromium", "--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking", f"--user-data-dir={folder / 'profile'}",
                           "--window-size=1300,900", "--dump-dom", (folder / "all.html").as_uri()], capture_output=True, text=True, check=True, timeout=120)
    out = json.loads(re.search(r'<pre id="out">(.*?)</pre>', page.stdout, re.S)[1].replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&"))
    return dict(zip(all_drawings, out, strict=True))


def test_nothing_is_drawn_outside_its_frame(measured):
    assert {name: found["outside"] for name, found in measured.items() if found["outside"]} == {}
    assert all(found["pieces"] >= 4 for found in measured.values()) and len(measured) > 18


def test_no_word_is_smaller_than_12_where_a_picture_is_as_wide_as_a_telephone(measured):
    sizes = {name: min(found["sizes"]) for name, found in measured.items() if found["sizes"] and not name.startswith("sheet")}
    assert len(sizes) > 10
    assert {name: size for name, size in sizes.items() if size < 12 - 0.01} == {}


def test_every_drawing_has_a_title_and_says_in_words_what_it_shows(all_drawings):
    for name, svg in all_drawings.items():
        root = ElementTree.fromstring(svg)
        title, alt = root.find(f"{SVG}title").text, root.find(f"{SVG}desc").text
        assert title.strip() and alt.strip() and title != alt, name
        assert root.get("role") == ("group" if root.find(f".//{SVG}a") is not None else "img"), name
    said = {name: ElementTree.fromstring(svg).find(f"{SVG}desc").text for name, svg in all_drawings.items()}
    assert "step 1: balance at" in said["fan torque-speed"] and "nec 0x04:0x08" in said["capture"] and "Pendant lamps: on; relay K1 closed" in said["room"]
    assert "relay.pendant at " in said["pins"] and "1. power comes on" in said["story"] and "Ceiling fan " in said["day"]


def test_all_have_one_look(all_drawings):
    """Lines, letters and colours come from the kit: nobody has a weight, a size or a colour of its own."""
    for name, svg in all_drawings.items():
        drawn_with = set(re.findall(r' (?:fill|stroke)="(#\w+)"', svg))
        weights = {float(weight) for weight in re.findall(r' stroke-width="([^"]+)"', svg)}
        sizes = {float(size) for size in re.findall(r' font-size="([^"]+)"', svg)}
        assert drawn_with <= {colour.light for colour in COLOURS}, name
        assert weights <= {*WEIGHTS, HALO}, name
        assert sizes <= ({*SHEET_SIZES} if name.startswith("sheet") else {*SIZES}), name
