"""Runs the model of `channel.pml` under an independent model checker: the Debian packages spin and gcc."""

import re
import shutil
import subprocess
import time
from dataclasses import dataclass
from pathlib import Path

MODEL = Path(__file__).with_name("channel.pml")
STATES = re.compile(r"^\s*(\d+(?:\.\d+)?(?:e[+-]?\d+)?) states, stored", re.MULTILINE)


@dataclass(frozen=True)
class Opinion:
    """What the checker says: the property that its shortest way breaks or "", the lines of that way, how much there was."""

    broken: str
    way: tuple[tuple[str, ...], ...]
    states: int
    seconds: float
    is_complete: bool


def needed(*programs):
    """Fail when an outside program is missing, and name its package."""
    for program in programs:
        assert shutil.which(program), f"{program} is missing: apt-get install {program}"


def settings(channel, number=1, fault=0):
    """Return the settings of the model for so many channels like this row of a plan's table."""
    top = len(channel["masks"]) - 1
    assert channel["kick_level"] in (0, top)
    values = dict(N=number, TOP=top, DEAD=int(channel["dead_ms"] > 0), HOLD=int(channel["minimum_off_ms"] > 0),
                  TURN=int(channel["restore_delay_ms"] > 0), KICKTOP=channel["kick_top"], RESTORE=channel["restore"],
                  ON_LEVEL=channel["on_level"], FAULT=fault)
    return [f"-D{name}={value}" for name, value in values.items()]


def opinion(folder, channel, *, number=1, fault=0, seconds=120.0, megabytes=1024, breadth_first=True):
    """Let the checker look at the model. Compiling is not counted in `seconds`."""
    needed("spin", "gcc")
    model, given = Path(shutil.copy(MODEL, folder)), settings(channel, number, fault)
    _run(folder, "spin", "-a", *given, model.name)
    search = ["-DBFS"] if breadth_first else ["-DNOREDUCE"]
    _run(folder, "gcc", "-O1", "-w", "-DSAFETY", f"-DMEMLIM={megabytes}", *search, "-o", "pan", "pan.c")
    began = time.perf_counter()
    try:
        found = _run(folder, "./pan", "-w22", "-m1000000", limit=seconds)
    except subprocess.TimeoutExpired:
        return Opinion("", (), 0, seconds, False)
    took = time.perf_counter() - began
    states = STATES.search(found)
    is_complete = "Search not completed" not in found and "reached -DMEMLIM" not in found and states is not None
    if not re.search(r"errors: [1-9]", found):
        return Opinion("", (), int(float(states[1])) if states else 0, took, is_complete)
    told = _run(folder, "spin", "-t", *given, model.name)
    lines = [tuple(line.split()) for line in told.splitlines()]
    way = tuple(line for line in lines if line and line[0] in ("CUT", "PASS", "ASK", "LEVEL"))
    broken = next(line[1] for line in lines if line and line[0] == "FAILS")
    return Opinion(broken, way, int(float(states[1])), took, True)


def _run(folder, *command, limit=120.0):
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=limit, check=False)
    return done.stdout + done.stderr
