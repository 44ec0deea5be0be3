"""A variant beside the job: what moves, and nothing is written before somebody says so."""

from html import unescape

from pattress.design.comparison import compare
from pattress.web.what_if import rows

WORST = {"supply/tolerance": "20", "site/ambient": "60"}


def test_the_sliders_show_what_moves_and_write_nothing(served, client):
    before = served.file.read_text()
    text = unescape(client.post("/what-if", data=WORST | {"do": "look"}).text)
    moved = compare(served.draft.now.design, served.draft.trial([(("supply", "tolerance"), "20 %"), (("site", "ambient"), "60 degC")]).design)
    assert len(moved.moves) > 20
    for row in rows(moved):
        assert row.question in text and row.before in text and row.after in text
    assert "supply.tolerance = 20 %; site.ambient = 60 degC" in text
    assert served.file.read_text() == before


def test_a_variant_is_written_when_told(served, client):
    client.post("/what-if", data=WORST | {"do": "take"})
    job = served.draft.now.design.job
    assert (job.supply.tolerance, job.site.ambient) == (0.2, 60.0)
    assert "# a box under the ceiling is warmer than the room" in served.file.read_text()


def test_a_slider_where_it_stood_or_out_of_its_range_moves_nothing(client):
    for tolerance in ("10", "10.0", "99", "-1", "x", "nan", "inf", ""):
        assert "Nothing is different from the job file." in client.post("/what-if", data={"supply/tolerance": tolerance, "do": "look"}).text


def test_the_cheapest_cure_is_shown_first_and_then_written(served, client):
    served.draft.replace(served.draft.now.text.replace("[load.ironing]\n", '[load.ironing]\nrelay = "SRD-05VDC-SL-A"\n'))
    before = served.file.read_text()
    text = unescape(client.post("/what-if", data={"do": "propose"}).text)
    assert "load.ironing.relay" in text and "There is no cheaper set (proven)." in text and "Without it: fails [contacts.ironing]" in text
    assert served.file.read_text() == before
    client.post("/what-if", data={"do": "cure"})
    assert served.draft.now.design.job.load["ironing"].relay != "SRD-05VDC-SL-A"
    assert not [finding for finding in served.draft.now.design.findings if finding.verdict == "fails"]


def test_where_nothing_fails_there_is_nothing_to_cure(client):
    assert "Nothing fails; there is nothing to cure." in client.post("/what-if", data={"do": "propose"}).text
