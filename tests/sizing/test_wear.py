"""How often the network may close a contact: worked on paper, and what must hold for every relay."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pattress.finding import Verdict
from pattress.sizing.choice import choose_parts
from pattress.sizing.wear import LEAST, MOST, allowances, closings_a_day, findings

from .invented import BOARDS, PARTS, drives, load_text, make_job

ALONE = '[network]\nwifi = false\n'


def chosen(job):
    return choose_parts(job, PARTS, BOARDS[job.board.type], drives(job))


@pytest.mark.parametrize("operations, per_day, closings", [
    (100_000.0, 20.0, 253),          # 100 000 / 365.25 - 20 = 253.8
    (30_000.0, 10.0, 72),            # 30 000 / 365.25 - 10 = 72.1
    (5_000.0, 10.0, 24),             # 3.7: the least
    (1e7, 0.0, 480),                 # the most
    (None, 10.0, 24),                # a sheet without a figure allows the least
])
def test_worked_on_paper(operations, per_day, closings):
    assert closings_a_day(operations=operations, per_day=per_day) == closings


@given(st.floats(0, 1e8), st.floats(0, 500))
def test_within_its_bounds_the_contacts_last_a_year_at_least(operations, per_day):
    closings = closings_a_day(operations=operations, per_day=per_day)
    assert LEAST <= closings <= MOST
    assert closings == LEAST or operations / (closings + per_day) >= 365.25


def test_every_channel_of_a_networked_job_has_an_allowance_and_no_other():
    job = make_job(load_text("lamp"), load_text("fridge", kind="compressor"))
    found = allowances(job, chosen(job))
    assert list(found) == ["lamp", "fridge"] and all(one.an_hour * 6 >= one.a_day for one in found.values())
    alone = make_job(load_text("lamp"), ALONE)
    assert allowances(alone, chosen(alone)) == {}


def test_the_finding_says_how_long_they_last_and_never_stops_a_bundle():
    job = make_job(load_text("lamp", operations_per_day=20))
    (finding,) = findings(job, chosen(job))
    assert finding.id == "wear.lamp" and not finding.safety and finding.verdict in (Verdict.HOLDS, Verdict.UNKNOWN)
    allowed = next(given.figure.value for given in finding.inputs if given.name == "closings allowed a day")
    if finding.value is not None:
        operations = finding.inputs[0].figure.value
        assert finding.value.value == pytest.approx(operations / (allowed + 20) / 365.25)
