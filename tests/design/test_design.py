"""The design of the three examples, and what it must keep when something changes."""

from pathlib import Path

import pytest

from pattress.controller.core import Plan
from pattress.design import build, design_of
from pattress.finding import Verdict
from pattress.pins.best import Assignment, best
from pattress.pins.conflict import Conflict
from pattress.pins.problem import problem
from pattress.stock.boards import load_boards
from pattress.stock.parts import load_parts

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="module")
def sewing():
    return design_of(EXAMPLES / "sewing-room" / "job.toml")


@pytest.fixture(scope="module")
def landing():
    return design_of(EXAMPLES / "landing" / "job.toml")


def test_every_finding_has_its_own_id_a_question_and_something_to_go_by(sewing, landing):
    for design in (sewing, landing):
        ids = [finding.id for finding in design.findings]
        assert len(ids) == len(set(ids))
        for finding in design.findings:
            assert finding.question.endswith("?"), finding.id
            assert finding.sources or finding.detail or any(put_in.source for put_in in finding.inputs), finding.id
            assert finding.verdict is not Verdict.FAILS or finding.change, finding.id


def test_the_sewing_room_fails_nowhere(sewing):
    assert [finding.id for finding in sewing.findings if finding.verdict is Verdict.FAILS] == []
    assert isinstance(sewing.pins, Assignment)


def test_the_plan_has_every_channel_and_control_of_the_job(sewing):
    table = sewing.plan
    assert [channel["key"] for channel in table["channels"]] == [*sewing.job.load, *sewing.job.fan]
    assert [switch["key"] for switch in table["switches"]] == list(sewing.job.switch)
    assert Plan(table).channels == len(sewing.job.load) + len(sewing.job.fan)


def test_no_relay_belongs_to_two_channels(sewing, landing):
    for design in (sewing, landing):
        taken = 0
        for channel in design.plan["channels"]:
            own = 0
            for mask in channel["masks"]:
                own |= mask
            assert own and not own & taken, channel["name"]
            taken |= own


def test_the_last_position_of_a_regulator_is_the_last_step(sewing, landing):
    for design in (sewing, landing):
        for regulator in design.plan["regulators"]:
            levels = regulator["levels"]
            assert levels == sorted(levels)
            assert levels[-1] == len(design.plan["channels"][regulator["channel"]]["masks"]) - 1


def test_the_landing_fits_no_pin_and_every_way_out_that_is_offered_fits(landing):
    assert isinstance(landing.pins, Conflict)
    assert len(landing.pins.relaxations) >= 2
    for way in landing.pins.relaxations:
        again = best(problem(way.wanted, way.board, way.fixed), way.waived)
        assert again is not None, way.words
        held = [placement.pin.gpio for placement in again.pins]
        assert len(held) == len(set(held)) == len(way.wanted)


def test_a_rebuild_takes_over_what_an_edit_does_not_touch(sewing):
    parts, boards = load_parts(), load_boards()
    ran = []
    job = sewing.job.model_copy(update={"load": dict(sewing.job.load) | {
        "bench": sewing.job.load["bench"].model_copy(update={"power": 60.0})}})
    again = build(job, parts, boards, sewing, ran.append)
    assert "contacts" in ran and "pins" not in ran and "pin findings" not in ran
    assert again.pins is sewing.pins
    assert {finding.id for finding in again.findings} == {finding.id for finding in sewing.findings}
    fresh = build(job, parts, boards)
    assert again.findings == fresh.findings and again.plan == fresh.plan


def test_an_unchanged_job_runs_no_stage(sewing):
    ran = []
    build(sewing.job, sewing.results["parts"], sewing.results["boards"], sewing, ran.append)
    assert ran == []


def test_an_edit_of_a_load_designs_no_fan_anew(sewing):
    lamp = sewing.job.load["pendant"].model_copy(update={"power": 11.0})
    job = sewing.job.model_copy(update={"load": {**sewing.job.load, "pendant": lamp}})
    ran: list[str] = []
    again = build(job, sewing.results["parts"], sewing.results["boards"], sewing, ran.append)
    assert "chosen" in ran and "fan_designs" not in ran
    assert again.results["fan_designs"] is sewing.results["fan_designs"]
    assert again.findings == build(job, sewing.results["parts"], sewing.results["boards"]).findings
