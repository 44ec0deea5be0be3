"""Rules follow the thing they are about: into a published job and out of it, to another key, out with the thing."""

import tomllib

from pattress.repeat.field_policy import is_published
from pattress.repeat.references import without
from pattress.repeat.renaming import values

JOB = tomllib.loads("""
[feed.lights]
[load.iron]
feed = "lights"
[load.stairs]
feed = "lights"
[rule.short]
says = "The iron is on for at most 30 min."
[rule.door]
says = "iron is put on at the wall only"
[rule.dark]
says = "stairs is on for 3 min, anew at each asking"
""")


def test_a_thing_with_another_key_has_it_in_its_rules():
    assert values(JOB, "load", "iron", "press") == {
        ("rule", "short", "says"): "The press is on for at most 30 min", ("rule", "door", "says"): "press is put on at the wall only"}


def test_with_a_thing_go_the_rules_about_it():
    assert set(without(JOB, "load", "iron")["rule"]) == {"dark"}
    assert "rule" not in without(without(JOB, "load", "iron"), "load", "stairs")


def test_a_rule_is_published_and_adopted_as_part_of_the_design():
    assert is_published(("rule", "short", "says"))
