"""Who may do what to each load and fan, as the job says it."""

from typing import get_args

import pytest

from pattress.design.permissions import Effect, OverNetwork, permissions_of
from pattress.job import read
from pattress.job.rule import Kind

from ..web.ruled_home import HOME, ruled


def of(text):
    job, _ = read(text, "job.toml")
    return {row.key: row for row in permissions_of(job)}


@pytest.fixture(scope="module")
def rows():
    return of(ruled("hand"))


def hands(row):
    return [(hand.section, hand.key, hand.name, hand.does) for hand in row.hands]


def test_every_load_and_fan_has_a_row_loads_first(rows):
    assert [(row.section, row.key, row.name) for row in rows.values()] == [
        ("load", "bath", "Bath light"), ("load", "heater", "Panel heater"), ("load", "pump", "Well pump"), ("load", "porch", "Porch lamp"), ("fan", "extract", "Extract fan")]


def test_hands_at_the_wall_are_told_by_what_they_do_to_the_thing(rows):
    leaving = ("switch", "leaving", "At the door", "off")
    assert hands(rows["bath"]) == [("switch", "bath", "Bath switch", "on and off"), leaving]
    assert hands(rows["heater"]) == [("switch", "bath", "Bath switch", "off"), leaving]
    assert hands(rows["extract"]) == [leaving, ("regulator", "extract", "Fan regulator", "off, step 1, step 2"), ("remote", "hand", "Hand remote", "a step up, step 2")]


def test_a_switch_that_tells_presses_apart_says_what_each_does():
    told = of(ruled("hand").replace('does = "off everything"', 'does = "off everything"\nheld = "toggle bath"\ntwice = ["on bath", "off porch"]', 1))
    assert hands(told["bath"])[-1] == ("switch", "leaving", "At the door", "off; held: on and off; twice: on")
    assert hands(told["heater"])[-1] == ("switch", "leaving", "At the door", "off")
    assert ("switch", "leaving", "At the door", "off; twice: off") in hands(told["porch"])


def test_a_button_that_is_not_learnt_is_told_as_such(rows):
    assert hands(rows["porch"])[-1] == ("remote", "hand", "Hand remote", "not learnt yet: on and off")


def test_the_network_may_only_switch_off_what_is_put_on_at_the_wall_only():
    told = {key: row.network for key, row in of(ruled("frost")).items()}
    assert told.pop("heater") is OverNetwork.OFF_ONLY and set(told.values()) == {OverNetwork.ON_AND_OFF}


def test_without_wifi_the_network_may_do_nothing():
    assert {row.network for row in of(ruled().replace('broker = "none"', 'broker = "none"\nwifi = false').replace(
        '[rule.hand]\nsays = "heater is put on at the wall only"\n', "")).values()} == {OverNetwork.NOTHING}


@pytest.mark.parametrize("thing, told", [
    ("bath", []),
    ("heater", [("frost", Effect.PUTS_ON, "on while Bath sensor is below 5 degC"), ("open", Effect.PUTS_OFF, "put off when Bath window opens"),
                ("iron", Effect.LIMITS, "off after 30 min at most"), ("wet", Effect.KEEPS_OFF, "kept off while Bath sensor is above 80 %")]),
    ("pump", [("damp", Effect.KEEPS_OFF, "kept off unless Bath sensor is damper than Outdoor sensor"),
              ("dry", Effect.KEEPS_OFF, "kept off once Leak at the well is closed, until Reset key is closed")]),
    ("porch", [("porch", Effect.PUTS_OFF, "off 3 min after it was last asked to be on")]),
    ("extract", [("airing", Effect.PUTS_ON, "on while Bath light is on"), ("stale", Effect.PUTS_ON, "put at step 1 when Bath window has been closed for 10 min"),
                 ("night", Effect.RESTS, "its rules rest while Reset key is open")]),
])
def test_rules_are_told_in_a_few_words_by_what_they_do(rows, thing, told):
    assert [(part.rule, part.effect, part.words) for part in rows[thing].rules] == told


@pytest.mark.parametrize("says, effect, words", [
    ("heater is put on at the wall only", Effect.WALL_ONLY, "put on at the wall only"),
    ("heater is not switched over the network", Effect.WALL_ONLY, "not switched over the network"),
    ("heater rests for at least 5 min", Effect.LIMITS, "off for 5 min at least before it comes on again"),
    ("bath is on for 3 min", Effect.PUTS_OFF, "off 3 min after it came on"),
    ("extract is at step 1 while window is closed", Effect.PUTS_ON, "at step 1 while Bath window is closed"),
    ("when bath comes on, on extract", Effect.PUTS_ON, "put on when Bath light comes on"),
    ("when window closes, off everything", Effect.PUTS_OFF, "put off when Bath window closes"),
    ("when bath has been on for 30 min, set extract 0", Effect.PUTS_OFF, "put off when Bath light has been on for 30 min"),
    ("heater stays off while away is on", Effect.KEEPS_OFF, "kept off while Nobody home is on"),
    ("when away comes on, off everything", Effect.PUTS_OFF, "put off when Nobody home comes on"),
])
def test_the_words_of_a_single_rule(says, effect, words):
    found = {part.words: part.effect for row in of(f'{HOME}[mode.away]\nname = "Nobody home"\n[rule.one]\nsays = "{says}"\n').values() for part in row.rules}
    assert found == {words: effect}


def test_what_is_never_on_together_is_told_of_each_with_the_others():
    rows = of(f'{HOME}[rule.one]\nsays = "heater, pump and porch are never on together, 5 s between"\n')
    assert {key: [(part.effect, part.words) for part in row.rules] for key, row in rows.items() if row.rules} == {
        "heater": [(Effect.KEEPS_OFF, "kept off while Well pump or Porch lamp is on, and until 5 s after")],
        "pump": [(Effect.KEEPS_OFF, "kept off while Panel heater or Porch lamp is on, and until 5 s after")],
        "porch": [(Effect.KEEPS_OFF, "kept off while Panel heater or Well pump is on, and until 5 s after")]}


def test_every_kind_of_rule_is_told():
    """The rules of the home are of every kind there is, so a new kind has to be added to them and gets its words."""
    kinds = set()
    for without in ("hand", "frost"):
        job, _ = read(ruled(without), "job.toml")
        assert {part.rule for row in permissions_of(job) for part in row.rules} == job.rule.keys()
        kinds |= {rule.says.kind for rule in job.rule.values()}
    for says in ("extract is at step 1 at most", "extract starts at step 1 at most", "heater and pump are never on together", "heater is not switched over the network", "heater rests for at least 5 min", "heater comes on at most 6 times an hour"):
        job, _ = read(f'{HOME}[rule.one]\nsays = "{says}"\n'.replace("set extract 2", "set extract 1"), "job.toml")
        assert any(row.rules for row in permissions_of(job))
        kinds |= {rule.says.kind for rule in job.rule.values()}
    assert kinds == set(get_args(Kind))
