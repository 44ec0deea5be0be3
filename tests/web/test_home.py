"""The home view and the sheets of things, as a person reads them."""

import re

from pattress.quantity import show
from pattress.web.layout import layout_of
from pattress.web.sheet import Asked


def test_everything_in_the_job_can_be_touched(served, client):
    page = client.get("/").text
    job = served.draft.now.design.job
    for section in ("feed", "load", "fan", "switch", "regulator", "remote", "sensor"):
        for key in getattr(job, section):
            assert f'href="/thing/{section}/{key}#sheet"' in page
            assert client.get(f"/thing/{section}/{key}").status_code == 200
    for section in ("supply", "site", "board", "network", "job", "receiver"):
        assert f'href="/thing/{section}#sheet"' in page
        assert client.get(f"/thing/{section}").status_code == 200


def test_a_thing_shows_its_findings_with_figures(served, client):
    text = client.get("/thing/load/ironing").text
    finding = next(f for f in served.draft.now.design.findings if f.id == "contacts.ironing")
    assert finding.question in text and "contacts.ironing" in text
    assert f"{show(finding.value.value, finding.value.unit)}, at most {show(finding.limit.value, finding.limit.unit)}" in text
    assert "contacts.pendant" not in text


def test_walls_are_drawn_with_links_and_the_chosen_thing_marked(served, client):
    page = client.get("/thing/switch/door").text
    job = served.draft.now.design.job
    for wall in job.wall.values():
        assert f"{wall.room}, {wall.name}" in page
    assert len(re.findall(r'<a[^>]* href="/thing/switch/door#sheet"[^>]* aria-current="true"', page)) >= 2


def test_a_job_without_walls_is_drawn_by_its_feeds(served, client):
    from pattress.job import starter

    served.draft.replace(starter())
    page = client.get("/").text
    assert "Pendant" in page and 'href="/thing/switch/door#sheet"' in page


def test_a_page_printed_while_the_file_moves_on_is_known_to_be_old(served):
    """The tab that gets it loads anew at the next news: what it shows is not taken for what the file says."""
    asked = Asked(served.draft, served.draft.now, served.news)
    assert layout_of(asked, "/", "", ()).state == served.draft.state
    served.file.write_text(served.file.read_text().replace('power = "9 W"', 'power = "10 W"', 1))
    served.draft.look()
    assert layout_of(asked, "/", "", ()).state != served.draft.state
