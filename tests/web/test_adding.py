"""New things come into the job over the page, and what is missing is said at its field."""

from datetime import date
from html import unescape

import pytest

LAMP = {"load/+/name": "Shelf lamp", "load/+/kind": "LED driver", "load/+/power": "5 W", "load/+/feed": "lights",
        "load/+/run/section": "1.5 mm2", "load/+/run/length": "3 m"}


def test_on_a_phone_adding_begins_at_the_form_not_at_the_drawing(client):
    assert 'href="/add#sheet"' in client.get("/").text
    assert 'href="/add/load#sheet"' in client.get("/add").text and 'href="/add#sheet">Something else' in client.get("/add/load").text


def test_a_load_is_added_after_the_others_under_a_key_made_of_its_name(served, client):
    answer = client.post("/add/load", data=LAMP | {"do": "add"})
    assert answer.status_code == 200 and "Shelf lamp" in answer.text
    assert '[load.shelf_lamp]\nname = "Shelf lamp"\n' in served.file.read_text()
    assert "contacts.shelf_lamp" in answer.text
    client.post("/", data={"do": "undo"})
    assert "shelf_lamp" not in served.file.read_text()


def test_a_second_one_of_the_same_name_overwrites_nothing(served, client):
    client.post("/add/load", data=LAMP | {"do": "add"})
    before = served.file.read_text()
    answer = client.post("/add/load", data=LAMP | {"do": "add"})
    assert answer.status_code == 422 and "load.shelf_lamp is there already" in answer.text
    assert served.file.read_text() == before


def test_what_is_missing_or_wrong_stands_at_its_field(served, client):
    before = served.file.read_text()
    answer = client.post("/add/load", data=LAMP | {"load/+/power": "5 kg", "load/+/kind": "", "do": "add"})
    text = unescape(answer.text)
    assert answer.status_code == 422 and served.file.read_text() == before
    assert "load.shelf_lamp.power is '5 kg', a mass\n  allowed: a power" in text
    assert "load.shelf_lamp.kind is missing\n  allowed: resistive heater, tungsten lamp" in text
    assert 'value="Shelf lamp"' in text


@pytest.mark.parametrize("section, form, key", [
    ("switch", {"name": "At the bed", "kind": "retractive", "does": "toggle pendant"}, "at_the_bed"),
    ("input", {"name": "Street door", "kind": "door"}, "street_door"),
    ("remote", {"name": "Old remote", "button/button/does": "toggle bench", "button/button/code": "nec 0x05:0x01"}, "old_remote"),
    ("sensor", {"name": "Window", "kind": "22 class"}, "window"),
    ("feed", {"device/kind": "fuse", "device/curve": "gG", "device/rating": "10 A", "cable/section": "1.5 mm2", "cable/length": "9 m"}, "cellar"),
    ("wall", {"name": "Window wall", "room": "Sewing room", "width": "3 m", "height": "2.5 m"}, "window_wall"),
    ("rule", {"says": "bench is on for at most 30 min"}, "short"),
    ("wish", {"says": "bench is never on while wall is on"}, "dim"),
    ("fan", {"name": "Small fan", "motor": "unknown", "power": "40 W", "steps": "1", "feed": "lights", "run/section": "1.5 mm2", "run/length": "4 m"}, "small_fan"),
    ("accept", {"reason": "only for the trial on the bench", "by": "A. Tester", "date": "2026-11-25"}, "contacts.pendant"),
])
def test_everything_that_has_a_name_can_be_added_and_taken_away_again(served, client, section, form, key):
    before = served.file.read_text()
    posted = {f"{section}/+/{name}": value for name, value in form.items()} | {"do": "add", "key": key if section in ("feed", "rule", "wish", "accept") else ""}
    answer = client.post(f"/add/{section}", data=posted)
    assert answer.status_code == 200, answer.text
    assert key in getattr(served.draft.now.design.job, section)
    assert client.post(f"/thing/{section}/{key}", data={"do": f"remove:{section}/{key}"}).status_code == 200
    assert served.file.read_text() == before


def test_nothing_else_can_be_added(client):
    assert client.get("/add/board").status_code == 404
    assert client.post("/add/board", data={"do": "add"}).status_code == 404


def test_what_stops_the_bundle_is_answered_for_from_its_finding(served, client):
    served.draft.replace(served.file.read_text().replace("[load.pendant]\n", '[load.pendant]\nrelay = "SRD-05VDC-SL-A"\n', 1), over=served.draft.now)
    page = unescape(client.get("/").text)
    assert 'It stops the bundle. <a href="/add/accept?finding=making.pendant#sheet">Answer for it, with reason and name</a>' in page
    form = client.get("/add/accept?finding=making.pendant").text
    assert 'name="key" value="making.pendant"' in form and f'value="{date.today().isoformat()}"' in form
    answer = client.post("/add/accept", data={"key": "making.pendant", "accept/+/reason": "Measured at the bench: 9 A", "accept/+/by": "A. Fitter",
                                              "accept/+/date": date.today().isoformat(), "do": "add"})
    assert answer.status_code == 200 and '[accept."making.pendant"]\nreason = "Measured at the bench: 9 A"\n' in served.file.read_text()
    after = unescape(client.get("/").text)
    assert "/add/accept?finding=making.pendant" not in after and "somebody answers for it" in after
