"""Start and the two slots: relays open first, crashes end in the minimal program, a bad new program never stays."""

import json
import sys
from hashlib import sha256
from itertools import product

import pytest

from pattress import interpreter
from pattress.controller import main, start
from pattress.controller.digest import CORE
from pattress.controller.filling import accept, clear, promoting
from pattress.controller.start import FULL, FULL_TRIES, MINIMAL, MINIMAL_TRIES, NAMES, SAGS, Slots, choose

from .drivers.simulated import Board, Clock

FIRST = {"slot": "a", "trial": False, "tries": 0, "sags": 0, "returns": 0, "starts": 0, "fell_back": False, "joins": False, "ended": ""}


# The choice, for every record.

RECORDS = [
    FIRST | dict(slot=slot, trial=trial, tries=tries)
    for slot, trial, tries in product(NAMES, (False, True), range(FULL_TRIES + MINIMAL_TRIES + 2))]


@pytest.mark.parametrize("whole", [[], ["a"], ["b"], ["a", "b"]], ids=lambda whole: "".join(whole) or "none")
def test_a_whole_slot_is_chosen_whenever_there_is_one(whole):
    for record in RECORDS:
        slot, program, after = choose(record, whole)
        assert (slot in whole) if whole else slot is None
        if slot:
            assert after["slot"] == slot and after["tries"] >= 1 and after["starts"] == 1


def starts(record, whole, count):
    """Return (slot, program) of so many starts, none of which reports healthy."""
    found = []
    for _ in range(count):
        slot, program, record = choose(record, whole)
        found.append((slot, program))
    return found, record


def test_crashes_lead_to_the_minimal_program_then_to_that_of_the_other_slot():
    found, _ = starts(FIRST, ["a", "b"], 12)
    assert found == [("a", FULL)] * 3 + [("a", MINIMAL)] * 3 + [("b", MINIMAL)] * 3 + [("a", MINIMAL)] * 3
    assert starts(FIRST, ["a"], 9)[0] == [("a", FULL)] * 3 + [("a", MINIMAL)] * 6


def cuts(record, whole, steady):
    """Return the programs of starts after power cuts; `steady` says of each life whether its supply was found steady."""
    found = []
    for is_steady in steady:
        _, program, record = choose(record, whole, is_power_up=True)
        found.append(program)
        if is_steady:
            record["sags"] = 0
    return found, record


def test_power_cuts_are_no_crashes_however_many():
    found, record = cuts(FIRST, ["a", "b"], [True] * 50)
    assert found == [FULL] * 50 and record["tries"] == 1 and record["starts"] == 50
    found, record = cuts(FIRST | dict(tries=FULL_TRIES), ["a"], [True] * 5)         # nor do they crash a third time
    assert found == [FULL] * 5


def test_three_sags_in_a_row_and_no_fewer_are_a_fault_of_the_supply():
    for steady in product((False, True), repeat=5):
        found, _ = cuts(FIRST, ["a"], [*steady, True])
        for number, program in enumerate(found):
            assert (program == MINIMAL) == (number >= SAGS and not any(steady[number - SAGS:number])
                                            or number > SAGS and found[number - 1] == MINIMAL and not steady[number - 1])


def test_a_crash_between_is_no_sag():
    record = FIRST
    for _ in range(2):
        record = choose(record, ["a"], is_power_up=True)[2]
    record = choose(record, ["a"])[2]                   # the second life crashed
    assert record["sags"] == 2 and record["tries"] == 2


def test_a_program_on_trial_is_tried_again_after_a_cut_and_given_up_when_the_supply_goes_by_it():
    found = []
    record = FIRST | dict(slot="b", trial=True)
    for _ in range(5):
        slot, program, record = choose(record, ["a", "b"], is_power_up=True)
        found.append((slot, program))
    assert found == [("b", FULL)] * 3 + [("a", FULL)] * 2 and record["fell_back"]


@pytest.mark.parametrize("tries, sags, is_power_up, kept", [(3, 0, False, 4), (3, 0, True, 0), (0, 3, True, 4), (0, 0, False, 0), (0, 2, True, 0)])
def test_how_often_the_full_program_was_tried_in_vain_is_forgotten_when_it_has_lived_or_a_person_cut_the_power(tries, sags, is_power_up, kept):
    record = FIRST | dict(tries=tries, sags=sags, returns=4)
    assert choose(record, ["a"], is_power_up)[2]["returns"] == kept


def test_a_program_on_trial_gets_one_start():
    found, record = starts(FIRST | dict(slot="b", trial=True), ["a", "b"], 3)
    assert found == [("b", FULL), ("a", FULL), ("a", FULL)]
    assert record["fell_back"] and not record["trial"]


def test_on_trial_without_another_program_it_stays():
    assert starts(FIRST | dict(slot="b", trial=True), ["b"], 4)[0] == [("b", FULL)] * 3 + [("b", MINIMAL)]


# The record.

def test_a_lost_or_strange_record_means_slot_a(tmp_path):
    slots = Slots(str(tmp_path))
    for content in (None, "", "{", "[1]", "null", '{"slot": "c", "trial": 1, "tries": "x"}', '{"slot": 7}'):
        if content is not None:
            (tmp_path / "start.json").write_text(content)
        assert slots.record() == FIRST
    slots.note(FIRST | dict(slot="b", tries=2))
    assert slots.record() == FIRST | dict(slot="b", tries=2)
    assert [path.name for path in tmp_path.iterdir()] == ["start.json"]


def test_a_record_of_an_older_start_is_read_as_far_as_it_goes(tmp_path):
    (tmp_path / "start.json").write_text('{"slot": "b", "trial": true, "tries": 1, "starts": 9, "fell_back": false}')
    assert Slots(str(tmp_path)).record() == FIRST | dict(slot="b", trial=True, tries=1, starts=9)


def test_that_a_program_must_join_the_network_lasts_until_it_is_healthy(tmp_path):
    slots = Slots(str(tmp_path))
    slots.note(FIRST)
    (tmp_path / "a").mkdir()
    (tmp_path / "a" / "manifest.new").touch()
    for _ in promoting(slots, "a", True):
        pass
    assert choose(slots.record(), ["a", "b"])[2]["joins"]
    slots.healthy()
    assert not slots.record()["joins"]


@pytest.mark.parametrize("tries", [1, FULL_TRIES, FULL_TRIES + 1])
def test_healthy_forgets_crashes_but_not_what_the_supply_has_done(tmp_path, tries):
    slots = Slots(str(tmp_path))
    slots.note(FIRST | dict(slot="b", trial=True, tries=tries, sags=2))
    assert slots.healthy() and slots.record() == FIRST | dict(slot="b", sags=2)


def test_a_record_that_the_flash_does_not_keep_raises_nothing_and_is_counted(tmp_path):
    slots = Slots(str(tmp_path))
    assert slots.keep(FIRST) and not slots.failed
    (tmp_path / "start.new").mkdir()
    assert not slots.keep({"tries": 2}) and not slots.healthy()
    slots.ended(ValueError("seeded"))
    assert slots.failed == 3 and slots.record() == FIRST


def test_a_record_that_was_lost_without_a_word_counts_as_not_kept(tmp_path, monkeypatch):
    slots = Slots(str(tmp_path))
    monkeypatch.setattr(start.os, "rename", lambda *names: None)
    assert not slots.keep({"tries": 2})


# The start.

RELAYS = dict(relays=[3, 4, 9], relay_level=1)
PROGRAM = """
def run(site):
    site.machine.log.append((site.slot, {name!r}, [site.machine.level[pin] for pin in (3, 4, 9)]))
    {act}
"""


class Machine(Board):
    """The interpreter's `machine`, simulated; `log` is what happened, `cause` why it started."""

    PWRON_RESET, WDT_RESET = 1, 3

    def __init__(self, cause=WDT_RESET):
        super().__init__(Clock())
        self.cause = cause
        self.log, machine = [], self
        self.timers = (-1,)

        class WDT:
            def __init__(self, timeout):
                machine.log.append(("watchdog", timeout))

            def feed(self):
                machine.log.append("fed")

        class Timer:
            PERIODIC = 1

            def __init__(self, number, period, mode, callback):
                if number not in machine.timers:
                    raise ValueError("no such timer")
                machine.log.append(("timer", period))
                machine.timer = callback

        self.WDT, self.Timer = WDT, Timer

    def reset(self):
        self.log.append("reset")

    def reset_cause(self):
        return self.cause


@pytest.fixture()
def flash(tmp_path, monkeypatch):
    """Return a writer of toy slots on a flash of its own."""
    monkeypatch.setattr(sys, "path", list(sys.path))
    monkeypatch.setattr(sys, "dont_write_bytecode", True)

    def write(slot, act="pass", board=RELAYS):
        folder = tmp_path / slot
        folder.mkdir(exist_ok=True)
        for name in (FULL, MINIMAL):
            (folder / f"{name}.py").write_text(PROGRAM.format(name=name, act=act))
        (folder / "board.json").write_text(json.dumps(board) if board else "{")
        (folder / "main.py").write_text((CORE.parent / "main.py").read_text())
        files = {path.name: sha256(path.read_bytes()).hexdigest() for path in folder.iterdir() if not path.name.startswith("manifest")}
        (folder / "manifest.json").write_text(json.dumps({"files": files}))
        return folder

    write.root = str(tmp_path)
    yield write
    forget()


def forget():
    """Let the next start import anew, as after a reset."""
    import importlib

    importlib.invalidate_caches()
    for name in [name for name in sys.modules if name.split(".")[0] in NAMES]:
        del sys.modules[name]


def started(root, cause=Machine.WDT_RESET):
    """Return the machine after a start. The life before ended by itself, unless the `cause` is a power-up."""
    forget()
    machine = Machine(cause)
    start.run(root, machine)
    return machine


def power_up(root):
    return started(root, Machine.PWRON_RESET)


def test_relays_are_driven_open_before_anything_of_a_slot_is_imported(flash):
    flash("a")
    (machine_log := flash.root)
    machine = power_up(machine_log)
    assert [row[1:] for row in machine.driven] == [(3, 0), (4, 0), (9, 0)]
    assert machine.log == [("watchdog", start.WATCHDOG_MS), ("a", FULL, [0, 0, 0]), "reset"]
    flash("a", board=RELAYS | dict(relay_level=0))
    assert [row[1:] for row in power_up(flash.root).driven] == [(3, 1), (4, 1), (9, 1)]


@pytest.mark.parametrize("cause, runs", [(Machine.PWRON_RESET, [FULL]), (Machine.WDT_RESET, [MINIMAL, FULL])], ids=["power", "watchdog"])
def test_without_a_record_the_minimal_program_comes_first_after_anything_but_a_power_up(flash, tmp_path, cause, runs):
    flash("a")
    (tmp_path / "start.new").mkdir()
    assert [row[1] for row in started(flash.root, cause).log[1:-1]] == runs


def test_a_module_that_cannot_even_be_imported_leaves_the_relays_open(flash, capsys):
    (flash("a") / "full.py").write_text("import nothing_of_this_name")
    machine = power_up(flash.root)
    assert machine.level == {3: 0, 4: 0, 9: 0} and machine.log[-1] == "reset"
    assert "nothing_of_this_name" in capsys.readouterr().out


def test_a_program_that_crashes_with_relays_closed_opens_them_and_ends_in_the_minimal_one(flash, capsys):
    flash("a", act="site.machine.drive(4, 1); raise ValueError('seeded')")
    seen = []
    for _ in range(5):
        machine = started(flash.root)
        assert machine.level[4] == 0 and machine.log[-1] == "reset"
        seen.append(machine.log[1][1])
    assert seen == [FULL] * 3 + [MINIMAL] * 2
    assert "ValueError seeded" in capsys.readouterr().out
    assert Slots(flash.root).record()["ended"] == "ValueError: seeded"


def test_memory_that_does_not_suffice_to_say_how_a_program_ended_does_not_keep_the_board_from_starting_anew(flash, monkeypatch, capsys):
    flash("a", act="raise ValueError('seeded')")
    monkeypatch.setattr(Slots, "keep", lambda slots, changes: (_ for _ in ()).throw(MemoryError) if "ended" in changes and len(changes) == 1 else True)
    assert power_up(flash.root).log[-1] == "reset"
    assert "ValueError seeded" in capsys.readouterr().out


def test_a_slot_whose_board_table_is_lost_gives_way_to_the_other(flash):
    flash("a", board=None)
    flash("b")
    logs = [started(flash.root).log for _ in range(FULL_TRIES + MINIMAL_TRIES + 1)]
    assert logs[0] == ["reset"] and logs[-1][1][:2] == ("b", MINIMAL)


def test_an_empty_board_says_so(flash, capsys):
    assert power_up(flash.root).log == []
    assert capsys.readouterr().out == "no program on this board\n"


def test_a_person_at_the_console_finds_open_relays_and_a_fed_watchdog(flash):
    flash("a", act="site.machine.drive(4, 1); raise KeyboardInterrupt")
    machine = power_up(flash.root)
    assert machine.level == {3: 0, 4: 0, 9: 0} and "reset" not in machine.log
    assert machine.log[-2:] == ["fed", ("timer", start.WATCHDOG_MS // 4)]
    machine.timer(None)
    assert machine.log[-1] == "fed"


def test_where_timers_are_numbered_from_nought_the_watchdog_is_fed_too():
    machine = Machine()
    machine.timers = (0, 1, 2, 3)
    start.stay(machine, machine.WDT(timeout=8000))
    assert machine.log[-2:] == ["fed", ("timer", start.WATCHDOG_MS // 4)]


# A new program.

def put(flash, act="pass"):
    """Put a new program on the board as the workbench does."""
    forget()
    slots = Slots(flash.root)
    slot = clear(slots)
    folder = flash(slot, act)
    (folder / "manifest.json").rename(folder / "manifest.new")
    accept(slots, slot)
    return slot


def test_a_new_program_runs_on_trial_and_stays_when_it_reports_healthy(flash):
    assert put(flash) == "a"                    # the first
    assert put(flash, "site.slots.healthy()") == "b"
    assert Slots(flash.root).record()["trial"]
    assert [power_up(flash.root).log[1][0] for _ in range(3)] == ["b"] * 3
    assert put(flash) == "a"


def test_a_new_program_that_does_not_report_healthy_gives_way_to_the_former(flash):
    put(flash, "site.slots.healthy()")
    started(flash.root)
    put(flash)
    assert [started(flash.root).log[1][0] for _ in range(3)] == ["b", "a", "a"]
    assert Slots(flash.root).record()["fell_back"]
    assert put(flash) == "b"                    # and the next one goes where the bad one was


def test_a_file_that_arrived_changed_is_named_and_the_present_program_stays(flash):
    put(flash, "site.slots.healthy()")
    slots = Slots(flash.root)
    slot = clear(slots)
    folder = flash(slot)
    (folder / "manifest.json").rename(folder / "manifest.new")
    (folder / "board.json").write_text("{}")
    (folder / "left over.py").write_text("of an earlier program")
    with pytest.raises(ValueError, match="^not as in the manifest: board.json$"):
        accept(slots, slot)
    assert power_up(flash.root).log[1][0] == "a"
    assert not (folder / "left over.py").exists()


def test_the_check_of_a_folder_names_what_differs(tmp_path):
    (tmp_path / "core").mkdir()
    (tmp_path / "core" / "one.py").write_text("1")
    (tmp_path / "two.py").write_text("2")
    files = {"core/one.py": sha256(b"1").hexdigest(), "gone.py": "", "two.py": sha256(b"3").hexdigest()}
    assert main.lying(str(tmp_path)) == ["core/one.py", "two.py"]
    (tmp_path / "core" / "more.py").write_text("")
    assert main.differing({"files": files | {"gone.py": "00"}}, str(tmp_path)) == ["gone.py", "two.py", "core/more.py"]


PUTTING = (CORE.parents[3] / "tests" / "controller" / "drivers" / "putting.py")


def test_power_cut_at_every_flash_operation_of_a_transfer_leaves_the_old_program_or_the_new():
    """On littlefs2, from the first byte of the new program to its healthy report."""
    program = PUTTING.read_text("utf-8").replace("DRIVERS", repr(str(PUTTING.parent)))
    said = interpreter.run(program, folder=CORE.parent)
    cuts, olds, news, others = (int(word) for word in said[-1].split())
    assert cuts > 120 and olds > 50 and news > 5 and others == 0
    careless = interpreter.run(program.replace("CARELESS = False", "CARELESS = True"), folder=CORE.parent)
    assert int(careless[-1].split()[3]) > 0     # a transfer that points the record at what has not arrived is found out
