"""The board's interpreter on the workbench: the control program under MicroPython.

Runs on the workbench only. The interpreter sees one folder and nothing else: no package of
this workbench, no library of the machine.
"""

import os
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path
from tempfile import TemporaryDirectory

from pattress.errors import PattressError

HEAP = "1M"     # of the interpreter, whose numbers are twice as wide as the board's; the board has its own test
REPLAY = Path(__file__).parent / "controller" / "replay.py"

_START = "import sys; from micropython_run import run_main; sys.exit(run_main(sys.argv[1:]))"
_ASK = """
import json, sys
import core
plan = core.Plan(json.loads(sys.stdin.readline()) if TABLE_FIRST else json.load(open("plan.json")))
for answer in answers(core, plan, sys.stdin):
    print(answer)
"""


class InterpreterError(PattressError):
    """The MicroPython interpreter could not be started or stopped with an error.

    Usual cause: a module missing or damaged in the folder it ran in; the last line it wrote
    says which. Try to write the folder anew.
    """


def command(program: str) -> list[str]:
    """Return the command line that runs a program, with `surroundings` as its environment."""
    return [sys.executable, "-P", "-c", _START, "micropython", "-X", f"heapsize={HEAP}", "-c", program]


def surroundings() -> dict[str, str]:
    """Return the environment in which the interpreter finds no library of this machine."""
    return os.environ | {"MICROPYPATH": ".frozen"}


def run(program: str, *, folder: Path, lines: Iterable[str] = ()) -> tuple[str, ...]:
    """Run a program under MicroPython in `folder`, feed it lines, return the lines it printed.

    Raises InterpreterError with the last line the interpreter wrote when it fails.
    """
    with TemporaryDirectory(prefix="pattress-") as spool:
        fed, said = Path(spool, "fed"), Path(spool, "said")
        with fed.open("w", encoding="utf-8") as file:
            file.writelines(line + "\n" for line in lines)
        with fed.open("rb") as stdin, said.open("wb") as stdout:
            ended = subprocess.run(
                command(program), cwd=folder, env=surroundings(), stdin=stdin, stdout=stdout, stderr=subprocess.PIPE, check=False)
        printed = tuple(said.read_text("utf-8").splitlines())
    if ended.returncode:
        words = [*printed[-20:], *ended.stderr.decode(errors="replace").splitlines()]
        raise InterpreterError(f"MicroPython stopped in {folder}: {words[-1] if words else 'without a word'}")
    return printed


def ask(questions: Iterable[str], *, folder: Path, table: str | None = None) -> tuple[str, ...]:
    """Return the answers of the program in `folder`/core to questions as in `replay`.

    `table` is the plan as JSON on one line; when not given, `folder`/plan.json is loaded.
    Raises InterpreterError when the program stops.
    """
    program = f"{REPLAY.read_text('utf-8')}\nTABLE_FIRST = {table is not None}\n{_ASK}"
    first = () if table is None else (table,)
    return run(program, folder=folder, lines=(*first, *questions))
