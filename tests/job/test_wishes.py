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
])
def test_wish_agrees_with_the_rest_of_the_job(said, says, words):
    assert said(("[board]", f'[wish.dark]\nsays = "{says}"\n\n[board]')) == words


@pytest.mark.parametrize("says, key, renamed", [
    ("After a power cut the flood stays off.", "flood", "After a power cut the spot stays off"),
    ("The Iron is never on while the heater is on", "iron", "The spot is never on while the heater is on"),
    ("After a power cut the flood stays off.", "lamp", "After a power cut the flood stays off."),
])
def test_a_thing_that_is_renamed_is_renamed_in_the_sentence(says, key, renamed):
    assert with_thing(says, key, "spot") == renamed
