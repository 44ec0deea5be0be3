"""The examples and the starter file: they pass, say that they are invented, and show what they should."""

import re
from pathlib import Path
from tomllib import loads
from typing import get_args

import jsonschema
import pytest

from pattress.design import design_of
from pattress.finding import Verdict
from pattress.job import job_schema, load, read, starter
from pattress.job.action import Action
from pattress.job.code import Code
from pattress.job.rule import Kind
from pattress.job.system import System
from pattress.proof import prove
from pattress.rehearsal.rehearse import rehearse

EXAMPLES = Path("examples")
ALL = sorted(EXAMPLES.glob("*/job.toml"))


@pytest.mark.parametrize("file", ALL, ids=lambda file: file.parent.name)
def test_an_example_passes_and_says_that_it_is_invented(file):
    load(file)
    head = file.read_text("utf-8").split("[job]")[0]
    assert "Invented" in head and "Mains can kill" in head


@pytest.mark.parametrize("text", [*(file.read_text("utf-8") for file in ALL), starter()])
def test_the_schema_for_editors_takes_what_the_reader_takes(text):
    jsonschema.validate(loads(text), job_schema(), jsonschema.Draft202012Validator)


def test_the_schema_is_one_and_refuses_what_it_can():
    jsonschema.Draft202012Validator.check_schema(job_schema())
    check = jsonschema.Draft202012Validator(job_schema())
    for old, new in (('"LED driver"', '"LED"'), ('"9 W"', "9"), ("count = 3", "count = 0.5"), ("[board]", "[bored]")):
        assert old in starter() and list(check.iter_errors(loads(starter().replace(old, new, 1)))), new


def test_the_schema_gives_no_default_of_another_type():
    for record in job_schema()["$defs"].values():
        for name, field in record.get("properties", {}).items():
            if "default" in field and field.get("type") == "string":
                assert isinstance(field["default"], str), name


def test_the_starter_passes_and_explains():
    job, _ = read(starter(), "job.toml")
    assert job.load["pendant"].count == 3 and job.supply.fault_current == "unknown"
    assert starter().count("#") >= 15 and "invented" in starter()


def test_the_sewing_room_holds_what_it_teaches():
    job = load(EXAMPLES / "sewing-room/job.toml")
    assert job.supply.system == System(230.0, 50.0) and str(job.supply.system) == "230 V 50 Hz"
    assert {load.kind for load in job.load.values()} == {"LED driver", "tungsten lamp", "resistive heater", "motor"}
    assert job.load["bench"].power == 54.0 and job.load["ironing"].power == 2200.0
    fan = job.fan["ceiling"]
    assert (fan.power, fan.steps, fan.run_capacitor) == (75.0, 4, 2.5e-6)
    assert {thing.restore for thing in [*job.load.values(), fan]} == {"off", "on", "as it was"}
    assert {switch.kind for switch in job.switch.values()} == {"latching", "retractive"}
    codes = [button.code for button in job.remote["drawer"].button.values()]
    assert "unknown" in codes and Code(1, 4, 8) in codes
    assert job.remote["drawer"].button["sleep"].does == (Action("off", ("pendant", "bench", "wall")), Action("set", ("ceiling",), 1))
    assert job.sensor and job.regulator["wall"].positions == 4
    assert job.board.type == "rp2040-wifi" and re.fullmatch(r"192\.168\..*", job.network.broker)


def test_the_garden_workshop_knows_whether_its_dust_bin_is_shut():
    contact = load(EXAMPLES / "garden-workshop/job.toml").input["bin"]
    assert (contact.kind, contact.cable) == ("door", pytest.approx(6.7056))      # 22 ft


def test_the_garden_workshop_rests_its_compressor():
    job = load(EXAMPLES / "garden-workshop/job.toml")
    assert job.supply.system == System(120.0, 60.0) and job.board.type == "esp32-s3"
    assert job.load["compressor"].minimum_off == 180.0 and job.load["compressor"].kind == "compressor"
    assert job.load["extractor"].kind == "motor" and job.load["battens"].kind == "fluorescent ballast"
    assert job.switch["door"].cable == pytest.approx(3.048)


def test_the_landing_asks_for_more_than_a_classic_board_has():
    """A 30-pin board brings out 25 usable pins, four of them inputs only (vendor's hardware guidelines, IO tables; board from memory)."""
    job = load(EXAMPLES / "landing/job.toml")
    assert job.board.type == "esp32" and len(job.load) == 10 and len(job.fan) == 2
    contacts = sum(regulator.positions for regulator in job.regulator.values())
    at_least = len(job.load) + 2 * len(job.fan) + contacts + len(job.switch) + len(job.remote) + len(job.sensor)
    assert at_least > 25


BASEMENT = EXAMPLES / "basement" / "job.toml"


def test_the_basement_has_every_kind_of_rule_and_presses_told_apart():
    job = load(BASEMENT)
    assert {ruled.says.kind for ruled in job.rule.values()} == set(get_args(Kind))
    assert any(ruled.says.warning for ruled in job.rule.values()) and {how for switch in job.switch.values() for how in switch.presses} == {"does", "held", "twice"}
    failing = [finding.id for finding in design_of(BASEMENT).findings if finding.verdict is Verdict.FAILS]
    assert failing == list(job.accept)              # what somebody answers for, and nothing else


@pytest.mark.soak
def test_the_basement_is_proven_and_lives_through_a_day():
    design = design_of(BASEMENT)
    proof = prove(design.plan, wishes=design.wishes, has_network=design.job.network.wifi)
    assert proof.holds, [(prop.id, prop.detail) for prop in proof.properties if not prop.holds]
    rehearsal = rehearse(design.plan, seed=1)
    assert rehearsal.problems == () and rehearsal.difference is None
