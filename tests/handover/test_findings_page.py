"""The hand-over page, read as a person reads it: in a browser, on a desk and on a phone."""

from pathlib import Path

import pytest
from playwright.sync_api import sync_playwright

from pattress.cautions import CAUTIONS
from pattress.design import design_of
from pattress.handover import page_of, render
from pattress.proof import prove
from pattress.quantity import show
from pattress.rehearsal.rehearse import rehearse

CHROMIUM = "/usr/bin/chromium"      # Debian package chromium; without it these tests fail
EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="module", params=["sewing-room", "landing"])
def pack(request, tmp_path_factory):
    design = design_of(EXAMPLES / request.param / "job.toml")
    proof = prove(design.plan, until_first_failure=True) if request.param == "landing" else prove(design.plan)
    rehearsal = rehearse(design.plan, seed=1, days=1, micropython=False)
    file = tmp_path_factory.mktemp("page") / "handover.html"
    file.write_text(render(page_of(design, proof, rehearsal, cautions=CAUTIONS)), "utf-8")
    return design, proof, file


@pytest.fixture(scope="module")
def browser():
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        yield chromium
        chromium.close()


@pytest.mark.parametrize("width", [360, 1200])
def test_the_page_fits_the_screen_and_asks_nothing_of_the_network(pack, browser, width):
    page = browser.new_page(viewport={"width": width, "height": 800})
    asked, said = [], []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: said.append(message.text))
    page.goto(pack[2].as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert asked == [pack[2].as_uri()] and said == []
    page.close()


def test_a_person_finds_every_finding_with_its_figures_and_the_digest(pack, browser):
    design, proof, file = pack
    page = browser.new_page()
    page.goto(file.as_uri())
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    text = page.inner_text("body")
    assert page.title() == f"{design.job.job.title}: hand-over"
    assert proof.digest in text
    for finding in design.findings:
        assert finding.question in text
        if finding.value is not None and finding.limit is not None:
            value = show(finding.value.value, finding.value.unit)
            assert f"{value}, {finding.sense} {show(finding.limit.value, finding.limit.unit)}" in text
        for source in finding.sources:
            assert str(source) in text
    for caution in CAUTIONS:
        assert caution in text
    for prop in proof.properties:
        assert prop.sentence in text
    page.close()


def test_links_lead_to_headings_that_exist(pack, browser):
    page = browser.new_page()
    page.goto(pack[2].as_uri())
    targets = page.eval_on_selector_all("nav a", "links => links.map(link => link.getAttribute('href'))")
    assert len(targets) >= 6
    for target in targets:
        assert page.query_selector(f"{target} h2") is not None
    page.close()


def test_hostile_names_stay_words(pack):
    design, proof, _ = pack
    job = design.job.model_copy(update={"job": design.job.job.model_copy(update={"title": "<script>alert(1)</script>"})})
    from pattress.design import build

    hostile = build(job, design.results["parts"], design.results["boards"])
    html = render(page_of(hostile, proof, rehearse(hostile.plan, seed=1, days=1, micropython=False), cautions=CAUTIONS))
    assert "<script>" not in html and "&lt;script&gt;" in html
