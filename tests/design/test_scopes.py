"""No choice moves a finding outside its scope: what makes the cuts of the search sound."""

from random import Random

import pytest

from pattress.design.choices import Kind, catalogue
from pattress.design.prices import load_prices
from pattress.design.scopes import OF_ALL, OF_CHANNEL, OF_FEED
from pattress.design.trials import Trials, answer_of
from tests.design import seeded


@pytest.mark.parametrize("faults, example", [
    ((), "sewing-room"), ((seeded.WEAK, seeded.LATE, seeded.THIN), "garden-workshop"),
])
def test_a_finding_stays_when_a_choice_outside_its_scope_moves(faults, example):
    design = seeded.design(*faults, example=example)
    choices = catalogue(design, load_prices())
    trials, draw = Trials(design, choices), Random(7)
    at_random = tuple(draw.randrange(len(choice.options)) if choice.kind not in (Kind.BOARD, Kind.WIRE) else 0 for choice in choices)
    for start in ((0,) * len(choices), at_random):
        here = {finding.id: _said(finding) for finding in trials.design(start).findings}
        for place, choice in enumerate(choices):
            others = [number for number in range(len(choice.options)) if number != start[place]]
            for number in draw.sample(others, min(2, len(others))):
                picks = tuple(number if other == place else pick for other, pick in enumerate(start))
                for finding in trials.design(picks).findings:
                    if finding.id in here and place not in trials.scope(finding.id):
                        assert _said(finding) == here[finding.id], (finding.id, choice.key, choice.options[number].shown)


def _said(finding):
    return finding.value, finding.limit, answer_of(finding)


def test_every_question_of_the_examples_has_its_scope_written_down():
    listed = {*OF_CHANNEL, *OF_FEED, *OF_ALL}
    for example in ("sewing-room", "garden-workshop", "landing"):
        asked = {finding.id.partition(".")[0] for finding in seeded.design(example=example).findings}
        assert asked <= listed, asked - listed


def test_a_question_nobody_has_listed_depends_on_everything():
    design = seeded.design(example="garden-workshop")
    choices = catalogue(design, load_prices())
    assert Trials(design, choices).scope("something_new.thing") == tuple(range(len(choices)))


def test_asking_one_question_says_what_the_whole_design_says():
    design = seeded.design(seeded.THIN, example="garden-workshop")
    choices, draw = catalogue(design, load_prices()), Random(3)
    asked, whole = Trials(design, choices), Trials(design, choices)
    for _ in range(4):
        picks = tuple(draw.randrange(len(choice.options)) if choice.kind is not Kind.BOARD else 0 for choice in choices)
        for finding in whole.design(picks).findings:
            if not finding.id.startswith("pins"):
                assert asked.answer(finding.id, picks) == answer_of(finding), finding.id
