"""The sheet of rules: sentences edited as text, refused as on the command line; who may do what."""

import re
from contextlib import closing
from html import unescape
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pattress.job import JobError, read
from pattress.proof.properties import Kind
from pattress.proof.tally import Property
from pattress.web.background_jobs import BackgroundJob, background_jobs_of
from pattress.web.job.rules import NO_RULES
from pattress.web.job.thing import CONFLICT
from pattress.web.program.proving import PROOF

from .reading import TELEPHONE, complaints, cut_words, fits, plainly
from .ruled_home import SAYS, ruled
from .served_page import EXAMPLES, Serving

AGREE = "The 10 rules in the file agree with the rest of the job and with one another."
TOLD = sorted(SAYS.keys() - {"hand"})


@pytest.fixture
def home(tmp_path):
    """A page over the home with rules, all but one of them, and a client let in."""
    file = tmp_path / "job.toml"
    file.write_text(ruled("hand"))
    with Serving(file) as page, closing(page.client()) as client:
        yield SimpleNamespace(page=page, client=client, file=file, served=page, says=lambda key: str(page.draft.now.design.job.rule[key].says))


@pytest.fixture
def served(home):
    """The page that `tab` opens."""
    return home.page


def field(key):
    return f"rule/{key}/says"


def posted(home, do, path="/rules", **typed):
    """Post the form of sentences as a browser would, with other words in some of them."""
    page = home.client.get(path).text
    form = {name: unescape(text).strip("\n") for name, text in re.findall(r'<textarea[^>]* name="([^"]*)"[^>]*>([^<]*)</textarea>', page)}
    form |= {"version": re.search(r'name="version" value="([^"]*)"', page)[1], "do": do}
    answer = home.client.post(path, data=form | {field(key): says for key, says in typed.items()})
    return answer.status_code, unescape(answer.text)


def test_a_rule_that_waits_for_a_mode_is_shown(home):
    home.page.draft.replace(home.page.draft.now.text + '[mode.away]\nname = "Nobody home"\n[rule.alone]\nsays = "heater stays off while away is on"\n')
    answer = home.client.get("/rules")
    assert answer.status_code == 200 and "kept off while Nobody home is on" in plainly(answer.text)


def row(text, key):
    """Return the rule of that key as the sheet shows it."""
    return re.search(rf'<li id="rule-{key}".*?</li>', text, re.S)[0]


def refused(text):
    """Return the words of the command line about the first problem of a job file, after the place in it."""
    with pytest.raises(JobError) as error:
        read(text, "job.toml")
    return str(error.value.problems[0]).partition(" ")[2]


def test_each_rule_stands_there_with_its_name_its_sentence_and_what_it_speaks_of(home):
    text = unescape(home.client.get("/rules").text)
    for key in TOLD:
        assert f">{key}</label>" in row(text, key) and f">\n{SAYS[key]}</textarea>" in row(text, key), key
    assert re.findall(r'href="(/thing/[^"]*)">', row(text, "airing")) == ["/thing/load/bath", "/thing/fan/extract"]
    assert "Outdoor sensor" in row(text, "damp") and "Reset key" in row(text, "dry")


def test_an_edited_sentence_is_written_and_can_be_undone(home):
    before = home.file.read_text()
    status, text = posted(home, "write", iron="heater is on for\r\n at most 45 min")
    assert status == 200 and "Written: rule.iron." in text and home.says("iron") == "heater is on for at most 45 min"
    assert home.file.read_text() == before.replace("30 min", "45 min") and AGREE in text
    home.client.post("/", data={"do": "undo"})
    assert home.file.read_text() == before


@pytest.mark.parametrize("key, says", [
    ("porch", "porch is on fr 3 min"), ("iron", "heatr is on for at most 30 min"), ("frost", "heater is on while room is below 5 degC, until 5.1 degC"), ("open", "when window opens, off everthing"),
])
def test_a_wrong_sentence_is_refused_in_the_words_of_the_command_line_and_kept(home, key, says):
    before = home.file.read_text()
    status, text = posted(home, "write", **{key: says})
    assert status == 422 and home.file.read_text() == before
    assert refused(before.replace(f'"{SAYS[key]}"', f'"{says}"')) in row(text, key) and f">\n{says}</textarea>" in row(text, key)
    assert f"Not written: rule.{key}. What was typed is kept." in text and f"What was typed last is not written: it does not agree, or cannot be read. {AGREE}" in text


def test_one_wrong_sentence_keeps_no_other_from_being_written(home):
    status, text = posted(home, "write", porch="porch is on fr 3 min", iron="heater is on for at most 45 min")
    assert status == 422 and "Written: rule.iron." in text and "Not written: rule.porch." in text
    assert home.says("iron") == "heater is on for at most 45 min" and home.says("porch") == SAYS["porch"]
    assert 'class="error"' not in row(text, "iron")


def test_two_sentences_that_agree_only_together_are_written_together(home):
    status, _ = posted(home, "write", iron=SAYS["porch"], porch=SAYS["iron"])
    assert status == 200 and (home.says("iron"), home.says("porch")) == (SAYS["porch"], SAYS["iron"])


def test_a_sentence_that_agrees_once_another_is_written_is_written_beside_a_wrong_one(home):
    status, text = posted(home, "write", iron="porch is on for 5 min", open="when widow opens, off heater", porch="bath is on for 3 min")
    assert status == 422 and "Written: rule.porch, rule.iron." in text and "Not written: rule.open." in text
    assert home.says("iron") == "porch is on for 5 min" and home.says("porch") == "bath is on for 3 min"


def test_what_a_sentence_would_make_wrong_elsewhere_is_told_at_both(home):
    status, text = posted(home, "write", dry="heater is put on at the wall only")
    assert status == 422 and home.says("dry") == SAYS["dry"]
    assert "Not written: what it would make wrong is told at rule.frost." in row(text, "dry") and "data-typed" in row(text, "dry")
    assert "rule.dry is about heater too" in row(text, "frost") and "data-typed" in row(text, "frost")


def test_a_rule_is_taken_away_and_what_else_was_typed_is_written_or_kept(home):
    status, text = posted(home, "remove:porch", iron="heater is on for at most 45 min", airing="extract is on wile bath is on")
    rules = home.page.draft.now.design.job.rule
    assert "Taken away: rule.porch. Undo brings it back. Written: rule.iron." in text and "porch" not in rules and home.says("iron").endswith("45 min")
    assert status == 422 and "extract is on wile bath is on" in row(text, "airing")
    assert posted(home, "remove:porch")[0] == 422


def test_what_others_wrote_meanwhile_is_not_overwritten(home):
    page = home.client.get("/rules").text
    version = re.search(r'name="version" value="([^"]*)"', page)[1]
    home.page.draft.write([(("rule", "iron", "says"), "heater is on for at most 20 min")])
    late = home.client.post("/rules", data={"do": "write", "version": version, field("iron"): "heater is on for at most 45 min", field("porch"): "porch is on for 4 min"})
    assert late.status_code == 409 and "now says heater is on for at most 20 min. You typed heater is on for at most 45 min." in row(unescape(late.text), "iron")
    assert home.says("iron").endswith("20 min") and home.says("porch") == "porch is on for 4 min"       # nobody else touched that one


def test_what_was_typed_into_a_rule_that_is_gone_is_told(home):
    version = re.search(r'name="version" value="([^"]*)"', home.client.get("/rules").text)[1]
    home.client.post("/rules", data={"do": "remove:iron"})
    late = home.client.post("/rules", data={"do": "write", "version": version, field("iron"): "heater is on for at most 45 min"})
    assert late.status_code == 409 and "rule.iron was taken out of the file meanwhile. You typed: heater is on for at most 45 min" in late.text
    assert home.client.post("/rules", data={"do": "write", "version": version, field("iron"): SAYS["iron"]}).status_code == 200      # nothing was typed there


def test_a_file_that_cannot_be_used_takes_nothing_and_tells_at_the_rule(home):
    broken = home.file.read_text().replace("30 min", "30 kg")
    home.file.write_text(broken)
    home.page.draft.look()
    text = unescape(home.client.get("/rules").text)
    assert "'30 kg', a mass" in row(text, "iron") and "job.toml cannot be used as it stands. The rules below are those of the last text" in text
    status, text = posted(home, "write", porch="porch is on for 4 min")
    assert status == 409 and "Put it right first" in text and "porch is on for 4 min" in row(text, "porch") and home.file.read_text() == broken


def test_a_removal_over_a_text_of_somebody_else_takes_nothing_and_keeps_what_was_typed(home):
    home.file.write_text(home.file.read_text().replace("30 min", "30 kg"))
    answer = home.client.post("/rules", data={"do": "remove:porch", field("open"): "when window opens, off pump"})
    assert answer.status_code == 409 and CONFLICT in answer.text and "when window opens, off pump" in answer.text and "porch" in home.file.read_text()


def test_the_sheet_says_whether_the_rules_agree_and_are_proven_and_leads_to_the_proof(home):
    text = home.client.get("/rules").text
    assert AGREE in text and "The control program is not proven yet" in text and '<a href="/proof">The proof</a>' in text
    claims = (Property("limit-kept", Kind.ALWAYS, "Each limit is kept.", False, 1), Property("pattern", Kind.ALWAYS, "The pattern is kept.", True, 1))
    background_jobs_of(home.page.draft)._works[PROOF] = BackgroundJob(PROOF, home.page.draft.now, outcome=SimpleNamespace(properties=claims, summary="", failed=(), holds=False))
    assert "Proven as the job stands: 1 fails, 1 holds." in home.client.get("/rules").text
    assert "is not proven yet" in posted(home, "write", iron="heater is on for at most 45 min")[1]


def test_a_job_without_rules_says_so_and_a_single_one_agrees_alone(served, tmp_path):
    file = tmp_path / "other.toml"
    file.write_text(re.sub(r"\[rule\.[^\[]*", "", (EXAMPLES / "sewing-room" / "job.toml").read_text("utf-8")))
    with Serving(file) as page, closing(page.client()) as client:
        assert NO_RULES in client.get("/rules").text and "The rules of this job" not in client.get("/rules").text
        client.post("/rules/new/wall", data={"do": "add", "thing": "ironing"})
        assert "The rule in the file agrees with the rest of the job and with one another." in client.get("/rules").text


def test_the_table_says_who_may_do_what_and_leads_to_each_rule(home):
    posted(home, "write", frost="heater is put on at the wall only", airing="porch is on while bath is on")
    text = plainly(home.client.get("/rules").text)
    rows = dict(re.findall(r'<th scope="row"><a[^>]*>([^<]*)</a></th>(.*?)</tr>', text, re.S))
    assert list(rows) == ["Bath light", "Panel heater", "Well pump", "Porch lamp", "Extract fan"]
    assert 'data-as="over the network">off only<' in rows["Panel heater"] and 'data-as="over the network">on and off<' in rows["Porch lamp"]
    assert '<a class="way part" href="#rule-open"><u>open</u>: put off when Bath window opens</a>' in rows["Panel heater"]
    assert '<a class="way" href="/thing/regulator/extract">Fan regulator</a>: off, step 1, step 2' in rows["Extract fan"]
    assert set(re.findall(r'href="#(rule-[^"]*)"', text)) == set(re.findall(r'<li id="(rule-[^"]*)"', text))


@pytest.mark.parametrize("width, colours", [(TELEPHONE, "light"), (1280, "dark")])
def test_it_reads_on_a_phone_and_on_a_desk(tab, served, width, colours):
    here = tab("/rules/new/latch", width=width, color_scheme=colours)
    here.page.fill(f'[name="{field("porch")}"]', "porch is on fr 3 min")
    here.page.press(f'[name="{field("porch")}"]', "Tab")
    here.page.wait_for_selector("#rule-porch .error")
    assert complaints(here) == [] and fits(here) and cut_words(here.page) == []


def test_what_is_touched_on_a_phone_is_large(tab):
    page = tab("/rules/new/on-reading", width=TELEPHONE).page
    small = page.eval_on_selector_all("#sheet a, #sheet button:not(.first), #sheet input:not([type=hidden]), #sheet select, #sheet textarea",
                                      "all => all.map(one => [one.getBoundingClientRect(), one.outerHTML.slice(0, 90)]).filter(([box]) => box.height < 44 || box.width < 44).map(one => one[1])")
    assert small == []


def test_a_sentence_is_written_as_soon_as_it_is_left_and_a_wrong_one_stays_while_others_are_edited(tab, served):
    here, porch, iron = tab("/rules"), f'[name="{field("porch")}"]', f'[name="{field("iron")}"]'
    here.page.fill(porch, "porch is on fr 3 min")
    here.page.press(porch, "Tab")
    here.page.wait_for_selector("#rule-porch .error")
    assert "nearest: porch is on for 3 min" in here.page.inner_text("#rule-porch .error")
    assert here.page.evaluate("document.activeElement.closest('li').id") == "rule-porch"
    served.file.write_text(served.file.read_text().replace("off heater", "off pump", 2))
    here.page.wait_for_function("() => document.querySelector('#rule-open textarea').value.includes('off pump')")
    assert here.page.input_value(porch) == "porch is on fr 3 min"
    here.page.fill(iron, "heater is on for at most 45 min")
    here.page.press(iron, "Tab")
    here.page.wait_for_function("() => document.querySelector('#said').innerText.includes('Written: rule.iron.')")
    assert here.page.input_value(porch) == "porch is on fr 3 min" and here.page.is_visible("#rule-porch .error")
    here.page.fill(porch, "porch is on for 4 min")
    here.page.press(porch, "Tab")
    here.page.wait_for_function("() => document.querySelector('#agreement').innerText.includes('holds')")
    assert str(served.draft.now.design.job.rule["porch"].says) == "porch is on for 4 min"


TEXTS = st.one_of(st.text(max_size=40), st.sampled_from(["", "{thing}", "porch", "off heater", "3 min", "heater is on for 3 min", '"""', "\x00", "everything"]))
NAMES = st.one_of(st.sampled_from([field("iron"), field("porch"), field("gone"), "rule/", "rule//says", "thing", "time", "action", "called", "form", "version"]), st.text(max_size=10))


@pytest.fixture(scope="module")
def standing(tmp_path_factory):
    """A page that fuzzed posts share."""
    file = tmp_path_factory.mktemp("fuzz") / "job.toml"
    file.write_text(ruled("hand"))
    with Serving(file) as page, closing(page.client()) as client:
        yield page, client


@given(path=st.sampled_from(["/rules", "/rules/new/limit", "/rules/new/when-input", "/rules/new/nothing"]), form=st.dictionaries(NAMES, TEXTS, max_size=5),
       do=st.sampled_from(["write", "add", "choose", "remove:porch", "remove:", "undo", ""]))
def test_no_posted_form_breaks_the_sheet_or_the_file(standing, path, form, do):
    page, client = standing
    assert client.post(path, data=form | {"do": do}).status_code in (200, 404, 409, 422)
    assert page.draft.trouble is None
    read(page.file.read_text(), "job.toml")
