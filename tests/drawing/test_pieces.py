"""The kit by itself: hostile words stay words, nothing leaves its frame unseen, rooms are reckoned large enough, colours can be read."""

import json
import re
import subprocess
from itertools import product
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from playwright.sync_api import sync_playwright

from pattress.drawing import Box, Medium, Picture, dark_rules
from pattress.drawing.axes import Scale, axes, figure, ticks
from pattress.drawing.lettering import MONO, SANS
from pattress.drawing.look import COLOURS, GROUNDS, INK, LETTERED, LIGHT, NO_NETWORK, NO_POWER, PAPER, SOFT, TEXT
from pattress.drawing.pieces import circle, crossed, escaped, group, line, link, paragraph, path, rectangle, text
from pattress.drawing.reach import reach
from pattress.handover.symbols import IEC, NORTH_AMERICA

SVG = "{http://www.w3.org/2000/svg}"
FRAME = Box(0, 0, 400, 300)
HOSTILE = ['</text><script>alert(1)</script>', '"><image href="x" onerror="a()"/>', "' onload='a()", "]]>&amp;<!--", "a\x00b\x1bc\ufffe", "\ud800",
           '" fill="#15191b', "=\"url(#hatch-power)", "&#0;", "<style>*{display:none}</style>"]


def drawn(*pieces, title="Trial", alt="a trial", **more):
    return Picture(title, alt, FRAME, pieces, **more)


def words_everywhere(words):
    """Return a picture that bears words wherever words can be."""
    return drawn(text(10, 20, words), rectangle(Box(0, 0, 9, 9), title=words), group((circle(5, 5, 2),), title=words, data={"of": words}),
                 link((circle(5, 5, 2),), words, alt=words, title=words, data={"of": words}), title=f"T{words}", alt=f"A{words}")


@pytest.mark.parametrize("medium", Medium)
@pytest.mark.parametrize("words", HOSTILE)
def test_hostile_words_stay_words(words, medium):
    root = ElementTree.fromstring(words_everywhere(words).svg(medium))
    said = re.sub("[^\t\n\x20-\ud7ff\ue000-\ufffd]", "\ufffd", words)
    assert [one.text for one in root.iter(f"{SVG}text")] == [said]
    assert root.find(f"{SVG}title").text == f"T{said}" and root.find(f"{SVG}desc").text == f"A{said}"
    assert {one.get("data-of") for one in root.iter()} - {None} == {said}
    allowed = {"svg", "title", "desc", "style", "text", "rect", "g", "circle", "a"}
    assert {one.tag.removeprefix(SVG) for one in root.iter()} <= allowed
    assert not any(name.startswith("on") for one in root.iter() for name in one.keys())


@given(st.text(st.characters(), max_size=30))
@settings(max_examples=150, deadline=None)
def test_any_words_at_all_give_sound_svg(words):
    ElementTree.fromstring(words_everywhere(words).svg())


def test_what_markup_is_made_of_is_written_out():
    assert escaped("<a href=\"x\" b='y'>&") == "&lt;a href=&quot;x&quot; b=&#x27;y&#x27;&gt;&amp;"


@pytest.mark.parametrize("piece", [
    text(350, 20, "Sewing-machine socket"), text(20, 20, "words", anchor="end"), text(20, 5, "words"), text(20, 299, "gypq"),
    rectangle(Box(390, 10, 401, 20)), circle(5, 50, 6), line(((10, 10), (10, 301))), path("M0 0h50", at=(360, 20)), path("M395 10a10 10 0 1 1 0 20"),
    group((circle(5, 5, 3),), at=(394, 20)), group((group((text(0, 20, "words"),), at=(300, 0)),), at=(80, 20)),
    link((rectangle(Box(-2, 0, 3, 3)),), "#x"), crossed(398, 20, 6, weight=2.0)])
def test_whatever_leaves_the_frame_is_told(piece):
    assert drawn(circle(50, 50, 10), piece).outside() == (piece.svg,)


def test_what_lies_within_is_not():
    assert drawn(text(20, 20, "words"), path("M10 10h20"), group((circle(0, 0, 5),), at=(50, 50)), path("")).outside() == ()


@pytest.mark.parametrize("title, alt, lacks", [("", "words", "title"), ("  ", "words", "title"), ("words", "", "alt text"), ("words", "\n", "alt text")])
def test_a_drawing_without_title_or_alt_text_is_refused(title, alt, lacks):
    with pytest.raises(ValueError, match=f"^a drawing needs a {lacks}, found "):
        drawn(title=title, alt=alt)


def test_a_drawing_is_one_picture_or_a_group_of_links():
    roots = [ElementTree.fromstring(drawn(has_links=has_links).svg()) for has_links in (False, True)]
    assert [root.get("role") for root in roots] == ["img", "group"]


def test_a_hatching_is_defined_once_and_by_a_name_that_another_drawing_has_not():
    pieces = [rectangle(Box(at, 0, at + 5, 5), fill=hatch) for at, hatch in ((0, NO_POWER), (10, NO_POWER), (20, NO_NETWORK))]
    one, other = (ElementTree.fromstring(drawn(group(pieces), title=title).svg()) for title in ("One", "Other"))
    names = [{pattern.get("id") for pattern in root.iter(f"{SVG}pattern")} for root in (one, other)]
    used = {found.get("fill")[5:-1] for found in one.iter(f"{SVG}rect") if found.get("fill").startswith("url")}
    assert len(names[0]) == 2 and used == names[0] and not names[0] & names[1]


# Colours.
def contrast(one, other):
    """Return the ratio of WCAG 2.2, "contrast ratio" and "relative luminance" (from memory)."""
    shares = [[int(colour[at:at + 2], 16) / 255 for at in (1, 3, 5)] for colour in (one, other)]
    bright = [sum(weight * (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4) for weight, c in zip((0.2126, 0.7152, 0.0722), share)) for share in shares]
    return (max(bright) + 0.05) / (min(bright) + 0.05)


@pytest.mark.parametrize("scheme", ["light", "dark", "printed"])
def test_words_can_be_read_on_every_ground(scheme):
    assert contrast("#ffffff", "#000000") == pytest.approx(21.0)
    for ground in GROUNDS:
        assert contrast(getattr(INK, scheme), getattr(ground, scheme)) >= 4.5, ground
    for letters in LETTERED:
        assert contrast(getattr(letters, scheme), getattr(PAPER, scheme)) >= 4.5
    for colour in COLOURS:
        if colour not in (*GROUNDS, INK, SOFT):
            assert contrast(getattr(INK, scheme), getattr(colour, scheme)) >= 3.0, colour      # a spot within its line


def test_each_colour_has_one_place_in_the_dark_and_on_paper():
    assert len({colour.light for colour in COLOURS}) == len(COLOURS)
    for colour, paint in product(COLOURS, ("fill", "stroke")):
        assert f'[{paint}="{colour.light}"]{{{paint}:{colour.dark}}}' in dark_rules()


def test_only_a_file_carries_the_dark_and_only_a_page_has_no_paper():
    texts = {medium: drawn(rectangle(Box(0, 0, 5, 5), fill=LIGHT)).svg(medium) for medium in Medium}
    assert [dark_rules() in text for text in texts.values()] == [True, False, False]
    assert [text.count("<rect") for text in texts.values()] == [2, 1, 2]
    assert LIGHT.printed in texts[Medium.PAPER] and LIGHT.light not in texts[Medium.PAPER] and LIGHT.light in texts[Medium.PAGE]


def test_a_browser_shows_the_dark_on_a_dark_screen_only_and_prints_light():
    svg = drawn(rectangle(Box(0, 0, 50, 50), fill=LIGHT, stroke=INK), text(10, 20, "words", halo=True), text(10, 60, "fact", colour=SOFT)).svg()
    find = """() => [...document.querySelectorAll('text, rect')].flatMap(one => [getComputedStyle(one).fill, getComputedStyle(one).stroke])"""
    shown = {}
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=["--no-sandbox", "--disable-gpu"])
        page = browser.new_page()
        page.set_content(svg)
        for media, scheme in (("screen", "light"), ("screen", "dark"), ("print", "dark")):
            page.emulate_media(media=media, color_scheme=scheme)
            shown[media, scheme] = page.evaluate(find)
        browser.close()
    def told(scheme):
        colours = [PAPER, None, LIGHT, INK, INK, PAPER, SOFT, None]
        return ["none" if colour is None else "rgb({}, {}, {})".format(*bytes.fromhex(getattr(colour, scheme)[1:])) for colour in colours]

    assert shown == {("screen", "light"): told("light"), ("screen", "dark"): told("dark"), ("print", "dark"): told("light")}


# Widths and reaches, against a browser.
LINES = ["Sewing-machine socket", "WWWWMMMM@", "illi.,;:'|", "0123456789 r/min", "\u201cLampe \u00fcber T\u00fcr\u201d", "\u041b\u0430\u043c\u043f\u0430",
         "2.2 \u00b5F \u00d7 3 \u2026 \u2713\u2715", "\u706f\u53f0"]
PATHS = [*{shape.path for shape in (*IEC.values(), *NORTH_AMERICA.values())}, "M10 10c5 40 30 -20 40 5", "m5 5 10 0 0 10z", "M0 0Q10 30 20 0T40 0"]


@pytest.fixture(scope="module")
def measured(tmp_path_factory):
    """Return the boxes that a browser finds for lines and paths."""
    folder = tmp_path_factory.mktemp("measured")
    pieces = [*(text(0, 0, words, bold=bold) for words in LINES for bold in (False, True)), *(path(d) for d in PATHS)]
    (folder / "page.html").write_text(
        f'<!doctype html><meta charset="utf-8">{drawn(*pieces).svg()}<script>'
        "const out = [...document.querySelectorAll('svg > text, svg > path')].map(one => { const b = one.getBBox(); return [b.x, b.y, b.x + b.width, b.y + b.height] });"
        "document.body.innerHTML = '<pre id=out>' + JSON.stringify(out) + '</pre>'</script>", "utf-8")
    found = subprocess.run(["chromium", "--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking", f"--user-data-dir={folder / 'profile'}",
                            "--dump-dom", (folder / "page.html").as_uri()], capture_output=True, text=True, check=True, timeout=120)
    boxes = [Box(*sides) for sides in json.loads(re.search(r"<pre id=\"out\">(.*?)</pre>", found.stdout)[1])]
    assert len(boxes) == len(pieces)
    return list(zip(pieces, boxes, strict=True))


def test_no_line_of_words_is_wider_than_reckoned(measured):
    for piece, box in measured[:2 * len(LINES)]:
        assert box.width <= piece.box.width * 1.005, piece.svg


def test_ascii_is_reckoned_to_the_hundredth_in_the_widest_font(measured):
    for piece, box in measured[:8]:
        assert box.width >= 0.75 * piece.box.width, piece.svg       # Helvetica and its twins are up to a quarter narrower


def test_no_path_reaches_farther_than_reckoned(measured):
    for piece, box in measured[2 * len(LINES):]:
        assert piece.box.grown(0.05).holds(box), piece.svg


@pytest.mark.parametrize("d, box", [
    ("M0 0H12M8 -4l8 8m0 -8l-8 8", Box(0, -4, 16, 4)), ("M28 0a14 14 0 1 1-28 0a14 14 0 1 1 28 0", Box(0, -14, 28, 14)), ("m5 5 10 0v3z", Box(5, 5, 15, 8)),
    ("M1e1 0V.5", Box(10, 0, 10, 0.5))])
def test_a_path_worked_on_paper(d, box):
    assert reach(d) == box


@pytest.mark.parametrize("d, words", [("5 5", "has a number without a command"), ("M0 0S1 1 2 2", "has the command S, which is not read here"), ("M0 0L5", "ends within L")])
def test_what_is_no_path_is_refused(d, words):
    with pytest.raises(ValueError, match=f"^the path {d!r} {words}$"):
        reach(d)


@given(words=st.text(max_size=60), room=st.floats(30, 300), bold=st.booleans())
@settings(max_examples=100, deadline=None)
def test_wrapped_and_shortened_words_fit_their_room(words, room, bold):
    for lettering in (SANS, MONO):
        assert all(lettering.width(row, TEXT, bold=bold) <= room for row in lettering.wrapped(words, room, TEXT, bold=bold))
        short = lettering.shortened(words, room, TEXT, bold=bold)
        assert lettering.width(short, TEXT, bold=bold) <= room and (short == words or short.endswith("\u2026"))


def test_a_paragraph_goes_on_below_itself():
    rows, y = paragraph(10, 20, "one two three four five six seven eight nine ten", 120)
    assert len(rows) > 2 and y == pytest.approx(20 + 1.25 * TEXT * len(rows))
    assert all(row.box.right <= 130 for row in rows)


# Axes.
@pytest.mark.parametrize("low, high, round_figures", [(0, 10, [0, 2, 4, 6, 8, 10]), (-0.3, 0.9, [0.0, 0.5]), (-0.3, 0.6, [-0.2, 0.0, 0.2, 0.4, 0.6]), (0, 420, [0, 100, 200, 300, 400])])
def test_ticks_are_round(low, high, round_figures):
    assert ticks(low, high) == round_figures


def test_axes_stay_in_their_frame_with_room_for_words_and_say_their_figures():
    frame = Box(54, 40, 380, 250)
    pieces = tuple(axes(frame, Scale(0, 420, 54, 380), Scale(-2, 5, 250, 40), across_name="speed [r/min]", up_name="current [A]"))
    assert drawn(*pieces).outside() == ()
    said = re.findall(r">([^<]+)</text>", "".join(piece.svg for piece in pieces))
    assert {"0", "400", "\u22122", "speed [r/min]", "current [A]"} <= set(said) and figure(-0.5) == "\u22120.5"


def test_a_scale_runs_either_way_and_holds_what_is_beyond():
    up = Scale(0, 10, 100, 0)
    assert (up(0), up(5), up(10), up.held(12), up.held(-1)) == (100, 50, 0, 0, 100)
