"""A phone in the home's Wi-Fi: let in by the passphrase, on a slow network, out of reach, asleep and back. Nothing is lost.

Emulated in Chromium (touch, size, a slow or missing network, a frozen tab) against the real server at another
loopback address than the laptop's; no phone was held in a hand.
"""

import json
import shutil
import time
from contextlib import closing
from types import SimpleNamespace

import pytest

from pattress.job import load

from .reading import TELEPHONE, complaints, fits
from .served_page import EXAMPLES, Serving, Tab

PASSPHRASE = "amber river stone"
PHONE = dict(viewport={"width": TELEPHONE, "height": 640}, has_touch=True, is_mobile=True, device_scale_factor=3,
             user_agent="Mozilla/5.0 (Linux; Android 12; K) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/120.0.0.0 Mobile Safari/537.36")
SLOW = dict(offline=False, latency=400, downloadThroughput=50_000, uploadThroughput=25_000)       # ms, bytes/s: at the edge of the Wi-Fi
NOTHING = dict(offline=True, latency=0, downloadThroughput=-1, uploadThroughput=-1)
WELL = dict(offline=False, latency=0, downloadThroughput=-1, uploadThroughput=-1)
POWER = '[name="load/pendant/power"]'


@pytest.fixture
def phone(tmp_path, chromium):
    """A phone that the passphrase has let in, at the pendant lamps."""
    file = shutil.copy(EXAMPLES / "sewing-room" / "job.toml", tmp_path / "job.toml")
    with Serving(file, PASSPHRASE, "127.0.0.2") as served:
        context = chromium.new_context(**PHONE)
        tab = Tab(context, served)
        session = context.new_cdp_session(tab.page)
        session.send("Network.enable")
        tab.page.goto(served.root)
        tab.page.get_by_label("The six words").fill("Amber river  stone")
        tab.page.get_by_role("button", name="Enter").tap()
        tab.page.get_by_role("navigation", name="The room").wait_for()
        tab.page.goto(served.root + "/thing/load/pendant")
        tab.page.wait_for_function("() => source.readyState === EventSource.OPEN")
        yield SimpleNamespace(page=tab.page, tab=tab, served=served, file=file, send=session.send,
                              network=lambda state: session.send("Network.emulateNetworkConditions", state))
        context.close()


def type_power(phone, text):
    phone.page.locator(POWER).tap()
    phone.page.locator(POWER).fill(text)
    phone.page.locator(POWER).blur()


def said(phone, words, timeout=20_000):
    phone.page.wait_for_function("words => (document.querySelector('#link').innerText + document.querySelector('#said').innerText).includes(words)",
                                 arg=words, timeout=timeout)


def test_let_in_by_the_passphrase_it_walks_about_by_touch(phone):
    assert complaints(phone.tab) == [] and fits(phone.tab)
    phone.page.get_by_role("link", name="To the drawing").tap()
    phone.page.locator('.feed a[href^="/thing/load/bench"]').tap()
    phone.page.wait_for_function("() => document.querySelector('#sheet h2')?.innerText === 'Bench light'")
    assert phone.tab.is_quiet(), phone.tab.complaints


def test_on_a_slow_network_an_edit_says_that_it_waits_and_arrives(phone):
    phone.network(SLOW | {"latency": 2500})
    type_power(phone, "11 W")
    said(phone, "Waiting for an answer of the page.")
    said(phone, "Written.", 40_000)
    assert load(phone.file).load["pendant"].power == 11.0
    phone.page.wait_for_function("() => document.querySelector('#link').innerText === ''")


def test_out_of_reach_what_is_typed_stays_and_is_sent_when_the_page_answers(phone):
    phone.network(NOTHING)
    said(phone, "No connection to the page: what stands here may be old.")
    type_power(phone, "12 W")
    said(phone, "What you typed is still here, and is sent when it answers.")
    assert load(phone.file).load["pendant"].power == 9.0 and phone.page.input_value(POWER) == "12 W"
    phone.network(WELL)
    phone.page.wait_for_function("() => document.querySelector('#room').innerText.includes('4 x 12 W')", timeout=30_000)
    assert load(phone.file).load["pendant"].power == 12.0
    assert "No connection" not in phone.page.inner_text("#link")


def test_what_others_wrote_meanwhile_is_not_overwritten_by_what_was_typed_out_of_reach(phone):
    phone.network(NOTHING)
    said(phone, "No connection")
    type_power(phone, "12 W")
    said(phone, "is sent when it answers")
    phone.file.write_text(phone.file.read_text().replace('power = "9 W"', 'power = "10 W"', 1))
    phone.network(WELL)
    phone.page.wait_for_function("() => document.querySelector('#room').innerText.includes('4 x 10 W')", timeout=30_000)
    assert "now says 10 W. You typed 12 W." in phone.page.inner_text("#asked") and phone.page.input_value(POWER) == "12 W"
    phone.page.wait_for_timeout(1500)
    assert load(phone.file).load["pendant"].power == 10.0


def test_a_tab_that_slept_shows_what_happened_meanwhile_and_keeps_what_was_half_typed(phone):
    phone.page.fill(POWER, "1")
    phone.send("Page.setWebLifecycleState", {"state": "frozen"})
    phone.served.news.end()              # the server gives the sleeping one up
    phone.file.write_text(phone.file.read_text().replace('name = "Wall lights"', 'name = "Wall lamps"'))
    until = time.monotonic() + 10
    while "Wall lamps" not in phone.served.draft.now.text:       # told to nobody: the phone sleeps
        assert time.monotonic() < until
        time.sleep(0.05)
    time.sleep(0.5)
    phone.send("Page.setWebLifecycleState", {"state": "active"})
    phone.page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    phone.page.wait_for_function("() => document.querySelector('#room').innerText.includes('Wall lamps')", timeout=20_000)
    assert phone.page.input_value(POWER) == "1"
    assert load(phone.file).load["pendant"].power == 9.0


def test_who_begins_to_listen_is_told_first_how_things_stand(served):
    with closing(served.client()) as client, client.stream("GET", "/news") as stream:
        lines = stream.iter_lines()
        first = [next(lines) for _ in range(4)]
    assert first[2] == "event: change" and json.loads(first[3].removeprefix("data: ")) == {"state": served.draft.state}
