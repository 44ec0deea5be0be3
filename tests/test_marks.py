"""Relays are called alike in proof, rehearsal, page and sheets: by the marks of the wiring."""

from pathlib import Path

import pytest

from pattress.design import design_of
from pattress.handover.context import _relays as levels
from pattress.handover.wiring import wiring_of
from pattress.marks import closed, relay_mark, relay_marks, together
from pattress.proof.stuck import stuck_relays

EXAMPLES = sorted((Path(__file__).parents[1] / "examples").glob("*/job.toml"))


def test_marks_count_from_one_and_name_every_relay_of_a_mask():
    assert relay_mark(0) == "K1" and relay_marks(0b10100000) == ("K6", "K8")
    assert together(0b1) == "relay K1" and together(0b110) == "relays K2+K3"
    assert closed(0) == "all open" and closed(0b110) == "relays K2+K3 closed"


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.parent.name)
def test_the_relay_that_sticks_in_the_proof_is_the_one_of_that_mark_in_the_wiring(file):
    design = design_of(file, None)
    wired = {relay.mark: relay.name for relay in wiring_of(design).relays}
    told = {str(one).partition(", relay ")[2].partition(" ")[0]: one.channel for one in stuck_relays(design.plan)}
    assert told == wired and list(told) == [f"K{number}" for number in range(1, len(wired) + 1)]
    for name, words, _ in levels(design).rows:
        listed = set(words.replace(":", " ").replace(";", " ").split()) & set(wired)
        assert listed == {mark for mark, channel in wired.items() if channel == name}
