"""Whether a broken wire to a contact would be noticed."""

from typing import get_args

import pytest

from pattress.finding import Verdict
from pattress.job.model import Input
from pattress.sizing.broken_wire import SILENT, findings

from .invented import by_id, make_job

KINDS = get_args(Input.model_fields["kind"].annotation)


def answers(kind):
    return by_id(findings(make_job(rest=f'[input.well]\nname = "Well"\nkind = "{kind}"\n')))


@pytest.mark.parametrize("kind", SILENT)
def test_a_float_and_a_leak_contact_may_fall_silent(kind):
    found = answers(kind)["broken_wire.input_well"]
    assert (found.question, found.subject, found.verdict, found.safety) == (
        "Would a broken wire at Well be noticed?", "input.well.kind", Verdict.TIGHT, False)
    assert found.change == ('choose a contact that is closed when all is well, and say "open" in the rule',)
    assert found.detail == (f"A {kind} contact keeps still for months: with a broken wire it reads as open from then on, and nobody sees it. "
                            "One that is closed when all is well tells a broken wire as it tells trouble.")
    assert not found.stops and not found.wants_answer


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind not in SILENT])
def test_what_moves_every_day_is_not_asked(kind):
    assert answers(kind) == {}


def test_the_silent_kinds_are_kinds_of_inputs():
    assert set(SILENT) < set(KINDS)
