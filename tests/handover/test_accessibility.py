"""What the hand-over writes can be read by everybody: judged by axe-core in a browser, all of its rules, on a desk and on a phone.

Only what is broken is asked for with every element it is about: to name the thousands of elements of the
sewing room's page that are right takes minutes, to judge them takes seconds.
"""

import shutil
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from click.testing import CliRunner
from playwright.sync_api import sync_playwright

from pattress.cli import main
from pattress.job import starter

CHROMIUM = "/usr/bin/chromium"
SHEETS = ("electrician", "builder", "household", "labels")
FEWEST_RULES = 15          # that a page of any size passes; none would mean that nothing was judged


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """Return every HTML file that the hand-over of the starter job writes, by its name."""
    folder = tmp_path_factory.mktemp("handover")
    (folder / "job.toml").write_text(starter(), "utf-8")
    result = CliRunner().invoke(main, ["handover", str(folder / "job.toml"), "--out", str(folder)])
    assert result.exit_code == 0, result.output
    return {file.stem: file.read_text("utf-8") for file in folder.rglob("*.html")}


@pytest.fixture(scope="module")
def sewing_room(tmp_path_factory):
    """Return the hand-over page of the sewing room, every finding opened."""
    folder = tmp_path_factory.mktemp("sewing-room")
    job = shutil.copy(Path(__file__).parents[2] / "examples" / "sewing-room" / "job.toml", folder / "job.toml")
    result = CliRunner().invoke(main, ["handover", str(job), "--out", str(folder)])
    assert result.exit_code == 0, result.output
    return next(folder.rglob("handover.html")).read_text("utf-8").replace("<details", "<details open")


@pytest.fixture(scope="module")
def browser():
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        yield chromium
        chromium.close()


def faults(browser, html, width, *rules):
    """Return the rules of axe-core that a page breaks, of all or of some, after seeing that it was judged at all."""
    page = browser.new_page(viewport={"width": width, "height": 800})
    page.set_content(html)
    options = {"resultTypes": ["violations"]} | ({"runOnly": {"type": "rule", "values": list(rules)}} if rules else {})
    found = Axe().run(page, options=options).response
    page.close()
    assert rules or len(found["passes"]) >= FEWEST_RULES
    return {fault["id"] for fault in found["violations"]}


def test_every_sheet_is_judged(written):
    assert set(written) >= {*SHEETS, "handover"}


def test_nothing_that_is_written_keeps_anybody_out(written, browser):
    for name, html in written.items():
        assert faults(browser, html, 360) == set(), name


def test_the_page_keeps_nobody_out_on_a_desk(written, browser):
    assert faults(browser, written["handover"], 1200) == set()


def test_the_page_of_a_whole_job_keeps_nobody_out_with_every_finding_opened(sewing_room, browser):
    assert sewing_room.count("<details open") > 100 and faults(browser, sewing_room, 360) == set()


def test_words_too_pale_in_a_whole_job_would_be_found(sewing_room, browser):
    pale = sewing_room.replace("</style>", "summary * { color: #bbb !important; background: #fff !important }</style>", 1)
    assert faults(browser, pale, 360, "color-contrast") == {"color-contrast"}


def test_every_table_has_headers_for_its_columns_and_rows(written, browser):
    for name, html in written.items():
        page = browser.new_page()
        page.set_content(html)
        bare = page.locator("table").evaluate_all(
            "tables => tables.filter(table => [...table.rows].some((row, place) => place ? !row.querySelector('th[scope=row]')"
            " : [...row.cells].some(cell => cell.getAttribute('scope') !== 'col'))).length")
        assert bare == 0, name
        page.close()


def test_every_picture_says_what_it_is(written, browser):
    for name, html in written.items():
        page = browser.new_page()
        page.set_content(html)
        nameless = page.locator("svg[role=img]").evaluate_all(
            "pictures => pictures.filter(one => !one.getAttribute('aria-label') && !one.querySelector(':scope > title')?.textContent.trim()).length")
        assert nameless == 0, name
        page.close()


# Faults seeded: each must be seen.
@pytest.mark.parametrize("right, wrong, rule", [
    ('<html lang="en">', "<html>", "html-has-lang"),
    ("--ink: #1c1b18", "--ink: #c9c4b8", "color-contrast"),
    ("<h2>Findings</h2>", "<h5>Findings</h5>", "heading-order"),
    ('<div class="wide" role="group" tabindex="0"', '<div class="wide"', "scrollable-region-focusable"),
    ("<main>", "<div>", "landmark-one-main"),
])
def test_a_fault_is_seen(written, browser, right, wrong, rule):
    html = written["handover"]
    assert right in html
    assert rule in faults(browser, html.replace(right, wrong), 360, rule)


def test_a_table_without_headers_is_seen(written, browser):
    html = written["electrician"].replace('<th scope="col">', "<td>").replace('<th scope="row">', "<td>")
    with pytest.raises(AssertionError, match="electrician"):
        test_every_table_has_headers_for_its_columns_and_rows({"electrician": html}, browser)
