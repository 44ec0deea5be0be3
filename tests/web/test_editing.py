"""Edits over the page: the file changes by the lines that were meant, and says no in the words of the command line."""

import re
import threading
from contextlib import closing
from difflib import ndiff
from html import unescape

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from pattress.cli import main
from pattress.web.job.form_fields import group_of, record_of
from pattress.web.job.thing import CONFLICT

from .reading import plainly
from .served_page import EXAMPLES, Serving


def form_of(html):
    """Return every named field of a sheet's form with its value, as a browser would post it."""
    form = {}
    for name, rest in re.findall(r'<(?:input|textarea|select)[^>]*? name="([^"]+)"([^>]*)>', html):
        value = re.search(r'value="([^"]*)"', rest)
        form[unescape(name)] = unescape(value[1]) if value else ""
    for name, body in re.findall(r'<textarea[^>]* name="([^"]+)"[^>]*>\n?(.*?)</textarea>', html, re.DOTALL):
        form[unescape(name)] = unescape(body)
    for name, body in re.findall(r'<select[^>]* name="([^"]+)"[^>]*>(.*?)</select>', html, re.DOTALL):
        chosen = re.search(r'<option(?: value="([^"]*)")? selected>([^<]*)', body)
        form[unescape(name)] = unescape(chosen[2] if chosen[1] is None else chosen[1])
    return {name: value for name, value in form.items() if "/+" not in name and name not in ("key", "back", "passphrase")}


def post(client, path, do="write", **typed):
    form = form_of(client.get(path).text) | {name.replace("__", "/"): value for name, value in typed.items()}
    return client.post(path, data=form | {"do": do})


def changed(before, after):
    return [line for line in ndiff(before.splitlines(), after.splitlines()) if line[0] in "+-"]


def test_a_form_posted_as_it_came_writes_nothing(served, client):
    before = served.file.read_text()
    job = served.draft.now.design.job
    for section in ("feed", "load", "fan", "switch", "input", "regulator", "remote", "sensor", "wall", "wish"):
        for key in getattr(job, section):
            assert post(client, f"/thing/{section}/{key}").status_code == 200
    for section in ("job", "supply", "site", "board", "network", "receiver"):
        assert post(client, f"/thing/{section}").status_code == 200
    assert served.file.read_text() == before and not served.draft.can_undo


def test_a_typed_power_is_written_and_everything_is_reckoned_anew(served, client):
    before = served.file.read_text()
    answer = post(client, "/thing/load/pendant", **{"load__pendant__power": "11 W"})
    assert answer.status_code == 200 and "4 x 11 W" in answer.text
    assert changed(before, served.file.read_text()) == [
        '- power = "9 W"                    # of one lamp', '+ power = "11 W"                    # of one lamp']


@pytest.mark.parametrize("path, name, value, line", [
    ("/thing/load/pendant", "load/pendant/count", "6", "count = 6"),
    ("/thing/load/pendant", "load/pendant/minimum_off", "", None),
    ("/thing/load/pendant", "load/pendant/power_factor", "0.9", "power_factor = 0.9"),
    ("/thing/load/pendant", "load/pendant/relay", "auto", 'relay = "auto"'),
    ("/thing/load/pendant", "load/pendant/run/length", "8 m", 'run = { section = "1.5 mm2", length = "8 m" }'),
    ("/thing/load/bench", "load/bench/inrush", "unknown", 'inrush = "unknown"'),
    ("/thing/load/bench", "load/bench/spoken", "one\r\ntwo", 'spoken = ["one", "two"]'),
    ("/thing/switch/door", "switch/door/does", "toggle wall", 'does = "toggle wall"'),
    ("/thing/fan/ceiling", "fan/ceiling/wanted", "40 %, 60 %, 80 %, 100 %", 'wanted = ["40 %", "60 %", "80 %", "100 %"]'),
    ("/thing/board", "board/status_lamp", "false", "status_lamp = false"),
    ("/thing/board", "board/type", "esp32-s3", 'type = "esp32-s3"'),
    ("/thing/network", "network/broker", "none", 'broker = "none"          # on the local network'),
    ("/thing/site", "site/enclosure", "unknown", 'enclosure = "unknown"'),
])
def test_every_kind_of_value_is_written_as_the_file_writes_it(served, client, path, name, value, line):
    form = form_of(client.get(path).text) | {name: value, "do": "write"}
    assert client.post(path, data=form).status_code == 200
    text = served.file.read_text()
    assert line is None or f"\n{line}\n" in text
    assert client.get(path).status_code == 200


def test_several_values_of_a_table_begin_it(served, client):
    post(client, "/thing/load/pendant", **{"load__pendant__inrush__peak": "5 A", "load__pendant__inrush__duration": "200 us"})
    assert 'inrush = { peak = "5 A", duration = "200 us" }' in served.file.read_text()


def test_an_error_stands_at_its_field_in_the_words_of_the_command_line(served, client, tmp_path):
    before = served.file.read_text()
    answer = post(client, "/thing/load/pendant", **{"load__pendant__power": "11 kg"})
    assert answer.status_code == 422 and served.file.read_text() == before
    wrong = tmp_path / "wrong.toml"
    wrong.write_text(before.replace('power = "9 W"', 'power = "11 kg"'))
    told = CliRunner().invoke(main, ["check", str(wrong)]).stderr.strip()
    words = told[told.index("load.pendant.power is"):]
    assert words.startswith("load.pendant.power is '11 kg', a mass\n  allowed: a power")
    assert words in unescape(answer.text)
    assert 'value="11 kg"' in answer.text and 'aria-invalid="true"' in answer.text


def test_where_nothing_can_be_written_what_was_typed_stays_in_its_field(tmp_path):
    """As on a full disk: nothing can be put beside a file whose name is as long as names may be."""
    file = tmp_path / f"{'j' * 245}.toml"
    file.write_text((EXAMPLES / "sewing-room" / "job.toml").read_text())
    with Serving(file) as page, closing(page.client()) as client:
        form = form_of(client.get("/thing/load/bench").text) | {"do": "write", "load/bench/power": "61 W"}
        answer = client.post("/thing/load/bench", data=form)
        assert answer.status_code == 422 and f"{file.name} cannot be written: File name too long" in answer.text
        assert 'value="61 W"' in answer.text and page.draft.now.design.job.load["bench"].power == 54.0


def test_not_known_is_one_button_and_says_what_is_taken_instead(served, client):
    answer = post(client, "/thing/fan/ceiling", "write:fan/ceiling/run_capacitor")
    assert answer.status_code == 200 and 'run_capacitor = "unknown"' in served.file.read_text()
    assert "Taken instead:" in post(client, "/thing/supply").text


def test_an_edit_says_at_once_which_verdicts_it_has_changed(served, client):
    answer = post(client, "/thing/load/ironing", **{"load__ironing__power": "4 kW"})
    assert answer.status_code == 200
    assert "Can the relay of Ironing socket carry and break its current? fails, holds before." in unescape(answer.text)
    assert "No verdict has changed." in unescape(post(client, "/thing/load/ironing", **{"load__ironing__name": "Iron"}).text)


def test_undo_and_redo_walk_through_the_texts(served, client):
    texts = [served.file.read_bytes()]
    for power in ("11 W", "12 W", "13 W"):
        post(client, "/thing/load/pendant", **{"load__pendant__power": power})
        texts.append(served.file.read_bytes())
    for text in (*texts[2::-1], texts[0]):
        client.post("/", data={"do": "undo"})
        assert served.file.read_bytes() == text
    for text in texts[1:]:
        client.post("/", data={"do": "redo"})
        assert served.file.read_bytes() == text


def test_a_load_that_something_speaks_of_stays_until_that_may_go_too(served, client):
    before = served.file.read_text()
    answer = client.post("/thing/load/ironing", data={"do": "remove:load/ironing"})
    assert answer.status_code == 200 and served.file.read_text() == before
    assert all(f"{place} goes" in plainly(answer.text) for place in ("rule.iron", "rule.forgotten_iron", "wish.iron")), plainly(answer.text)
    assert "4 other places speak of it" in answer.text
    assert client.post("/thing/load/ironing", data={"do": "along:load/ironing"}).status_code == 200
    assert "ironing" not in served.draft.now.design.job.load and served.draft.now.design.job.rule == {} and "iron" not in served.draft.now.design.job.wish


def test_buttons_come_and_go(served, client):
    form = {"do": "add:remote/drawer/button", "key": "Blue", "remote/drawer/button/+/code": "nec 0x04:0x61", "remote/drawer/button/+/does": "toggle bench"}
    assert client.post("/thing/remote/drawer", data=form).status_code == 200
    assert 'blue = { code = "nec 0x04:0x61", does = "toggle bench" }' in served.file.read_text()
    twice = client.post("/thing/remote/drawer", data=form | {"key": "red"})
    assert twice.status_code == 422 and "the code of remote.drawer.button.blue too" in unescape(twice.text)
    again = client.post("/thing/remote/drawer", data=form | {"remote/drawer/button/+/code": "nec 0x04:0x62"})
    assert again.status_code == 422 and "remote.drawer.button.blue is there already." in again.text
    nameless = client.post("/thing/remote/drawer", data=form | {"key": " "})
    assert nameless.status_code == 422 and "A name is missing." in nameless.text
    assert client.post("/thing/remote/drawer", data={"do": "remove:remote/drawer/button/blue"}).status_code == 200
    assert "blue" not in served.file.read_text()


def test_a_pin_and_a_reading_are_added(served, client):
    pin = {"do": "add:board/pins", "key": "relay.pendant", "board/pins/+": "6"}
    assert client.post("/thing/board", data=pin).status_code == 200
    assert served.draft.now.design.job.board.pins == {"relay.pendant": 6}
    reading = {"do": "add:fan/ceiling/measured/readings", "fan/ceiling/measured/readings/+/mains": "230 V", "fan/ceiling/measured/readings/+/power": "70 W"}
    assert client.post("/thing/fan/ceiling", data=reading).status_code == 200
    assert served.draft.now.design.job.fan["ceiling"].measured.readings[0].power == 70.0


def test_two_people_typing_in_different_fields_both_get_their_way(served, client):
    page = form_of(client.get("/thing/load/pendant").text)
    assert post(client, "/thing/load/pendant", **{"load__pendant__count": "5"}).status_code == 200
    assert client.post("/thing/load/pendant", data=page | {"load/pendant/power": "11 W", "do": "write"}).status_code == 200
    load = served.draft.now.design.job.load["pendant"]
    assert (load.count, load.power) == (5, 11.0)


def test_two_people_typing_in_the_same_field_lose_nothing(served, client):
    page = form_of(client.get("/thing/load/pendant").text)
    post(client, "/thing/load/pendant", **{"load__pendant__power": "10 W"})
    late = client.post("/thing/load/pendant", data=page | {"load/pendant/power": "11 W", "do": "write"})
    assert late.status_code == 409 and CONFLICT in unescape(late.text)
    assert "now says 10 W. You typed 11 W." in unescape(late.text) and 'value="11 W"' in late.text
    assert served.draft.now.design.job.load["pendant"].power == 10.0
    again = form_of(late.text) | {"do": "write"}
    assert client.post("/thing/load/pendant", data=again).status_code == 200
    assert served.draft.now.design.job.load["pendant"].power == 11.0


def test_a_form_from_a_text_that_nobody_remembers_overwrites_nothing(served, client):
    page = form_of(client.get("/thing/load/pendant").text) | {"version": "long ago", "load/pendant/power": "11 W", "do": "write"}
    assert client.post("/thing/load/pendant", data=page).status_code == 409
    assert served.draft.now.design.job.load["pendant"].power == 9.0


NAMES = [field.name for section, key in (("load", "pendant"), ("fan", "ceiling"), ("switch", "door"), ("remote", "drawer"))
         for field in group_of(record_of(section), (section, key), {}, {}).all_fields()]
TEXTS = st.one_of(st.text(max_size=40), st.sampled_from(["unknown", "", "75 W", "1e999 W", "9" * 400, "as given below", "{}", '"""', "\x00", "toggle everything"]))
PATHS = st.sampled_from(["/", "/thing/load/pendant", "/thing/fan/ceiling", "/thing/switch/door", "/thing/remote/drawer", "/thing/board", "/thing/job", "/thing/site"])
ACTIONS = st.one_of(st.sampled_from(["write", "remove:load/pendant", "remove:remote/drawer/button/green", "add:remote/drawer/button", "add:board/pins",
                                   "add:fan/ceiling/measured/readings", "undo", "redo", "write:load/pendant/power", "remove:", "add:"]), st.text(max_size=20))


@pytest.fixture(scope="module")
def standing(tmp_path_factory):
    """A page that fuzzed posts share: the garden workshop is quick to build."""
    file = tmp_path_factory.mktemp("fuzz") / "job.toml"
    file.write_bytes((EXAMPLES / "sewing-room" / "job.toml").read_bytes())
    with Serving(file) as page:
        client = page.client()
        yield page, client
        client.close()


@given(path=PATHS, do=ACTIONS, known=st.dictionaries(st.sampled_from(NAMES), TEXTS, max_size=4), other=st.dictionaries(st.text(max_size=20), TEXTS, max_size=3),
       version=st.sampled_from(["now", "", "x"]))
def test_no_posted_form_breaks_the_page_or_the_file(standing, path, do, known, other, version):
    page, client = standing
    form = other | known | {"do": do, "version": page.draft.now.digest if version == "now" else version}
    answer = client.post(path, data=form)
    assert answer.status_code in (200, 404, 409, 422), answer.text
    assert CliRunner().invoke(main, ["schema"]).exit_code == 0
    assert page.draft.trouble is None


@given(body=st.binary(max_size=300), kind=st.sampled_from(["multipart/form-data; boundary=x", "multipart/form-data", "application/x-www-form-urlencoded", "text/plain", ""]))
def test_no_posted_bytes_break_the_page(standing, body, kind):
    _, client = standing
    for content in (body, b"--x\r\nContent-Disposition: form-data; name=\"do\"\r\n\r\n" + body + b"\r\n--x--\r\n"):
        assert client.post("/thing/load/pendant", content=content, headers={"content-type": kind}).status_code < 500


def test_many_edits_at_once_leave_a_file_that_one_of_them_wrote(served, client):
    page = form_of(client.get("/thing/load/pendant").text)
    answers, clients = [], [served.client() for _ in range(6)]

    def edit(other, power):
        answers.append(other.post("/thing/load/pendant", data=page | {"load/pendant/power": f"{power} W", "do": "write"}).status_code)
        other.close()

    threads = [threading.Thread(target=edit, args=pair) for pair in zip(clients, range(10, 16), strict=True)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(answers) == [200] + [409] * 5
    assert 10.0 <= served.draft.now.design.job.load["pendant"].power <= 15.0


def test_an_action_can_be_chosen_from_what_the_job_has(served, client):
    page = client.get("/thing/switch/door").text
    assert "<option>toggle bench</option>" in page and "<option>set ceiling 3</option>" in page and "<option>off everything</option>" in page
    client.post("/thing/switch/door", data=form_of(page) | {"one-more:switch/door/does": "toggle bench", "do": "write"})
    assert [str(action) for action in served.draft.now.design.job.switch["door"].does] == ["toggle pendant", "toggle bench"]
    refused = unescape(client.post("/thing/switch/door", data=form_of(client.get("/thing/switch/door").text) | {
        "one-more:switch/door/does": "toggle nothing", "do": "write"}).text)
    assert "there is no load or fan 'nothing'" in refused and "toggle bench\ntoggle nothing" in refused


def test_what_not_knowing_costs_can_be_looked_at_before_it_is_written(served, client):
    before = served.file.read_text()
    page = client.get("/thing/fan/ceiling").text
    address = "/what-if?key-1=fan.ceiling.speed&amp;text-1=unknown"
    assert address in page
    told = unescape(client.get(unescape(address)).text)
    assert "fan.ceiling.speed = unknown" in told and "In the variant" in told
    assert served.file.read_text() == before
