"""The gate with "unknown" is never open where the worst of what is credible shuts it.

Every figure of a part or board that a sheet may not give, and every field of a job that may be
unknown and is not the installation's own, is set to values of its published range in turn; where
one of them stops the bundle, not knowing it stops the bundle, too. Values are drawn with a fixed
seed; `make soak` draws more, of every example.
"""

from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from pattress.bundle.refusal import refusals
from pattress.design import build
from pattress.finding import Verdict
from pattress.job import load
from pattress.job.model import UNKNOWN, Inrush
from pattress.stock.boards import load_boards
from pattress.stock.credible import BOARD, credible, ranges
from pattress.stock.kinds import KINDS
from pattress.stock.loads import behaviour
from pattress.stock.parts import Parts, load_parts
from pattress.stock.record import Rating

EXAMPLES = Path(__file__).parents[2] / "examples"
PARTS, BOARDS = load_parts(), load_boards()

# Figures without a credible range: what hangs on one that is not known is unknown. Drawn over what the stock prints and well beyond.
WITHOUT_RANGE = {
    ("relay", "clearance"): (0.5e-3, 12e-3), ("relay", "creepage"): (0.5e-3, 12e-3), ("relay", "making_current"): (5.0, 165.0),
    ("relay", "making_current_short"): (100.0, 800.0), ("relay", "making_current_long"): (10.0, 50.0),
    ("fuse", "breaking_current"): (35.0, 1500.0), ("fuse", "melting_integral"): (0.5, 400.0),
}
# What a resistive rating is worth without a figure of the sheet: a share of it, by the published rules that sizing names.
SHARES = {("relay", "inductive_current"): (0.4, 1.0), ("relay", "motor_current"): (1.0 / 6.0, 1.0)}
WORDS = {("relay", "insulation"): ("functional", "basic", "reinforced"), ("supply", "insulation"): ("functional", "basic", "reinforced")}
FIGURES = sorted({*((kind, name) for kind, name, _ in ranges()), *WITHOUT_RANGE, *SHARES, *WORDS})


@pytest.fixture(scope="module")
def designs():
    """Return an example's job, built once."""
    made = {}

    def design(name):
        if name not in made:
            made[name] = build(load(EXAMPLES / name / "job.toml"), PARTS, BOARDS)
        return made[name]

    return design


def stops(design):
    """Return what shuts the gate of a design."""
    return {finding.id for finding in refusals(design.findings, design.job.accept)}


def ratings(kind, name, draw, count):
    """Return ratings over the range of a figure, both ends among them; each is a function of the part."""
    if (kind, name) in WORDS:
        return [lambda part, word=word: Rating(word) for word in WORDS[kind, name]]
    if (kind, name) in SHARES:
        low, high = SHARES[kind, name]
        return [lambda part, share=share: Rating(share * part.value("rated_current"), "A") for share in (low, high, *(draw.uniform(low, high) for _ in range(count)))]
    span = WITHOUT_RANGE.get((kind, name))
    low, high = span if span else (credible(kind, name).least, credible(kind, name).most)
    return [lambda part, value=value: Rating(value, "") for value in (low, high, *(draw.uniform(low, high) for _ in range(count)))]


def with_figure(kind, name, rating):
    """Return stock and boards in which every part of a kind has this figure."""
    unknown = Rating(None, "", why="hidden for a test")
    if kind == BOARD:
        return PARTS, {key: replace(board, figures={**board.figures, name: rating(board) if rating else unknown}) for key, board in BOARDS.items()}
    changed = {part.designation: replace(part, figures={**part.figures, name: rating(part) if rating else unknown}) if part.kind == kind else part for part in PARTS}
    return Parts(changed), BOARDS


def figure_gate(design, kind, name, draw, count):
    """Assert that hiding a figure shuts the gate wherever a value of its range does."""
    hidden = stops(build(design.job, *with_figure(kind, name, None), design))
    for rating in ratings(kind, name, draw, count):
        found = stops(build(design.job, *with_figure(kind, name, rating), design))
        assert hidden or not found, (kind, name, rating(next(iter(PARTS.of(kind)), None)) if kind != BOARD else rating(None), found)


def test_every_figure_that_may_be_unknown_is_drawn_or_decides_no_safety():
    not_safety = {
        ("relay", name) for name in ("rated_voltage", "release_voltage", "operate_time", "endurance", "endurance_light", "light_current", "lamp_endurance",
                                     "lamp_current", "contact_resistance", "minimum_power", "withstand_voltage", "making_with", "making_shorter")} | {
        ("driver", name) for name in ("voltage_most", "gain_least", "threshold_least")} | {
        ("optocoupler", name) for name in ("forward_current_most", "transfer_most", "test_current", "dark_current", "withstand_voltage", "clearance", "creepage", "insulation")} | {
        ("diode", name) for name in ("surge_current", "forward_voltage_most")} | {
        ("supply", name) for name in ("input_least", "input_most", "ripple")} | {
        ("regulator", name) for name in ("output_current", "input_most", "quiescent_current", "thermal_resistance", "junction_most")} | {
        ("fuse", "rated_voltage"), ("varistor", "clamping_voltage"), ("terminal", "rated_voltage")}
    may_be_unknown = {(kind, name) for kind, entry in KINDS.items() for name in (*entry.figures, *entry.words) if name not in entry.needs}
    assert may_be_unknown - not_safety == {(kind, name) for kind, name in FIGURES if kind != BOARD}


@pytest.mark.parametrize(("kind", "name"), FIGURES)
def test_a_hidden_figure_never_opens_the_gate(designs, kind, name):
    figure_gate(designs("sewing-room"), kind, name, Random(f"{kind} {name}"), 1)


@pytest.mark.soak
@pytest.mark.parametrize("example", ["sewing-room", "garden-workshop"])
@pytest.mark.parametrize(("kind", "name"), FIGURES)
def test_a_hidden_figure_never_opens_the_gate_in_full(designs, example, kind, name):
    figure_gate(designs(example), kind, name, Random(f"{example} {kind} {name}"), 12)


def with_field(job, section, key, **fields):
    """Return a job with other fields of one thing, or of a section that is one table."""
    if not key:
        return job.model_copy(update={section: getattr(job, section).model_copy(update=fields)})
    rows = getattr(job, section)
    return job.model_copy(update={section: {**rows, key: rows[key].model_copy(update=fields)}})


def fields_of(job, draw, count):
    """Yield every field of a job that may be unknown and is the job's own: where, its name, and values of its range."""
    box = type(job.site.enclosure) if job.site.enclosure != UNKNOWN else None
    if box:
        yield ("site", "", "enclosure", [box.model_validate(dict(width=f"{w} mm", height=f"{h} mm", depth=f"{d} mm", material=material)) for w, h, d, material in (
            (120, 80, 50, "plastic"), (200, 150, 75, "plastic"), (600, 600, 250, "aluminium"))])
    for key, load_ in job.load.items():
        acts = behaviour(load_.kind)
        yield "load", key, "power_factor", [acts.power_factor, 1.0, *(draw.uniform(acts.power_factor, 1.0) for _ in range(count))]
        current = load_.power / job.supply.system.voltage / acts.power_factor
        one = acts.surge(power=load_.power, current=current, voltage=job.supply.system.voltage)
        peaks = [one.most, one.least, *(draw.uniform(one.least, one.most) for _ in range(count))]
        yield "load", key, "inrush", [Inrush.model_construct(peak=peak, duration=one.duration or 1e-3) for peak in peaks]
        yield "load", key, "operations_per_day", [0.0, 50.0]
    for key, fan in job.fan.items():
        acts = behaviour(fan.motor)
        yield "fan", key, "power_factor", [acts.power_factor, 1.0]
        yield "fan", key, "motor", ["permanent split capacitor", "shaded pole", "electronically commutated"]


def job_gate(design, draw, count):
    """Assert that not knowing a field shuts the gate wherever a value of its range does."""
    tried = 0
    for section, key, name, values in fields_of(design.job, draw, count):
        hidden = stops(build(with_field(design.job, section, key, **{name: UNKNOWN}), PARTS, BOARDS, design))
        for value in values:
            found = stops(build(with_field(design.job, section, key, **{name: value}), PARTS, BOARDS, design))
            assert found <= hidden, (section, key, name, value, found - hidden)
            tried += 1
    return tried


def test_a_field_that_nobody_knows_never_opens_the_gate(designs):
    assert job_gate(designs("sewing-room"), Random(3), 0) > 20


@pytest.mark.soak
@pytest.mark.parametrize("example", ["sewing-room", "garden-workshop"])
@pytest.mark.parametrize("relay", ["auto", "G5LE-1A DC5", "RT314005", "RT33L005", "T9AS1D12-5"])
def test_a_field_that_nobody_knows_never_opens_the_gate_in_full(designs, example, relay):
    job = designs(example).job
    job = job.model_copy(update={"load": {key: load_.model_copy(update={"relay": relay}) for key, load_ in job.load.items()}})
    assert job_gate(build(job, PARTS, BOARDS), Random(5), 6) > 20


# What the property is for: with the former defaults each of these let a hidden figure through.
@pytest.mark.parametrize(("kind", "name"), [("relay", "release_time"), ("driver", "input_current"), ("varistor", "tolerance"), ("relay", "coil_tolerance")])
def test_a_hidden_figure_is_listed_where_it_counts(designs, kind, name):
    design = build(designs("sewing-room").job, *with_figure(kind, name, None), designs("sewing-room"))
    assumed = {assumption.key.rpartition(".")[2] for finding in design.findings for assumption in finding.assumptions}
    assert name in assumed


def test_a_relay_of_unknown_release_is_not_taken_for_a_quick_one(designs):
    design = designs("sewing-room")
    hidden = build(design.job, *with_figure("relay", "release_time", None), design)
    (found,) = (finding for finding in hidden.findings if finding.id == "drive_release.ceiling")
    assert found.value.value == pytest.approx(5 * 20e-3 + 4e-3)            # the worst credible one, five times slower with a diode, and the bounce of the sheet
    assert found.verdict in (Verdict.HOLDS, Verdict.TIGHT) and [a.key.rpartition(".")[2] for a in found.assumptions] == ["release_time"]
