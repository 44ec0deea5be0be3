"""The picture of a day: whole, true to the log, legible, and needing nothing beside it."""

import json
import re
import subprocess
from xml.etree import ElementTree

import pytest

from pattress.drawing.look import INK, LIGHT
from pattress.rehearsal.day import HOUR
from pattress.rehearsal.timeline import LEFT, QUARTER, RIGHT, SHAPES, WIDTH, timeline

SVG = "{http://www.w3.org/2000/svg}"
MEASURE = """<script>
const out = [...document.querySelectorAll('text')].map(t => {
  const b = t.getBoundingClientRect();
  return [t.textContent, b.left, b.right, parseFloat(getComputedStyle(t).fontSize)] });
document.body.innerHTML = '<pre id="out"></pre>';
document.getElementById('out').textContent = JSON.stringify(out);
</script>"""


@pytest.fixture(scope="module", params=[0, 1], ids=["scripted", "random"])
def drawn(request, rehearsal, plans):
    """Return a day with its picture and the picture's tree."""
    day = rehearsal.days[request.param]
    text = timeline(day, plans.sewing_room()).svg()
    return day, text, ElementTree.fromstring(text)


def test_it_is_one_picture_that_needs_nothing_beside_it(drawn):
    day, text, tree = drawn
    assert tree.get("viewBox").startswith(f"0 0 {WIDTH:g} ")
    assert tree.get("role") == "img" and day.title in tree.find(f"{SVG}title").text and "Ceiling fan" in tree.find(f"{SVG}desc").text
    assert not re.search(r'href|@import|<script|<image|url\((?!#)', text)
    used = set(re.findall(r"url\(#([\w-]+)\)", text))
    assert used <= {pattern.get("id") for pattern in tree.iter(f"{SVG}pattern")}
    assert "NaN" not in text and "None" not in text


def test_the_bars_are_as_long_as_the_loads_were_on(drawn):
    day, _, tree = drawn
    scale = QUARTER / (RIGHT - LEFT)
    drawn_on = sum(float(bar.get("width")) for bar in tree.iter(f"{SVG}rect") if bar.get("fill") == LIGHT.light) * scale
    bars = sum(bar.get("fill") == LIGHT.light for bar in tree.iter(f"{SVG}rect"))
    assert drawn_on == pytest.approx(sum(day.facts.time_on), abs=bars * 1.1 * scale)     # a short one is drawn 1 wide
    assert sum(day.facts.time_on) > 24 * HOUR


def test_every_action_and_every_outage_can_be_read_in_it(drawn):
    day, _, tree = drawn
    words = "\n".join(title.text for title in tree.iter(f"{SVG}title"))
    for user_action in day.user_actions:
        assert f"{user_action.name}: {user_action.outcome}" in words
    for span in day.spans:
        assert f"no {span.what} from " in words


def test_who_asked_is_told_by_shape_and_effect_by_filling(drawn):
    _, _, tree = drawn
    paths = {path for _, path in SHAPES.values()}
    assert len(paths) == len(SHAPES) == 6
    for group in tree.iter(f"{SVG}g"):
        title, shapes = group.find(f"{SVG}title"), group.findall(f"{SVG}path")
        if title is not None and re.match(r"\d\d:\d\d:\d\d ", title.text):
            has_effect = bool(re.search(r": (acted|waits)", title.text))
            assert (shapes[-1].get("fill") == INK.light) == has_effect


def test_a_name_with_signs_of_markup_stays_a_name(rehearsal, plans):
    table = plans.sewing_room()
    table["channels"][0]["name"] = "Lamp <1> & \"co\""
    tree = ElementTree.fromstring(timeline(rehearsal.days[0], table).svg())
    assert 'Lamp <1> & "co"' in [text.text for text in tree.iter(f"{SVG}text")]


def test_in_a_browser_no_text_leaves_the_picture_and_none_is_smaller_than_12_where_it_is_360_wide(drawn, tmp_path):
    _, text, _ = drawn
    page = tmp_path / "day.html"
    page.write_text(f'<!doctype html><meta charset="utf-8"><body style="margin:0;width:360px">{text}{MEASURE}')
    browser = subprocess.run(
        ["chromium", "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={tmp_path / 'profile'}",
         "--window-size=600,900", "--dump-dom", page.as_uri()], capture_output=True, text=True, check=True, timeout=60)
    measured = json.loads(re.search(r'<pre id="out">(.*?)</pre>', browser.stdout, re.S).group(1)
                          .replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&"))
    assert len(measured) > 40
    for words, left, right, size in measured:
        assert left >= 0 and right <= 360, f"{words} reaches from {left} to {right}"
        assert size * 360 / WIDTH >= 12
