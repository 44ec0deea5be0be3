"""A page over a job, served to a client and to a browser that have been let in."""

import shutil

import pytest
from playwright.sync_api import sync_playwright

from .served_page import EXAMPLES, Serving, Tab

CHROMIUM = "/usr/bin/chromium"      # Debian package chromium; without it these tests fail


@pytest.fixture
def served(tmp_path):
    """A page over a copy of the sewing room, which a test may change."""
    file = tmp_path / "job.toml"
    shutil.copy(EXAMPLES / "sewing-room" / "job.toml", file)
    with Serving(file) as page:
        yield page


@pytest.fixture
def client(served):
    client = served.client()
    yield client
    client.close()


@pytest.fixture(scope="module")
def unchanged(tmp_path_factory):
    """A page and a client let in, for tests that change nothing."""
    file = tmp_path_factory.mktemp("page") / "job.toml"
    shutil.copy(EXAMPLES / "sewing-room" / "job.toml", file)
    with Serving(file) as page:
        client = page.client()
        yield page, client
        client.close()


@pytest.fixture(scope="module")      # the driver keeps an event loop running, which other rooms' tests must not meet
def chromium():
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        yield browser
        browser.close()


@pytest.fixture
def tab(served, chromium):
    """Return a function that opens another tab, let in, on a screen of that width."""
    contexts = []

    def open_tab(path: str = "/", *, width: int = 1200, height: int = 900, **options) -> Tab:
        context = chromium.new_context(viewport={"width": width, "height": height}, **options)
        contexts.append(context)
        found = Tab(context, served)
        found.page.goto(served.access.address)
        if path != "/":
            found.page.goto(served.root + path)
        return found

    yield open_tab
    for context in contexts:
        context.close()
