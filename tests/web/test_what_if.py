"""A variant beside the job: what moves, and nothing is written before somebody says so."""

import re

from pattress.design.comparison import compare
from pattress.job import starter
from pattress.web.design.what_if import rows

from .reading import TELEPHONE, WIDE, complaints, cut_words, fits, plainly

WORST = {"supply/tolerance": "20", "site/ambient": "60"}


def test_the_sliders_show_what_moves_and_write_nothing(served, client):
    before = served.file.read_text()
    text = plainly(client.post("/what-if", data=WORST | {"do": "look"}).text)
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
    text = plainly(client.post("/what-if", data={"do": "propose"}).text)
    assert "load.ironing.relay" in text and "There is no cheaper set (proven)." in text and "Without it: fails [contacts.ironing]" in text
    assert served.file.read_text() == before
    client.post("/what-if", data={"do": "cure"})
    assert served.draft.now.design.job.load["ironing"].relay != "SRD-05VDC-SL-A"
    assert not [finding for finding in served.draft.now.design.findings if finding.verdict == "fails"]


def test_where_nothing_fails_there_is_nothing_to_cure(client):
    assert "Nothing fails; there is nothing to cure." in client.post("/what-if", data={"do": "propose"}).text


KEYS = {"key-1": "load.pendant.power", "text-1": "400 W", "key-2": "feed.lights.device.rating", "text-2": "16 A"}


def test_any_key_of_the_job_may_have_another_value_in_the_variant(served, client):
    before = served.file.read_text()
    trial = served.draft.trial([(("load", "pendant", "power"), "400 W"), (("feed", "lights", "device", "rating"), "16 A")])
    moved = compare(served.draft.now.design, trial.design)
    assert len(moved.moves) > 5
    for answer in (client.post("/what-if", data=KEYS | {"do": "look"}), client.get("/what-if", params=KEYS)):     # typed, and as an address
        text = plainly(answer.text)
        assert "What moves with load.pendant.power = 400 W; feed.lights.device.rating = 16 A" in text
        assert all(row.question in text and row.after in text for row in rows(moved))
        assert "9 W in the job" in text and 'value="400 W"' in text
    assert served.file.read_text() == before


def test_a_typed_variant_is_written_in_one_step_that_undo_takes_back(served, client):
    before = served.file.read_text()
    client.post("/what-if", data=KEYS | {"supply/tolerance": "12", "do": "take"})
    job = served.draft.now.design.job
    assert (job.load["pendant"].power, job.feed["lights"].device.rating, job.supply.tolerance) == (400.0, 16.0, 0.12)
    assert served.file.read_text() != before
    served.draft.undo()
    assert served.file.read_text() == before


def test_what_cannot_be_is_told_at_its_key_in_the_words_of_the_command_line(served, client):
    before = served.file.read_text()
    wrong = {"key-1": "load.pendnt.power", "text-1": "1 W", "key-2": "load.pendant.power", "text-2": "1 kg", "key-3": "board.type", "text-3": "toaster"}
    for action in ("look", "take"):
        text = plainly(client.post("/what-if", data=wrong | {"do": action}).text)
        assert "load.pendnt.power is no key of this job" in text and "nearest: load.pendant.power" in text
        del_first = {name: value for name, value in wrong.items() if not name.endswith("-1")}
        text = plainly(client.post("/what-if", data=del_first | {"do": action}).text)
        assert "load.pendant.power is '1 kg'" in text and text.count("class=\"error\"") == 1
        assert 'value="1 kg"' in text                           # what was typed is still there
    assert served.file.read_text() == before


def test_a_table_that_begins_in_the_variant_is_told_what_it_lacks(client):
    text = plainly(client.post("/what-if", data={"key-1": "load.wall.inrush.peak", "text-1": "20 A", "do": "look"}).text)
    assert "load.wall.inrush.duration is missing" in text


def test_parts_that_stray_further_are_a_variant_that_is_never_written(served, client):
    before = served.file.read_text()
    text = plainly(client.post("/what-if", data={"parts/tolerance": "200", "do": "look"}).text)
    assert "What moves with parts that stray to 200 % of what their sheets say" in text
    assert "how far parts may stray" in text and "100 % is what the sheets of coils, supplies, capacitors and varistors say; from 0 to 300 %" in text
    assert "varistor" in text.partition("What moves")[2]
    assert 'value="take"' not in text
    said = client.post("/what-if", data={"parts/tolerance": "200", "do": "take"}).text
    assert "The tolerance of parts stands on their sheets, not in the job file: there is nothing to write." in said and served.file.read_text() == before
    for nothing in ("100", "", "much", "nan", "-5", "301"):
        assert "Nothing is different from the job file." in client.post("/what-if", data={"parts/tolerance": nothing, "do": "look"}).text, nothing


def test_with_a_key_changed_as_well_only_the_key_is_written(served, client):
    data = {"parts/tolerance": "150", "supply/tolerance": "8"}
    text = plainly(client.post("/what-if", data=data | {"do": "look"}).text)
    assert "supply.tolerance = 8 %; parts that stray to 150 % of what their sheets say" in text and 'value="take"' in text
    client.post("/what-if", data=data | {"do": "take"})
    assert served.draft.now.design.job.supply.tolerance == 0.08


def test_what_is_not_known_is_there_at_once_and_what_measuring_settles_when_it_is_asked(served, client):
    served.draft.replace(starter())
    before = served.file.read_text()
    text = plainly(client.get("/what-if").text)
    assert "supply: fault current</b>" in text and "[supply.fault_current]" in text and "Taken: 6 kA. To settle it: a loop tester at the board" in text
    assert "See what each would settle" in text and "No verdict hangs on it" not in text
    text = plainly(client.post("/what-if", data={"do": "settle"}).text)
    assert "a measurement counts 25, another relay 10, another device in the consumer unit 40" in text
    first, *others = text.partition('<ol class="claims">')[2].split("<li>")[1:]
    assert "Pendant: inrush" in first and first.index("Does the device of feed lights bear") < first.index("unknown</b>") < first.index("holds</b>")
    fault = next(one for one in others if "supply: fault current" in one)
    assert fault.index("Can the device of feed lights break the largest fault?") < fault.index("unknown</b>") < fault.index("holds</b>")
    assert 'href="/what-if?key-1=supply.fault_current&text-1=288+A#variant"' in fault
    assert served.file.read_text() == before
    idle = ["No verdict hangs on it by itself, only figures." in one or "No two ends of it are known" in one for one in others]
    assert any("No verdict hangs on it by itself, only figures." in one for one in others) and idle == sorted(idle)      # what decides something comes first


def test_the_variant_of_an_end_is_what_was_said_of_it(served, client):
    served.draft.replace(starter())
    text = plainly(client.get("/what-if?key-1=supply.fault_current&text-1=288+A").text)
    row = text.partition("What moves with supply.fault_current = 288 A")[2].partition("Can the device of feed lights break the largest fault?")[2].partition("</tr>")[0]
    assert "better" in row and row.index("unknown</b>") < row.index("holds</b>")


def test_what_settles_no_verdict_is_folded_away_and_counted(served, client):
    """In the job one starts with the fault current decides whether the device can break it; so it is shown."""
    served.draft.replace(starter())
    text = plainly(client.post("/what-if", data={"do": "settle"}).text)
    shown, _, folded = text.partition("<details")
    told = int(re.search(r"<summary>(\d+) more, on which no verdict hangs by itself</summary>", folded)[1])
    assert told == folded.count("To settle it:") and "<table" not in folded
    assert "[supply.fault_current]" in shown and "[supply.fault_current]" not in folded


def test_what_measuring_settles_can_be_read_on_a_telephone_and_by_keyboard(tab, served):
    served.draft.replace(starter())
    for width in (TELEPHONE, WIDE):
        found = tab("/what-if", width=width)
        found.page.locator('button[value="settle"]').focus()
        found.page.keyboard.press("Enter")
        found.page.wait_for_selector("#unknown table")
        assert fits(found) and complaints(found) == [] and cut_words(found.page) == []
        assert found.page.evaluate("document.activeElement.closest('#unknown') !== null")
