"""What the minimal program tells at the console, after real crashes of the full one, under the board's interpreter."""

from click.testing import CliRunner

from pattress.bench.link import Link
from pattress.bench.putting import put
from pattress.bench.report import asked
from pattress.bundle import write_bundle
from pattress.cli import main

from .board_on_pty import BoardOnPty, restarted_after, wait_until
from .test_carrying import room, wired

TRIES = 3       # of the full program


def test_after_crashes_the_minimal_program_says_that_it_runs_and_why(tmp_path):
    table = room()
    write_bundle(tmp_path / "one", table, wired(table), findings=(), accepted={})
    with BoardOnPty(tmp_path) as board:
        with restarted_after(board), Link(board.port) as link:
            put(link, tmp_path / "one", chip="RP2040")
        assert asked(board.port).state["program"] == "full"
        lives = board.lives
        with Link(board.port) as link:
            link.run("file = open('/a/full.mpy', 'wb'); file.write(b'rust'); file.close()")
            link.restart()
        assert wait_until(lambda: board.lives >= lives + 1 + TRIES, 60)
        found = asked(board.port)
        assert found.is_minimal and found.state["starts without a healthy report"] >= TRIES
        assert found.state["the program before ended"].startswith("ValueError: incompatible .mpy file")
        assert found.counts["start"] == "watchdog" and found.events[-1]["kind"] == "started"
        again = CliRunner().invoke(main, ["report", "--port", board.port])
        assert again.exit_code == 1 and "minimal program: wall switches and regulators only, as " in again.stdout
