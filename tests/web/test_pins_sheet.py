"""The sheet of pins: why a wire sits where it sits, and what happens when a person keeps it elsewhere."""

import re
import shutil
from contextlib import closing

import pytest

from pattress.handover.wiring import relay_wires
from pattress.pins.best import Assignment
from pattress.pins.conflict import Conflict

from .reading import TELEPHONE, WIDE, complaints, fits
from .served_page import EXAMPLES, Serving


def kept(served):
    return dict(served.draft.now.design.job.board.pins)


def test_every_wire_and_every_pin_has_its_sheet(unchanged):
    served, client = unchanged
    design = served.draft.now.design
    listed = client.get("/pins").text
    for one in design.pins.pins:
        assert f'href="/pins/wire/{one.demand.name}"' in listed and one.pin.name in listed
        assert one.reason in client.get(f"/pins/wire/{one.demand.name}").text.replace("&#39;", "'")
    for pin in design.board.pins:
        assert client.get(f"/pins/pin/{pin.gpio}").status_code == (200 if pin.edge else 404)


def test_a_wire_says_what_it_is_of_by_name_and_by_the_mark_in_the_wiring(unchanged):
    served, client = unchanged
    assert 'a relay output, <a href="/thing/fan/ceiling#sheet">K7 of Ceiling fan</a>' in client.get("/pins/wire/relay.ceiling.2").text
    listed = client.get("/pins").text
    assert {mark for mark, _ in relay_wires(served.draft.now.design)} <= set(re.findall(r"<small>(K[0-9]+) of", listed))
    assert "<small>By the door, left</small>" in listed and "<small>Room</small>" in listed and "None" not in listed


def test_a_wire_is_kept_and_let_go_again_by_form_alone(served, client):
    text = served.file.read_text()
    page = client.post("/pins/wire/relay.pendant", data={"do": "fix", "wire": "relay.pendant", "gpio": "22"}).text
    assert kept(served) == {"relay.pendant": 22} and served.draft.now.design.pins.by_name()["relay.pendant"] == 22
    assert "relay.pendant is kept at GPIO22 (GP22)." in page and "Moved with it: " in page
    assert [line for line in text.splitlines() if line not in served.file.read_text().splitlines()] == []      # nothing of the file is lost
    client.post("/pins", data={"do": "fix", "wire": "relay.wall", "gpio": "21"})
    assert kept(served) == {"relay.pendant": 22, "relay.wall": 21}
    client.post("/pins/wire/relay.pendant", data={"do": "loosen", "wire": "relay.pendant"})
    assert kept(served) == {"relay.wall": 21}
    client.post("/", data={"do": "undo"})
    assert kept(served) == {"relay.pendant": 22, "relay.wall": 21}


def test_what_would_break_is_told_and_nothing_is_written(served, client):
    before = served.file.read_bytes()
    moved = client.post("/pins/wire/relay.pendant", data={"do": "look", "wire": "relay.pendant", "gpio": "22"})
    assert moved.status_code == 200 and "Nothing is written. With relay.pendant at GPIO22 (GP22): Moved with it: " in moved.text
    served.draft.write([(("board", "type"), "esp32")])
    refused = client.post("/pins", data={"do": "look", "wire": "relay.wall", "gpio": "34"}).text
    assert "Then not every wire would find a pin:" in refused and "relay.wall, a relay output, soldered to GPIO34" in refused
    served.draft.undo()
    assert served.file.read_bytes() == before and kept(served) == {}


def test_two_wires_at_one_pin_are_refused_in_the_words_of_the_job_file(served, client):
    client.post("/pins", data={"do": "fix", "wire": "relay.pendant", "gpio": "22"})
    refused = client.post("/pins", data={"do": "fix", "wire": "relay.wall", "gpio": "22"})
    assert refused.status_code == 422 and "relay.pendant" in refused.text and kept(served) == {"relay.pendant": 22}


def test_what_breaks_is_told_at_once(tmp_path):
    file = tmp_path / "job.toml"
    file.write_text((EXAMPLES / "sewing-room" / "job.toml").read_text().replace('"rp2040-wifi"', '"esp32"'))
    with Serving(file) as served, closing(served.client()) as client:
        assert isinstance(served.draft.now.design.pins, Assignment)
        page = client.post("/pins", data={"do": "fix", "wire": "relay.wall", "gpio": "34"}).text
        assert isinstance(served.draft.now.design.pins, Conflict)
        assert "Now not every wire finds a pin" in page and "Not every wire finds a pin" in page
        assert "relay.wall, a relay output, soldered to GPIO34" in page and "move the soldered wire of relay.wall" in page
        assert "Now every wire finds a pin." in client.post("/pins", data={"do": "loosen", "wire": "relay.wall"}).text


def test_a_pin_that_a_check_refuses_is_told_with_its_finding(tmp_path):
    file = tmp_path / "job.toml"
    text = (EXAMPLES / "garden-workshop" / "job.toml").read_text()
    file.write_text(text)
    with Serving(file) as page, closing(page.client()) as client:
        board = page.draft.now.design.board
        strapping = next(pin for pin in board.pins if pin.edge and pin.strap and pin.strap.level == "high" and not pin.reserved)
        answer = client.post("/pins", data={"do": "fix", "wire": "relay.extractor", "gpio": str(strapping.gpio)}).text
        assert "must not be held low at reset" in answer and "May relay.extractor stay on" in answer


def test_a_pin_that_not_every_such_board_has_is_told_with_its_finding(tmp_path):
    file = tmp_path / "job.toml"
    file.write_text((EXAMPLES / "garden-workshop" / "job.toml").read_text())
    with Serving(file) as page, closing(page.client()) as client:
        answer = client.post("/pins", data={"do": "fix", "wire": "relay.extractor", "gpio": "36"}).text
        assert "Does this very board have every pin that is used?" in answer and "esp32-s3-quad" in answer
        assert "Not the same on every such board" in client.get("/pins/pin/36").text
        assert "Does this very board" not in client.get("/pins/pin/4").text


@pytest.mark.parametrize("form", [
    {}, {"do": "nothing"}, {"do": "fix"}, {"do": "fix", "wire": "relay.pendant"}, {"do": "fix", "wire": "relay.pendant", "gpio": "999"},
    {"do": "fix", "wire": "relay.pendant", "gpio": "²"}, {"do": "fix", "wire": "relay.pendant", "gpio": "23"}, {"do": "fix", "wire": "../x", "gpio": "1"},
    {"do": "loosen"}, {"do": "loosen", "wire": "relay.pendant"}, {"do": "loosen", "wire": "\x00"},
])
def test_a_form_that_means_nothing_changes_nothing(unchanged, form):
    served, client = unchanged
    before = served.file.read_bytes()
    assert client.post("/pins", data=form).status_code in (200, 404, 422)
    assert served.file.read_bytes() == before
    assert client.get("/pins/wire/%00").status_code == 404 and client.get("/pins/pin/-1").status_code == 404


def test_a_wire_is_dragged_with_the_mouse_and_the_words_come_before_it_is_dropped(served, tab):
    wide = tab("/pins")
    wire, there = wide.page.locator('a.pin[data-wire="relay.pendant"] circle'), wide.page.locator('a.pin[data-gpio="22"] circle')
    wire.hover()
    wide.page.mouse.down()
    there.hover()
    there.hover()
    assert "GPIO22 (GP22): free: would do" in wide.page.locator("#over").inner_text()
    assert kept(served) == {}
    wide.page.mouse.up()
    wide.page.get_by_text("relay.pendant is kept at GPIO22 (GP22).").wait_for()
    assert kept(served) == {"relay.pendant": 22}
    assert wide.is_quiet(), wide.complaints


@pytest.fixture
def phone(tab):
    """Return a tab of a telephone at the pins, and a function that sends it touches as a finger would, at points of its window."""
    here = tab("/pins", width=TELEPHONE, height=640, has_touch=True, is_mobile=True, device_scale_factor=2)
    session = here.page.context.new_cdp_session(here.page)

    def touch(kind, *points):
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": x, "y": y, "id": n} for n, (x, y) in enumerate(points)]})

    return here, touch


def middle(here, gpio):
    box = here.page.locator(f'a.pin[data-gpio="{gpio}"] circle, a.pin[data-gpio="{gpio}"] rect:not(.reach)').first.bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def test_a_wire_is_dragged_with_a_finger_on_a_telephone(served, phone):
    here, touch = phone
    pin = here.page.locator('a.pin[data-wire="relay.pendant"]')
    pin.scroll_into_view_if_needed()
    gpio, free = pin.get_attribute("data-gpio"), "22"
    start, scrolled = middle(here, gpio), here.page.evaluate("scrollY")
    touch("touchStart", start)
    for _ in range(200):                  # down to the edge of the window, where the page moves on under the finger
        x, y = middle(here, free)
        touch("touchMove", (x, max(60, min(y, 600))))
        if 60 < y < 580:
            break
    for _ in range(50):                   # the finger follows the pin until the page stands still
        touch("touchMove", middle(here, free))
        if "GPIO22" in here.page.locator("#over").inner_text():
            break
    assert "GPIO22 (GP22): free: would do" in here.page.locator("#over").inner_text()
    assert here.page.locator("#over").bounding_box()["y"] < 640 and here.page.evaluate("scrollY") != scrolled
    assert kept(served) == {}
    touch("touchEnd")
    here.page.get_by_text("relay.pendant is kept at GPIO22 (GP22).").wait_for()
    assert kept(served) == {"relay.pendant": 22} and here.is_quiet(), here.complaints


def test_a_touch_opens_and_a_second_finger_or_a_drop_beside_the_board_changes_nothing(served, phone):
    here, touch = phone
    pin = here.page.locator('a.pin[data-wire="relay.pendant"]')
    pin.scroll_into_view_if_needed()
    start = middle(here, pin.get_attribute("data-gpio"))
    away = (start[0], start[1] + 40)
    touch("touchStart", start)
    touch("touchMove", away)
    touch("touchStart", away, (200, 300))
    touch("touchEnd")
    assert here.page.locator(".dragging").count() == 0
    touch("touchStart", start)
    touch("touchMove", away)
    touch("touchMove", (4, start[1]))
    touch("touchEnd")
    assert here.page.locator(".dragging").count() == 0 and kept(served) == {} and here.page.url.endswith("/pins")
    here.page.wait_for_timeout(100)       # the click that would follow a drop is not meant
    here.page.touchscreen.tap(start[0] - 60, start[1] + 8)      # beside the words, in their row
    here.page.wait_for_url("**/pins/pin/*")
    assert kept(served) == {} and here.is_quiet(), here.complaints


@pytest.mark.parametrize(("width", "scheme"), [(WIDE, "light"), (TELEPHONE, "dark")])
def test_it_reads_on_a_desk_and_on_a_telephone(tab, width, scheme):
    here = tab("/pins/wire/relay.pendant", width=width, color_scheme=scheme)
    assert complaints(here) == [] and fits(here)
    here.page.locator('a.pin[data-gpio="3"]').focus()
    here.page.keyboard.press("Enter")
    here.page.get_by_role("heading", name="GPIO3 (GP3)", exact=True).wait_for()
    assert complaints(here) == [] and fits(here) and here.is_quiet(), here.complaints


def test_without_script_the_select_does_it(served, tab):
    bare = tab("/pins/wire/switch.door", java_script_enabled=False)
    bare.page.get_by_label("Pin").select_option("26")
    bare.page.get_by_role("button", name="Keep it at this pin").click()
    assert kept(served) == {"switch.door": 26}
    assert "switch.door is kept at GPIO26 (GP26)." in bare.page.inner_text("body")


def test_a_job_that_cannot_be_wired_has_its_sheet_too(tmp_path):
    file = tmp_path / "job.toml"
    shutil.copy(EXAMPLES / "landing" / "job.toml", file)
    with Serving(file) as page, closing(page.client()) as client:
        text = client.get("/pins").text
        assert "24 wires need a pin each, and the rules leave 23" in text and "no pin" in text
        assert "is an input only" in client.get("/pins/pin/34").text
