"""One tally for all: findings, names and claims of the proof, worst first, and what is not in it."""

from pathlib import Path

import pytest

from pattress.design import build, design_of
from pattress.design.tally import NO_NAMES, NOT_PROVEN, tally_of
from pattress.finding import Verdict
from pattress.job import read
from pattress.proof.properties import Kind
from pattress.proof.tally import Property
from pattress.spoken import sounds
from pattress.stock.boards import load_boards
from pattress.stock.parts import load_parts

SEWING = Path(__file__).parents[2] / "examples" / "sewing-room" / "job.toml"


@pytest.fixture(scope="module")
def design():
    return design_of(SEWING)


@pytest.fixture(scope="module")
def misheard(design):
    job, _ = read(SEWING.read_text("utf-8").replace("big lamps", "big light"), "job.toml")
    return build(job, load_parts(), load_boards(), design)


def prop(name, holds, is_decided=True):
    return Property(name, Kind.ALWAYS, "It is so.", holds, 1, is_decided=is_decided)


def number(tally, verdict):
    return dict(tally.counts).get(verdict, 0)


def test_findings_and_names_are_counted_and_the_proof_is_said_to_be_missing(design):
    found = tally_of(design)
    assert found.missing == (NOT_PROVEN,) and [str(clash.verdict) for clash in found.names] == ["tight", "tight"]
    assert sum(count for _, count in found.counts) == len(design.findings) + 2 and number(found, "fails") == 0
    assert str(found).startswith(f"{number(found, 'unknown')} unknown, {number(found, 'tight')} tight, ")


def test_a_name_that_fails_is_a_fail_of_the_tally(design, misheard):
    before, after = tally_of(design), tally_of(misheard)
    assert (number(after, "fails"), after.verdict, before.verdict) == (1, Verdict.FAILS, Verdict.UNKNOWN)
    assert [clash.name.thing for clash in after.failing_names] == ["bench"]


def test_a_claim_and_a_wish_that_fail_are_fails_of_the_tally(design):
    bare = tally_of(design)
    found = tally_of(design, [prop("can-reach", False), prop("wish.iron", False), prop("pattern", True), prop("turn", False, is_decided=False)])
    more = {verdict: number(found, verdict) - number(bare, verdict) for verdict in ("fails", "unknown", "tight", "holds")}
    assert more == {"fails": 2, "unknown": 1, "tight": 0, "holds": 1} and found.missing == ()


def test_a_dictionary_that_is_not_there_is_said_and_stops_nothing(design, monkeypatch):
    monkeypatch.setattr(sounds, "find_spec", lambda name: None)
    sounds._dictionary.cache_clear()
    found = tally_of(design, ())
    sounds._dictionary.cache_clear()
    assert found.names == () and found.missing == (NO_NAMES,)
