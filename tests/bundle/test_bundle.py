"""A bundle: refused where it must be, the same bytes every time, whole or not there, and it runs alone."""

import json
import shutil
import time
from dataclasses import replace
from hashlib import sha256

import pytest

from pattress.bundle import (
    BundleError,
    CompilerError,
    Damaged,
    Refused,
    refusals,
    verify,
    write_bundle,
    writing,
)
from pattress.bundle.contents import modules
from pattress.controller.core import OFF, ON, Plan
from pattress.controller.core.cells import RULED
from pattress.controller.digest import CORE, canonical, core_files, digest, source_digest
from pattress.finding import Assumption, Finding, Sense, Verdict
from pattress.interpreter import InterpreterError, run
from pattress.job.model import Acceptance
from pattress.rehearsal.day import Names
from pattress.rehearsal.rehearse import live, rehearse
from pattress.rehearsal.script import scripted

from .conftest import FACTS
from .running import run_bundle, self_check
from .words import in_bundle_words

ACCEPTANCE = Acceptance(reason="Bench only, extra-low voltage", by="A. Maker (invented)", date="2026-11-25")


def finding(id, verdict, *, safety=True, on_site=False, change=()):
    """Return a finding with no figures."""
    return Finding(id=id, question=f"Does {id} hold?", subject=id, verdict=verdict, value=None, limit=None,
                   sense=Sense.AT_MOST, change=change, safety=safety, on_site=on_site)


FINDINGS = (
    finding("contacts.iron", Verdict.FAILS, change=("a 16 A relay",)), finding("drop.lamp", Verdict.TIGHT),
    finding("earthing.box", Verdict.UNKNOWN, on_site=True), finding("order.pins", Verdict.FAILS, safety=False),
    finding("protection.iron", Verdict.FAILS),
)


def content(folder):
    """Return every file of a folder with its bytes."""
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


# What is in it.

def test_it_holds_the_compiled_program_the_plan_the_start_and_a_manifest(written, room):
    folder, manifest = written
    core = {"core/__init__.mpy", "core/feedback.mpy"}       # what is always loaded is one module; the room has no rules
    beside = {"request_queue.mpy", "full.mpy", "loop.mpy", "minimal.mpy", "drivers/pins.mpy", "infrared/decoder.mpy"}
    start = {"root/main.py", "root/start.mpy"}
    found = set(content(folder))
    assert found >= core | beside | start | {"main.mpy", "plan.json", "manifest.json"}
    assert not [name for name in found if name.split("/")[-1].split(".")[0] in ("digest", "interpreter", "replay")]
    assert {name for name in found if name.startswith("core/")} == core
    assert "board.json" not in found            # nobody said which pins
    assert content(folder)["plan.json"] == canonical(room)
    assert manifest.program == digest(room)
    assert manifest.source == source_digest()
    assert manifest.compiler.startswith("MicroPython v1.")
    on_disk = json.loads(content(folder)["manifest.json"])
    assert on_disk["digest"] == manifest.digest
    assert on_disk["facts"]["title"] == "Sewing room (invented)"
    for name, expected in manifest.files.items():
        assert sha256(content(folder)[name]).hexdigest() == expected


def test_the_modules_are_bytecode_for_small_whole_numbers_of_31_bits(written):
    """Layout of a .mpy file: MicroPython documentation, ".mpy files": M, version, flags, small-int bits."""
    for name, code in content(written[0]).items():
        if name.endswith(".mpy"):
            assert code[:2] == b"M\x06"
            assert code[2] >> 2 & 0b1111 == 0       # no architecture: bytecode only
            assert code[3] == 31


def test_no_path_of_the_workbench_is_in_it(written):
    folder = str(CORE.parent).encode()
    assert not any(folder in code or b"/home/" in code for code in content(written[0]).values())


# The same bytes.

def test_two_runs_in_different_folders_at_different_times_from_a_moved_source_are_the_same(room, written, tmp_path):
    moved = tmp_path / "elsewhere" / "core"
    shutil.copytree(CORE, moved, ignore=shutil.ignore_patterns("__pycache__"))
    time.sleep(1.1)
    turned = dict(reversed(room.items()))
    again = write_bundle(tmp_path / "a longer name", turned, dict(reversed(written[1].facts.items())),
                         findings=(), accepted={}, core=core_files(moved))
    assert content(tmp_path / "a longer name") == content(written[0])
    assert again.digest == written[1].digest


def test_plan_core_and_facts_each_change_the_digest(room, written, tmp_path):
    changed = tmp_path / "core"
    shutil.copytree(CORE, changed, ignore=shutil.ignore_patterns("__pycache__"))
    (changed / "cells.py").write_text((changed / "cells.py").read_text("utf-8") + "\nMORE = 1\n", "utf-8")
    none = dict(findings=(), accepted={})
    facts = written[1].facts
    others = [
        write_bundle(tmp_path / "1", room | {"save_ms": 6000}, facts, **none),
        write_bundle(tmp_path / "2", room, facts, core=core_files(changed), **none),
        write_bundle(tmp_path / "3", room, facts | {"board": "another"}, **none),
    ]
    assert len({manifest.digest for manifest in [written[1], *others]}) == 4
    assert len({manifest.program for manifest in [written[1], *others]}) == 3


# Refused.

def test_only_failed_safety_checks_without_acceptance_refuse(room):
    assert [one.id for one in refusals(FINDINGS, {})] == ["contacts.iron", "protection.iron"]
    assert [one.id for one in refusals(FINDINGS, {"protection.iron": ACCEPTANCE})] == ["contacts.iron"]
    assert refusals(FINDINGS[1:4], {}) == ()


def test_a_refusal_says_which_and_what_to_do_and_writes_nothing(room, tmp_path):
    with pytest.raises(Refused) as error:
        write_bundle(tmp_path / "room", room, {}, findings=FINDINGS, accepted={})
    assert str(error.value) == (
        "no bundle: 2 safety checks fail, and nobody answers for them\n"
        "  fails    Does contacts.iron hold?  [contacts.iron]\n"
        "         Change: a 16 A relay\n"
        "  fails    Does protection.iron hold?  [protection.iron]\n"
        '  or accept it in the job file: [accept."contacts.iron"] with reason, by and date; every sheet will say so.\n'
        '  `pattress accept JOB contacts.iron --reason "..." --by "..."` writes that line')
    assert list(tmp_path.iterdir()) == []


def test_a_single_refusal_is_spoken_of_as_one(room, tmp_path):
    with pytest.raises(Refused, match="^no bundle: 1 safety check fails, and nobody answers for it\n"):
        write_bundle(tmp_path / "room", room, {}, findings=FINDINGS, accepted={"contacts.iron": ACCEPTANCE})


def test_what_is_unknown_stops_like_what_fails_unless_only_the_site_can_settle_it(room, tmp_path):
    unknown = replace(FINDINGS[0], id="making.iron", verdict=Verdict.UNKNOWN, change=(),
                      assumptions=(Assumption("load.iron.inrush", "130 A", "the job does not say", "the line \"inrush current\" of its sheet"),))
    on_site = replace(unknown, id="trip.iron", on_site=True)
    no_harm = replace(unknown, id="endurance.iron", safety=False)
    assert [one.id for one in refusals((unknown, on_site, no_harm), {})] == ["making.iron"]
    assert refusals((unknown,), {"making.iron": ACCEPTANCE}) == ()
    with pytest.raises(Refused) as error:
        write_bundle(tmp_path / "room", room, {}, findings=(*FINDINGS, unknown), accepted={})
    assert str(error.value).startswith(
        "no bundle: 2 safety checks fail and 1 safety check is unknown, and nobody answers for them\n")
    assert ('  unknown  Does contacts.iron hold?  [making.iron]\n'
            '         Change: settle load.iron.inrush: the line "inrush current" of its sheet\n') in str(error.value)


def test_an_acceptance_lets_it_pass_and_is_in_the_manifest(room, tmp_path):
    accepted = {"contacts.iron": ACCEPTANCE, "protection.iron": ACCEPTANCE, "never.failed": ACCEPTANCE}
    manifest = write_bundle(tmp_path / "room", room, {}, findings=FINDINGS, accepted=accepted)
    assert set(manifest.accepted) == {"contacts.iron", "protection.iron"}
    assert verify(tmp_path / "room").accepted["contacts.iron"] == {
        "reason": "Bench only, extra-low voltage", "by": "A. Maker (invented)", "date": "2026-11-25"}


# Whole or not there.

@pytest.mark.parametrize("step", ["compile_modules", "file_digests", "_put_in_place"])
@pytest.mark.parametrize("is_there", [True, False], ids=["over a former bundle", "in a new place"])
def test_an_interruption_leaves_the_former_bundle_or_none(room, tmp_path, monkeypatch, step, is_there):
    folder = tmp_path / "room"
    if is_there:
        write_bundle(folder, room, {}, findings=(), accepted={})
    before = content(tmp_path)
    healthy = getattr(writing, step)

    def interrupted(*given):
        if step == "compile_modules":
            healthy(*given)
        raise KeyboardInterrupt

    monkeypatch.setattr(writing, step, interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_bundle(folder, room | {"save_ms": 1}, {}, findings=(), accepted={})
    assert content(tmp_path) == before
    assert folder.exists() == is_there


def test_an_interruption_between_the_two_renames_puts_the_former_bundle_back(room, bundle, tmp_path, monkeypatch):
    before, rename = content(tmp_path), writing.Path.rename

    def interrupted(path, target):
        if path.name == "bundle":
            raise KeyboardInterrupt
        return rename(path, target)

    monkeypatch.setattr(writing.Path, "rename", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_bundle(bundle, room | {"save_ms": 1}, {}, findings=(), accepted={})
    monkeypatch.undo()
    assert content(tmp_path) == before


def test_what_a_killed_run_left_aside_is_put_back_by_the_next(room, bundle, tmp_path):
    bundle.rename(tmp_path / ".room.before")
    write_bundle(bundle, room | {"save_ms": 1}, {}, findings=(), accepted={})
    verify(bundle)
    assert [path.name for path in tmp_path.iterdir()] == ["room"]


def test_a_folder_that_is_no_bundle_is_left_alone(room, tmp_path):
    (tmp_path / "letters").mkdir()
    (tmp_path / "letters" / "one.txt").write_text("dear")
    with pytest.raises(BundleError, match="exists and is no bundle: it holds no manifest.json; choose another folder$"):
        write_bundle(tmp_path / "letters", room, {}, findings=(), accepted={})
    assert content(tmp_path) == {"letters/one.txt": b"dear"}


def test_a_module_that_does_not_compile_is_named(room, tmp_path):
    core = tmp_path / "core"
    shutil.copytree(CORE, core, ignore=shutil.ignore_patterns("__pycache__"))
    (core / "cells.py").write_text("def broken(:\n")
    with pytest.raises(CompilerError, match=r"^core/cells.py does not compile for the board: SyntaxError: "):
        write_bundle(tmp_path / "room", room, {}, findings=(), accepted={}, core=core_files(core))
    assert not (tmp_path / "room").exists()


# Tampering.

def test_a_bundle_as_written_verifies(written):
    assert verify(written[0]) == written[1]


def test_one_changed_byte_in_any_file_is_named(bundle):
    for name, code in content(bundle).items():
        (bundle / name).write_bytes(code[:-2] + bytes([code[-2] ^ 1]) + code[-1:])
        with pytest.raises(Damaged, match=f"{name}.* (differs|cannot be read)"):
            verify(bundle)
        (bundle / name).write_bytes(code)
    verify(bundle)


def test_a_missing_file_and_one_too_many_are_named(bundle):
    (bundle / "core" / "feedback.mpy").unlink()
    (bundle / "core" / "more.mpy").write_bytes(b"M")
    with pytest.raises(Damaged, match="core/feedback.mpy is missing; core/more.mpy is not in the manifest$"):
        verify(bundle)


def test_a_changed_manifest_is_found_by_its_own_digest(bundle):
    manifest = bundle / "manifest.json"
    manifest.write_text(manifest.read_text("utf-8").replace("none: a test", "another board"), "utf-8")
    with pytest.raises(Damaged, match=r"^manifest.json differs: its digest is not that of its entries$"):
        verify(bundle)
    with pytest.raises(BundleError, match="is no bundle: it holds no manifest.json$"):
        verify(bundle / "core")


# It runs, alone.

def test_under_micropython_from_its_folder_it_answers_a_whole_day_as_the_core_does_here(room, written):
    names = Names.of(room)
    day = live(room, names, scripted(room)[0], title="Scripted day", seed="bundle")
    assert len(day.log) > 150
    answers = run_bundle(written[0], [entry.question() for entry in day.fed()])
    assert list(answers) == [entry.answer() for entry in day.fed()]


def test_a_bundle_of_another_plan_answers_otherwise(room, tmp_path):
    """The comparison above can fail."""
    names = Names.of(room)
    day = live(room, names, scripted(room)[0], title="Scripted day", seed="bundle")
    room = room | {"save_ms": room["save_ms"] + 1}
    write_bundle(tmp_path / "other", room, {}, findings=(), accepted={})
    answers = run_bundle(tmp_path / "other", [entry.question() for entry in day.fed()])
    assert list(answers) != [entry.answer() for entry in day.fed()]
    assert Plan(room).save_ms == 5001


RULES = [dict(channel=3, limit_ms=1_800_000, stay_ms=0, renews=0, wall_only=1, limit_rule=0, stay_rule=0), dict(channel=1, limit_ms=7_200_000, stay_ms=60_000, renews=1, wall_only=0, limit_rule=1, stay_rule=2)]


def test_rules_are_carried_where_the_plan_has_some_and_answer_there_as_here(room, written, tmp_path):
    table = room | {"rules": RULES}
    write_bundle(tmp_path / "ruled", table, {}, findings=(), accepted={})
    assert (tmp_path / "ruled" / "core" / "rules.mpy").is_file() and not (written[0] / "core" / "rules.mpy").exists()
    day = rehearse(table, seed=2, days=1, micropython=False).days[1]
    assert any(told[2] >= RULED for entry in day.log for told in entry.told or ())
    assert run_bundle(tmp_path / "ruled", [entry.question() for entry in day.fed()]) == tuple(entry.answer() for entry in day.fed())
    loaded = "import core, json, sys\ncore.Plan(json.load(open('plan.json')))\nprint('core.rules' in sys.modules)"
    assert [run(loaded, folder=folder)[-1] for folder in (tmp_path / "ruled", written[0])] == ["True", "False"]


def test_presses_told_apart_are_carried_where_the_plan_has_some_and_answer_there_as_here(room, written, tmp_path):
    """Of the room's switches one is held and pressed twice, one held only."""
    table = room | {"presses": [dict(switch=1, held=[[2, OFF, 0]], held_ms=800, twice=[[1, ON, 0]], again_ms=400),
                                dict(switch=3, held=[[2, ON, 0]], held_ms=800, twice=[], again_ms=0)]}
    write_bundle(tmp_path / "pressed", table, {}, findings=(), accepted={})
    assert (tmp_path / "pressed" / "core" / "presses.mpy").is_file() and not (written[0] / "core" / "presses.mpy").exists()
    day = rehearse(table, seed=2, days=1, micropython=False).days[0]
    assert {"Bed side, held", "Bed side, pressed twice", "Leaving, held"} <= {user_action.name for user_action in day.user_actions if user_action.outcome == "acted"}
    assert run_bundle(tmp_path / "pressed", [entry.question() for entry in day.fed()]) == tuple(entry.answer() for entry in day.fed())
    loaded = "import core, json, sys\ncore.Plan(json.load(open('plan.json')))\nprint('core.presses' in sys.modules)"
    assert [run(loaded, folder=folder)[-1] for folder in (tmp_path / "pressed", written[0])] == ["True", "False"]


def test_it_checks_itself_as_it_will_on_the_board(written):
    folder, manifest = written
    said = self_check(folder)
    assert said[0] == f"bundle {manifest.digest}"
    assert said[1] == f"program and plan {manifest.program}"
    assert said[2] == f"files as in the manifest: {len(manifest.files)}"
    assert said[3].endswith("relays closed then: 100000")      # the fridge alone: nothing was saved
    assert said[4] == "not checked: pins, relays, wiring"


def test_its_own_check_names_a_changed_file_and_one_too_many_and_stops(bundle):
    plan = bundle / "plan.json"
    plan.write_bytes(plan.read_bytes().replace(b"5000", b"5001"))
    (bundle / "core" / "more.py").write_text("")
    with pytest.raises(InterpreterError, match="differs from the manifest: core/more.py$"):
        self_check(bundle)
    (bundle / "core" / "more.py").unlink()
    with pytest.raises(InterpreterError, match="differs from the manifest: plan.json$"):
        self_check(bundle)
    with pytest.raises(Damaged, match="plan.json differs$"):
        run_bundle(bundle, [])


# The remote.

DECODER = "from decoder_test.infrared.decoder import Decoder as D\nprint(D({}).feed(-20000))"


@pytest.mark.parametrize("protocol, more", [
    (1, set()), (8, {"biphase.mpy", "biphase_reading.mpy"}), (20, {"fallback.mpy"}),     # nec, rc5, hash
])
def test_of_the_decoder_it_holds_what_the_buttons_need_and_that_loads(room, tmp_path, protocol, more):
    button = {"key": "x", "name": "x", "protocol": protocol, "address": 1, "command": 1, "acts": []}
    folder = tmp_path / "decoder_test"
    write_bundle(folder, room | {"buttons": [button]}, {"title": "x", "board": "none"}, findings=(), accepted={})
    found = {path.name for path in (folder / "infrared").iterdir()}
    assert found & {"biphase.mpy", "biphase_reading.mpy", "fallback.mpy"} == more
    assert run(in_bundle_words(DECODER, "Decoder", "feed").format([protocol]), folder=tmp_path) == ("0",)
    if not more:
        with pytest.raises(InterpreterError, match="biphase_reading"):
            run(in_bundle_words(DECODER, "Decoder", "feed").format([8]), folder=tmp_path)


def test_the_set_up_access_point_is_carried_only_where_a_switch_opens_it(room, tmp_path):
    for facts, is_there in ((FACTS, False), (FACTS | {"setup_switch": room["switches"][0]["key"]}, True)):
        write_bundle(tmp_path / str(is_there), room, facts, findings=(), accepted={})
        assert (tmp_path / str(is_there) / "network" / "setup.mpy").exists() is is_there


@pytest.mark.parametrize("port, is_carried", [("rp2", True), ("esp32", False), ("", False), (None, True)])
def test_the_driver_of_a_state_machine_goes_only_to_boards_that_have_one(port, is_carried):
    assert ("drivers/infrared_machine" in modules(core_files(), port=port)) == is_carried
    assert "drivers/infrared_capture" in modules(core_files(), port=port)       # taken when somebody else has the machine
