"""Words on sheets that are read on a telephone: cut within no word, and within no quantity."""

import re
import subprocess

import pytest
from playwright.sync_api import sync_playwright

from pattress.cautions import CAUTIONS
from pattress.handover.calculation import in_words, opening
from pattress.handover.line_breaks import whole
from pattress.handover.pack import sheets
from pattress.handover.sheet import as_html, as_pdf

from ..web.reading import cut_words
from .designs import example, outcome


@pytest.mark.parametrize("words, html", [
    ("load.pendant.power_factor", "load.<wbr>pendant.<wbr>power_<wbr>factor"), ("relay.ceiling.1", "relay.<wbr>ceiling.1"),
    ("4 x 9 W & 0.75 mm\u00b2", '<span class="whole">4 x 9 W</span> &amp; <span class="whole">0.75 mm\u00b2</span>'),
    ("<b> of IEC 60364-4-43, 2.5", "&lt;b&gt; of IEC 60364-4-43, 2.5"),
])
def test_a_line_may_begin_behind_a_dot_of_a_key_and_not_before_a_unit(words, html):
    assert whole(words) == html


@pytest.fixture(scope="module")
def packs():
    return {name: sheets(example(name), *outcome(name), cautions=CAUTIONS) for name in ("sewing-room", "landing")}


@pytest.mark.parametrize("name", ["sewing-room", "landing"])
def test_no_word_of_a_sheet_is_cut_on_a_screen_of_any_width(packs, name, tmp_path):
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=["--no-sandbox"])
        page = browser.new_page()
        for sheet in packs[name]:
            file = tmp_path / f"{sheet.name}.html"
            file.write_text(as_html(sheet), "utf-8")
            page.goto(file.as_uri())
            for width in (360, 768, 1200):
                page.set_viewport_size({"width": width, "height": 900})
                assert cut_words(page) == [], (sheet.name, width)
                assert page.evaluate("document.documentElement.scrollWidth") <= width, (sheet.name, width)
        browser.close()


def test_no_line_of_a_printed_table_begins_with_a_unit(packs, tmp_path):
    for sheet in packs["sewing-room"]:
        for paper in ("a4", "letter"):
            file = tmp_path / f"{sheet.name}-{paper}.pdf"
            file.write_bytes(as_pdf(sheet, paper))
            text = subprocess.run(["pdftotext", "-raw", file, "-"], capture_output=True, text=True, check=True).stdout
            frameless = text.replace("6\nA A\n", "")           # the zones of a circuit diagram: its last column, then its first row
            assert re.findall(r"\b\d+\n(?:[mk]?[VAW]|mm\u00b2|m?ohm|m?s|m|%)\b.*", frameless) == [], file.name


def test_the_electrician_reads_what_is_not_known_in_words_and_the_builder_finds_the_key_as_well():
    design = example("sewing-room")
    job = design.job
    assert in_words(job, "load.pendant.power_factor") == "Pendant lamps: power factor"
    assert in_words(job, "supply.fault_current") == "supply: fault current"
    assert in_words(job, "feed.lights.device.breaking_capacity") == "feed lights: device breaking capacity"
    plain, keyed = ({row[0] for table in opening(design, keys=keys)[-1].tables for row in table.rows} for keys in (False, True))
    assert "Ceiling fan: measured" in plain and "Ceiling fan: measured (fan.ceiling.measured)" in keyed
    assert not any(re.search(r"[a-z]\.[a-z]", words) for words in plain)
