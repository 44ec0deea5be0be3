"""Relays are called alike in proof, rehearsal, page and sheets: by the marks of the wiring; and so are the devices of the feeds."""

import re
from pathlib import Path

import pytest

from pattress.cautions import CAUTIONS
from pattress.design import design_of
from pattress.designators import channel_designators, closed, device_designator, relay_designator, relay_designators, together
from pattress.drawing import Medium
from pattress.fan import report
from pattress.handover.context import _relays as levels
from pattress.handover.household import labels
from pattress.handover.schedules import cables
from pattress.handover.single_line import single_line
from pattress.handover.site_tests import dead, inspection, live
from pattress.handover.wiring import wiring_of
from pattress.proof.stuck import stuck_relays

EXAMPLES = sorted((Path(__file__).parents[1] / "examples").glob("*/job.toml"))


def test_marks_count_from_one_and_name_every_relay_of_a_mask():
    assert relay_designator(0) == "K1" and relay_designators(0b10100000) == ("K6", "K8")
    assert together(0b1) == "relay K1" and together(0b110) == "relays K2+K3"
    assert closed(0) == "all open" and closed(0b110) == "relays K2+K3 closed"


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.parent.name)
def test_the_relay_that_sticks_in_the_proof_is_the_one_of_that_mark_in_the_wiring(file):
    design = design_of(file)
    wired = {relay.mark: relay.name for relay in wiring_of(design).relays}
    told = {str(one).partition(", relay ")[2].partition(" ")[0]: one.channel for one in stuck_relays(design.plan)}
    assert told == wired and list(told) == [f"K{number}" for number in range(1, len(wired) + 1)]
    for name, words, _ in levels(design).rows:
        listed = set(words.replace(":", " ").replace(";", " ").split()) & set(wired)
        assert listed == {mark for mark, channel in wired.items() if channel == name}


def test_the_marks_of_a_channel_are_those_between_its_neighbours():
    plan = {"channels": [{"key": "lamp", "masks": [0, 1]}, {"key": "fan", "masks": [0, 0b10, 0b100, 0b110, 0b1000]}, {"key": "heater", "masks": [0, 0b10000]}]}
    assert [channel_designators(plan, key) for key in ("lamp", "fan", "heater")] == [("K1",), ("K2", "K3", "K4"), ("K5",)]
    with pytest.raises(KeyError, match="porch"):
        channel_designators(plan, "porch")


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.parent.name)
def test_a_fan_looked_at_closely_has_the_relays_of_the_wiring(file):
    design = design_of(file)
    wired = {relay.mark: relay for relay in wiring_of(design).relays}
    for key, fan in design.results["fan_designs"].items():
        own = [mark for mark, relay in wired.items() if relay.channel == key]
        marks = channel_designators(design.plan, key)
        assert list(marks) == own
        tables = [*report.sheets(fan, marks), report.regulator(fan, marks)]
        closing = report.drawings(fan, marks).get("closing")
        words = "\n".join(" ".join(row) for table in tables for row in table.rows) + (closing.svg(Medium.PAGE) if closing else "")
        assert set(re.findall(r"\bK\d+", words)) == set(own)
        assert not re.search(r"(relay|capacitor|welded,|close,|shorted,) \d\b", words)
        # what the wiring says of a capacitor's relay, the report says of that relay, too
        faults = {row[0] for row in report.sheets(fan, marks)[-1].rows}
        assert {f"capacitor at {mark} shorted" for mark in own if wired[mark].capacitor} == {one for one in faults if "shorted" in one}


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.parent.name)
def test_the_device_of_a_feed_is_called_alike_on_every_sheet(file):
    design = design_of(file)
    wiring = wiring_of(design)
    named = {key: f"{device_designator(design.job.feed, key)}, feed {key}" for key in design.job.feed}
    assert [named[key][:2] for key in named] == [f"F{number}" for number in range(1, len(named) + 1)]
    lines = [" ".join(label.words for label in drawing.labels) for drawing in single_line(design, wiring, CAUTIONS)]
    tables = [" ".join(" ".join(row) for row in table.rows)
              for table in (cables(wiring).table, *(table for section in (inspection(design, wiring), dead(design, wiring), *live(design, wiring), *labels(design)) for table in section.tables))]
    for key, name in named.items():
        assert any(f"{name[:2]} " in words and f"feed {key}" in words for words in lines)
        assert sum(name in words for words in tables) == 6, key
    told = {pair for words in tables for pair in re.findall(r"\b(F\d), feed (\w+)|\b(F\d) (\w+)(?:,|;)", words)}
    assert {"".join(pair) for pair in told} == {f"{name[:2]}{key}" for key, name in named.items()}
