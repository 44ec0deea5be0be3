"""The sentences an owner may write about what happens by itself, and what is said to the others."""

import pytest

from pattress.job.rule import ALLOWED, LONGEST, Rule, parse_rule, with_input, with_thing
from pattress.refusal import Refusal

SMALL_NUMBERS = 1 << 30     # below this a board's whole number needs no memory


@pytest.mark.parametrize("says, kind, rest", [
    ("iron is on for at most 30 min", "limit", dict(thing="iron", time=1800.0)),
    ("The Iron is on for at  most 30 min.", "limit", dict(thing="iron", time=1800.0)),
    ("iron is on for at most 24 h", "limit", dict(thing="iron", time=86400.0)),
    ("stairs is on for 3 min", "stay", dict(thing="stairs", time=180.0)),
    ("a stairs is on for 1 s", "stay", dict(thing="stairs", time=1.0)),
    ("The stairs is on for 3 min, anew at each asking.", "stay", dict(thing="stairs", time=180.0, renews=True)),
    ("stairs is on for 3 min, with a warning 30 s before", "stay", dict(thing="stairs", time=180.0, warning=30.0)),
    ("stairs is on for 3 min, anew at each asking, with a warning 30 s before", "stay", dict(thing="stairs", time=180.0, renews=True, warning=30.0)),
    ("THE iron IS put on at the wall only", "wall", dict(thing="iron")),
    ("The ceiling is at step 3 at most.", "top", dict(thing="ceiling", step=3)),
    ("ceiling starts at step 1 at most", "start", dict(thing="ceiling", step=1)),
    ("Boiler and the oven are never on together.", "apart", dict(thing="", time=1.0, several=("boiler", "oven"))),
    ("fill, drain and heat are never on together, 5 s between", "apart", dict(thing="", time=5.0, several=("fill", "drain", "heat"))),
])
def test_sentence_is_read(says, kind, rest):
    assert parse_rule(says) == Rule(" ".join(says.split()).removesuffix("."), kind, **rest)


def test_longest_time_is_a_small_number_of_milliseconds_on_the_board():
    assert 1000 * LONGEST < SMALL_NUMBERS


@pytest.mark.parametrize("says, nearest", [
    ("iron is on for at mots 30 min", "iron is on for at most 30 min"),
    ("iron is on fr at most 30 min", "iron is on for at most 30 min"),
    ("the stairs is on for 3 min anew at each asking", "stairs is on for 3 min, anew at each asking"),
    ("stairs is on for 3 min, anew at every asking", "stairs is on for 3 min, anew at each asking"),
    ("iron is put on by the wall only", "iron is put on at the wall only"),
    ("stairs are on for 3 min", "stairs is on for 3 min"),
    ("ceiling starts at step 1 at mots", "ceiling starts at step 1 at most"),
    ("boiler and oven are never on togther", "boiler and oven are never on together"),
    ("never let me iron", ""),
])
def test_another_sentence_is_refused_with_the_nearest(says, nearest):
    with pytest.raises(Refusal) as refused:
        parse_rule(says)
    assert (refused.value.found, refused.value.allowed, refused.value.nearest) == (repr(says), f"a sentence such as {ALLOWED}", nearest)


@pytest.mark.parametrize("says, words", [
    ("iron is on for at most 25 h", "found '25 h'\n  allowed: a time such as \"3 min\", at least 1 s, at most 24 h"),
    ("iron is on for at most 200 ms", "found '200 ms'\n  allowed: a time such as \"3 min\", at least 1 s, at most 24 h"),
    ("stairs is on for 1073742 s", "found '1073742 s'\n  allowed: a time such as \"3 min\", at least 1 s, at most 24 h"),
    ("stairs is on for 3 min, with a warning 2 s before", "found '2 s'\n  allowed: a time such as \"3 min\", at least 5 s, at most 24 h"),
    ("stairs is on for 3 kg", "found '3 kg', a mass\n  allowed: a time such as \"3 min\", at least 1 s, at most 24 h"),
    ("boiler and oven are never on together, 50 ms between", "found '50 ms'\n  allowed: a time such as \"3 min\", at least 100 ms, at most 24 h"),
    (7, f"found 7\n  allowed: a sentence such as {ALLOWED}"),
])
def test_a_part_of_a_sentence_is_refused(says, words):
    with pytest.raises(Refusal) as refused:
        parse_rule(says)
    assert str(refused.value) == words


@pytest.mark.parametrize("says, words", [
    (["pendnt is on for 3 min"], """\
flat.toml:45:8: rule.r0.says is 'pendnt is on for 3 min'; there is no load or fan 'pendnt'
  allowed: pendant, study
  nearest: pendant is on for 3 min"""),
    (["pendant are never on together"], """\
flat.toml:45:8: rule.r0.says is 'pendant are never on together'; pendant is named alone
  allowed: two loads or fans, or more"""),
    (["pendant, study and pendant are never on together"], """\
flat.toml:45:8: rule.r0.says is 'pendant, study and pendant are never on together'; pendant is named twice
  allowed: two loads or fans, or more"""),
    (["study, study and pendant are never on together"], """\
flat.toml:45:8: rule.r0.says is 'study, study and pendant are never on together'; study is named twice
  allowed: two loads or fans, or more"""),
    (["pendant and pendant are never on together"], """\
flat.toml:45:8: rule.r0.says is 'pendant and pendant are never on together'; pendant is named twice
  allowed: two loads or fans, or more"""),
    (["pendant and study are never on together"], """\
flat.toml:30:8: switch.door.does is 'toggle pendant, up study'; pendant and study are then asked for at once, and by rule.r0 one of them stays off
  allowed: one of the two"""),
    (["study is on for 3 min, with a warning 30 s before"], """\
flat.toml:45:8: rule.r0.says is 'study is on for 3 min, with a warning 30 s before'; study is no lamp, and a warning switches it off and on again
  allowed: a load that is tungsten lamp or LED driver or fluorescent ballast"""),
    (["pendant is on for 3 min, with a warning 3 min before"], """\
flat.toml:45:8: rule.r0.says is 'pendant is on for 3 min, with a warning 3 min before'; that is not before its end
  allowed: less than 3 min"""),
    (["study rests for at least 5 min"], """\
flat.toml:45:8: rule.r0.says is 'study rests for at least 5 min'; study is no load: a fan would rest at each change of step, too
  allowed: a load: a pump, a compressor, a heater"""),
    (["study comes on at most 6 times an hour"], """\
flat.toml:45:8: rule.r0.says is 'study comes on at most 6 times an hour'; study is no load: a fan would rest at each change of step, too
  allowed: a load: a pump, a compressor, a heater"""),
    (["pendant is on for at most 30 min", "The pendant is on for at most 1 h."], """\
flat.toml:48:8: rule.r1.says is 'The pendant is on for at most 1 h'; rule.r0 says of pendant what is of the same kind
  allowed: one of the two"""),
    (["pendant is on for 3 min", "pendant is on for 4 min, anew at each asking"], """\
flat.toml:48:8: rule.r1.says is 'pendant is on for 4 min, anew at each asking'; rule.r0 says of pendant what is of the same kind
  allowed: one of the two"""),
    (["pendant is on for at most 30 min", "pendant is on for 30 min, anew at each asking"], """\
flat.toml:48:8: rule.r1.says is 'pendant is on for 30 min, anew at each asking'; rule.r1 then never acts, as rule.r0 is over first
  allowed: a stay that is renewed, and shorter than the limit; or one of the two"""),
    (["pendant is on for 3 min", "pendant is on for at most 30 min"], """\
flat.toml:48:8: rule.r1.says is 'pendant is on for at most 30 min'; rule.r1 then never acts, as rule.r0 is over first
  allowed: a stay that is renewed, and shorter than the limit; or one of the two"""),
    (["study is put on at the wall only"], ""),
    (["study is on for at most 1 h", "study is put on at the wall only", "study is on for 3 min, anew at each asking", "pendant is on for 3 min"], ""),
])
def test_rule_agrees_with_the_rest_of_the_job(said, says, words):
    rules = "\n".join(f'[rule.r{number}]\nsays = "{one}"\n' for number, one in enumerate(says))
    assert said(("[board]", f"{rules}\n[board]")) == words


def test_what_comes_on_with_the_power_is_not_put_on_at_the_wall_only(said):
    rule = '[rule.r]\nsays = "pendant is put on at the wall only"\n\n[board]'
    assert said(("[board]", rule), ("[load.pendant]\n", '[load.pendant]\nrestore = "as it was"\n')) == """\
flat.toml:46:8: rule.r.says is 'pendant is put on at the wall only'; after a power cut it comes back as it was
  allowed: restore = "off" at pendant, or no such rule"""


def test_more_rules_than_a_board_keeps_are_refused(said):
    rules = "\n".join(f'[rule.r{number}]\nsays = "pendant is on for at most {number + 1} min"' for number in range(65))
    assert said(("[board]", f"{rules}\n[board]")) == "flat.toml:172:7: rule.r64 is one of 65 rules\n  allowed: at most 64 in one job"


@pytest.mark.parametrize("says, key, renamed", [
    ("The Iron is on for at most 30 min.", "iron", "The spot is on for at most 30 min"),
    ("stairs is on for 3 min, anew at each asking", "stairs", "spot is on for 3 min, anew at each asking"),
    ("iron is put on at the wall only", "wall", "iron is put on at the wall only"),
    ("Boiler, oven and the iron are never on together, 5 s between", "oven", "Boiler, spot and the iron are never on together, 5 s between"),
    ("when iron has been on for 5 min, off fan", "iron", "when spot has been on for 5 min, off fan"),
    ("when door has been open for 5 min, off fan", "door", "when door has been open for 5 min, off fan"),
])
def test_a_thing_that_is_renamed_is_renamed_in_the_sentence(says, key, renamed):
    assert with_thing(says, key, "spot") == renamed


@pytest.mark.parametrize("says, key, renamed", [
    ("when door has been open for 5 min, off fan", "door", "when gate has been open for 5 min, off fan"),
    ("fan stays off once door was open, until reset is closed", "reset", "fan stays off once door was open, until gate is closed"),
    ("when door has been on for 5 min, off fan", "door", "when door has been on for 5 min, off fan"),
])
def test_an_input_that_is_renamed_is_renamed_in_the_sentence(says, key, renamed):
    assert with_input(says, key, "gate") == renamed
