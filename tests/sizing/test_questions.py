"""All questions together: on the examples, on anything a job may hold, and within the time a check may take."""

import subprocess
import sys
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules
from time import process_time
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import pattress.sizing
from pattress.finding import Figure, Sense, Verdict
from pattress.job import load
from pattress.job.model import LoadKind
from pattress.quantity import show
from pattress.sizing.questions import QUESTIONS, answers
from pattress.stock.record import StockError

from .invented import BOARDS, PARTS, drives, fan_text, load_text, make_job

EXAMPLES = Path(__file__).parents[2] / "examples"


def all_answers(job, parts=PARTS):
    return answers(job, parts, BOARDS[job.board.type], drives(job))


def example(name):
    return all_answers(load(EXAMPLES / name / "job.toml"))


def test_the_sewing_room_passes_every_safety_question():
    wrong = [f.id for f in example("sewing-room") if f.safety and f.verdict not in (Verdict.HOLDS, Verdict.TIGHT)]
    assert wrong == []


def test_ids_are_unique_and_name_their_thing():
    for name in ("sewing-room", "garden-workshop", "landing"):
        ids = [finding.id for finding in example(name)]
        assert len(ids) == len(set(ids))
        assert all(part and part.replace("_", "a").isidentifier() for one in ids for part in one.split("."))


def test_eight_channels_are_answered_in_a_tenth_of_a_second():
    kinds = get_args(LoadKind)
    job = make_job(*(load_text(f"load{i}", kind=kind, power="60 W") for i, kind in enumerate(kinds[:7])), fan_text())
    all_answers(job)
    best = min(_timed(job) for _ in range(5))
    assert best < 0.1


def _timed(job):
    start = process_time()
    all_answers(job)
    return process_time() - start


def test_a_relay_that_is_not_in_stock_is_named_with_the_nearest():
    with pytest.raises(StockError, match=r"^no part 'RT31400' in stock\n  nearest: RT314005$"):
        all_answers(make_job(load_text(relay="RT31400")))
    with pytest.raises(StockError, match=r"^load\.pendant\.relay is 'PC817', whose kind is optocoupler\n  allowed: auto, or a relay of the stock$"):
        all_answers(make_job(load_text(relay="PC817")))


POWERS = st.floats(0.5, 8000).map(lambda watts: f"{watts:.3g} W")


@settings(max_examples=60, deadline=None)
@given(
    kind=st.sampled_from(get_args(LoadKind)), power=POWERS, count=st.integers(1, 200), factor=st.floats(0.01, 1),
    length=st.floats(0, 500), section=st.floats(0.05, 50), restore=st.sampled_from(["off", "on", "as it was"]),
    curve=st.sampled_from(["B", "C", "D", "gG", "unknown"]), rating=st.floats(0.5, 125), fault=st.sampled_from(["unknown", "50 A", "20 kA"]),
    ambient=st.floats(-40, 80), altitude=st.floats(-500, 6000), system=st.sampled_from(["230 V 50 Hz", "120 V 60 Hz", "100 V 50 Hz", "260 V 60 Hz"]),
    grouped=st.integers(1, 20), board=st.sampled_from(sorted(BOARDS)), steps=st.integers(1, 6),
    motor=st.sampled_from(["permanent split capacitor", "shaded pole", "electronically commutated", "unknown"]),
)
def test_every_legal_job_gets_finite_answers(kind, power, count, factor, length, section, restore, curve, rating, fault,
                                             ambient, altitude, system, grouped, board, steps, motor):
    job = make_job(
        load_text(kind=kind, power=power, count=count, power_factor=factor, length=f"{length:.4f} m", section=f"{section:.4f} mm2",
                  restore=restore),
        fan_text(motor=motor, steps=steps, restore=restore),
        curve=curve, rating=f"{rating:.3g} A", fault=fault, ambient=f"{ambient:.1f} degC", altitude=f"{altitude:.0f} m",
        system=system, grouped=grouped, board=board,
    )
    for finding in all_answers(job):
        assert finding.verdict in Verdict
        assert finding.question.endswith("?")
        for figure in (finding.value, finding.limit, finding.nominal, *(i.figure for i in finding.inputs)):
            if isinstance(figure, Figure):
                assert show(figure.value, figure.unit)
                assert abs(figure.value) < 1e12
        if finding.verdict in (Verdict.FAILS, Verdict.UNKNOWN):
            assert finding.change or finding.assumptions or finding.detail, finding.id
        if finding.value and finding.limit:
            slack = 1e-9 * abs(finding.limit.value)
            beyond = (finding.value.value > finding.limit.value + slack if finding.sense is Sense.AT_MOST
                      else finding.value.value < finding.limit.value - slack)
            assert not (beyond and finding.verdict in (Verdict.HOLDS, Verdict.TIGHT)), finding.id
            assert beyond or finding.verdict is not Verdict.FAILS or finding.detail, finding.id
        assert "safe" not in f"{finding.question} {finding.detail} {' '.join(finding.change)}".lower()


def test_every_module_that_answers_is_listed():
    modules = [import_module(f"pattress.sizing.{found.name}") for found in iter_modules(pattress.sizing.__path__)]
    assert {module.findings for module in modules if hasattr(module, "findings")} == set(QUESTIONS.values())


def test_the_room_answers_without_the_heavy_libraries():
    code = ("import sys, pattress.sizing.questions, pattress.stock.boards; "
            "print([name for name in ('numpy', 'scipy', 'pint', 'ortools') if name in sys.modules])")
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout == "[]\n"
