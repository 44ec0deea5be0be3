"""The forms in which a rule is composed: one for each kind there is, and whatever is composed can be read."""

from itertools import product
from typing import get_args

import pytest

from pattress.job import read
from pattress.job.rule import Kind, parse_rule
from pattress.web.job.rule_forms import FORMS, PLACES, composed, keys_of, missing, pieces_of

from .ruled_home import HOME, ruled

CHOSEN = dict(thing="heater", fan="extract", other="bath", also="porch", too="pump", contact="window", release="reset", sensor="room", outside="outside",
              step="2", action="off heater")


@pytest.fixture(scope="module")
def job():
    return read(ruled("hand"), "job.toml")[0]


def places(form):
    return {piece.place: piece.may_stay_empty for piece in pieces_of(form) if piece.place}


def fillings(form):
    """Yield the places of a form filled in every way: each of their words, optional places all filled and all empty."""
    names = list(places(form))
    words = [PLACES[name].words or (CHOSEN.get(name) or PLACES[name].example,) for name in names]
    for chosen in product(*words):
        filled = dict(zip(names, chosen, strict=True))
        if filled.get("side") == "above":
            filled |= {"begin": filled["end"], "end": filled["begin"]}
        yield filled
        yield filled | {name: "" for name, may_stay_empty in places(form).items() if may_stay_empty}


def test_every_kind_of_rule_has_a_form():
    assert {form.kind for form in FORMS.values()} == set(get_args(Kind))


@pytest.mark.parametrize("form", FORMS.values(), ids=FORMS.keys())
def test_whatever_is_composed_of_the_places_is_a_rule_of_that_kind_in_the_job(form):
    sentences = {composed(form, filled) for filled in fillings(form)}
    for says in sentences:
        rule = parse_rule(says)
        assert (rule.kind, rule.says) == (form.kind, says)
        assert not missing(form, next(fillings(form)))
        beside = "".join(f'[rule.{thing}]\nsays = "{thing} is on while leak is closed"\n' for thing in ("heater", "porch", "pump")) if form.kind == "rest" else ""
        home = HOME.replace("steps = 2", "steps = 3").replace("set extract 2", "set extract 1")      # a highest step that is not that of the fan
        home = home.replace('kind = "resistive heater"', 'kind = "tungsten lamp"') if "warning" in says else home        # only a lamp is warned of
        read(f'{home}[rule.one]\nsays = "{says}"\n{beside}', "job.toml")


def test_every_sentence_of_the_home_can_be_composed():
    """The forms reach what people write: every rule of the home comes out of one of them word by word."""
    filled = {
        "on-thing": dict(thing="extract", other="bath", switched="on", since="2 min", after="15 min"),
        "only-damper": dict(thing="pump", sensor="room", outside="outside", more="3 g/m3", less="1.5 g/m3"),
        "latch": dict(thing="pump", contact="leak", position="closed", since="1 s", release="reset", released="closed", held="2 s"),
        "on-reading": dict(thing="heater", sensor="room", side="below", begin="5 degC", end="6 degC"),
        "wall": dict(thing="heater"), "limit": dict(thing="heater", time="30 min"),
        "rest-input": dict(contact="reset", position="open", thing="extract"),
        "when-input": dict(contact="window", turned="opens", action="off heater"), "stay-anew": dict(thing="porch", time="3 min"),
        "when-input-has": dict(contact="window", position="closed", time="10 min", action="set extract 1"),
        "off-reading": dict(thing="heater", sensor="room", side="above", begin="80 %", end="70 %"),
    }
    from .ruled_home import SAYS
    assert {composed(FORMS[form], places) for form, places in filled.items()} == set(SAYS.values())


def test_every_place_is_of_a_form_and_every_choice_has_words(job):
    assert set().union(*(places(form) for form in FORMS.values())) == PLACES.keys()
    for name, place in PLACES.items():
        assert keys_of(job, place.of) or place.words or place.example, name


def test_a_place_that_is_empty_is_missing_unless_it_may_stay_so():
    form = FORMS["on-input"]
    assert missing(form, {"thing": "heater", "position": "open"}) == ("contact",)
    assert composed(form, {"thing": "heater", "contact": "window", "position": "open", "after": "5 min"}) == "heater is on while window is open, and for 5 min after"


def test_what_can_be_chosen_is_told_by_its_name(job):
    assert keys_of(job, "sensors") == (("room", "Bath sensor (room)"), ("outside", "Outdoor sensor (outside)"))
    assert ("set extract 2", "set extract 2") in keys_of(job, "actions") and ("off everything", "off everything") in keys_of(job, "actions")
    assert keys_of(job, "steps") == (("1", "1"), ("2", "2")) and keys_of(job, "") == ()
