"""The sentences an owner may write, and what is said to the others."""

import pytest

from pattress.job.wish import ALLOWED, Wish, parse_wish, with_thing
from pattress.refusal import Refusal


@pytest.mark.parametrize("says, form, rest", [
    ("iron is never on while heater is on", "never while", dict(thing="iron", other="heater")),
    ("after a power cut iron stays off", "stays off", dict(thing="iron")),
    ("After a  power cut iron stays off.", "stays off", dict(thing="iron")),
    ("After a power cut the flood stays off.", "stays off", dict(thing="flood")),
    ("The iron is never on while the heater is on.", "never while", dict(thing="iron", other="heater")),
    ("Iron is never on while a heater is on", "never while", dict(thing="iron", other="heater")),
    ("The Lamp follows its switch within 1 s.", "follows", dict(thing="lamp", control="switch", time=1.0)),
    ("The fan follows its regulator within 1 s", "follows", dict(thing="fan", control="regulator", time=1.0)),
    ("The pump is switched at most 6 times an hour.", "at most", dict(thing="pump", times=6)),
    ("after a power cut the stays off", "stays off", dict(thing="the")),
    ("lamp follows its switch within 250 ms", "follows", dict(thing="lamp", control="switch", time=0.25)),
    ("fan follows its regulator within 1 s", "follows", dict(thing="fan", control="regulator", time=1.0)),
    ("pump is switched at most 6 times an hour", "at most", dict(thing="pump", times=6)),
    ("pump is switched at most 1 time an hour", "at most", dict(thing="pump", times=1)),
    ("The boiler is on only while a pump is on.", "only while", dict(thing="boiler", other="pump")),
    ("After a power cut the Freezer comes on.", "comes on", dict(thing="freezer")),
    ("The ceiling reaches step 2 at most", "step at most", dict(thing="ceiling", step=2)),
    ("Off everything leaves nothing on.", "leaves nothing", {}),
])
def test_sentence_is_read(says, form, rest):
    wish = parse_wish(says)
    assert wish == Wish(" ".join(says.split()).removesuffix("."), form, **rest)


@pytest.mark.parametrize("says, nearest", [
    ("iron is nevr on while heater is on", "iron is never on while heater is on"),
    ("After a power cut the iron stay off.", "after a power cut iron stays off"),
    ("after the power cut iron stays off", "after a power cut iron stays off"),
    ("fan follows its regulater within 1 s", "fan follows its regulator within 1 s"),
    ("pump is switched at most 6 times a hour", "pump is switched at most 6 times an hour"),
    ("the boiler is on only if pump is on", "boiler is on only while pump is on"),
    ("The freezer comes on after a power cut.", "after a power cut freezer comes on"),
    ("iron stays off after a power cut", "after a power cut iron stays off"),
    ("after a power cut freezer goes on", "after a power cut freezer comes on"),
    ("ceiling reaches level 2 at most", "ceiling reaches step 2 at most"),
    ("off everything leaves nothing lit", "off everything leaves nothing on"),
    ("make me happy", ""),
])
def test_another_sentence_is_refused_with_the_nearest(says, nearest):
    with pytest.raises(Refusal) as refused:
        parse_wish(says)
    assert (refused.value.found, refused.value.allowed, refused.value.nearest) == (repr(says), f"a sentence such as {ALLOWED}", nearest)


@pytest.mark.parametrize("says, words", [
    ("iron is never on while iron is on", "found 'iron is never on while iron is on'\n  allowed: two different loads or fans"),
    ("The iron is never on while iron is on.", "found 'The iron is never on while iron is on.'\n  allowed: two different loads or fans"),
    ("pump is switched at most many times an hour", "found 'many'\n  allowed: a whole number of times an hour from 1 to 3600"),
    ("lamp follows its switch within 1 kg", "found '1 kg', a mass\n  allowed: a time such as \"3 min\", above 0 s, at most 60 min"),
    ("boiler is on only while boiler is on", "found 'boiler is on only while boiler is on'\n  allowed: two different loads or fans"),
    ("ceiling reaches step 7 at most", "found '7'\n  allowed: a whole number from 1 to 6"),
    ("ceiling reaches step low at most", "found 'low'\n  allowed: a whole number from 1 to 6"),
    (7, f"found 7\n  allowed: a sentence such as {ALLOWED}"),
])
def test_a_part_of_a_sentence_is_refused(says, words):
    with pytest.raises(Refusal) as refused:
        parse_wish(says)
    assert str(refused.value) == words


@pytest.mark.parametrize("says, words", [
    ("after a power cut pendnt stays off", """\
flat.toml:45:8: wish.dark.says is 'after a power cut pendnt stays off'; there is no load or fan 'pendnt'
  allowed: pendant, study
  nearest: after a power cut pendant stays off"""),
    ("After a power cut the Pendnt stays off.", """\
flat.toml:45:8: wish.dark.says is 'After a power cut the Pendnt stays off'; there is no load or fan 'pendnt'
  allowed: pendant, study
  nearest: After a power cut the pendant stays off"""),
    ("pendant follows its regulator within 1 s", """\
flat.toml:45:8: wish.dark.says is 'pendant follows its regulator within 1 s'; no regulator acts on pendant
  allowed: a load or fan that a regulator acts on"""),
    ("after a power cut pendant stays off", ""),
    ("study is on only while pendnt is on", """\
flat.toml:45:8: wish.dark.says is 'study is on only while pendnt is on'; there is no load or fan 'pendnt'
  allowed: pendant, study
  nearest: study is on only while pendant is on"""),
    ("pendant reaches step 2 at most", """\
flat.toml:45:8: wish.dark.says is 'pendant reaches step 2 at most'; pendant has no steps
  allowed: a fan: study"""),
    ("study reaches step 3 at most", """\
flat.toml:45:8: wish.dark.says is 'study reaches step 3 at most'; study has 3 steps
  allowed: a step from 1 to 2"""),
    ("study reaches step 2 at most", ""),
    ("off everything leaves nothing on", ""),           # a button that is not learnt yet does it
])
def test_wish_agrees_with_the_rest_of_the_job(said, says, words):
    assert said(("[board]", f'[wish.dark]\nsays = "{says}"\n\n[board]')) == words


@pytest.mark.parametrize("says, key, renamed", [
    ("After a power cut the flood stays off.", "flood", "After a power cut the spot stays off"),
    ("The Iron is never on while the heater is on", "iron", "The spot is never on while the heater is on"),
    ("The boiler is on only while the pump is on", "pump", "The boiler is on only while the spot is on"),
    ("after a power cut flood comes on", "flood", "after a power cut spot comes on"),
    ("flood reaches step 2 at most", "flood", "spot reaches step 2 at most"),
    ("Off everything leaves nothing on.", "everything", "Off everything leaves nothing on."),
    ("After a power cut the flood stays off.", "lamp", "After a power cut the flood stays off."),
])
def test_a_thing_that_is_renamed_is_renamed_in_the_sentence(says, key, renamed):
    assert with_thing(says, key, "spot") == renamed


NO_BUTTON = ('stop = { does = "off everything" }', 'stop = { does = "off study" }')
LEAVES = '[wish.dark]\nsays = "off everything leaves nothing on"\n\n[board]'


def test_off_everything_is_not_wished_for_where_nothing_does_it(said):
    assert said(NO_BUTTON, ("[board]", LEAVES)) == """\
flat.toml:45:8: wish.dark.says is 'off everything leaves nothing on'; nothing does "off everything"
  allowed: a job with a switch, a remote button or a rule that does "off everything\""""


@pytest.mark.parametrize("control", [
    '[switch.leaving]\nname = "Leaving"\nkind = "retractive"\ndoes = "off everything"\n',
    '[input.window]\nname = "Window"\nkind = "window"\n[rule.airing]\nsays = "when window opens, off everything"\n',
])
def test_off_everything_may_be_wished_for_where_something_does_it(said, control):
    assert said(NO_BUTTON, ("[board]", f"{control}\n{LEAVES}")) == ""
