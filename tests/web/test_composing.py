"""A rule composed from choices: a form first, then its places within the sentence, read by the same reader as the file."""

import re
from contextlib import closing
from html import unescape

import pytest

from pattress.job.rule import parse_rule
from pattress.web.job.rule_forms import FORMS

from .ruled_home import HOME
from .served_page import EXAMPLES, Serving
from .test_rule_forms import composed, fillings


@pytest.fixture
def served(tmp_path):
    """A page over the home without a rule."""
    file = tmp_path / "job.toml"
    file.write_text(HOME)
    with Serving(file) as page:
        yield page


def rules(page):
    return {key: str(ruled.says) for key, ruled in page.draft.now.design.job.rule.items()}


def add(client, form, **places):
    answer = client.post(f"/rules/new/{form}", data=places | {"do": "add"})
    return answer, unescape(answer.text)


def test_every_form_can_be_chosen_and_shows_its_sentence_with_its_places(client):
    page = client.get("/rules").text
    assert re.findall(r'<option value="([^"]*)"', page) == list(FORMS)
    for key, form in FORMS.items():
        text = unescape(client.post("/rules", data={"do": "choose", "form": key}).text)
        sentence = re.search(r'<p class="sentence">(.*?)</p>', text, re.S)[1]
        bare = " ".join(re.sub(r"<select.*?</select>|<input[^>]*>", "_", sentence, flags=re.S).split())
        assert bare == " ".join(re.sub(r"\{\w+\}", "_", form.sentence.replace("[", "").replace("]", "")).split()), key
        assert f'<option value="{key}" selected>' in text


def test_no_form_at_all_is_told(client):
    assert "Choose a form first." in client.post("/rules", data={"do": "choose", "form": "none"}).text
    assert client.get("/rules/new/none").status_code == 404


@pytest.mark.parametrize("key", FORMS)
def test_what_is_composed_is_written_as_the_sentence_that_it_makes(served, client, key):
    filled = next(fillings(FORMS[key])) | ({"warning": ""} if key.startswith("stay") else {})         # no lamp is first here, and only lamps are warned of
    if key in ("top", "start"):             # a button of this home asks for the highest step
        served.draft.replace(HOME.replace("set extract 2", "set extract 1"))
        filled |= {"step": "1"}
    answer, text = add(client, key, **filled, called="The New one")
    says = composed(FORMS[key], filled)
    if FORMS[key].kind == "rest":           # nothing in this home could rest
        assert answer.status_code == 422 and "has no rule that rests" in text and rules(served) == {}
        return
    assert answer.status_code == 200 and rules(served) == {"the_new_one": says} and "Added: rule.the_new_one." in text
    assert served.file.read_text().endswith(f'\n[rule.the_new_one]\nsays = "{says}"\n') and f">\n{says}</textarea>" in text


def test_a_rule_without_a_name_has_that_of_what_it_acts_on(served, client):
    add(client, "limit", thing="heater", time="30 min")
    add(client, "off-input", thing="heater", contact="window", position="open")
    add(client, "when-input", contact="window", turned="opens", action="off everything")
    assert rules(served) == {"heater": "heater is on for at most 30 min", "heater_2": "heater stays off while window is open", "everything": "when window opens, off everything"}


def test_what_is_missing_is_told_and_what_was_chosen_is_kept(served, client):
    answer, text = add(client, "on-reading", thing="heater", sensor="", side="above", begin="20 degC", called="warm")
    assert answer.status_code == 422 and rules(served) == {} and served.file.read_text() == HOME
    assert "Still missing: a sensor, where it is over." in text
    assert '<option value="heater" selected>' in text and '<option value="above" selected>' in text and 'value="20 degC"' in text and 'value="warm"' in text
    assert len(re.findall(r'aria-invalid="true"', text)) == 2


@pytest.mark.parametrize("form, places, told", [
    ("limit", dict(thing="heater", time="30 kg"), "rule.heater.says is '30 kg', a mass\n  allowed: a time such as \"3 min\", at least 1 s, at most 24 h"),
    ("on-reading", dict(thing="heater", sensor="room", side="below", begin="20 degC", end="19 degC"), "rule.heater.says is '20 degC', until '19 degC'\n  allowed: a higher figure to end at"),
    ("on-thing", dict(thing="heater", other="heater", switched="on"),
     "rule.heater.says is 'heater is on while heater is on'; heater then waits for itself\n  allowed: another load or fan, an input or a sensor to wait for"),
    ("step-input", dict(fan="heater", step="1", contact="window", position="open"), "heater has no steps"),
])
def test_what_does_not_agree_is_refused_as_on_the_command_line_beside_the_sentence(served, client, form, places, told):
    answer, text = add(client, form, **places)
    assert answer.status_code == 422 and served.file.read_text() == HOME
    assert told in re.search(r'<form[^>]* id="adding".*?</form>', text, re.S)[0] and "Nothing was added; the file is as it was." in text
    assert all(f'value="{words}"' in text for words in places.values())


def test_a_name_that_is_taken_is_told_at_the_name(served, client):
    add(client, "limit", thing="heater", time="30 min", called="short")
    answer, text = add(client, "limit", thing="porch", time="10 min", called="short")
    assert answer.status_code == 422 and "rule.short is there already. Give the new one another name." in text
    assert rules(served) == {"short": "heater is on for at most 30 min"} and 'value="10 min"' in text


def test_what_a_new_rule_makes_wrong_is_told_where_it_stands(served, client):
    add(client, "limit", thing="heater", time="30 min")
    answer, text = add(client, "limit", thing="heater", time="10 min")
    assert answer.status_code == 422 and "rule.heater says of heater what is of the same kind" in text and len(rules(served)) == 1


def test_a_job_without_what_a_form_asks_for_says_what_to_add_first(tmp_path):
    file = tmp_path / "job.toml"
    file.write_text((EXAMPLES / "sewing-room" / "job.toml").read_text("utf-8"))
    with Serving(file) as page, closing(page.client()) as client:
        assert 'This job has no input yet. <a class="way" href="/add/input#sheet">' in client.get("/rules/new/on-input").text
        assert "yet. <a" not in client.get("/rules/new/on-thing").text


def test_without_script_a_rule_is_composed_added_and_taken_away(tab, served):
    page = tab("/rules", java_script_enabled=False).page
    page.select_option("#form", "off-input")
    page.click("#choose")
    page.select_option("#place-thing", "heater")
    page.select_option("#place-contact", "window")
    page.fill("#place-after", "5 minuts")
    page.click('button:has-text("Add to")')
    assert "5 minuts" in page.inner_text("#adding .error") and page.input_value("#place-contact") == "window" and page.input_value("#place-after") == "5 minuts"
    page.fill("#place-after", "5 min")
    page.click('button:has-text("Add to")')
    assert rules(served) == {"heater": "heater stays off while window is open, and for 5 min after"}
    page.click('button:has-text("Take away")')
    assert rules(served) == {} and "Taken away: rule.heater." in page.inner_text("#said")


def test_with_script_a_form_is_changed_and_the_places_both_have_are_kept_by_keyboard_too(tab, served):
    here = tab("/rules")
    page = here.page
    page.select_option("#form", "limit")
    page.focus("#choose")
    page.keyboard.press("Enter")
    page.wait_for_selector("#place-time")
    assert page.evaluate("document.activeElement.id") == "choose" and page.url.endswith("/rules/new/limit")
    page.select_option("#place-thing", "porch")
    page.fill("#place-time", "3 min")
    page.select_option("#form", "stay-anew")
    page.click("#choose")
    page.wait_for_function("() => document.querySelector('.sentence').innerText.includes('anew at each asking')")
    assert page.input_value("#place-thing") == "porch" and page.input_value("#place-time") == "3 min"
    served.file.write_text(served.file.read_text().replace("Panel heater", "Other heater"))
    page.wait_for_function("() => document.querySelector('#place-thing').innerText.includes('Other heater')")
    assert page.input_value("#place-thing") == "porch" and page.input_value("#place-time") == "3 min"
    page.press("#place-time", "Enter")
    page.wait_for_function("() => document.querySelector('#said').innerText.includes('Added: rule.porch.')")
    assert parse_rule(rules(served)["porch"]).renews and page.url.endswith("/rules") and here.is_quiet(), here.complaints
    assert page.evaluate("document.activeElement.tagName") == "H2"
