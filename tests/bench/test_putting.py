"""A bundle put on a board over a serial port: only what changed, read back, and never without a program that starts.

The board is simulated behind a pseudo-terminal (`board_on_pty.py`): a real console, a real file
system, no chip. The bundles are toys but for their start, which is the real one.
"""

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from pattress import interpreter
from pattress.bench.errors import LinkError, NotTaken, WrongBoard
from pattress.bench.link import AGENT, Link
from pattress.bench.putting import Putting, fitting, put
from pattress.bundle.errors import Damaged
from pattress.cli import main

from .board_on_pty import BoardOnPty, restarted_after, wait_until
from .toys import toy

BOARD = {"interpreter": "micropython", "version": [1, 29, 0], "mpy": 2822, "machine": "Simulated board with RP2040", "free": 900_000,
         "file_system": "VfsLfs2"}


@pytest.fixture()
def board(tmp_path):
    with BoardOnPty(tmp_path) as board:
        yield board


def on(board, folder, told=lambda line: None, **given):
    with restarted_after(board), Link(board.port, told=told) as link:
        return put(link, folder, chip="RP2040", **given)


def started(board):
    """Return the number of the program that started last, waiting for it, None when none did."""
    wait_until(lambda: len(re.findall(rb"program (\d) [ab]\r?\n", board.said)) >= board.lives - 1)
    found = re.findall(rb"program (\d) [ab]\r?\n", board.said)
    assert found, board.said
    return int(found[-1])


def lying(board):
    """Return every file of the board with its digest, but for the record of its starts."""
    with restarted_after(board), Link(board.port) as link:
        found = dict(json.loads(line) for line in link.run("digests('')").splitlines())
    return {name: digest for name, digest in found.items() if name not in ("start.json", "start.new")}


def ways(done):
    return {step.path: step.how for step in done.steps}


# What is sent.

def test_an_empty_board_gets_everything_checks_it_and_starts_it(board, tmp_path):
    done = on(board, toy(tmp_path / "one", 1), settings=b'{"wifi":null}', sequence=7)
    assert done.slot == "a" and done.is_done and set(ways(done).values()) == {"send"}
    assert done.check[0] == f"bundle {done.bundle}" and done.check[-1] == "not checked: pins, relays, wiring"
    assert started(board) == 1
    with restarted_after(board), Link(board.port) as link:
        said = link.run("print(open('/network.json').read(), [open(place).read() for place in PLACES], sorted(os.listdir('/')))")
    assert said.split("\r\n")[0].strip() == \
        """{"wifi":null} ['7 1790921346', '7 1790921346'] """ \
        """['a', 'main.py', 'network.json', 'sequence.0', 'sequence.1', 'start.json', 'start.mpy']"""


def test_only_what_changed_is_sent_and_the_rest_copied_on_the_board(board, tmp_path):
    on(board, toy(tmp_path / "one", 1))
    assert started(board) == 1
    done = on(board, toy(tmp_path / "two", 2))
    assert {path for path, how in ways(done).items() if how == "send"} == {"/b/full.mpy", "/b/minimal.mpy", "/b/plan.json"}
    assert ways(done)["/b/main.py"] == "copy" and ways(done)["/start.mpy"] == "keep"
    assert started(board) == 2
    done = on(board, toy(tmp_path / "three", 3))
    assert ways(done)["/a/main.py"] == "keep" and done.slot == "a"
    assert started(board) == 3


def test_a_bundle_that_runs_already_is_not_sent_again(board, tmp_path):
    folder = toy(tmp_path / "one", 1)
    on(board, folder)
    assert started(board) == 1
    done = on(board, folder)
    assert done.slot is None and done.sent == 0 and done.is_done and started(board) == 1


def test_the_sequence_rises_with_every_put_and_never_goes_back(board, tmp_path):
    folder = toy(tmp_path / "one", 1)
    for given, kept in ((50, 50), (60, 60), (40, 60)):      # the second and third time the board has this bundle already
        on(board, folder, sequence=given)
        with restarted_after(board), Link(board.port) as link:
            assert json.loads(link.run("print(json.dumps([held(place) for place in PLACES]))")) == [kept, kept]
            link.run("os.remove(PLACES[0])")                # and what is lost is there again


def test_a_program_that_came_over_the_network_and_did_not_start_yet_gives_way_not_the_proven_one(board, tmp_path):
    on(board, toy(tmp_path / "one", 1))
    assert started(board) == 1
    with restarted_after(board), Link(board.port) as link:       # as if it had just come, and the restart was still to be
        link.run("import start\nslots = start.Slots()\nos.mkdir('/b')\ncopy('/a/manifest.json', '/b/manifest.json')")
        link.run("slots.note(dict(slots.record(), slot='b', trial=True, tries=0))")
        said = [json.loads(link.run(line)) for line in ("state()", "ready()")]
        said.append(json.loads(link.run("print(json.dumps([slots.whole(), slots.record()['slot']]))")))
    assert said[0]["idle"] == said[1] == "b" and said[0]["stays"] == "a" and said[2] == [["a"], "a"]
    assert started(board) == 1


def test_a_dry_run_lists_and_changes_nothing(board, tmp_path):
    on(board, toy(tmp_path / "one", 1))
    started(board)
    before = lying(board)
    done = on(board, toy(tmp_path / "two", 2), dry=True, sequence=9)
    assert not done.is_done and done.sent > 0
    assert lying(board) == before and started(board) == 1


def test_settings_without_a_wifi_keep_the_one_that_was_set_at_the_switch(board, tmp_path):
    on(board, toy(tmp_path / "one", 1), settings=b'{"wifi":{"ssid":"home (invented)","key":"invented key"}}')
    started(board)
    on(board, toy(tmp_path / "two", 2), settings=b'{"wifi":null,"name":"hall"}')
    with restarted_after(board), Link(board.port) as link:
        said = json.loads(link.run("print(open('/network.json').read())"))
    assert said == {"wifi": {"ssid": "home (invented)", "key": "invented key"}, "name": "hall"}


def test_a_program_that_crashes_on_trial_gives_way_to_the_former(board, tmp_path):
    on(board, toy(tmp_path / "one", 1))
    assert started(board) == 1
    on(board, toy(tmp_path / "two", 2, healthy=False))
    assert wait_until(lambda: b"program 1 a" in board.said.partition(b"program 2 b")[2])


def test_a_flash_that_keeps_no_record_of_starts_does_not_keep_the_workbench_out(board, tmp_path):
    on(board, toy(tmp_path / "one", 1))
    with restarted_after(board), Link(board.port) as link:
        link.run("import json\nfile = open('/start.json', 'w'); json.dump({'tries': 2}, file); file.close()")
        link.run("import os\nos.mkdir('/start.new')")          # nothing can be written there
    with restarted_after(board), Link(board.port) as link:
        assert "start.new" in link.run("print(os.listdir('/'))")


def test_when_a_home_is_handed_over_nothing_is_left_on_the_board_and_another_can_begin_with_it(board, tmp_path):
    """The command itself, with a job of its own: keys, program and states go, and the relays are open."""
    on(board, toy(tmp_path / "one", 1), settings=b'{"wifi":{"ssid":"home (invented)","key":"invented key"}}', sequence=7)
    started(board)
    (tmp_path / "home.toml").write_bytes(Path("examples/landing/job.toml").read_bytes())
    done = CliRunner().invoke(main, ["handover", str(tmp_path / "home.toml"), "--delete-personal-data", "--out", str(tmp_path / "out"), "--port", board.port, "--yes"])
    assert done.exit_code == 0, done.output
    assert f"  the board at {board.port}: everything on its flash" in done.stdout and re.search(rf"Deleted: \d+ files on the board at {board.port}", done.stdout)
    with Link(board.port) as link:
        assert json.loads(link.run("import json\nprint(json.dumps(os.listdir('/')))")) == []
    on(board, toy(tmp_path / "two", 2))
    assert started(board) == 2


# What is refused.

def test_a_board_that_is_another_is_named_with_what_is_allowed():
    fitting(BOARD, chip="RP2040", mpy=6)
    fitting(BOARD | {"machine": "Simulated board with ESP32C3"}, chip="ESP32-C3", mpy=6)
    for change, says in [
        ({"machine": "Simulated board with RP2350"},
         "the board says it is 'Simulated board with RP2350'\n  allowed: one with RP2040, as the job's board has"),
        ({"version": [1, 22, 2]}, "the board runs micropython 1.22.2\n  allowed: micropython 1.23 or newer"),
        ({"mpy": 2821}, "the board loads modules of version 5\n  allowed: 6, as the bundle is compiled"),
        ({"file_system": "VfsFat"}, "the board's file system is VfsFat\n  allowed: VfsLfs2: only there a file takes the place of another "
                                    "in one operation"),
    ]:
        with pytest.raises(WrongBoard) as refused:
            fitting(BOARD | change, chip="RP2040", mpy=6)
        assert str(refused.value) == says


@pytest.mark.parametrize("machine, version, named", [
    ("Raspberry Pi Pico W with RP2040", (1, 25, 0), True),
    ("Raspberry Pi Pico W with RP2040", (1, 26, 1), False),
    ("Generic ESP32C3 module with ESP32C3", (1, 25, 0), False),      # none of its versions has such an interrupt
])
def test_an_interpreter_without_an_interrupt_for_the_switch_is_named(machine, version, named):
    done = Putting({"machine": machine, "version": list(version)}, "digest", "a", ())
    assert bool(done.advice) is named
    assert all("1.26 has: until then a switch may wait" in advice for advice in done.advice)


def test_another_board_is_refused_before_anything_is_changed(tmp_path):
    with BoardOnPty(tmp_path, chip="ESP32S3") as board:
        with Link(board.port):
            pass
        with pytest.raises(WrongBoard, match="Simulated board with ESP32S3"):
            on(board, toy(tmp_path / "one", 1))
        assert lying(board) == {}


def test_a_bundle_that_is_not_whole_is_refused(board, tmp_path):
    folder = toy(tmp_path / "one", 1)
    (folder / "plan.json").write_text("{}")
    with pytest.raises(Damaged, match=rf"^{re.escape(str(folder))} is not what its manifest says: plan\.json differs$"):
        on(board, folder)


def test_a_port_that_is_not_there_is_told(tmp_path):
    with pytest.raises(LinkError, match=r"^no interpreter answers at /dev/no-such-port: there is no such port\n  nearest: "):
        Link("/dev/no-such-port").__enter__()


def test_a_board_that_says_nothing_is_told(tmp_path):
    with BoardOnPty(tmp_path) as board:
        board.off()
        with pytest.raises(LinkError, match="^no interpreter answers at "):
            Link(board.port, wait=0).__enter__()


class Garbled(Link):
    """A link that changes one letter of one file's content on its way."""

    def run(self, line):
        return super().run(line.replace('part(\'eyJudW1iZXIiOj', 'part(\'eyJudW1iZXIiOg', 1))


def test_what_arrives_changed_is_found_by_reading_it_back_and_the_former_program_starts(board, tmp_path):
    on(board, toy(tmp_path / "one", 1))
    assert started(board) == 1
    with pytest.raises(NotTaken, match="^/b/plan.json did not arrive as sent; the former program still starts$"):
        with restarted_after(board), Garbled(board.port) as link:
            put(link, toy(tmp_path / "two", 2), chip="RP2040")
    assert started(board) == 1


def test_a_board_without_room_is_told_before_anything_is_changed(board, tmp_path):
    with pytest.raises(NotTaken, match=r"^the board has \d+ bytes of flash free\n  allowed: \d+ or more\n  change: remove files"):
        on(board, toy(tmp_path / "one", 1, long=2_000_000))
    assert b"program" not in board.said


def test_what_the_board_complains_of_is_told_in_its_own_words(board):
    with restarted_after(board), Link(board.port) as link, pytest.raises(NotTaken, match=r"says: ZeroDivisionError: divi"):
        link.run("1 / 0")


# Interrupted.

def lines_of(board, folder):
    lines = []
    on(board, folder, told=lines.append)
    return lines


def test_interrupted_by_a_person_before_any_line_the_board_restarts_with_the_former_program(tmp_path):
    old, new = toy(tmp_path / "one", 1), toy(tmp_path / "two", 2, start="MORE = 1\n")
    with BoardOnPty(tmp_path) as board:
        on(board, old)
        assert started(board) == 1
    before = board.flash.read_bytes()
    with BoardOnPty(tmp_path) as board:
        count = len(lines_of(board, new))
        assert started(board) == 2 and count > 20
    for stop in range(1, count, 6):
        board.flash.write_bytes(before)
        left = [stop]

        def told(line):
            left[0] -= 1
            if left[0] < 0:
                raise KeyboardInterrupt

        with BoardOnPty(tmp_path) as board:
            with pytest.raises(KeyboardInterrupt):
                on(board, new, told)
            assert wait_until(lambda: board.lives == 2) and started(board) == 1


def test_a_board_that_hears_nothing_any_more_restarts_by_itself(board, monkeypatch):
    """The timer that would ask is not there on a PC; what it asks is asked by hand, early and late."""
    monkeypatch.setattr("pattress.bench.link.ANSWER_S", 2.0)
    with Link(board.port) as link:
        link.run("watch()")
        assert board.lives == 1
        with pytest.raises(LinkError, match="^the link at .* was cut: "):
            link.run("PATIENCE_MS = -1\nwatch()")
    assert wait_until(lambda: board.lives > 1)


PLACES = 8


@pytest.fixture(scope="module")
def length(tmp_path_factory):
    """Return how many bytes go to the board when the second toy is put there."""
    folder = tmp_path_factory.mktemp("length")
    with BoardOnPty(folder) as board:
        on(board, toy(folder / "one", 1))
        started(board)
        before = board.carried
        on(board, toy(folder / "two", 2))
        return board.carried - before


@pytest.mark.parametrize("place", range(PLACES))
def test_pulled_out_anywhere_the_old_or_the_new_program_starts(tmp_path, length, place):
    old, new = toy(tmp_path / "one", 1), toy(tmp_path / "two", 2)
    with BoardOnPty(tmp_path) as board:
        on(board, old)
        assert started(board) == 1
        board.left = length * (place + 1) // (PLACES + 1)
        with pytest.raises((LinkError, NotTaken), match="^(the link at .* was cut: |no interpreter answers at |the board at .* says: )"):
            on(board, new)
    with BoardOnPty(tmp_path) as board:
        assert wait_until(lambda: b"program " in board.said)
        assert started(board) == 1


REPLAY = AGENT.parents[3] / "tests" / "bench" / "replay_cuts.py"


def replayed(lines, folder, every):
    """Return (cuts, old, new, others) when the power is cut among the flash operations of these lines."""
    program = REPLAY.read_text("utf-8").replace("CUTTING", repr(str(REPLAY.parents[1] / "controller" / "drivers")))
    return [int(word) for word in interpreter.run(program.replace("EVERY", str(every)), folder=folder, lines=map(json.dumps, lines))[-1].split()]


@pytest.fixture()
def said(board, tmp_path):
    """Return the lines that went over the link for the old program, and those for a new one with another start."""
    one, two = lines_of(board, toy(tmp_path / "one", 1)), []
    assert started(board) == 1
    on(board, toy(tmp_path / "two", 2, start="MORE = 1\n"), told=two.append)
    return [*one, "CUT FROM HERE"], two


def test_power_cut_among_the_flash_operations_leaves_the_old_program_or_the_new(said, tmp_path):
    """The lines that went over the link, said again to littlefs2 on a flash that is cut in the middle of operations."""
    one, two = said
    cuts, olds, news, others = replayed([*one, *two], tmp_path, 7)
    assert cuts > 15 and olds > 10 and news > 0 and others == 0
    place = two.index("begin('/start.mpy.new')")
    careless = [*two[:place], "os.remove('/start.mpy')", *two[place:]]
    assert replayed([*one, *careless], tmp_path, 10)[3] > 0      # one that removes before it writes is found out


@pytest.mark.soak
def test_power_cut_in_every_flash_operation_leaves_the_old_program_or_the_new(said, tmp_path):
    cuts, olds, news, others = replayed([*said[0], *said[1]], tmp_path, 1)
    assert cuts > 300 and olds > 200 and news > 10 and others == 0
