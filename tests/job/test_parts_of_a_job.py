"""Small readers of the job file: actions, the mains system, and what the models promise."""

from tomllib import loads

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from pattress.job import job_schema, read
from pattress.job.action import VERBS, Action, parse_action
from pattress.job.system import System, parse_system
from pattress.refusal import Refusal, as_found, nearest

# A busy machine must not fail a test: no time limits.
unhurried = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])

KEYS = st.from_regex(r"[a-z][a-z0-9_]{0,8}", fullmatch=True)


@unhurried
@given(st.sampled_from(VERBS), st.lists(KEYS, min_size=1, max_size=3), st.integers(0, 6))
def test_an_action_is_written_and_read_again(verb, things, step):
    action = Action(verb, tuple(things), step if verb == "set" else None)
    assert parse_action(str(action)) == action


@unhurried
@given(st.text(max_size=40) | st.text("onftgleupdws ,12", max_size=20))
def test_any_text_is_an_action_or_refused(text):
    try:
        action = parse_action(text)
    except Refusal as refusal:
        assert refusal.allowed
    else:
        assert action.verb in VERBS and all(action.things)


@pytest.mark.parametrize("text, system", [
    ("230 V 50 Hz", System(230.0, 50.0)), ("230V/50Hz", System(230.0, 50.0)), ("120 V, 60 Hz", System(120.0, 60.0)),
    ("230 V AC 50 Hz", System(230.0, 50.0)), ("0.23 kV 50 Hz", System(230.0, 50.0)), (" 100 V  60 Hz ", System(100.0, 60.0)),
])
def test_mains_systems_as_people_write_them(text, system):
    assert parse_system(text) == system and parse_system(str(system)) == system


@pytest.mark.parametrize("text", ["230 V", "50 Hz", "230 V 51 Hz", "400 V 50 Hz", "24 V 50 Hz", "", 230, None, ["230 V", "50 Hz"], "V" * 99])
def test_what_is_no_mains_system_is_refused_with_the_same_words(text):
    with pytest.raises(Refusal) as caught:
        parse_system(text)
    assert str(caught.value) == (
        f'found {as_found(text)}\n  allowed: voltage and frequency such as "230 V 50 Hz" or "120 V 60 Hz"; 90 V to 260 V, 50 or 60 Hz'
    )


def test_the_schema_takes_pins_with_and_without_quotes(flat):
    for pins in ('pins.relay.pendant = 4', 'pins = { "relay.pendant" = 4 }'):
        jsonschema.validate(loads(flat.replace("[board]", f"[board]\n{pins}")), job_schema())


def test_a_job_never_changes(flat):
    job, _ = read(flat, "flat.toml")
    with pytest.raises(ValidationError, match="Instance is frozen"):
        job.load["pendant"].power = 5.0


@pytest.mark.parametrize("value, words", [
    ("x" * 100, repr("x" * 57 + "...")), (True, "true"), ({}, "an empty table"), ({1: 2}, "a table"), ([], "an empty list"),
    ([1], "a list"), (10**80, "a very long number"), (1.5, "1.5"), ("a\nb", r"'a\nb'"),
])
def test_a_value_is_shown_as_its_writer_knows_it(value, words):
    assert as_found(value) == words


def test_the_nearest_word():
    assert nearest("led drivr", ["LED driver", "motor"]) == "LED driver"
    assert nearest("zzz", ["LED driver"]) == nearest(5, ["x"]) == nearest("x" * 99, ["x" * 98]) == ""
