"""The board's page can be read by everybody: judged by axe-core, all of its rules, in light and dark, locked and open."""

import pytest
from axe_playwright_python.sync_playwright import Axe

from .pages import serve
from .test_web_page import browser, enter, place, visit, way  # noqa: F401  (browser and place are fixtures)


def faults(page):
    return {fault["id"]: fault["nodes"][0]["html"] for fault in Axe().run(page).response["violations"]}


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_page_of_the_board_keeps_anybody_out(place, browser, scheme):  # noqa: F811
    with serve(place) as board:
        page = visit(browser, board.port, color_scheme=scheme)
        assert faults(page) == {}
        enter(page)
        page.get_by_role("status").get_by_text("Live", exact=True).wait_for()
        assert faults(page) == {}
        way(page, "lamp").get_by_role("button", name="on").click()
        way(page, "lamp").get_by_text("over the network").wait_for()
        assert faults(page) == {}
        page.goto(f"http://127.0.0.1:{board.port}/log")
        assert faults(page) == {}


def test_a_field_without_its_label_is_seen(place, browser):  # noqa: F811
    with serve(place) as board:
        page = visit(browser, board.port)
        page.locator("label").evaluate_all("labels => labels.forEach(label => label.remove())")
        assert "label" in faults(page)
