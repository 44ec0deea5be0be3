"""Both interpreters answer alike: twenty thousand random events with every test run, a million in `make soak`."""

import shutil
from collections import Counter
from itertools import islice

import pytest

from pattress.controller import core
from pattress.controller.core import Plan
from pattress.controller.digest import CORE, canonical
from pattress.controller.replay import answers
from pattress.design import design_of
from pattress.interpreter import ask

from .chaos import questions
from .plans import one_lamp, sewing_room
from .ruled_plans import ruled_room, thirty_rules

BATCH = 100_000             # questions to one run of MicroPython, a minute's work or less
TABLES = {"invented room": sewing_room, "one lamp": one_lamp, "landing": lambda: design_of("examples/landing/job.toml").plan,
          "room with rules": ruled_room, "house of thirty rules": thirty_rules}


def compare(table, count, seed, folder=CORE.parent):
    """Put `count` questions to both; return how many met each kind of answer. Fails at the first that differs."""
    plan, line, met = Plan(table), canonical(table).decode(), Counter()
    for number, start in enumerate(range(0, count, BATCH)):
        asked = list(questions(table, min(BATCH, count - start), f"{seed} {number}"))
        there = ask(asked, folder=folder, table=line)
        assert len(there) == len(asked)
        for question, one, other in zip(asked, answers(core, plan, asked), there, strict=True):
            assert one == other, question
            met["asked"] += 1
            met["closed"] += one.split(" ", 3)[2] != "0"
            met["refused"] += one[0] == "4"
            met["saved"] += not one.endswith(" -")
    return met


@pytest.mark.parametrize("name, count", [
    ("invented room", 7_000), ("one lamp", 2_000), ("landing", 3_000), ("room with rules", 5_000), ("house of thirty rules", 3_000)])
def test_twenty_thousand_random_events_are_answered_alike(name, count):
    met = compare(TABLES[name](), count, "short")
    assert met["asked"] == count
    assert min(met["closed"], met["refused"], met["saved"]) > count / 400    # it is no empty course of events


@pytest.mark.soak
def test_a_million_random_events_are_answered_alike():
    met = sum((compare(TABLES[name](), count, "long") for name, count in (
        ("invented room", 600_000), ("one lamp", 200_000), ("landing", 200_000))), Counter())
    print(dict(met))
    assert met["asked"] == 1_000_000


@pytest.mark.soak
def test_a_quarter_of_a_million_random_events_under_rules_are_answered_alike():
    met = sum((compare(TABLES[name](), count, "rules") for name, count in (("room with rules", 150_000), ("house of thirty rules", 100_000))), Counter())
    print(dict(met))
    assert met["asked"] == 250_000


def test_a_rare_difference_is_found(tmp_path):
    """On one side only, a minimum off time of 180 s counts as over a millisecond early."""
    shutil.copytree(CORE, tmp_path / "core", ignore=shutil.ignore_patterns("__pycache__"))
    channels = tmp_path / "core/channels.py"
    source = channels.read_text("utf-8")
    assert source.count("left - elapsed if left > elapsed else 0") == 1
    channels.write_text(source.replace("left - elapsed if left > elapsed else 0", "left - elapsed if left > elapsed + 1 else 0"), "utf-8")
    with pytest.raises(AssertionError, match="^step 0 "):
        compare(sewing_room(), 12_000, "short", tmp_path)


def test_questions_repeat_for_a_seed_and_differ_for_another():
    first = list(islice(questions(sewing_room(), 50, "a"), 50))
    assert first == list(questions(sewing_room(), 50, "a")) != list(questions(sewing_room(), 50, "b"))
