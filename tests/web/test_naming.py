"""A thing gets another key, and all that names it follows, in one step; nothing else changes."""

from html import unescape

import pytest

from pattress.design.rewriting import edited
from pattress.design.tables import with_keys, with_table
from pattress.errors import UseError
from pattress.repeat.renaming import values
from pattress.web.job import naming
from pattress.web.job.things import NAMED

from .reading import plainly

SIGNED = {"reason": "only for the trial on the bench", "by": "A. Tester", "date": "2026-11-25"}


def renamed(client, section, key, new):
    return client.post(f"/thing/{section}/{key}", data={"do": f"renamed:{new}"})


def test_what_follows_is_told_before_anything_is_written_and_undone_in_one_step(served, client):
    before = served.file.read_text()
    text = plainly(client.post("/thing/load/pendant", data={"do": "rename", "called": "lamps"}).text)
    assert "Nothing was renamed yet: 4 other places would follow." in text and served.file.read_text() == before
    for told in ('switch.door.does: "toggle pendant" becomes "toggle lamps"', 'wish.light.says: "pendant follows its switch within 1 s" becomes',
                 'remote.drawer.button.sleep.does: "off pendant, bench, wall; set ceiling 1" becomes "off lamps, bench, wall; set ceiling 1"'):
        assert told in text
    answer = renamed(client, "load", "pendant", "lamps")
    assert "Renamed: load.pendant is load.lamps now." in answer.text and str(answer.url).partition("?")[0].endswith("/thing/load/lamps")
    job = served.draft.now.design.job
    assert list(job.load)[0] == "lamps" and job.load["lamps"].name == "Pendant lamps" and job.wish["light"].says.thing == "lamps"
    changed = [(old, new) for old, new in zip(before.splitlines(), served.file.read_text().splitlines(), strict=True) if old != new]
    assert len(changed) == 5 and all(old.replace("pendant", "lamps") == new for old, new in changed)
    served.draft.undo()
    assert served.file.read_text() == before


def test_undo_and_redo_leave_the_sheet_of_a_key_that_is_no_more(served, client):
    renamed(client, "load", "pendant", "lamps")
    undone = client.post("/", data={"do": "undo", "back": "/thing/load/lamps"})
    assert undone.status_code == 200 and undone.url.path == "/" and "The last change is undone." in undone.text
    assert client.post("/", data={"do": "redo", "back": "/thing/load/pendant"}).url.path == "/"
    assert client.post("/", data={"do": "undo", "back": "/thing/load/bench"}).url.path == "/thing/load/bench"


@pytest.mark.parametrize("section", [section for section in NAMED if section != "accept"])
def test_every_thing_of_the_example_can_have_another_key_and_its_own_again(served, client, section):
    for key in list(getattr(served.draft.now.design.job, section)):
        before = served.draft.now
        assert "Renamed: " in renamed(client, section, key, "quite_new").text, (section, key)
        now = served.draft.now.design.job
        assert "quite_new" in getattr(now, section) and key not in getattr(now, section)
        assert len(served.draft.now.design.findings) == len(before.design.findings)
        assert [finding.verdict for finding in served.draft.now.design.findings] == [finding.verdict for finding in before.design.findings]
        assert "Renamed: " in renamed(client, section, "quite_new", key).text
        assert served.draft.now.text == before.text


def test_soldered_pins_acceptances_and_the_set_up_switch_follow(served, client):
    text = edited(served.draft.now.text, [(("board", "pins"), {"relay": {"pendant": 6, "ceiling.2": 9}, "switch.bench": 7}), (("network", "setup_switch"), "bench")], "job.toml")
    for finding in ("contacts.pendant", "sensing.switch_bench", "protection.lights"):
        text = with_table(text, ("accept", finding), SIGNED)
    served.draft.replace(text)
    for section, key in (("load", "pendant"), ("fan", "ceiling"), ("switch", "bench"), ("feed", "lights")):
        assert "Renamed: " in renamed(client, section, key, f"my_{key}").text
    job = served.draft.now.design.job
    assert dict(job.board.pins) == {"relay.my_pendant": 6, "relay.my_ceiling.2": 9, "switch.my_bench": 7} and job.network.setup_switch == "my_bench"
    assert set(job.accept) == {"contacts.my_pendant", "sensing.switch_my_bench", "protection.my_lights"}
    assert job.load["my_pendant"].feed == "my_lights" and job.regulator["wall"].fan == "my_ceiling"


def test_an_input_takes_its_pin_and_its_acceptance_along(served, client):
    text = with_table(served.draft.now.text, ("input", "door"), {"name": "Street door", "kind": "door"})
    text = with_table(edited(text, [(("board", "pins"), {"input.door": 7})], "job.toml"), ("accept", "sensing.input_door"), SIGNED)
    served.draft.replace(text)
    assert "Renamed: " in renamed(client, "input", "door", "street").text
    job = served.draft.now.design.job
    assert dict(job.board.pins) == {"input.street": 7} and set(job.accept) == {"sensing.input_street"} and list(job.input) == ["street"]
    assert "door" in job.switch                 # of the same key, and not meant


@pytest.mark.parametrize(("new", "words"), [
    ("pendant", "load.pendant is called so already"), ("bench", "load.bench is there already"), ("ceiling", "fan.ceiling is there already"),
    ("Große Lampe", "Große Lampe is no key\n  allowed: small letters, digits and _, a letter first, at most 32\n  nearest: grosse_lampe"),
    ("", "nothing is no key"), ("everything", "everything"), ("x" * 50, "is no key")])
def test_a_key_that_cannot_be_is_refused_in_words_and_stays_in_its_field(served, client, new, words):
    before = served.file.read_text()
    answer = client.post("/thing/load/pendant", data={"do": "rename" if new != "everything" else "renamed:everything", "called": new})
    assert answer.status_code == 422 and words in unescape(answer.text) and served.file.read_text() == before
    assert not new or f'name="called" value="{new}"' in unescape(answer.text)


def test_what_has_no_key_is_not_renamed(served, client):
    for address in ("/thing/board", "/thing/site"):
        assert 'name="called"' not in client.get(address).text
        assert client.post(address, data={"do": "renamed:x"}).status_code == 422


def test_what_a_held_and_a_second_press_do_follows():
    bench = {"does": "toggle pendant", "held": ["off pendant", "off bench"], "twice": "off everything"}
    assert values({"switch": {"door": bench, "bed": {"does": "toggle bench"}}}, "load", "pendant", "lamps") == {
        ("switch", "door", "does"): "toggle lamps", ("switch", "door", "held"): ["off lamps", "off bench"]}


def test_a_key_is_renamed_wherever_it_is_written():
    text = "# kept\n[load.a]   # the first\nx = 1\n[load.a.run]\ny = 2\n[board]\npins.relay.a = 3\npins.\"switch.a\" = 4\n"
    changed = with_keys(text, {("load", "a"): "b", ("board", "pins", "relay", "a"): "b", ("board", "pins", "switch.a"): "switch.b"}, "job.toml")
    assert changed == text.replace("load.a", "load.b").replace("relay.a", "relay.b").replace("switch.a", "switch.b")
    with pytest.raises(UseError, match="^job.toml is left as it is: a key cannot be renamed as it is written there"):
        with_keys("[load.a]\n[load.b]\n", {("load", "a"): "b"}, "job.toml")


def test_a_wish_keeps_its_words_where_a_key_is_one_of_them(served):
    says = {("switch", "ironing", "does"): "toggle {}", ("rule", "iron", "says"): "{} is put on at the wall only",
            ("rule", "forgotten_iron", "says"): "{} is on for at most 30 min", ("wish", "iron", "says"): "after a power cut {} stays off"}
    text = edited(with_keys(served.draft.now.text, {("load", "ironing"): "power"}, "x"), [(path, words.format("power")) for path, words in says.items()], "x")
    version = served.draft.replace(text)
    assert naming.naming(version, "load", "power", "iron").values == {path: words.format("iron") for path, words in says.items()}
