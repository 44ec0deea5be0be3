"""What measuring an unknown would settle: ends that can be written, and verdicts that are those of the job with them."""

from pathlib import Path

import pytest

from pattress.design import build, design_of
from pattress.design.rewriting import edited
from pattress.design.settling import settle
from pattress.finding import unknowns
from pattress.job import read, starter

EXAMPLES = Path(__file__).parents[2] / "examples"
# No place in the job file (a fan's inrush, what a board does while it is reset), or no two ends known here.
WITHOUT_ENDS = {"inrush", "type", "measured", "run_capacitor"}


def job_of(name):
    return starter() if name == "starter" else (EXAMPLES / name / "job.toml").read_text("utf-8")


def settled(name):
    stock = design_of(EXAMPLES / "sewing-room" / "job.toml").results
    text = job_of(name)
    make = lambda words: build(read(words, "job.toml")[0], stock["parts"], stock["boards"])
    design = make(text)
    return design, settle(design, lambda edits: make(edited(text, edits, "job.toml")))


@pytest.fixture(scope="module")
def first():
    return settled("starter")


def test_worked_on_paper(first):
    """230 V / 0.8 ohm = 287.5 A, which a device of 3 kA breaks and 6 kA is not; 10 kA breaks 6 kA; 100 ohm x 30 mA = 3 V, and 2 kohm x 30 mA = 60 V."""
    design, found = first
    by_key = {one.key: one for one in found}
    assert [end.words for end in by_key["supply.fault_current"].ends] == ["6 kA", "288 A"]
    assert [end.words for end in by_key["supply.loop_impedance"].ends] == ["800 mohm", "38.3 mohm"]       # 230 V / 6 kA
    said = {key: [(swing.id, str(swing.now), [str(verdict) for verdict in swing.then]) for swing in one.swings] for key, one in by_key.items()}
    assert said["supply.fault_current"] == said["feed.lights.device.breaking_capacity"] == [("fault.lights", "unknown", ["unknown", "holds"])]
    assert said["supply.earth_electrode"] == [("electrode.lights", "unknown", ["unknown", "holds"])]
    assert said["supply.earthing"] == [("electrode.lights", "unknown", ["unknown", "None", "None"])]        # asked of TT alone
    assert said["load.pendant.power_factor"] == []


@pytest.mark.parametrize("name", ["starter", "sewing-room", "garden-workshop"])
def test_every_unknown_is_there_once_and_each_end_can_be_written(name):
    design, found = settled(name)
    assert {one.key for one in found} == {assumption.key for finding in design.findings for assumption in finding.assumptions}
    assert len({one.key for one in found}) == len(found) == len(unknowns(design.findings))
    for one in found:
        assert bool(one.ends) != (one.path[0] in ("part", "board") or (one.path[-1] in WITHOUT_ENDS and one.path[0] == "fan")), one.key
        assert len({str(end.value) for end in one.ends}) == len(one.ends) and set(one.refused) <= {""}, one
    assert [one.decides for one in found] == sorted((one.decides for one in found), reverse=True)


def test_the_most_decisive_is_first_and_moves_between_failing_and_holding():
    _, found = settled("garden-workshop")
    told = next(one for one in found if one.key == "feed.machines.residual_current_device")
    assert [(swing.id, str(swing.now), [str(verdict) for verdict in swing.then], swing.reach) for swing in told.swings] == [
        ("residual.machines", "unknown", ["fails", "holds"], 3)]
    assert found.index(told) < 2 and found[-1].swings == ()


def test_an_end_at_which_the_job_is_none_is_told():
    from pattress.errors import UseError

    design, _ = settled("starter")

    def refusing(edits):
        raise UseError("no such job")

    assert all(set(one.refused) <= {"no such job"} and one.swings == () for one in settle(design, refusing))
