"""The page in a real browser at the size of a phone: what a person reads, presses and hears."""

import os
import re
import shutil

import pytest
from playwright.sync_api import expect, sync_playwright

from . import places
from .broker import wait_for_port
from .pages import PASSPHRASE, serve

BROWSER = shutil.which("chromium") or "/usr/bin/chromium"


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    """The board's own interpreter only: what the page is made of is the same under both."""
    return places.write_place(tmp_path_factory.mktemp("board"), "micropython"), "micropython"


@pytest.fixture(scope="module")
def browser():
    assert os.path.exists(BROWSER), "the Debian package chromium is not installed"
    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=BROWSER, args=["--no-sandbox"])
        yield running
        running.close()


def visit(browser, port, **settings):
    page = browser.new_context(viewport={"width": 360, "height": 740}, **settings).new_page()
    page.set_default_timeout(15_000)
    page.faults = []
    page.on("pageerror", lambda error: page.faults.append(str(error)))
    page.asked = []
    page.on("request", lambda request: page.asked.append(request.url))
    wait_for_port(port)
    page.goto(f"http://127.0.0.1:{port}/")
    return page


def enter(page):
    page.get_by_label("Passphrase").fill(PASSPHRASE)
    page.get_by_role("button", name="Open").click()


def way(page, key):
    return page.locator(f"[data-channel={key}]")


def test_a_person_switches_and_sees_what_became_of_it(place, browser):
    with serve(place) as board:
        page = visit(browser, board.port)
        enter(page)
        page.get_by_role("status").get_by_text("Live", exact=True).wait_for()
        lamp, fan = way(page, "lamp"), way(page, "fan")
        assert lamp.locator("output").inner_text() == "off"
        lamp.get_by_role("button", name="on").click()
        lamp.get_by_text("over the network").wait_for()
        assert lamp.locator("output").inner_text() == "on"
        assert lamp.locator("button[aria-current]").inner_text() == "on"
        fan.get_by_role("button", name="step 3").click()
        expect(way(page, "fan").locator("output")).to_have_text("step 3")
        other = visit(browser, board.port, storage_state=page.context.storage_state())     # another phone sees the same
        expect(way(other, "fan").locator("output")).to_have_text("step 3")
        way(other, "lamp").get_by_role("button", name="off").click()
        expect(way(page, "lamp").locator("output")).to_have_text("off")
        # more often than a relay should be asked, however slow the machine that runs the browser
        way(page, "fan").get_by_role("button", name="step 3").evaluate("button => { for (let n = 0; n < 12; n++) button.click() }")
        page.get_by_role("alert").get_by_text("asked too often").wait_for()
        expect(page.locator("[data-sensor] dd").first).to_have_text(re.compile(r"^2\d\.\d °C$"))
        assert all(url.startswith(f"http://127.0.0.1:{board.port}/") or url == "data:," for url in page.asked)
        assert page.faults == [] and other.faults == []
        page.context.close()
        other.context.close()
    assert board.said["moves"] == [0b1000, 0b1011, 0b0011]


def test_the_page_works_without_script(place, browser):
    with serve(place) as board:
        page = visit(browser, board.port, java_script_enabled=False)
        enter(page)
        way(page, "lamp").get_by_role("button", name="on").click()
        page.wait_for_timeout(300)
        page.reload()
        assert way(page, "lamp").locator("output").inner_text() == "on"
        page.get_by_role("link", name="What happened").click()
        assert page.get_by_text("lamp: on, over the network").is_visible()
        page.get_by_role("link", name="Back").click()
        page.get_by_role("button", name="Lock").click()
        assert page.get_by_label("Passphrase").is_visible()
        page.context.close()


def test_the_page_fits_a_phone_and_a_thumb(place, browser):
    with serve(place) as board:
        page = visit(browser, board.port)
        enter(page)
        way(page, "lamp").wait_for()
        assert page.evaluate("document.documentElement.scrollWidth") <= 360
        for button in page.get_by_role("button").all():
            box = button.bounding_box()
            assert box["height"] >= 44 and box["width"] >= 44       # CSS pixels; WCAG 2.2, 2.5.5 (from memory)
        size = sum(len(page.request.get(f"http://127.0.0.1:{board.port}{path}").body()) for path in ("/", "/page.css", "/page.js"))
        assert size < 10_000
        assert page.locator("h1").count() == 1 and page.locator("html").get_attribute("lang") == "en"
        named = page.evaluate("[...document.querySelectorAll('button,input:not([type=hidden]),output,form[role]')].every("
                              "e=>e.labels?.length||e.textContent||e.getAttribute('aria-label')||e.getAttribute('aria-labelledby'))")
        assert named
        page.context.close()


def test_a_page_whose_controller_is_gone_says_so(place, browser):
    with serve(place) as board:
        page = visit(browser, board.port)
        enter(page)
        page.get_by_role("status").get_by_text("Live", exact=True).wait_for()
    page.get_by_text("Not connected. What you see is").wait_for()
    way(page, "lamp").get_by_role("button", name="on").click()
    page.get_by_text("The controller did not answer. Nothing is known to have changed.").wait_for()
    assert way(page, "lamp").locator("output").inner_text() == "off"
    page.context.close()
