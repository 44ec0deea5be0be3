"""The hand-over documents on the page: made once, looked at, saved, and stale as soon as the job moves on."""

import time
from contextlib import closing

import pytest

from pattress.cautions import CAUTIONS
from pattress.web.application import OF_A_DOCUMENT
from pattress.web.background_jobs import background_jobs_of
from pattress.web.design.documents import HAND_OVER, groups

from .reading import TELEPHONE, WIDE, complaints, fits
from .served_page import Serving, Tab
from .two_lamps import CONTRADICTING

PATIENCE = 180.0


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A page over a small job whose documents have been made."""
    file = tmp_path_factory.mktemp("page") / "job.toml"
    file.write_text(CONTRADICTING)
    with Serving(file) as page, closing(page.client()) as client:
        assert "No outcome" not in client.get("/documents").text and "Everything on one page" not in client.get("/documents").text
        assert "The documents are being made." in client.post("/documents", data={"do": "make"}).text
        until = time.monotonic() + PATIENCE
        while background_jobs_of(page.draft).of(HAND_OVER).running:
            assert time.monotonic() < until
            time.sleep(0.1)
        assert background_jobs_of(page.draft).of(HAND_OVER).trouble == ""
        yield page, client


def test_every_document_is_listed_looked_at_and_saved(made):
    page, client = made
    files, text = background_jobs_of(page.draft).of(HAND_OVER).outcome, client.get("/documents").text
    assert {"handover.html", "sheets/electrician.html", "sheets/labels-a4.pdf", "schedules/cables.csv"} <= set(files)
    for path, content in files.items():
        assert f'href="/documents/{path}?save=1"' in text
        shown, saved = client.get(f"/documents/{path}"), client.get(f"/documents/{path}?save=1")
        assert shown.content == saved.content == (content.encode() if isinstance(content, str) else content)
        assert shown.headers["content-disposition"].startswith("inline") and saved.headers["content-disposition"].startswith("attachment")
        assert shown.headers["content-security-policy"] == OF_A_DOCUMENT and "script-src" not in OF_A_DOCUMENT
        assert shown.headers["x-content-type-options"] == "nosniff"
    assert sum(len(paper.forms) for _, papers in groups(files) for paper in papers) == len(files)
    assert "<b>Circuit diagram 2 of " in text and ", Mains inlet, supply, board and status lamp</b>" in text       # a drawing says what it shows
    assert client.get("/documents/sheets/labels-a4.pdf").content[:5] == b"%PDF-" and "PDF, A4" in text


@pytest.mark.parametrize("path", ["nothing", "../job.toml", "..%2f..%2fjob.toml", "%2fetc%2fpasswd", "sheets/", "sheets/../handover.html%00", "x" * 3000])
def test_only_what_was_made_is_given(made, path):
    answer = made[1].get(f"/documents/{path}")
    assert answer.status_code == 404 and "[load.red]" not in answer.text


@pytest.mark.parametrize(("width", "scheme"), [(WIDE, "light"), (TELEPHONE, "dark")])
def test_a_document_is_shown_with_its_style(made, chromium, width, scheme):
    page, _ = made
    context = chromium.new_context(viewport={"width": width, "height": 900}, color_scheme=scheme)
    here = Tab(context, page)
    here.page.goto(page.access.address)
    here.page.goto(page.root + "/documents")
    assert complaints(here) == [] and fits(here)
    with context.expect_page() as opened:
        here.page.get_by_role("link", name="Look at For the electrician, web page, in another tab").press("Enter")
    shown = opened.value
    shown.wait_for_load_state()
    assert all(words in " ".join(shown.inner_text("body").split()) for words in CAUTIONS)
    assert shown.evaluate("document.styleSheets.length > 0 && document.styleSheets[0].cssRules.length > 5")
    with here.page.expect_download() as saved:
        here.page.get_by_role("link", name="Save For the household, web page").click()
    assert saved.value.suggested_filename == "job-sheets-household.html"
    assert here.is_quiet(), here.complaints
    context.close()


def test_they_are_stale_once_the_job_moves_on(made):
    page, client = made
    assert "Stale:" not in client.get("/documents").text
    page.draft.write([(("load", "red", "name"), "Ruby lamp")])
    assert "Stale: the job has changed since this was made." in client.get("/documents").text
    page.draft.undo()
    assert "Stale:" not in client.get("/documents").text


def test_making_is_stopped(served, client):
    client.post("/documents", data={"do": "make"})
    assert "They are being made already." in client.post("/documents", data={"do": "make"}).text
    process = background_jobs_of(served.draft)._processes[HAND_OVER]
    assert "Stopped." in client.post("/documents", data={"do": "stop"}).text
    until = time.monotonic() + 20          # no join: the page's own thread reaps it, and of two that ask one is told that it lives
    while process.is_alive() and time.monotonic() < until:
        time.sleep(0.02)
    assert not process.is_alive() and "No outcome: stopped" in client.get("/documents").text
    assert "Nothing was running." in client.post("/documents", data={"do": "stop"}).text
