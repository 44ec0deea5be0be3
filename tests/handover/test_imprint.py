"""Whose sheets these are, and the stop mark: a job that fails, or is stopped by an unknown, prints it on every sheet and drawing."""

import re
import subprocess
from dataclasses import replace
from datetime import date
from io import BytesIO

import pytest
from openpyxl import load_workbook

from pattress.bundle.manifest import read as read_manifest
from pattress.bundle.writing import write_bundle
from pattress.cautions import CAUTIONS
from pattress.design import build
from pattress.drawing.stamp import stamped
from pattress.handover.context import page_of
from pattress.handover.findings_page import render
from pattress.handover.imprint import STOP, imprint_of, stopped_by
from pattress.handover.label import passphrase_label
from pattress.handover.pack import drawings_and_schedules, pack
from pattress.handover.sheet import as_files
from pattress.handover.wiring import wiring_of
from pattress.job.model import Acceptance

from .designs import example, outcome


@pytest.fixture(scope="module")
def passing():
    return example("sewing-room")


@pytest.fixture(scope="module")
def failing(passing):
    ironing = passing.job.load["ironing"].model_copy(update={"power": 4200.0})
    job = passing.job.model_copy(update={"load": {**passing.job.load, "ironing": ironing}})
    return build(job, passing.results["parts"], passing.results["boards"])


def test_a_passing_design_has_no_mark_anywhere(passing):
    assert stopped_by(passing, None) == ""
    files = pack(passing, *outcome("sewing-room"), cautions=CAUTIONS)
    assert [name for name, content in files.items() if isinstance(content, str) and STOP in content.replace('content: "NOT FOR BUILDING"', "")] == []


def test_a_failing_design_has_it_on_every_sheet_drawing_and_page(failing):
    proof, rehearsal = outcome("sewing-room")
    reason = stopped_by(failing, proof)
    assert reason.startswith(f"{STOP}. Fails: contacts.ironing, protection.sockets, ") and reason.endswith(" more.")
    files = pack(failing, proof, rehearsal, cautions=CAUTIONS)
    for name, content in files.items():
        if name.endswith(".pdf"):
            pages = subprocess.run(["pdftotext", "-layout", "-", "-"], input=content, capture_output=True, check=True).stdout.decode().split("\f")[:-1]
            words = [re.sub(r"[^A-Z]", "", page) for page in pages]
            assert all(set("NOTFORBUILDING") <= set(page) for page in words) and "Fails: contacts.ironing" in " ".join(pages[0].split()), name
        elif name.endswith(".xlsx"):
            about = dict(load_workbook(BytesIO(content))["about"].iter_rows(values_only=True))
            assert about["Status"] == STOP and about["Why not"] == reason
        elif not name.endswith(".csv"):
            assert STOP in content and (not name.endswith(".html") or reason in content), name
    page = render(page_of(failing, proof, rehearsal, cautions=CAUTIONS))
    assert reason in page and 'class="stopped"' in page and failing.identity in page
    label = as_files(passphrase_label(failing, "one two three four five six", cautions=CAUTIONS))
    assert reason in label["sheets/label-with-passphrase.html"]


def test_an_unknown_that_stops_the_bundle_is_a_reason_and_an_answered_one_is_none(failing):
    stopping = [finding.id for finding in failing.unanswered]
    accept = {one: Acceptance(reason="looked at it on site, in writing", by="A. Fitter", date=date(2026, 3, 1)) for one in stopping}
    job = failing.job.model_copy(update={"accept": accept})
    accepted = build(job, failing.results["parts"], failing.results["boards"])
    assert stopping and stopped_by(accepted, None) == ""


def test_the_code_of_the_design_is_on_every_sheet_and_in_the_bundle(passing, tmp_path):
    proof, rehearsal = outcome("sewing-room")
    files = pack(passing, proof, rehearsal, cautions=CAUTIONS)
    sheets = [content for name, content in files.items() if name.startswith("sheets/") and name.endswith(".html")]
    assert len(sheets) == 5 and all(f"job and design {passing.identity}; program and plan {proof.digest[:12]}" in sheet for sheet in sheets)
    write_bundle(tmp_path / "bundle", passing.plan, passing.facts, findings=(), accepted={})
    assert read_manifest(tmp_path / "bundle").facts["design"] == passing.identity


def test_two_packs_with_other_breakers_have_other_codes(passing):
    lights = passing.job.feed["lights"]
    other = lights.model_copy(update={"device": lights.device.model_copy(update={"breaking_capacity": 10e3})})
    changed = build(passing.job.model_copy(update={"feed": {**passing.job.feed, "lights": other}}), passing.results["parts"], passing.results["boards"])
    assert changed.identity != passing.identity and changed.plan == passing.plan


def test_a_drawing_is_stamped_across_its_middle(passing):
    imprint = imprint_of(passing, None)
    drawing, plain = (drawings_and_schedules(passing, wiring_of(passing), {}, CAUTIONS, imprint=one)["drawings/single-line-0.svg"] for one in (replace(imprint, stopped="x"), imprint))
    assert drawing == stamped(plain, STOP) and drawing.count(STOP) == 1 and STOP not in plain
    with pytest.raises(ValueError, match="has no viewBox"):
        stamped("<svg></svg>", STOP)
