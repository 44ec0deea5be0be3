"""Proof and rehearsal on the page: begun, watched, stopped, and a story stepped through."""

import re
import time
from contextlib import closing
from copy import deepcopy
from dataclasses import replace

import pytest

from pattress.proof import prove
from pattress.web import background_jobs
from pattress.web.background_jobs import BackgroundJobs, background_jobs_of
from pattress.web.program.rehearsed import rehearse_job
from tests.proof.replayed import replay

from .reading import TELEPHONE, WIDE, complaints, fits
from .served_page import Serving, Tab
from .two_lamps import CONTRADICTING

PATIENCE = 90.0


@pytest.fixture(scope="module")
def two_lamps(tmp_path_factory):
    """A page over a job whose wish is not kept, proven and rehearsed once."""
    file = tmp_path_factory.mktemp("page") / "job.toml"
    file.write_text(CONTRADICTING)
    with Serving(file) as page, closing(page.client()) as client:
        for form in ({"do": "prove"}, {"do": "rehearse", "days": "0"}):
            assert "has begun" in client.post("/proof", data=form).text
        wait_until(lambda: not any(background_jobs_of(page.draft).of(kind).running for kind in ("proof", "rehearsal")))
        yield page, client


def wait_until(true):
    until = time.monotonic() + PATIENCE
    while not true():
        assert time.monotonic() < until
        time.sleep(0.05)


def test_the_sheet_says_what_fails_first_and_what_came_of_the_days(two_lamps):
    page, client = two_lamps
    text = client.get("/proof").text
    fails, holds = text.index("red is never on while blue is on"), text.index("The program never stops with an error.")
    assert fails < holds and "Red lamp and Blue lamp are both on" in text and " properties fails: " in text
    assert "1 day, " in text and "Scripted day" in text and "Stale" not in text
    assert background_jobs_of(page.draft).of("proof").outcome.digest == prove(page.draft.now.design.plan, until_first_failure=True).digest


def test_each_step_of_the_story_shows_what_the_core_does(two_lamps):
    page, client = two_lamps
    design = page.draft.now.design
    story = next(prop.story for prop in background_jobs_of(page.draft).of("proof").outcome.failed if prop.id == "wish.one")
    closed = replay(story, design.plan)
    assert closed == tuple(step.relays for step in story.steps)
    for number, relays in enumerate(closed, 1):
        text = client.get(f"/proof/story/wish.one/{number}").text
        for name, relay in (("Red lamp", 0), ("Blue lamp", 1)):
            word = f"on; relay K{relay + 1} closed" if relays >> relay & 1 else f"off; relay K{relay + 1} open"
            assert f'aria-label="{name}: {word}"' in text
        assert text.count('aria-current="step"') == 1
    assert "Red lamp and Blue lamp are both on" in text and 'rel="next"' not in text
    assert 'aria-label="Left switch: closed"' in text or 'aria-label="Right switch: closed"' in text


@pytest.mark.parametrize("address", [
    "/proof/story/wish.one/0", "/proof/story/wish.one/999", "/proof/story/wish.one/²", "/proof/story/wish.one/x", "/proof/story/nothing",
    "/proof/story/no-error", "/proof/story/..%2f..%2fx", "/proof/story/wish.one/" + "9" * 400,
])
def test_addresses_of_no_story(two_lamps, address):
    assert two_lamps[1].get(address).status_code == 404


@pytest.mark.parametrize("days", ["-1", "61", "x", "", "1e3", "²", "9" * 500])
def test_days_that_cannot_be_are_refused_in_words(two_lamps, days):
    answer = two_lamps[1].post("/proof", data={"do": "rehearse", "days": days})
    assert answer.status_code == 422 and "Days must be a whole number from 0 to 60" in answer.text


def test_a_rehearsed_day_without_a_problem_is_stepped_through_too(two_lamps):
    page, client = two_lamps
    assert "Step through scripted day" in client.get("/proof").text
    walk = background_jobs_of(page.draft).of("rehearsal").outcome.walks[0]
    for number, step in enumerate(walk.steps, 1):
        text = client.get(f"/proof/day/0/{number}").text
        for name, relay, level in (("Red lamp", 1, step.levels[0]), ("Blue lamp", 2, step.levels[1])):
            word = f"on; relay K{relay} closed" if level else f"off; relay K{relay} open"
            assert f'aria-label="{name}: {word}"' in text
        assert text.count('aria-current="step"') == 1 and "no problem seen." in text and "Next problem" not in text
    assert 'rel="next"' not in text and any(step.levels[0] for step in walk.steps)


@pytest.mark.parametrize("address", ["/proof/day/0/0", "/proof/day/0/99999", "/proof/day/7", "/proof/day/x", "/proof/day/0/²", "/proof/day/..%2f0"])
def test_addresses_of_no_day(two_lamps, address):
    assert two_lamps[1].get(address).status_code == 404


def test_a_problem_of_a_day_leads_to_its_event_and_on_to_the_next(two_lamps):
    """Both lamps on one relay: the plan is at fault, as it never comes out of a job."""
    page, client = two_lamps
    plan = deepcopy(page.draft.now.design.plan)
    plan["channels"][1]["masks"] = [0, 0b11]
    found = background_jobs_of(page.draft)
    was = found._works["rehearsal"]
    found._works["rehearsal"] = replace(was, outcome=rehearse_job(lambda *words: None, plan, 0))
    try:
        sheet = client.get("/proof").text
        address = re.search(r'Blue lamp: relay K1 closed, which is none of its levels<br><a href="([^"]+)">Step through what led to it', sheet)[1]
        text = client.get(address).text
        assert "problems at " in text and 'aria-label="Blue lamp: no level it has"' in text
        assert text.index('class="outcome fails"') < text.index("Blue lamp: relay K1 closed, which is none of its levels")
        following = re.search(r'href="([^"]+)">Next problem', text)[1]
        assert following != address and 'class="outcome fails"' in client.get(following).text
        assert 'class="outcome fails"' not in client.get("/proof/day/0/1").text
    finally:
        found._works["rehearsal"] = was


def test_stopping_what_does_not_run(two_lamps):
    for kind in ("proof", "rehearsal", "", "../x"):
        assert "Nothing was running." in two_lamps[1].post("/proof", data={"do": "stop", "kind": kind}).text


@pytest.mark.parametrize(("width", "scheme"), [(WIDE, "light"), (TELEPHONE, "dark")])
def test_a_story_is_stepped_through_by_keyboard(two_lamps, chromium, width, scheme):
    page, _ = two_lamps
    context = chromium.new_context(viewport={"width": width, "height": 900}, color_scheme=scheme)
    here = Tab(context, page)
    here.page.goto(page.access.address)
    here.page.goto(page.root + "/proof")
    assert complaints(here) == [] and fits(here)
    here.page.get_by_role("link", name="Step through how it breaks").first.focus()
    here.page.keyboard.press("Enter")
    here.page.get_by_role("heading", name="How it breaks").wait_for()
    here.page.get_by_role("link", name="One step on").focus()
    while here.page.get_by_role("link", name="One step on").count():
        at = here.page.url
        here.page.keyboard.press("Enter")         # the focus stays on the way on
        here.page.wait_for_url(lambda url: url != at)
    assert here.page.locator('a.stands[aria-label="Red lamp: on; relay K1 closed"]').is_visible()
    assert here.page.locator('a.stands[aria-label="Blue lamp: on; relay K2 closed"]').is_visible()
    assert complaints(here) == [] and fits(here) and here.is_quiet(), here.complaints
    context.close()


def test_progress_is_shown_and_a_proof_is_stopped(served, tab):
    here = tab("/proof")
    here.page.get_by_role("button", name="Prove", exact=True).click()
    here.page.locator("#work-proof progress[value]").wait_for(timeout=60_000)
    process = background_jobs_of(served.draft)._processes["proof"]
    assert process.is_alive()
    here.page.get_by_role("button", name="Stop").click()
    here.page.get_by_text("No outcome: stopped").wait_for()
    wait_until(lambda: not process.is_alive())
    assert here.is_quiet(), here.complaints
    assert here.page.get_by_role("button", name="Prove", exact=True).is_visible()


class Silent:
    def tell(self, event, facts):
        pass


def refuses(tell):
    from pattress.errors import UseError

    tell("half", 1, 2)
    raise UseError("this cannot be done")


def breaks(tell):
    raise ZeroDivisionError("seeded")


def dies(tell):
    import os

    os._exit(3)


@pytest.mark.parametrize(("work", "words"), [
    (refuses, "this cannot be done"), (breaks, "a fault in pattress itself: ZeroDivisionError: seeded"), (dies, "the process ended without a result"),
])
def test_a_work_that_fails_says_why(served, work, words, monkeypatch):
    some = BackgroundJobs()
    monkeypatch.setattr(background_jobs, "get_context", forked)
    assert some.begin("x", served.draft.now, Silent(), work)
    wait_until(lambda: not some.of("x").running)
    assert words in some.of("x").trouble and some.of("x").outcome is None
    assert some.begin("x", served.draft.now, Silent(), work)          # and another can begin


def forked(method):
    """Return a way to start processes that know the functions of this file."""
    from multiprocessing import get_context

    return get_context("fork")
